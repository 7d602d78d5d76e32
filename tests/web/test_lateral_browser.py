"""The sheets of one lateral in a real Chromium: keyboard only, three sizes, light and dark.

The journey at the end goes from the demo to a changed design and its PDF by what a person can
read on the screen: labels, names of links and buttons, nothing else.
"""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
import uvicorn
from playwright.sync_api import Browser, Page, expect, sync_playwright

from drainwright.operations.stores import existing
from drainwright.web.app import make_app
from tests.web.conftest import clock
from tests.web.test_browser import CONTRAST, SIZES, axe

pytestmark = pytest.mark.browser

SHEETS = ("", "/survey", "/what-if?tube=T4-4.5", "/cure", "/revisions", "/surveys")
PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010806000000"
    "1f15c4890000000d49444154789c6360606060000000050001a5f645400000000049454e44ae426082"
)
SLOW = 90_000
"""Two cores are shared; a design with its sure steam time takes seconds."""


@pytest.fixture(scope="module")
def browser(chromium: str) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture(scope="module")
def own_served(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the app over a copy of the demo that may be written to."""
    folder = tmp_path_factory.mktemp("sheets")
    for file in demo_store.parent.glob(demo_store.name + "*"):
        if file.is_file():
            shutil.copy(file, folder)
    with existing(str(folder / demo_store.name)) as (store, project):
        config = uvicorn.Config(
            make_app(store, project, now=clock), host="127.0.0.1", port=0, log_level="error"
        )
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        while not server.started:
            thread.join(0.02)
        yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
        server.should_exit = True
        thread.join(10)


@pytest.fixture
def page(browser: Browser, own_served: str) -> Iterator[Page]:
    """A page that fails its test on a foreign request, a refused one, or an error in a script."""
    context = browser.new_context(viewport={"width": 1280, "height": 800}, base_url=own_served)
    context.set_default_timeout(SLOW)
    expect.set_options(timeout=SLOW)
    made = context.new_page()
    wrong: list[str] = []
    own = urlsplit(own_served).netloc
    made.on(
        "request",
        lambda asked: None if urlsplit(asked.url).netloc == own else wrong.append(asked.url),
    )
    made.on("pageerror", lambda error: wrong.append(str(error)))
    made.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
    yield made
    context.close()
    assert wrong == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_each_sheet_fits_three_sizes_and_its_text_stands_out(page: Page, scheme: str) -> None:
    page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    for sheet in SHEETS:
        page.goto(f"/laterals/A-07{sheet}")
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            wider = page.evaluate("document.documentElement.scrollWidth - innerWidth")
            assert wider <= 0, (sheet, width)
        low = [one for one in page.evaluate(CONTRAST) if one[0] not in ("+", "−", "…")]
        assert low == [], sheet


def test_axe_finds_nothing_on_the_sheets(page: Page) -> None:
    for sheet in SHEETS:
        page.goto(f"/laterals/A-07{sheet}")
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        assert axe(page) == [], sheet


def test_walking_along_the_profile_tells_depth_head_wall_and_temperature(page: Page) -> None:
    page.goto("/laterals/A-07")
    told = page.locator("[data-readout]")
    expect(told).to_be_visible()
    page.get_by_role("region", name="Profile").focus()
    expect(told).to_contain_text("outer liner at steam off")
    expect(told).to_contain_text("0.0 ft")
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    expect(told).to_contain_text("2.0 ft")  # of 61 places over 39.9 ft, the fourth
    page.keyboard.press("End")
    expect(told).to_contain_text("39.9 ft")
    page.keyboard.press("Home")
    expect(told).to_contain_text("water above it4.0 ft, 1.73 psi")


def test_pointing_at_the_profile_tells_that_distance(page: Page) -> None:
    page.goto("/laterals/A-07")
    told = page.locator("[data-readout]")
    expect(told).to_be_visible()
    box = page.locator(".profile svg").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 0.88 * box["width"], box["y"] + 0.5 * box["height"])
    expect(told).to_contain_text("39.9 ft")


def test_a_flag_is_reached_by_keyboard_and_lights_its_row(page: Page) -> None:
    page.goto("/laterals/A-07")
    flag = page.locator("g[data-row='2']")
    flag.focus()
    expect(page.locator("tr[data-row='2']")).to_have_class("counts lit")
    page.locator("tr[data-row='3']").focus()
    expect(page.locator("g[data-row='3']")).to_have_class("dw-flag dw-observation lit")
    expect(page.locator("tr[data-row='2']")).to_have_class("counts")


def type_row(page: Page, *cells: str) -> None:
    for text in (*cells, *[""] * (8 - len(cells))):
        page.keyboard.type(text)
        page.keyboard.press("Enter")


def test_a_survey_is_typed_with_the_keyboard_alone(page: Page) -> None:
    page.goto("/laterals/A-05/survey")
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.name") == "camera":
            break
    page.keyboard.type("K. Amsel")
    while page.evaluate("document.activeElement.name") != "distance":
        page.keyboard.press("Tab")
    type_row(page, "0", "", "sta")
    type_row(page, "3.1", "", "be", "45")
    type_row(page, "6.4", "", "ro", "60 %", "10", "2", "j")
    type_row(page, "9", "", "zz")
    kinds = page.get_by_label("what is seen")
    assert [kinds.nth(n).input_value() for n in range(4)] == ["start", "bend", "roots", "zz"]
    drawn = page.locator("#draft")
    expect(drawn).to_contain_text("Row 4, kind: “zz” is no kind that is known.")
    expect(drawn).to_contain_text("Cut the roots.")
    expect(drawn.locator("svg")).to_contain_text("roots 60 %")
    expect(kinds.nth(3)).to_have_attribute("aria-invalid", "true")
    # up to the wrong cell, mended, and all is well
    page.keyboard.press("ArrowUp")
    for _ in range(2):
        page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.value") == "zz"
    page.keyboard.press("Control+a")
    page.keyboard.type("fin")
    page.keyboard.press("Enter")
    expect(drawn).to_contain_text("Nothing is odd about what is typed.")
    page.keyboard.press("Control+Delete")
    expect(kinds).to_have_count(4)  # the row is gone, a blank one is left


def test_a_still_is_kept_at_the_row_in_hand(page: Page) -> None:
    page.goto("/laterals/A-05/survey")
    page.get_by_label("distance").first.focus()
    page.get_by_label("still for the row you are in").set_input_files(
        {"name": "tap.png", "mimeType": "image/png", "buffer": PNG}
    )
    expect(page.get_by_role("status").filter(has_text="tap.png stands at row 1.")).to_be_visible()
    with page.context.expect_page() as opened:
        page.get_by_role("link", name="still", exact=True).click(modifiers=["ControlOrMeta"])
    assert opened.value.url.rpartition("/")[0].endswith("/stills")


DROP = """([sha, share]) => {
  const svg = document.querySelector("[data-drawn] svg");
  const box = svg.getBoundingClientRect();
  const data = new DataTransfer();
  data.items.add(new File([new Uint8Array(sha)], "joint.png", { type: "image/png" }));
  const at = { clientX: box.left + share * box.width, clientY: box.top + box.height / 2 };
  svg.dispatchEvent(new DragEvent("drop", { bubbles: true, dataTransfer: data, ...at }));
}"""


def test_a_still_dropped_onto_a_distance_makes_a_row_there(page: Page) -> None:
    page.goto("/laterals/A-05/survey")
    page.evaluate(DROP, [list(PNG), 0.5])
    expect(page.get_by_text("joint.png stands at row 2.")).to_be_visible()
    distance = float(page.get_by_label("distance").nth(1).input_value())
    # half way over the drawing, whose pipe begins at 176 of its 980 units
    drawn = page.locator("[data-drawn]")
    scale = float(drawn.get_attribute("data-scale") or 0)
    assert distance == pytest.approx((0.5 * 980 - 176) / scale, abs=0.2)
    expect(page.locator("#draft svg")).to_contain_text("still")


def test_the_time_slider_swaps_the_lines(page: Page) -> None:
    page.goto("/laterals/A-05/cure")
    slider = page.get_by_role("slider", name="since steam on")
    expect(slider).to_be_visible()
    line = page.locator(".dw-strip .dw-curve").first
    last = line.get_attribute("d")
    slider.focus()
    page.keyboard.press("Home")
    expect(page.locator("[data-words]")).to_contain_text("least cured 0 %")
    assert line.get_attribute("d") != last
    page.keyboard.press("ArrowRight")
    first = slider.get_attribute("aria-valuetext") or ""
    assert first.endswith(" min")
    expect(page.locator("[data-label]")).to_have_text(first)
    # the time's name stands beside the end of its line
    for name, curve in zip(
        page.locator("[data-section] .dw-name text").all(),
        page.locator("[data-section] .dw-curve").all(),
        strict=True,
    ):
        end = curve.evaluate("one => one.getPointAtLength(one.getTotalLength()).y")
        assert float(name.get_attribute("y") or 0) - 4 == pytest.approx(end, abs=0.1)


def test_a_design_is_tried_while_its_fields_change(page: Page) -> None:
    page.goto("/laterals/A-05/what-if")
    tried = page.get_by_label("What it comes to")
    page.get_by_label("soil temperature").fill("35")
    expect(tried.get_by_role("row", name="simulated, nominal").locator("b")).to_be_visible()
    page.get_by_label("tube").select_option("T6-3.0")
    expect(tried.get_by_role("list", name="What fails")).to_contain_text("its maker asks for")
    page.get_by_label("tube").select_option("")
    page.get_by_label("soil temperature").fill("warm")
    expect(tried.get_by_role("alert")).to_contain_text("soil temperature")


def test_the_sheets_are_read_and_tried_without_a_script(browser: Browser, own_served: str) -> None:
    context = browser.new_context(java_script_enabled=False, base_url=own_served)
    context.set_default_timeout(SLOW)
    page = context.new_page()
    page.goto("/laterals/A-05/what-if")
    page.get_by_label("tube").select_option("T4-4.5")
    page.get_by_role("button", name="Work it out").click()
    expect(page.get_by_role("row", name="tube").first).to_contain_text("T4-4.5")
    page.goto("/laterals/A-05/cure")
    expect(page.locator("svg.dw-profile")).to_have_count(5)  # with its log
    page.goto("/laterals/A-05/survey")
    page.get_by_label("distance").nth(1).fill("12")
    page.get_by_label("what is seen").nth(1).fill("branch")
    page.get_by_role("button", name="Draw and check").click()
    expect(page.locator("#draft svg")).to_contain_text("branch")
    context.close()


# ---------------------------------------------------------------- the journey


def test_from_the_demo_to_a_changed_design_and_its_paper_by_labels_alone(
    page: Page, tmp_path: Path
) -> None:
    page.goto("/")
    page.get_by_label("Search").fill("A-07")
    page.keyboard.press("Enter")
    page.get_by_role("link", name="A-07", exact=True).last.click()
    expect(page.get_by_role("heading", name="A-07", exact=True)).to_be_visible()
    page.get_by_role("link", name="try a design").click()
    page.get_by_label("tube").select_option("T4-4.5")
    tried = page.get_by_label("What it comes to")
    expect(tried.get_by_role("row", name="tube").locator("b").first).to_have_text("T4-4.5")
    expect(tried.get_by_text("95 % sure")).to_contain_text("draws")
    page.get_by_label("Why").fill("thicker tube is in stock")
    page.get_by_label("Your name").fill("Ines Park")
    page.get_by_role("button", name="Keep and plan").click()
    expect(page.get_by_role("heading", name="A-07", exact=True)).to_be_visible()
    expect(page.get_by_text("Chosen for the design: tube “T4-4.5”")).to_be_visible()
    with page.expect_download() as found:
        page.get_by_role("link", name="work sheet", exact=True).click()
    assert found.value.suggested_filename == "A-07 work sheet.pdf"
    target = tmp_path / "sheet.pdf"
    found.value.save_as(target)
    assert "T4-4.5" in text_of(target)
    page.get_by_role("link", name="compare revisions").click()
    work = page.get_by_role("region", name="Work sheet")
    work.get_by_role("button", name="Compare these two").click()
    expect(page.get_by_role("region", name="Work sheet: from revision 1 to 2")).to_contain_text(
        "T4-4.5"
    )


def text_of(path: Path) -> str:
    import pypdfium2

    document = pypdfium2.PdfDocument(path)
    return "\n".join(page.get_textpage().get_text_range() for page in document)
