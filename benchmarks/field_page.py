"""The field page on this machine: an entry durable after the touch, the page ready offline.

Writes docs/benchmarks/field.md. Needs Chromium; the store and the laptop's program are of the
tests. The figures are of this machine and browser, not of a tablet.
"""

from __future__ import annotations

import datetime as dt
import platform
import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))
PAGE = ROOT / "docs" / "benchmarks" / "field.md"
ENTRIES, LOADS = 200, 10


def measure() -> tuple[list[float], list[float]]:
    """Milliseconds from the touch until an entry is stored, and from the call until it is ready."""
    from playwright.sync_api import sync_playwright

    from tests.field_job import field_store
    from tests.web.field_laptop import Laptop

    path = Path(tempfile.mkdtemp()) / "job.drainwright"
    with field_store(path):
        pass
    laptop = Laptop(path).start()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        page = browser.new_page()
        page.goto(f"{laptop.address}/field/A-07")
        page.wait_for_selector("body[data-ready=yes]")
        page.evaluate("navigator.serviceWorker.ready.then(() => null)")
        page.fill("#entered", "Ada Lund")
        page.click("text=this is us")
        stored = []
        for number in range(ENTRIES):
            page.evaluate("(n) => Field.emit('remark', { reason: `entry ${n}` })", number)
            stored.append(page.evaluate("Field.took"))
        laptop.kill()
        ready = []
        for _ in range(LOADS):
            begun = time.perf_counter()
            page.reload(wait_until="commit")
            page.wait_for_selector("body[data-ready]")
            ready.append((time.perf_counter() - begun) * 1000)
        browser.close()
    shutil.rmtree(path.parent, ignore_errors=True)
    return stored, ready


def main() -> None:
    """Measure and write the page."""
    if shutil.which("chromium") is None:
        print("no Chromium: docs/benchmarks/field.md stays as it is")
        return
    stored, ready = measure()
    rows = [
        ("entry durable after the touch", "100 ms", stored),
        ("page ready, laptop off", "1,000 ms", ready),
    ]
    today = dt.datetime.now(dt.UTC).date().isoformat()
    machine = f"{platform.machine()}, {platform.system()}"
    about = f"{today}, {machine}, {len(stored)} entries, {len(ready)} loads."
    lines = [
        "# Field page",
        "",
        f"{about} Written by `benchmarks/field_page.py`.",
        "",
        "| what | asked | median | 95 % within | most |",
        "|---|---|---|---|---|",
    ]
    for words, asked, found in rows:
        high = statistics.quantiles(found, n=20, method="inclusive")[-1]
        lines.append(
            f"| {words} | {asked} | {statistics.median(found):.0f} ms | {high:.0f} ms "
            f"| {max(found):.0f} ms |"
        )
    PAGE.write_text("\n".join([*lines, ""]), "utf-8")
    print(PAGE)


if __name__ == "__main__":
    main()
