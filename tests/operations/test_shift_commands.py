"""From crews to shift sheets, as a person types it; and what is wrong with a file."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pypdfium2
import pytest

from drainwright.errors import InputError
from drainwright.exchange.shift_file import EXAMPLE, read_shift_file
from drainwright.operations.schedule import Days, make_schedule, show_schedule
from drainwright.operations.shift_words import shift_strips
from drainwright.records.crew import CrewStep, Mixing, StockKind
from drainwright.records.premises import EntryState, Premises
from drainwright.records.rig import Rig
from drainwright.storage import open_store
from drainwright.units import FOOT
from tests.operations.test_pay_commands import run
from tests.planning.shifts import candidate, segment
from tests.storage.samples import NOON, project, writing

FIRST = (dt.datetime.now(dt.UTC).date() + dt.timedelta(days=7)).isoformat()
CREWS = """
[[crews]]
key = "north"
rigs = ["rig 1"]
[stock]
counted_on = 2026-05-04
[[stock.items]]
kind = "tube"
name = "T"
on_hand = "20 m"
lead_time_days = 3
"""


STOCK = "[stock]\ncounted_on = 2026-01-01\n[[stock.items]]\n"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A store with three laterals that are ready, and 20 m of tube for 36 m of work."""
    file = tmp_path / "job.drainwright"
    store = open_store(file, create=True)
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put("oak", segment("S"), expected=0)
        session.put("oak", Rig("rig 1"), expected=0)
        for key in ("L-1", "L-2", "L-3"):
            place = Premises(f"P-{key}", f"{key} Row", entry=EntryState.SIGNED)
            one = candidate(key, places=(place,))
            session.put("oak", place, expected=0)
            session.put("oak", one.sheet.lateral, expected=0)
            session.put("oak", one.sheet, expected=0)
    store.close()
    return file


def test_from_crews_to_a_shift_sheet(job: Path, tmp_path: Path) -> None:
    crews = tmp_path / "crews.toml"
    crews.write_text(CREWS, "utf-8")
    assert "no shift plan yet" in run("shift", "show", job)
    assert "north: revision 1" in run("shift", "crews", job, crews)
    told = run("shift", "plan", job, "--first", FIRST, "--until", "2126-05-04", code=2)
    assert "more than a year" in told
    told = run("shift", "plan", job, "--first", FIRST)
    assert "proven best" in told
    assert told.count("look ") == 3
    assert told == run("shift", "show", job)
    assert "scheduled" in run("list", job)
    out = tmp_path / "out"
    made = run("shift", "print", job, "--out", out).splitlines()
    text = pypdfium2.PdfDocument(made[0])[0].get_textpage().get_text_range()
    assert " Row" in text
    assert "Load before you leave" in text
    called = run("shift", "calloff", job, "--out", out)
    assert "tube T" in called
    assert (out / "material call-off.pdf").read_bytes().startswith(b"%PDF")
    run("shift", "print", job, "--day", "2020-01-01", code=1)
    run("shift", "plan", job, "--first", "soon", code=2)
    notice = run("print", job, "L-1", "--paper", "door notice", "--out", out)
    assert "door notice" in notice


def test_a_plan_without_a_day_takes_nothing(job: Path, tmp_path: Path) -> None:
    crews = tmp_path / "crews.toml"
    crews.write_text(CREWS, "utf-8")
    run("shift", "crews", job, crews)
    saturday = "2026-05-09"
    run("shift", "plan", job, "--first", saturday, "--until", saturday)
    assert "no lateral has a day" in run("shift", "calloff", job)


def test_two_planners_do_not_overwrite_each_other_and_a_past_day_is_planned_anew(
    job: Path, tmp_path: Path
) -> None:
    crews = tmp_path / "crews.toml"
    crews.write_text(CREWS.partition("[stock]")[0], "utf-8")
    run("shift", "crews", job, crews)
    store = open_store(job)
    day = NOON.date()
    days = Days(day, day + dt.timedelta(days=20))
    first = make_schedule(store, "oak", days, by="Ann", at=NOON)
    assert first.plan is not None
    later = NOON + dt.timedelta(days=1)
    frozen = Days(day, days.until, frozen_until=day)
    again = make_schedule(store, "oak", frozen, by="Ann", at=later)
    assert again.revision == 2
    assert again.plan is not None
    assert again.plan.shifts[0] == first.plan.shifts[0]
    again_ = {key for shift in again.plan.shifts[1:] for key in shift.laterals}
    assert set(first.plan.shifts[0].laterals) <= again_
    shown = show_schedule(store, "oak")
    assert shown.plan == again.plan
    strips = shift_strips(again.plan, later.date(), lambda key: f"/{key}")
    assert strips[0].past
    assert "<a " in strips[0].drawing
    store.close()


def test_the_example_can_be_read() -> None:
    found = read_shift_file(EXAMPLE.encode(), "crews.toml")
    (north,) = found.crews
    assert north.time(CrewStep.LOOK) == 1500.0
    assert north.mixing is Mixing.EACH_LINER
    assert found.calendar is not None
    assert found.calendar.rain_allowance == 1
    assert found.stock is not None
    item = found.stock.item(StockKind.TUBE, "T4-3.0")
    assert item is not None
    assert item.on_hand == pytest.approx(300 * FOOT)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[[crews]]\nrigs = []", "crews 1: key: is missing"),
        ('[[crews]]\nkey = "a"\nrigs = [1]', "crews 1: rigs: must be text"),
        ('[[crews]]\nkey = "a"\nrigs = []\nweekdays = [8]', "weekdays: must be days from 1"),
        ('[[crews]]\nkey = "a"\nrigs = []\nstart = 7', "start: must be a time"),
        ('[[crews]]\nkey = "a"\nrigs = []\nmixing = "often"', "mixing: must be one of"),
        (
            '[[crews]]\nkey = "a"\nrigs = []\ntimes = [{step = "nap", p80 = "1 h"}]',
            "times: 1: step: must be one of",
        ),
        (
            '[[crews]]\nkey = "a"\nrigs = []\ntimes = [{step = "film and test", p80 = "-5 min"}]',
            "must be 0 to 24 h",
        ),
        ('[[crews]]\nkey = "a"\nrigs = []\n[[crews]]\nkey = "a"\nrigs = []', "used twice"),
        ("[calendar]\nrain_allowance = 12", "must be 0 to 9 of ten days"),
        ('[calendar]\ndays_off = ["soon"]', "must be a date"),
        ('[[promises]]\nlateral = "a"\non = 2026-01-01', "promises 1: by: is missing"),
        ('[[wishes]]\nlateral = "a"\npriority = 0', "whole number from 1"),
        ('[[wishes]]\nlateral = "a"\n[[wishes]]\nlateral = "a"', "named twice"),
        ('[stock]\nwaste = "5 %"', "stock: counted_on: is missing"),
        (
            STOCK + 'kind = "tube"\nname = "T"\non_hand = "3 lb"',
            "stock item 1: on_hand",
        ),
        (
            STOCK + 'kind = "collar"\nname = "C"\non_hand = -1',
            "must be a number from 0",
        ),
        ("[trucks]", "is not a table of this file"),
        ("crews = 3", "must be written as [[crews]]"),
        ("[[crews", "is not TOML"),
    ],
)
def test_every_fault_is_told_with_its_place(text: str, told: str) -> None:
    with pytest.raises(InputError) as error:
        read_shift_file(text.encode(), "crews.toml")
    assert told in str(error.value)
    assert "crews.toml" in str(error.value)
