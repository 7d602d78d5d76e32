"""First paint of pages in Chromium, from a warm server on this machine, and what is sent."""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

VISITS = 5
PORT = 8463
_PAINT = "() => performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? null"


@dataclass(frozen=True, slots=True)
class Painted:
    """Milliseconds from asking to the first paint: least and middle of some visits."""

    least: float
    middle: float


@contextmanager
def served(path: Path) -> Iterator[str]:
    """The address of `drainwright serve` over a store."""
    place = f"http://127.0.0.1:{PORT}"
    program = str(Path(sys.executable).with_name("drainwright"))
    words = [program, "serve", str(path), "--port", str(PORT)]
    with subprocess.Popen(words, stdout=subprocess.DEVNULL) as server:
        try:
            for _ in range(600):
                try:
                    urllib.request.urlopen(f"{place}/calculators").close()
                    break
                except OSError:
                    time.sleep(0.2)
            yield place
        finally:
            server.terminate()


def painted(path: Path, addresses: dict[str, str]) -> dict[str, Painted]:
    """First paint of each address by name, in a browser that has seen the program before."""
    from playwright.sync_api import sync_playwright

    found = {}
    with served(path) as place, sync_playwright() as started:
        browser = started.chromium.launch(executable_path=shutil.which("chromium"))
        tab = browser.new_page()
        for name, address in addresses.items():
            times = []
            for _ in range(VISITS + 1):
                tab.goto(place + address, wait_until="load")
                tab.wait_for_function(_PAINT)  # the page may be loaded before it is painted
                times.append(float(tab.evaluate(_PAINT)))
            counted = sorted(times[1:])
            found[name] = Painted(counted[0], counted[len(counted) // 2])
            print(name, found[name], flush=True)
        browser.close()
    return found
