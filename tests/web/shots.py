"""Pictures of every page and its states, to be looked at: python -m tests.web.shots FOLDER [WORDS]

Three sizes, light and dark, and print; only states whose name holds one of WORDS, if given.
Anything wider than its window, and every error in a script, is told at the end.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from playwright.sync_api import Browser, Error, Page, sync_playwright

from benchmarks import record_town
from drainwright.operations.calculate import TOPICS
from drainwright.operations.run_demo import run_demo
from drainwright.operations.start_project import start_project
from drainwright.operations.stores import create
from drainwright.records.project import Project
from drainwright.records.work_sheet import Fitness
from drainwright.storage.protocol import Record
from drainwright.units import UnitSystem
from tests.field_job import field_store
from tests.web.conftest import NOW, clock
from tests.web.field_laptop import Laptop
from tests.web.test_browser import SIZES
from tests.web.test_field_browser import mixed
from tests.web.test_lateral_browser import type_row

MADE = Path("demo-output/alder-ferry.drainwright")
SCHEMES = ("light", "dark")
LONGEST = 2600
"""Pixels of a picture; what lies below looks the same."""
WRONG_LIST = (
    "Pipe no,Main,Footage,House,Bore\nZ-1,A,22 ft,2 Mill Row,4 in\nZ-2,A,410 ft,6 Mill Row,four\n"
)
Act = Callable[[Page], object]
Address = Callable[[str], str]


@dataclass(frozen=True)
class Shot:
    """A state of a page: its name, where it is, and what is done there."""

    name: str
    address: str
    act: Act = lambda page: None
    store: str = "demo"
    prints: bool = False


def _drop(text: str) -> Act:
    file = {"name": "new laterals.csv", "mimeType": "text/csv", "buffer": text.encode()}

    def act(page: Page) -> None:
        page.locator("input[type=file]").set_input_files(file)  # type: ignore[arg-type]
        page.locator(".seen-file, .notice").first.wait_for()

    return act


def _typed(page: Page) -> None:
    page.get_by_label("distance").first.focus()
    type_row(page, "0", "", "sta")
    type_row(page, "6.4", "", "ro", "60 %", "10", "2", "j")
    type_row(page, "9", "", "zz")
    page.get_by_text("is no kind that is known").first.wait_for(timeout=10_000)


def _refused(form: str, button: str) -> Act:
    def act(page: Page) -> None:
        page.locator("summary", has_text=form).last.click()
        page.evaluate("document.querySelectorAll('[required]').forEach((o) => o.required = false)")
        page.locator("form", has=page.get_by_role("button", name=button)).get_by_label(
            "Your name"
        ).fill("R. Vale")
        page.get_by_role("button", name=button).click()
        page.get_by_role("alert").wait_for()

    return act


def _reviewed(page: Page) -> None:
    page.get_by_label("longest lining up the lateral, in ft").fill("20")
    page.get_by_role("button", name="Look over").click()
    page.get_by_text("outcomes would change;").wait_for(timeout=120_000)


def _papers(*stop: str) -> Act:
    def act(page: Page) -> None:
        page.get_by_label("mix ticket").check()
        for key in ("A-04", "A-07", "B-06"):
            page.get_by_label(key).check()
        page.get_by_role("button", name="Make these papers").click()
        page.wait_for_url("**/papers/jobs/*")
        if not stop:
            page.locator("progress").wait_for()
            page.locator(".made, .problem, .care").first.wait_for(timeout=120_000)

    return act


def _proven(page: Page) -> None:
    page.get_by_label("A file of storms").set_input_files("examples/calculators/storms.csv")
    page.get_by_label("Your name").fill("R. Vale")
    page.get_by_role("button", name="Compare the storms").click()
    page.get_by_role("heading", name="shows").wait_for()


def _lit(page: Page) -> None:
    page.locator("g[data-row='2']").focus()


def _opened(page: Page) -> None:
    page.locator("details.figure summary").nth(1).click()
    page.locator("details.figure summary").nth(8).click()
    for one in page.locator(".checks details summary").all()[:2]:
        one.click()


def _along(page: Page) -> None:
    page.get_by_role("region", name="Profile").focus()
    for _ in range(9):
        page.keyboard.press("ArrowRight")
    page.wait_for_timeout(300)


def _slid(page: Page) -> None:
    page.get_by_role("slider").focus()
    page.keyboard.press("Home")
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    page.wait_for_timeout(300)


def _keys(page: Page) -> None:
    page.keyboard.press("?")


def _sure(page: Page) -> None:
    page.get_by_text("draws").first.wait_for(timeout=120_000)


def _compared(page: Page) -> None:
    page.get_by_role("button", name="Compare these two").first.click()
    page.wait_for_load_state()


def _calculator_fault(page: Page) -> None:
    page.get_by_label("Inputs").fill('host_diameter = "4 in"\npressure = "wrong"')
    page.get_by_role("button", name="Compute").click()
    page.get_by_role("heading", name="These inputs can’t be used").wait_for()


def _crew(page: Page) -> None:
    page.wait_for_selector("body[data-ready=yes]")
    if page.locator("#entered").is_visible():
        page.fill("#entered", "Ada Lund")
        page.fill("#read", "Bo Ek")
        page.click("text=this is us")


def _field(minutes: float = 0, *more: str, night: bool = False, low: bool = False) -> Act:
    def act(page: Page) -> None:
        _crew(page)
        if night:
            page.click("text=night")
        if minutes:
            mixed(page, minutes)
        for name in more:
            page.click(f"#bar >> text={name}")
        if low:
            boxes = page.locator("#card input")
            for n in range(boxes.count()):
                boxes.nth(n).fill("1.0")

    return act


LATERALS = ("A-04", "A-05", "A-07", "B-02", "B-04", "B-06", "C-01", "C-03", "C-04", "C-05")


def shots() -> Iterator[Shot]:
    """Every page, and its states."""
    yield from of_a_lateral()
    yield from of_the_project()
    yield from of_the_field()


def of_the_project() -> Iterator[Shot]:
    """Lists, papers, specification, calculators and errors."""
    yield Shot("project", "/", prints=True)
    yield Shot("project filtered", "/?segment=B&waits=engineer")
    yield Shot("project searched", "/?q=lantern")
    yield Shot("project no hit", "/?q=zebra")
    yield Shot("project keys", "/", _keys)
    yield Shot("project row", "/", lambda page: page.keyboard.press("j"))
    yield Shot("project bare", "/", store="bare")
    yield Shot("project town", "/?page=20", store="town")
    yield Shot("project town segment", "/?segment=M-37", store="town")
    yield from (
        Shot(f"lateral {key}", f"/laterals/{key}", prints=key == "A-07") for key in LATERALS
    )
    yield Shot(
        "acceptance refused", "/laterals/B-04/acceptance", _refused("Tightness", "Keep the test")
    )
    yield Shot("read", "/read")
    yield Shot("read seen", "/read", _drop(WRONG_LIST))
    yield Shot("read nothing", "/read", _drop("what\nis this\n"))
    yield Shot("specification", "/specification", prints=True)
    yield Shot("specification review", "/specification", _reviewed)
    yield Shot("papers", "/papers")
    yield Shot("papers bare", "/papers", store="bare")
    yield Shot("papers going", "/papers", _papers("going"))
    yield Shot("papers ready", "/papers", _papers())
    yield Shot("proof", "/proof")
    yield Shot("proof made", "/proof", _proven)
    yield Shot("schedule", "/schedule", prints=True)
    yield Shot("schedule bare", "/schedule", store="bare")
    yield Shot("payment", "/payment", prints=True)
    yield Shot("payment bare", "/payment", store="bare")
    yield Shot("calculators", "/calculators")
    yield from (Shot(f"calculator {name}", f"/calculators/{name}") for name in TOPICS)
    yield Shot("calculator wrong", "/calculators/launch", _calculator_fault)
    yield Shot("error 404", "/nowhere")
    yield Shot("error lateral", "/laterals/Z-99")
    yield Shot("error 422", "/papers/pdf?paper=poem&lateral=A-04")


def of_a_lateral() -> Iterator[Shot]:
    """The sheets of one lateral."""
    yield Shot("lateral town", "/laterals/L-1", store="town")
    yield Shot("lateral town planned", "/laterals/L-5", store="town")
    yield Shot("lateral lit", "/laterals/A-07", _lit)
    yield Shot("lateral opened", "/laterals/A-07", _opened)
    yield Shot("lateral along", "/laterals/A-07", _along)
    yield Shot("survey empty", "/laterals/C-06/survey")
    yield Shot("survey typed", "/laterals/A-05/survey", _typed)
    yield Shot("surveys", "/laterals/A-07/surveys")
    yield Shot("surveys two", "/laterals/A-05/surveys")
    yield Shot("what-if", "/laterals/A-05/what-if", _sure)
    yield Shot("what-if failing", "/laterals/A-05/what-if?tube=T6-3.0&held=tube%3DT4-4.5")
    yield Shot("what-if wrong", "/laterals/A-05/what-if?soil_temperature=warm")
    yield Shot("cure", "/laterals/A-05/cure", prints=True)
    yield Shot("cure slid", "/laterals/A-07/cure", _slid)
    yield Shot("cure none", "/laterals/C-05/cure")
    yield Shot("revisions", "/laterals/A-07/revisions")
    yield Shot("revisions compared", "/laterals/A-05/revisions", _compared)
    yield Shot("acceptance", "/laterals/A-04/acceptance", prints=True)
    yield Shot("acceptance open", "/laterals/B-04/acceptance")
    yield Shot("acceptance nothing", "/laterals/A-07/acceptance")
    yield Shot("acceptance sign", "/laterals/B-04/acceptance", _refused("Signature", "Sign"))


def of_the_field() -> Iterator[Shot]:
    """The crew's pages."""
    yield Shot("field list", "/field")
    yield Shot("field list bare", "/field", store="bare")
    yield Shot("field sign-in", "/field/A-07", store="field")
    yield Shot("field step", "/field/A-07", _field(30), store="field")
    yield Shot("field low", "/field/A-07", _field(30, low=True), store="field")
    yield Shot("field late", "/field/A-07", _field(190), store="field")
    yield Shot("field night", "/field/A-07", _field(30, night=True), store="field")
    for name in ("reading", "trouble cards", "all steps", "entries", "end attempt"):
        yield Shot(f"field {name}", "/field/A-07", _field(30, name), store="field")
    yield Shot("field paper", "/field/A-07/paper", store="field", prints=True)


def town(count: int) -> Iterator[tuple[Record, int]]:
    """The town of the benchmarks without its surveys."""
    outcomes = list(Fitness)
    mains = list(record_town.segments(count))
    yield record_town.project(), 0
    yield from ((main, 0) for main in mains)
    yield from ((record_town.lateral(n), 0) for n in range(count))
    for n in range(0, count, 5):
        yield record_town.sheet(n, mains[n // 20], outcomes[n // 5 % len(outcomes)]), 0


@contextmanager
def served(store: str, folder: Path) -> Iterator[str]:
    """The address of a server over the demo, an empty project, a large town, or a field job."""
    path = folder / f"{store}.drainwright"
    if store == "demo":
        if MADE.exists():  # by make demo
            shutil.copytree(MADE.parent, folder / "demo")
            path = folder / "demo" / MADE.name
        else:
            path = run_demo(folder, UnitSystem.US, by="test", papers=False).store
    elif store == "bare":
        with create(str(path)) as made:
            start_project(made, Project("bare", "Bare"), by="test", at=NOW)
    elif store == "town":
        with create(str(path)) as made, made.write(by="t", at=NOW, origin="", reason="t") as inside:
            inside.put_many("town", town(50_000))
    else:
        with field_store(path):
            pass
    laptop = Laptop(path)
    if store != "field":
        laptop.now = clock
    laptop.start()
    yield laptop.address
    laptop.kill()


def take(browser: Browser, shot: Shot, address: Address, folder: Path) -> list[str]:
    """All pictures of one state; returns what went wrong."""
    wrong: list[str] = []
    for width, height in SIZES:
        context = browser.new_context(viewport={"width": width, "height": height}, locale="en-US")
        page = context.new_page()
        page.on("pageerror", lambda error: wrong.append(f"{shot.name}: {error}"))
        page.goto(address(shot.store) + shot.address)
        try:
            if page.locator("#map").count():
                page.locator("#map .manhole").first.wait_for(state="attached", timeout=8000)
            shot.act(page)
        except Error as error:  # the picture shows how far it came
            wrong.append(f"{shot.name}, {width}: {str(error).splitlines()[0]}")
        wider = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        if wider > 0:
            wrong.append(f"{shot.name}, {width}: {wider} px too wide")
        for scheme in SCHEMES:
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            tall = min(LONGEST, page.evaluate("document.documentElement.scrollHeight"))
            page.screenshot(
                path=folder / f"{shot.name} {width} {scheme}.png", full_page=True,
                clip={"x": 0, "y": 0, "width": width, "height": max(tall, height)},
            )  # fmt: skip
        if shot.prints and width == SIZES[0][0]:
            page.emulate_media(color_scheme="light")
            page.pdf(path=folder / f"{shot.name}.pdf", format="Letter")
        context.close()
    return wrong


def main(folder: Path, words: list[str]) -> int:
    """Take them all; the number of things that went wrong."""
    folder.mkdir(parents=True, exist_ok=True)
    chosen = [one for one in shots() if not words or any(word in one.name for word in words)]
    wrong: list[str] = []
    with ExitStack() as stack:
        kept = Path(stack.enter_context(tempfile.TemporaryDirectory()))

        @cache
        def kept_up(store: str) -> str:
            return stack.enter_context(served(store, kept))

        def address(store: str) -> str:
            """A crew's entries stay in its store: each field page begins with another."""
            if store != "field":
                return kept_up(store)
            own = Path(tempfile.mkdtemp(dir=kept))
            return stack.enter_context(served(store, own))

        playwright = stack.enter_context(sync_playwright())
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox"]
        )
        stack.callback(browser.close)
        for shot in chosen:
            wrong += take(browser, shot, address, folder)
    sys.stdout.write("\n".join(wrong or ["nothing is wider than its window"]) + "\n")
    return len(wrong)


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), sys.argv[2:]) > 0)
