"""Saving in Chromium at a growing number of records: one more must cost the same.

A save is what lies between the tap and "Saved": the record checked, written, flushed, taken into
memory. Opening is that of a new start, with the snapshot that the app takes when it is idle.
"""

import tempfile
from pathlib import Path

from mobile.packaging.build import build
from tests.support import engines
from tests.support.browser import Site
from tests.support.engines import Engine, running, storage_page

SIZES = (100, 10_000, 100_000)
SAVES = 400
TIMEOUT_s = 900.0
BROWSERS = (engines.CHROMIUM, engines.CHROMIUM_IDB)


def measured(engine: Engine, site: Site, folder: Path) -> list[dict[str, float]]:
    """Return what the page measured at each size."""
    sizes = ",".join(str(size) for size in SIZES)
    with (
        storage_page(site.path, folder) as page,
        running(engine, folder / "profile", page, job="bench", sizes=sizes, saves=SAVES),
    ):
        return [page.next(TIMEOUT_s) for _ in SIZES]


def main() -> None:
    """Print a table for each of Chromium's two stores."""
    for engine in BROWSERS:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            rows = measured(engine, Site(folder / "built", build(folder / "built")), folder)
        print(f"{engine}: {SAVES} saves of one record at each size")
        print(f"{'records':>8} {'save p50':>11} {'p95':>11} {'open':>9} {'without snapshot':>17}")
        for row in rows:
            print(
                f"{row['size']:8.0f} {row['p50_ms']:8.2f} ms {row['p95_ms']:8.2f} ms"
                f" {row['open_s']:7.2f} s {row['replay_s']:15.2f} s"
            )
        last, first = rows[-1], rows[0]
        ratios = [last[key] / first[key] for key in ("p50_ms", "p95_ms")]
        print(f"100,000 over 100: p50 {ratios[0]:.2f}, p95 {ratios[1]:.2f}   (aim <= 1.5)")


if __name__ == "__main__":
    main()
