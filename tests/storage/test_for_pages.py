from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from drainwright.operations.run_demo import PROJECT, run_demo
from drainwright.operations.stores import existing
from drainwright.planning.waiting import waits_on
from drainwright.records.lateral import Lateral
from drainwright.records.work_sheet import Fitness, Reason, WorkSheet
from drainwright.sources import cite
from drainwright.units import UnitSystem


@pytest.fixture(scope="module")
def store_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return run_demo(tmp_path_factory.mktemp("p"), UnitSystem.SI, by="test", papers=False).store


def test_stages_count_what_the_documents_say(store_file: Path) -> None:
    with existing(str(store_file)) as (store, _), store.read() as session:
        each = [(item.stage, item.fitness) for item in session.every(PROJECT, Lateral)]
        assert session.stages(PROJECT) == Counter(each)


def test_hashes_and_one_field_are_those_of_the_whole_documents(store_file: Path) -> None:
    with existing(str(store_file)) as (store, _), store.read() as session:
        sheets = list(session.every(PROJECT, WorkSheet))
        keys = [sheet.key for sheet in sheets]
        hashes = session.hashes(PROJECT, WorkSheet, [*keys, "no such one"])
        assert hashes == {sheet.key: sheet.revision.sha256 for sheet in sheets}
        for name in ("reasons", "outcome", "issued_at", "cautions", "go_no_go"):
            found = session.field(PROJECT, WorkSheet, keys, name)
            assert found == {sheet.key: getattr(sheet.record, name) for sheet in sheets}


def reason(outcome: Fitness, rule: str) -> Reason:
    return Reason(outcome, rule, "", cite("practice"))


@pytest.mark.parametrize(
    ("stage", "reasons", "who"),
    [
        ("listed", [], ("camera crew",)),
        ("surveyed", [], ("office",)),
        ("designed", [], ()),
        ("designed", [reason(Fitness.PREPARE, "right of entry")], ("resident",)),
        ("designed", [reason(Fitness.ASK, "right of entry")], ("sewer’s owner",)),
        ("designed", [reason(Fitness.ASK, "steep")], ("engineer",)),
        ("designed", [reason(Fitness.STOP, "structure")], ("sewer’s owner",)),
        (
            "designed",
            [reason(Fitness.PREPARE, "roots"), reason(Fitness.PREPARE, "tube")] * 2,
            ("cleaning crew", "maker"),
        ),
    ],
)
def test_whom_a_lateral_waits_on(stage: str, reasons: list[Reason], who: tuple[str, ...]) -> None:
    assert waits_on(stage, reasons) == who
