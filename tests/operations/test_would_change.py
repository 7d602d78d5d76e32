"""TRADE 25: an update lists the laterals it would change, before it is stored."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from drainwright.cli.app import app
from drainwright.errors import InputError, NotFoundError
from drainwright.operations.file_reading import ReadRequest
from drainwright.operations.plan_laterals import plan_laterals
from drainwright.operations.read_files import read_file
from drainwright.operations.run_demo import FILES, demo_folder
from drainwright.operations.start_project import start_project
from drainwright.operations.stores import create
from drainwright.operations.would_change import PlanChange, would_change
from drainwright.records.lateral import Lateral
from drainwright.records.material import Tube
from drainwright.records.premises import Premises
from drainwright.records.project import Project
from drainwright.records.specification import Specification
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.sources import cite
from drainwright.storage.protocol import RecordStore

AT = dt.datetime(2026, 11, 25, 18, tzinfo=dt.UTC)
KEYS = ("A-04", "B-02")
MEMORY = cite("memory")
RUN = CliRunner()


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[RecordStore, Path]]:
    """Two planned laterals of the demo town."""
    file = tmp_path_factory.mktemp("would") / "t.drainwright"
    with create(str(file)) as store:
        start_project(store, Project("p", "P", demo=True), by="Ann", at=AT)
        for name in FILES:
            request = ReadRequest((demo_folder() / name).read_bytes(), name)
            read_file(store, "p", request, by="Ann", at=AT, today=AT.date())
        plan_laterals(store, "p", KEYS, by="Ann", at=AT)
        yield store, file


@pytest.fixture
def store(town: tuple[RecordStore, Path]) -> RecordStore:
    return town[0]


def record(store: RecordStore, kind: Any, key: str) -> Any:
    with store.read() as session:
        return session.get("p", kind, key).record


def limits(store: RecordStore, **values: float | None) -> Specification:
    found: Specification = record(store, Specification, "specification")
    return found.with_limits({name: (value, MEMORY) for name, value in values.items()})


def changes(store: RecordStore, *changed: Any) -> dict[str, PlanChange]:
    found = would_change(store, "p", changed, at=AT, keys=KEYS)
    assert found.looked_at == (len(KEYS))
    return {one.lateral: one for one in found.laterals}


def figures(change: PlanChange) -> dict[str, tuple[Any, Any]]:
    return {one.key: (one.before, one.after) for one in change.figures}


def test_nothing_is_told_where_nothing_changes(store: RecordStore) -> None:
    assert changes(store, limits(store)) == {}
    assert changes(store) == {}


def test_a_stricter_wall_is_told_for_each_lateral_and_not_stored(store: RecordStore) -> None:
    with store.read() as session:
        before = dict(session.counts("p"))
    found = changes(store, limits(store, safety_factor=3.0))
    assert sorted(found) == list(KEYS)
    for one in found.values():
        told = figures(one)
        assert not one.outcome_changes
        assert told["wall.required"][1] > told["wall.required"][0]
        assert "steam.hold" not in told
    with store.read() as session:
        assert dict(session.counts("p")) == before
        assert session.get("p", Specification, "specification").revision.number == 1


def test_an_outcome_that_would_turn_is_told_with_its_reason(store: RecordStore) -> None:
    # Manning n 0.013 / 0.010 and a 3 mm wall give 1.1 of the flow before: 1.3 can't be met
    found = changes(store, limits(store, capacity_ratio_least=1.3))
    assert {one.before for one in found.values()} == {Fitness.LINE}
    assert {one.after for one in found.values()} == {Fitness.ASK}
    assert any("capacity clause" in words for words in found["A-04"].new_reasons)
    back = would_change(store, "p", [limits(store, lined_length_most=1.0)], at=AT, keys=KEYS)
    assert back.outcomes == len(KEYS)


def test_a_resin_or_tube_of_the_same_key_stands_in_and_a_new_one_stands_beside(
    store: RecordStore,
) -> None:
    sheet: WorkSheet = record(store, WorkSheet, "A-04")
    resin, tube = sheet.resin, record(store, Tube, "T4-3.0")
    assert resin is not None
    heavier = replace(resin, density=(resin.density or 0.0) * 1.1)
    told = figures(changes(store, heavier)["A-04"])
    assert told["wetout.mass"][1] / told["wetout.mass"][0] == pytest.approx(1.1, rel=1e-6)
    thin = replace(tube, wall=0.001)
    assert figures(changes(store, thin)["A-04"])["tube.name"][0] == "T4-3.0"
    assert changes(store, replace(tube, key="T4-unused", smallest_host=0.3)) == {}


def test_a_changed_lateral_touches_itself_alone(store: RecordStore) -> None:
    shorter = replace(record(store, Lateral, "A-04"), lined_length=5.0)
    found = changes(store, shorter)
    assert set(found) == {"A-04"}
    assert figures(found["A-04"])["length.lined"][1] == 5.0


def test_without_an_update_the_kept_sheets_are_compared_with_the_records(
    store: RecordStore,
) -> None:
    spec = record(store, Specification, "specification")
    with store.write(by="Ben", at=AT, origin="", reason="colder") as session:
        session.put("p", limits(store, safety_factor=3.0), expected=None)
    assert {"wall.required"} <= set(figures(changes(store)["A-04"]))
    every = would_change(store, "p", (), at=AT)
    assert every.looked_at == len(KEYS)  # the others were never planned
    with store.write(by="Ben", at=AT, origin="", reason="back") as session:
        session.put("p", spec, expected=None)
    assert changes(store) == {}


def test_each_lateral_is_told_to_the_caller(store: RecordStore) -> None:
    steps: list[tuple[str, int, int]] = []
    would_change(store, "p", [limits(store, safety_factor=3.0)], at=AT, keys=KEYS,
                 progress=lambda *step: steps.append(step))  # fmt: skip
    assert sorted(step[0] for step in steps) == list(KEYS)
    assert [step[1:] for step in steps] == [(1, 2), (2, 2)]


def test_what_is_not_there_is_refused(store: RecordStore) -> None:
    with pytest.raises(NotFoundError):
        would_change(store, "p", (), at=AT, keys=["Z-99"])
    with pytest.raises(InputError, match="Premises is none of"):
        would_change(store, "p", [Premises("P", "1 Oak")], at=AT)  # type: ignore[list-item]


def test_the_command_lists_what_limits_and_files_would_change(
    town: tuple[RecordStore, Path], tmp_path: Path
) -> None:
    where = str(town[1])
    done = RUN.invoke(app, ["would-change", where, "--limit", "safety_factor=3", *only()])
    assert "wall, needed: " in done.output
    assert "2 laterals looked at: 2 would change, 0 of them in outcome" in done.output
    rows = (demo_folder() / "tubes.csv").read_text("utf-8").splitlines()
    tubes = tmp_path / "tubes.csv"
    tubes.write_text("\n".join([rows[0], rows[1].replace("4,3.0,", "4,4.0,")]), "utf-8")
    done = RUN.invoke(app, ["would-change", where, str(tubes), *only()])
    assert "tube: T4-3.0 → T4-3.0S" in done.output  # 4 mm no longer the thinnest that serves
    assert RUN.invoke(app, ["would-change", where, "--limit", "cow"]).exit_code != 0


def only() -> list[str]:
    return [word for key in KEYS for word in ("--lateral", key)]
