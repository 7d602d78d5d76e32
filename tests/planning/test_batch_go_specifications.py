"""Batches, the go/no-go list, and the specifications to start from."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drainwright.checks import Outcome
from drainwright.errors import InputError, NotFoundError
from drainwright.planning.batch import make_batch, weighed_checks
from drainwright.planning.design import design
from drainwright.planning.go_no_go import go_no_go
from drainwright.records.lateral import FarAccess
from drainwright.records.premises import EntryState, Premises
from drainwright.records.specification import default_specification
from drainwright.records.starting_specifications import STARTING, starting_specification
from drainwright.records.survey import ObservationKind
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.units import PSI, UnitSystem
from tests.planning.sites import INCH, lateral, share, site
from tests.planning.test_design import COLLAR, RESIN, SIGNED, TUBES, made


def test_a_batch_adds_up_by_weight() -> None:
    sheets = (made(), made(site(lateral=lateral(key="A-08"))))
    batch = make_batch(sheets)
    assert batch.mass == pytest.approx(sum(part.mass for part in batch.shares))
    assert batch.part_a / batch.part_b == pytest.approx(4.0)
    assert batch.part_a + batch.part_b == pytest.approx(batch.mass)
    assert batch.volume_a is None
    heavy = replace(RESIN, density_a=1150.0, density_b=990.0)
    dense = make_batch([replace(sheets[0], resin=heavy)])
    assert dense.volume_a == pytest.approx(dense.part_a / 1150.0)
    assert dense.volume_b == pytest.approx(dense.part_b / 990.0)


def test_what_cannot_be_one_batch() -> None:
    with pytest.raises(InputError, match="at least one"):
        make_batch(())
    other = replace(made(), resin=replace(RESIN, key="R2"))
    with pytest.raises(InputError, match="same resin"):
        make_batch((made(), other))
    bare = replace(made(), figures=())
    with pytest.raises(InputError, match="no resin weighed"):
        make_batch((bare,))


@pytest.mark.parametrize(
    ("factor", "left", "outcomes"),
    [
        (1.0, 0.0, (Outcome.MET, Outcome.MET, Outcome.MET)),
        (1.03, 0.0, (Outcome.NOT_MET, Outcome.MET, Outcome.MET)),
        (1.06, 0.0, (Outcome.NOT_MET, Outcome.NOT_MET, Outcome.MET)),
        (1.0, 0.2, (Outcome.MET, Outcome.MET, Outcome.NOT_MET)),
    ],
)
def test_weighing_back(factor: float, left: float, outcomes: tuple[Outcome, ...]) -> None:
    batch = make_batch((made(),))
    checks = weighed_checks(
        batch, default_specification(), batch.part_a * factor, batch.part_b, left * batch.mass
    )
    assert tuple(check.outcome for check in checks) == outcomes


def test_the_list_is_made_for_this_lateral() -> None:
    where = replace(site(share(ObservationKind.ROOTS, 6, 20)), premises=(SIGNED,))
    sheet = design(where, TUBES, (RESIN,), (COLLAR,))
    lines = "\n".join(sheet.go_no_go)
    assert "Water off, traps filled: 14 Weaver’s Row" in lines
    assert "Exhaust outdoors, stack 6 ft, 15 ft kept clear" in lines
    metric = replace(where, project=replace(where.project, units=UnitSystem.SI))
    # 6 ft = 1.83 m, 15 ft = 4.57 m
    assert "Exhaust outdoors, stack 1.8 m, 4.6 m kept clear" in go_no_go(metric)
    assert "Witness cup" in lines
    blind = replace(where, lateral=lateral(far_access=FarAccess.NONE, material="PVC"))
    lines = "\n".join(go_no_go(blind))
    assert "Blind end" in lines
    assert "gas limit" in lines


# TRADE 3, line by line; the witness cup is asked for by 13
ASKED = (
    "looked through today, after cleaning", "length measured again",
    "tube, collar and seals received and checked", "boiler hot", "standby air", "flow in the main",
    "exhaust outdoors", "weather", "permits", "air monitor", "instruments in calibration",
    "witness cup", "water off, traps filled: 14 weaver’s row",
    "water off, traps filled: 16 weaver’s row",
)  # fmt: skip


def test_the_list_asks_everything_that_the_trade_names() -> None:
    second = Premises("P-15", "16 Weaver’s Row", entry=EntryState.SIGNED)
    lines = [line.lower() for line in go_no_go(site(premises=(SIGNED, second)))]
    for words in ASKED:
        assert any(words in line for line in lines), words


def test_a_lateral_not_to_be_lined_has_no_list() -> None:
    assert made(site(lateral=lateral(foreign_pipes=(3.0,)))).go_no_go == ()


def city(wall_mm: float) -> WorkSheet:
    tube = replace(TUBES[0], key="T", wall=wall_mm / 1000)
    resin = replace(RESIN, modulus=None)
    where = replace(site(specification=starting_specification("city")), premises=(SIGNED,))
    return design(where, (tube,), (resin,), ())


@pytest.mark.published
def test_the_capacity_clause_of_the_city() -> None:
    # reference/practice.md, C: in a 4 in lateral 3.0 mm gives 1.0047, 4.5 mm 0.923 (n .013/.011)
    for wall, ratio, outcome in ((3.0, 1.0047, Outcome.MET), (4.5, 0.923, Outcome.NOT_MET)):
        sheet = city(wall)
        check = next(c for c in sheet.checks if c.name == "flow after lining")
        assert check.capacity == pytest.approx(ratio, abs=5e-4)
        assert check.outcome is outcome
        warned = any(reason.rule == "capacity" for reason in sheet.reasons)
        assert warned is (outcome is Outcome.NOT_MET)


@pytest.mark.published
def test_the_city_design_basis() -> None:
    # reference/wall.md, C: X1.3 / stiffness 4 in 1.31 / 1.43 mm
    sheet = city(3.0)
    by = {f.key: f.value for f in sheet.figures}
    assert by["wall.by_x1_3"] == pytest.approx(1.31e-3, abs=5e-6)
    assert by["wall.by_x1_4"] == pytest.approx(1.43e-3, abs=5e-6)


def test_every_starting_specification_is_whole() -> None:
    for name in STARTING:
        made_ = starting_specification(name)
        assert set(made_.limits) == set(default_specification().limits)
        assert made_.basis
    assert starting_specification("iso").value("minimum_wall") == 0.003
    assert starting_specification("city").value("modulus_least") == pytest.approx(400_000 * PSI)
    with pytest.raises(NotFoundError):
        starting_specification("none")


def test_outcome_of_a_plain_lateral_stays() -> None:
    assert made().outcome is Fitness.LINE
    assert made(site(lateral=lateral(tap_hole=6 * INCH))).outcome is Fitness.LINE
