"""From a finished installation to the lateral file in a real Chromium, by visible labels alone."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def browser(chromium: str) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture
def page(browser: Browser, served: str) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, base_url=served)
    made = context.new_page()
    wrong: list[str] = []
    made.on("pageerror", lambda error: wrong.append(str(error)))
    made.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
    yield made
    context.close()
    assert wrong == []


def test_from_the_list_to_the_lateral_file_by_labels(page: Page) -> None:
    page.goto("/?stage=installed")
    page.get_by_role("link", name="A-05").first.click()
    page.get_by_role("link", name="test, judge and accept").click()
    assert (
        page.get_by_role("heading", name="What is missing")
        .or_(page.get_by_role("heading", name="All met"))
        .first.is_visible()
    )
    page.get_by_text("Tightness: met").click()
    assert page.get_by_text("start pressure reached: met").is_visible()
    link = page.get_by_role("link", name="Lateral file (PDF)")
    answer = page.request.get(str(link.get_attribute("href")))
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.body().startswith(b"%PDF")


@pytest.mark.parametrize("size", [(1280, 800), (820, 1180), (390, 844)])
def test_the_page_fits(page: Page, size: tuple[int, int]) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto("/laterals/B-04/acceptance")
    for name in ("Tightness test", "Post-lining TV", "Signature"):
        page.locator("summary", has_text=name).last.click()
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    assert page.get_by_role("button", name="Sign").is_visible()
