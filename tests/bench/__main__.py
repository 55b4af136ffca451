"""Figures, printed: `.venv/bin/python -m tests.bench [chemistry] [years] [hazards] [saves]
[browser] [storage]`.

Run by hand; without a name all of it runs. Ratios within one run on one machine say something;
absolute times are this machine's.
"""

import sys

from tests.bench import browser, chemistry, hazards, saves, storage, years

PARTS = {
    "chemistry": chemistry.main,
    "years": years.main,
    "hazards": hazards.main,
    "saves": saves.main,
    "browser": browser.main,
    "storage": storage.main,
}


def main(names: list[str]) -> int:
    """Run the parts named, or all; return the exit status."""
    if unknown := [name for name in names if name not in PARTS]:
        print(f"no such part: {', '.join(unknown)}; there are {', '.join(PARTS)}", file=sys.stderr)
        return 2
    for name in names or PARTS:
        print(f"--- {name}", flush=True)
        PARTS[name]()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
