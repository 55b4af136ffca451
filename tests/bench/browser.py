"""What the keeper's phone waits for: the whole log read and decided on, and the start of the app.

The log of some years is replayed by the bundled Python in Node, which is Chromium's engine, and by
this machine's own Python beside it; both in processor time, so that a busy machine counts less. A
start is timed in Chromium from the reload to the first screen, with everything in the service
worker's store.
"""

import json
import tempfile
from pathlib import Path
from statistics import median

from playwright.sync_api import BrowserContext, sync_playwright

from mobile.packaging.build import build
from tests.bench import years
from tests.support.browser import (
    FLAGS,
    Site,
    chromium_path,
    open_app,
    phone,
    served,
    wait_installed,
    wait_running,
)
from tests.support.inside import result_inside
from tests.support.seeded import seed

INSIDE = """
import js, json
from tests.bench import years
def spent():
    used = js.process.cpuUsage()
    return (used.user + used.system) / 1e6
years.clock = spent
json.dumps([years.measured(each) for each in years.YEARS])
"""
STARTS = 5
TIMEOUT_s = 1_200.0


def main() -> None:
    """Print both."""
    replays()
    starts()


def replays() -> None:
    """Print a full replay and one more record, in the browser's Python and in this one."""
    inside = json.loads(result_inside(INSIDE, timeout_s=TIMEOUT_s))
    heads = "".join(f"{'+ ' + name:>14}" for name in years.MORE)
    print(f"{'years':>5} {'records':>8} {'replay':>12} {heads} {'CPython':>11} {'ratio':>7}")
    for span, (count, replay, more) in zip(years.YEARS, inside, strict=True):
        _, here, _ = years.measured(span)
        each = "".join(f"{seconds * 1e3:11.1f} ms" for seconds in more.values())
        print(
            f"{span:5} {count:8} {replay * 1e3:9.0f} ms {each}"
            f" {here * 1e3:8.0f} ms {replay / here:7.2f}"
        )
    print("aim: a full replay well under a second")


def starts() -> None:
    """Print the start of the app on an empty and a small store, and what the archive weighs."""
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        site = Site(Path(name) / "site", build(Path(name) / "site"))
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=FLAGS)
        with served(site.path) as server:
            for what, with_records in (("empty", False), ("a first run", True)):
                with phone(browser) as context:
                    if with_records:
                        seed(context, server.url)
                    times = start_times(context, server.url)
                low, high = min(times), max(times)
                print(f"start, {what}: {median(times):.2f} s ({low:.2f} to {high:.2f})")
        browser.close()
        report = site.report
        archive, whole = report.archive_bytes / 1e6, report.size_bytes / 1e6
        print(f"Python part {archive:.2f} MB, whole site {whole:.1f} MB")


def start_times(context: BrowserContext, url: str) -> list[float]:
    """Return some warm starts, s: from the navigation to the first screen that Python drew."""
    page = open_app(context, url)
    wait_installed(page)
    times = []
    for _ in range(STARTS):
        page.reload(wait_until="commit")
        wait_running(page)
        times.append(page.evaluate("performance.now()") / 1000)
    return times


if __name__ == "__main__":
    main()
