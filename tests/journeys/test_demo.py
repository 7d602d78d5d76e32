"""The demo town, from its files to its papers, through the command line."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pypdfium2
import pytest
from typer.testing import CliRunner

from drainwright.cli.app import app
from drainwright.operations.list_laterals import list_laterals
from drainwright.operations.pay import earned
from drainwright.operations.plan_laterals import plan_laterals
from drainwright.operations.run_demo import PROJECT, TODAY, DemoRun, demo_folder, run_demo
from drainwright.operations.show_lateral import show_lateral
from drainwright.operations.stores import existing
from drainwright.records.work_sheet import Fitness
from drainwright.units import UnitSystem

RUN = CliRunner()


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> DemoRun:
    folder = tmp_path_factory.mktemp("demo")
    left = folder / "alder-ferry.drainwright.attachments" / "old"
    left.mkdir(parents=True)
    return run_demo(folder, UnitSystem.US, by="test")


def test_what_an_earlier_demo_left_is_replaced(demo: DemoRun) -> None:
    attachments = demo.store.with_name(demo.store.name + ".attachments")
    assert any(path.is_file() for path in attachments.rglob("*")), "no log was kept"
    assert not list(attachments.rglob("old"))


def text_of(path: Path) -> str:
    document = pypdfium2.PdfDocument(path)
    return "\n".join(page.get_textpage().get_text_bounded() for page in document)


# what examples/alder_ferry/README.md says of each lateral
EXPECTED = {
    "A-01": (Fitness.PREPARE, "roots"),
    "A-02": (Fitness.PREPARE, "length"),
    "A-03": (Fitness.PREPARE, "right of entry"),
    "A-04": (Fitness.LINE, ""),
    "A-05": (Fitness.LINE, ""),
    "A-06": (Fitness.PREPARE, "roots"),
    "A-07": (Fitness.PREPARE, "roots"),
    "A-08": (Fitness.ASK, "listed length"),
    "A-09": (Fitness.PREPARE, "infiltration"),
    "A-10": (Fitness.PREPARE, "access"),
    "B-01": (Fitness.PREPARE, "right of entry"),
    "B-02": (Fitness.LINE, ""),
    "B-03": (Fitness.ASK, "tap kind"),
    "B-04": (Fitness.LINE, ""),
    "B-05": (Fitness.ASK, "belly"),
    "B-06": (Fitness.STOP, "foreign pipe"),
    "B-08": (Fitness.ASK, "steep"),
    "C-01": (Fitness.ASK, "right of entry"),
    "C-02": (Fitness.ASK, "host material"),
    "C-03": (Fitness.ASK, "branch"),
    "C-04": (Fitness.STOP, "bend"),
    "C-05": (Fitness.STOP, "structure"),
    "C-06": (Fitness.ASK, "main lining"),
}


def test_each_lateral_shows_its_trouble(demo: DemoRun) -> None:
    sheets = {item.lateral: item.sheet for item in demo.planned}
    assert len(sheets) == 24
    for key, (outcome, rule) in EXPECTED.items():
        sheet = sheets[key]
        assert sheet is not None, key
        assert sheet.outcome is outcome, key
        assert not rule or rule in {reason.rule for reason in sheet.reasons}, key
    step = sheets["B-02"]
    assert step is not None
    assert step.tube is not None
    assert step.tube.key == "T4-4.5S"


def test_the_papers_say_what_the_sheets_say(demo: DemoRun) -> None:
    assert len(list(demo.folder.glob("* work sheet.pdf"))) == 24
    seven = text_of(demo.folder / "A-07 work sheet.pdf")
    for words in ("A-07", "14 Weaver's Row", "Prepare first", "T4-3.0", "DEMO"):
        assert words in seven
    assert "DO NOT LINE" in text_of(demo.folder / "B-06 work sheet.pdf")
    for paper in ("mix ticket", "design note", "survey sheet", "field form", "door notice"):
        assert "A-07" in text_of(demo.folder / f"A-07 {paper}.pdf")
    order = " ".join(text_of(demo.folder / "tube order.pdf").split())
    assert "T4-3.0: 4 in" in order
    assert "T4-4.5S" not in order  # its only lateral is lined
    assert "B-02: lined already" in order
    assert "A-08: waits for the engineer" in order


def test_the_pay_estimate_is_the_contract_times_the_record(demo: DemoRun) -> None:
    """0.6 × 18,500 + 2 × 1,450 + 4 × 4,180 + feet × 92.50 + tests × 165 + 4 × 120, less 5 %."""
    with existing(str(demo.store)) as (store, project):
        found = earned(store, project.key)
    sums: dict[str, Decimal] = {}
    for one in found.quantities:
        sums[one.item] = sums.get(one.item, Decimal(0)) + one.amount
    wanted = {
        "1": Decimal("0.6"),
        "2": Decimal(2),
        "3": Decimal(4),
        "6": Decimal(4),
        "7": Decimal(4),
    }
    # each of the four is tested once for pay: A-05's test after its repair is not paid again
    assert {item: sums[item] for item in wanted} == wanted
    work = 1_110_000 + 290_000 + 1_672_000 + 48_000 + int(sums["4"] * 9_250) + 16_500 * sums["6"]
    (estimate,) = found.estimates
    assert estimate.work == work
    assert abs(estimate.payment - work * Decimal("0.95")) <= 1
    assert f"{Decimal(estimate.payment) / 100:,.2f} USD" in text_of(
        demo.folder / "pay estimate 1.pdf"
    )
    assert (demo.folder.parent / "closeout" / "warranty.ics").is_file()


def test_planning_again_changes_nothing(demo: DemoRun) -> None:
    import datetime as dt

    later = dt.datetime.combine(TODAY, dt.time(20), dt.UTC)
    with existing(str(demo.store)) as (store, project):
        again = plan_laterals(store, project.key, by="other", at=later)
    assert {item.changed for item in again} == {False}
    assert {item.revision for item in again} == {1}


def test_lists_and_one_lateral(demo: DemoRun) -> None:
    with existing(str(demo.store), PROJECT) as (store, project):
        ready = list_laterals(store, project.key, fitness=Fitness.LINE)
        found = list_laterals(store, project.key, words="lantern")
        view = show_lateral(store, project.key, "B-05")
    assert [line.key for line in ready.items] == ["A-04", "A-05", "B-02", "B-04"]
    assert {line.segment for line in found.items} == {"B"}
    assert view.sheet is not None
    running = [o for o in view.surveys[0].observations if o.running_to is not None]
    assert running[0].running_to == pytest.approx(27.5 * 0.3048, abs=0.01)


def test_the_command_line_shows_the_same(demo: DemoRun) -> None:
    store = str(demo.store)
    listed = RUN.invoke(app, ["list", store, "--fitness", "do not line"])
    assert listed.exit_code == 0
    assert "B-06" in listed.output
    assert "3 of 3 laterals" in listed.output
    shown = RUN.invoke(app, ["show", store, "A-07"])
    assert "Prepare first" in shown.output
    assert "Cut the roots" in shown.output
    missing = RUN.invoke(app, ["show", store, "Z-99"])
    assert missing.exit_code == 1
    assert "Z-99" in missing.output
    nowhere = RUN.invoke(app, ["list", store + ".not"])
    assert nowhere.exit_code == 1
    assert "there is no store" in nowhere.output


def test_a_project_of_ones_own_from_the_same_files(tmp_path: Path) -> None:
    store = str(tmp_path / "own.drainwright")
    made = RUN.invoke(
        app, ["new", store, "--name", "Own", "--units", "si", "--specification", "city"]
    )
    assert made.exit_code == 0, made.output
    files = [
        str(demo_folder() / name)
        for name in ("segments.csv", "laterals.csv", "tubes.csv", "resins.csv", "surveys.txt")
    ]
    read = RUN.invoke(app, ["read", store, *files, "--yes"])
    assert read.exit_code == 0, read.output
    planned = RUN.invoke(app, ["plan", store, "A-07"])
    assert "A-07: prepare first, revision 1 (new)" in planned.output
    out = tmp_path / "papers"
    printed = RUN.invoke(app, ["print", store, "--out", str(out)])
    assert printed.exit_code == 0, printed.output
    sheet = text_of(out / "A-07 work sheet.pdf")
    assert "No resin that may be used here" in sheet  # demo resin never enters a real project


def test_a_second_project_with_the_same_key_is_refused(tmp_path: Path) -> None:
    store = str(tmp_path / "own.drainwright")
    assert RUN.invoke(app, ["new", store, "--name", "Own"]).exit_code == 0
    again = RUN.invoke(app, ["new", store, "--name", "Own"])
    assert again.exit_code == 1
    assert "already" in again.output
    wrong = RUN.invoke(app, ["new", store, "--name", "Other", "--zone", "Mars/Base"])
    assert wrong.exit_code == 2
    assert "time zone" in wrong.output
