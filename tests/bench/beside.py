"""Saving in this checkout beside another one: `.venv/bin/python -m tests.bench.beside FOLDER`.

The other one's site is built by its own command; both are driven in turns by the same page in the
same browser, so that a ratio says something on a noisy machine.
"""

import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median

from mobile.packaging.build import build
from tests.support import engines
from tests.support.browser import Site
from tests.support.engines import Engine, running, storage_page

SIZES = (100, 10_000)
SAVES = 400
ROUNDS = 5
TIMEOUT_s = 900.0


def measured(engine: Engine, site: Path, folder: Path) -> list[dict[str, float]]:
    """Return what the page measured at each size."""
    folder.mkdir()
    sizes = ",".join(map(str, SIZES))
    with (
        storage_page(site, folder) as page,
        running(engine, folder / "profile", page, job="bench", sizes=sizes, saves=SAVES),
    ):
        return [page.next(TIMEOUT_s) for _ in SIZES]


def main(other: Path) -> None:
    """Print medians of both, and the ratio of each pair."""
    for engine in (engines.CHROMIUM, engines.CHROMIUM_IDB):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            ours = Site(folder / "ours", build(folder / "ours")).path
            theirs = folder / "theirs"
            command = [sys.executable, "-m", "mobile", "build", "--out", str(theirs)]
            subprocess.run(command, cwd=other, check=True)
            found: dict[str, list[list[dict[str, float]]]] = {"ours": [], "theirs": []}
            for number in range(ROUNDS):
                for key, site in (("ours", ours), ("theirs", theirs)):
                    found[key].append(measured(engine, site, folder / f"{key}-{number}"))
        print(f"{engine}: {SAVES} saves of one record, {ROUNDS} rounds in turns")
        for at, size in enumerate(SIZES):
            for value in ("p50_ms", "p95_ms", "open_s", "replay_s"):
                pairs = [
                    (mine[at][value], his[at][value])
                    for mine, his in zip(found["ours"], found["theirs"], strict=True)
                ]
                ratio = median(mine / his for mine, his in pairs)
                print(
                    f"{size:7,} {value:9} {median(m for m, _ in pairs):8.3f}"
                    f" beside {median(h for _, h in pairs):8.3f}   ratio {ratio:.2f}",
                    flush=True,
                )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
