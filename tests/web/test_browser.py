"""The pages in a real Chromium: sizes, dark, keyboard, and no request to another host."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

pytestmark = pytest.mark.browser

PAGES = (
    "/", "/?q=zebra", "/?segment=B&waits=engineer", "/laterals/A-07", "/laterals/C-05", "/read",
    "/specification", "/papers", "/payment", "/schedule", "/calculators/wall",
    "/calculators", "/nowhere",
)  # fmt: skip
AXE = Path(__file__).with_name("axe.min.js")  # MPL-2.0, for tests only
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
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
    context = browser.new_context(
        viewport={"width": 1280, "height": 800}, base_url=served, locale="en-US"
    )
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
            wrong.append(said.text)
            if said.type == "error" and not any(code in said.text for code in ("422", "404"))
            else None
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
    page.get_by_text("8 of 24 fit.").wait_for()
    page.locator("main").focus()
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
    page.get_by_role("button", name="Make these papers").click()
    ready = page.get_by_role("link", name="Take all as a ZIP")
    ready.wait_for(timeout=120_000)
    with page.expect_download() as found:
        ready.click()
    assert found.value.suggested_filename == "alder-ferry papers 2026-11-25.zip"


def test_a_calculator_computes_what_is_typed(page: Page) -> None:
    page.goto("/calculators/launch")
    page.get_by_label("Inputs").fill('host_diameter = "4 in"\npressure = "wrong"')
    page.get_by_role("button", name="Compute").click()
    page.get_by_role("heading", name="These inputs can’t be used").wait_for()
    assert "pressure" in page.locator(".faults").inner_text()


# ---------------------------------------------------------------- WCAG 2.2 AA by axe


def axe(page: Page) -> list[str]:
    """What axe finds wrong on the page as it stands, with the nodes."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate(f"axe.run(document, {{runOnly: {json.dumps(RULES)}}})")
    return [
        f"{one['id']}: {one['help']}: {[node['html'][:120] for node in one['nodes'][:3]]}"
        for one in found["violations"]
    ]


@pytest.mark.parametrize(("scheme", "size"), [("light", 0), ("dark", 0), ("light", 2)])
def test_axe_finds_nothing(page: Page, scheme: str, size: int) -> None:
    page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    width, height = SIZES[size]
    page.set_viewport_size({"width": width, "height": height})
    wrong = {}
    for address in PAGES:
        page.goto(address)
        if page.locator("#map").count():
            page.locator("#map .manhole").first.wait_for(state="attached")
        if found := axe(page):
            wrong[address] = found
    assert wrong == {}


# ---------------------------------------------------------------- each page by keyboard alone


def tab_to(page: Page, name: str, most: int = 160) -> None:
    """Press Tab until the element with this visible label has the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        told = page.evaluate(
            """() => {
              const at = document.activeElement;
              if (!at) return [];  // for a moment nothing has the focus
              const label = at.labels?.[0]?.textContent ?? "";
              return [at.getAttribute("aria-label") ?? "", label, at.textContent].map(
                (one) => one.trim().replace(/\\s+/g, " "));
            }"""
        )
        if any(one == name or one.startswith(f"{name} ") for one in told):
            return
    raise AssertionError(f"{name} is not reached")


def test_the_list_is_filtered_while_typing_and_the_map_follows(page: Page) -> None:
    page.goto("/")
    drawn = page.locator(".legend .drawn")
    expect(drawn).to_have_text("24 laterals in sight.")
    page.keyboard.press("/")
    page.keyboard.type("tannery")
    expect(page.locator("tr.lateral")).to_have_count(6)
    expect(drawn).to_have_text("6 laterals in sight.")
    assert page.evaluate("location.search").startswith("?q=tannery")
    assert page.evaluate("document.activeElement.name") == "q"
    tab_to(page, "C-01")
    expect(page.locator("#map .chosen")).to_be_attached()
    before = page.locator("#map .chosen").bounding_box()
    page.keyboard.press("j")
    page.keyboard.press("j")
    assert page.locator("tr.lateral.at").get_attribute("data-key") == "C-03"
    assert page.locator("#map .chosen").bounding_box() != before


def test_the_map_is_moved_by_keys_and_asks_only_for_what_is_seen(page: Page) -> None:
    asked: list[str] = []
    page.on("request", lambda one: asked.append(one.url) if "/api/map" in one.url else None)
    page.goto("/")
    expect(page.locator(".legend .drawn")).to_have_text("24 laterals in sight.")
    page.locator("#map").focus()
    for _ in range(6):
        page.keyboard.press("+")
    expect(page.locator(".legend .drawn")).not_to_have_text("24 laterals in sight.")
    assert page.locator("#map .lateral-mark").count() < 24
    assert len(set(asked)) >= 2


def test_all_keys_are_told(page: Page) -> None:
    page.goto("/specification")
    page.keyboard.press("?")
    expect(page.get_by_role("dialog", name="Keys")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_have_count(0)


def test_a_file_is_looked_at_and_its_columns_mended(page: Page) -> None:
    page.goto("/read")
    rows = "lateral,main segment,How far,address\nZ-1,A,22 ft,1 Mill Row\n"
    page.locator("input[type=file]").set_input_files(
        {"name": "new laterals.csv", "mimeType": "text/csv", "buffer": rows.encode()}
    )
    field = page.get_by_label("How far is read as")
    expect(field).to_be_visible()
    expect(page.get_by_role("heading", name="new laterals.csv")).to_contain_text("0 laterals")
    assert axe(page) == []
    tab_to(page, "How far is read as")
    page.keyboard.type("tap distance")
    tab_to(page, "Read it this way")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="new laterals.csv")).to_contain_text("1 laterals")
    expect(page.get_by_label("Your name")).to_be_visible()


def test_limits_are_changed_by_keys_and_told_before_saving(page: Page) -> None:
    page.goto("/specification")
    tab_to(page, "longest lining up the lateral, in ft")
    page.keyboard.press("Control+a")
    page.keyboard.type("20")
    page.keyboard.press("Enter")
    page.wait_for_url("**/specification/review")
    expect(page.get_by_role("row", name="longest lining up the lateral")).to_contain_text("150 ft")
    told = page.locator("#effects [role=status]")
    expect(told).to_contain_text("outcomes would change", timeout=120_000)
    assert axe(page) == []


def test_papers_are_chosen_made_and_taken_by_keys(page: Page) -> None:
    page.goto("/papers")
    tab_to(page, "mix ticket")
    page.keyboard.press("Space")
    tab_to(page, "A-04")
    page.keyboard.press("Space")
    tab_to(page, "Make these papers")
    page.keyboard.press("Enter")
    page.wait_for_url("**/papers/jobs/*")
    expect(page.get_by_text("2 papers are ready.")).to_be_visible(timeout=120_000)
    assert axe(page) == []
    tab_to(page, "A-04 mix ticket")
    with page.expect_download() as taken:
        page.keyboard.press("Enter")
    assert taken.value.suggested_filename == "A-04 mix ticket.pdf"
