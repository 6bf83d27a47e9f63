"""How fast each person's first screen comes, on a throttled phone: what Lighthouse measures.

Cold, and once more from what the service worker kept. Where the first look is long enough for it,
the kilobytes are those of the whole app, which the service worker takes along. It needs a server
that runs, and the links to sign in with that `millrace demo` prints, each for one run:

    uv run python -m tests.benchmarks.screens contact=http://127.0.0.1:8000/#/sign-in/… maker=…
"""

import json
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urldefrag

from playwright.sync_api import sync_playwright

from api.server.app_build import node_environment, npm_command
from api.server.progress import say
from tests.browser.people import PHONE

LIGHTHOUSE = "lighthouse@12.2.3"
CHROMIUM = "/usr/bin/chromium"
DEBUGGING_PORT = 9333
CATEGORIES = ("performance", "accessibility", "best-practices")
MS_PER_S = 1000


@contextmanager
def signed_in(link: str, profile: Path) -> Iterator[str]:
    """Have a browser that listens to Lighthouse, with somebody in; give their first screen."""
    with sync_playwright() as playwright:
        context = playwright.chromium.launch_persistent_context(
            profile,
            executable_path=CHROMIUM,
            viewport=PHONE,
            args=["--no-sandbox", f"--remote-debugging-port={DEBUGGING_PORT}"],
        )
        page = context.pages[0]
        page.goto(link)
        page.wait_for_url(lambda url: "/sign-in/" not in url)
        page.evaluate("navigator.serviceWorker.ready.then(() => true)")
        page.get_by_role("heading", level=1).wait_for()
        first_screen = page.url
        page.close()
        yield first_screen
        context.close()


def measured(address: str, *, cold: bool, report: Path) -> dict[str, Any]:
    """Run Lighthouse with its preset for phones and return what it found."""
    kept = [] if cold else ["--disable-storage-reset"]
    command = npm_command(
        *("exec", "--yes", "--", LIGHTHOUSE, address, f"--port={DEBUGGING_PORT}", "--quiet"),
        *("--output=json", f"--output-path={report}", *kept),
        f"--only-categories={','.join(CATEGORIES)}",
    )
    subprocess.run(command, env=node_environment(), check=True)
    found: dict[str, Any] = json.loads(report.read_text())
    return found


def row_of(found: dict[str, Any]) -> str:
    """Return scores of 100, seconds, milliseconds, shift and kilobytes as one row."""
    scores = [round(100 * found["categories"][name]["score"]) for name in CATEGORIES]
    audits = found["audits"]
    value = {name: audit.get("numericValue", 0) for name, audit in audits.items()}
    return (
        "".join(f"{score:>6}" for score in scores)
        + f"{value['largest-contentful-paint'] / MS_PER_S:>8.2f}"
        + f"{value['total-blocking-time']:>8.0f}"
        + f"{value['cumulative-layout-shift']:>8.3f}"
        + f"{value['total-byte-weight'] / MS_PER_S:>8.1f}"
    )


def lost_points(found: dict[str, Any]) -> list[str]:
    """Return the names of the checks that were not fully passed."""
    checks = [ref for name in CATEGORIES for ref in found["categories"][name]["auditRefs"]]
    weighed = [check["id"] for check in checks if check["weight"] > 0]
    return [name for name in weighed if found["audits"][name]["score"] not in (None, 1)]


def main(people: list[str]) -> None:
    """Print a row for each person named, cold and from the service worker."""
    say(f"{'':20}{'perf':>6}{'acc':>6}{'best':>6}{'LCP s':>8}{'TBT ms':>8}{'CLS':>8}{'kB':>8}")
    for person in people:
        who, link = person.split("=", 1)
        with tempfile.TemporaryDirectory() as folder:
            report = Path(folder) / "report.json"
            with signed_in(link, Path(folder) / "profile") as address:
                for cold in (True, False):
                    found = measured(address, cold=cold, report=report)
                    name = f"{who} {urldefrag(address).fragment.split('/')[1]}"
                    say(f"{name + (' cold' if cold else ' kept'):20}{row_of(found)}")
                    say(f"{'':20}  not full: {', '.join(lost_points(found)) or 'nothing'}")


if __name__ == "__main__":
    main(sys.argv[1:])
