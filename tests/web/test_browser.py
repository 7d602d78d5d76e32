"""The pages in a real Chromium: sizes, dark, keyboard, and no request to another host."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

pytestmark = pytest.mark.browser

PAGES = ("/", "/laterals/A-07", "/laterals/C-05", "/specification", "/papers", "/calculators/wall")
SIZES = ((1280, 800), (820, 1180), (390, 844))


@pytest.fixture(scope="module")
def browser(chromium: str) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture
def page(browser: Browser, served: str) -> Iterator[Page]:
    """A page that fails its test on a foreign request, a refused one, or an error in a script."""
    context = browser.new_context(viewport={"width": 1280, "height": 800}, base_url=served)
    made = context.new_page()
    wrong: list[str] = []
    own = urlsplit(served).netloc
    made.on(
        "request",
        lambda asked: None if urlsplit(asked.url).netloc == own else wrong.append(asked.url),
    )
    made.on("pageerror", lambda error: wrong.append(str(error)))
    made.on(
        "console",
        lambda said: (
            wrong.append(said.text) if said.type == "error" and "422" not in said.text else None
        ),
    )
    yield made
    context.close()
    assert wrong == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_each_page_fits_three_sizes_in_light_and_dark(page: Page, scheme: str) -> None:
    page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        for address in PAGES:
            page.goto(address)
            wider = page.evaluate("document.documentElement.scrollWidth - innerWidth")
            assert wider <= 0, (address, width)
            assert page.get_by_role("heading", level=1).is_visible()


# WCAG 2.2: relative luminance and contrast ratio, 4.5:1 for text (1.4.3)
CONTRAST = """() => {
  const channel = (c) => (c /= 255) <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  const light = (rgb) => 0.2126 * channel(rgb[0]) + 0.7152 * channel(rgb[1])
    + 0.0722 * channel(rgb[2]);
  const parts = (text) => text.match(/[\\d.]+/g).map(Number);
  const ground = (node) => {
    for (; node; node = node.parentElement) {
      const color = parts(getComputedStyle(node).backgroundColor);
      if (color.length < 4 || color[3] > 0) return color;
    }
    return [255, 255, 255];
  };
  const low = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const node = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || !node.getClientRects().length) continue;
    const style = getComputedStyle(node);
    const svg = node.namespaceURI.endsWith("svg");
    const [one, other] = [light(parts(svg ? style.fill : style.color)), light(ground(node))];
    const ratio = (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
    if (ratio < 4.5) low.push([walk.currentNode.data.trim().slice(0, 30), ratio]);
  }
  return low;
}"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_from_its_ground(page: Page, scheme: str) -> None:
    page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    for address in PAGES:
        page.goto(address)
        low = [
            entry for entry in page.evaluate(CONTRAST)
            if entry[0] != "+" and entry[0] != "−"
        ]  # fmt: skip
        assert low == [], address


def test_the_list_is_walked_by_keys_alone(page: Page) -> None:
    page.goto("/")
    page.keyboard.press("/")
    assert page.evaluate("document.activeElement.name") == "q"
    page.keyboard.type("lantern")
    page.keyboard.press("Enter")
    page.wait_for_url("**/?q=lantern*")
    keys = page.locator("tr.lateral").evaluate_all("rows => rows.map(row => row.dataset.key)")
    for key in ("j", "ArrowDown", "j", "k"):
        page.keyboard.press(key)
    assert page.evaluate("document.activeElement.textContent") == keys[1]
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/laterals/{keys[1]}")
    page.go_back()
    assert page.locator("tr.lateral.at").get_attribute("data-key") == keys[1]


def test_an_observation_and_its_row_light_up_together(page: Page) -> None:
    page.goto("/laterals/A-07")
    row = page.locator('tr[data-row="2"]')
    flag = page.locator('g[data-row="2"]')
    row.hover()
    assert "lit" in (flag.get_attribute("class") or "")
    page.mouse.move(2, 2)
    assert "lit" not in (flag.get_attribute("class") or "")
    flag.focus()
    assert "lit" in (row.get_attribute("class") or "")
    assert page.locator(".lit").count() >= 3  # flag, row, and the reason it gave


def test_a_number_opens_by_keyboard(page: Page) -> None:
    page.goto("/laterals/A-07")
    number = page.locator("details.figure", has=page.get_by_text("cut length", exact=True)).first
    opened = number.locator(".opened")
    assert not opened.is_visible()
    number.locator("summary").focus()
    page.keyboard.press("Enter")
    assert opened.is_visible()
    assert "lined length" in opened.inner_text()


def test_the_skip_link_comes_first_and_works(page: Page) -> None:
    page.goto("/specification")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the sheet"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "sheet"


def test_papers_are_chosen_and_downloaded(page: Page) -> None:
    page.goto("/papers")
    page.get_by_label("A-04").check()
    with page.expect_download() as found:
        page.get_by_role("button", name="Make these papers").click()
    assert found.value.suggested_filename == "alder-ferry papers 2026-11-25.zip"


def test_a_calculator_computes_what_is_typed(page: Page) -> None:
    page.goto("/calculators/launch")
    page.get_by_label("Inputs").fill('host_diameter = "4 in"\npressure = "wrong"')
    page.get_by_role("button", name="Compute").click()
    page.get_by_role("heading", name="These inputs can’t be used").wait_for()
    assert "pressure" in page.locator(".faults").inner_text()
