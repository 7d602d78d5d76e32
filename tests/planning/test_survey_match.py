"""Two surveys laid over each other: what is tied, how distances move, what differs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drainwright.planning.survey_match import Placed, laid_over, lay_over
from drainwright.records.survey import Observation, ObservationKind

Kind = ObservationKind
SEEN = (
    Observation(Kind.BEND, 1.0, 0.785, "angle"),
    Observation(Kind.OFFSET, 4.0, 0.006, "small_length", at_joint=True, clock_from=10),
    Observation(Kind.ROOTS, 5.0, 0.20, "share"),
    Observation(Kind.BRANCH, 8.0, 0.1, "diameter", clock_from=3),
    Observation(Kind.FINISH, 12.0),
)


def placed(*seen: Observation) -> tuple[Placed, ...]:
    return tuple(Placed(index, one.distance, one) for index, one in enumerate(seen))


@pytest.mark.analytic
def test_a_survey_laid_over_itself_differs_in_nothing() -> None:
    found = lay_over(placed(*SEEN), placed(*SEEN))
    assert found.shift == 0.0
    assert [(tie.first, tie.second) for tie in found.ties] == [(d, d) for d in (1, 4, 8, 12)]
    assert all(pair.first == pair.second and not pair.differs for pair in found.pairs)
    assert len(found.pairs) == len(SEEN)


@pytest.mark.analytic
@pytest.mark.parametrize("shift", [-1.7, 0.9, 3.2])
def test_another_zero_is_found_from_the_marks(shift: float) -> None:
    moved = [replace(one, distance=one.distance - shift) for one in SEEN]
    found = lay_over(placed(*SEEN), placed(*moved))
    assert found.shift == pytest.approx(shift)
    assert len(found.ties) == 4
    for pair in found.pairs:
        assert pair.first is not None
        assert pair.second is not None
        assert pair.laid == pytest.approx(pair.first.distance)


@pytest.mark.analytic
def test_between_two_marks_distances_are_stretched_evenly() -> None:
    # the counter slips between the joint at 4 and the branch at 8, which it has at 8.4:
    # roots a quarter of the way, at 5, are a quarter of the way there, at 4 + 4.4 / 4
    moved = [
        replace(SEEN[0]), replace(SEEN[1]), replace(SEEN[2], distance=5.1),
        replace(SEEN[3], distance=8.4), replace(SEEN[4], distance=12.4),
    ]  # fmt: skip
    found = lay_over(placed(*SEEN), placed(*moved))
    roots = next(p for p in found.pairs if p.second and p.second.seen.kind is Kind.ROOTS)
    assert roots.first is not None
    assert roots.laid == pytest.approx(5.0)
    assert found.laid(10.4) == pytest.approx(10.0)
    assert laid_over((), 0.5, 3.0) == 3.5


def test_what_only_one_saw_and_what_changed_is_told() -> None:
    grown = replace(SEEN[2], measure=0.40)
    turned = replace(SEEN[1], clock_from=1)
    leak = Observation(Kind.INFILTRATION, 6.0, grade="dripping")
    second = (SEEN[0], turned, grown, leak, SEEN[4])
    found = lay_over(placed(*SEEN), placed(*second))
    told = {
        (pair.first or pair.second).seen.kind: (  # type: ignore[union-attr]  # one is there
            pair.first is not None, pair.second is not None, pair.differs,
        )
        for pair in found.pairs
    }  # fmt: skip
    assert told[Kind.ROOTS] == (True, True, ("size",))
    assert told[Kind.OFFSET] == (True, True, ("clock",))
    assert told[Kind.INFILTRATION] == (False, True, ())
    assert told[Kind.BRANCH] == (True, False, ())
    assert told[Kind.BEND] == (True, True, ())


def test_marks_are_tied_in_their_order_only() -> None:
    first = placed(Observation(Kind.BEND, 2.0), Observation(Kind.BRANCH, 2.4))
    second = placed(Observation(Kind.BRANCH, 2.0), Observation(Kind.BEND, 2.4))
    found = lay_over(first, second)
    assert len(found.ties) == 1


def test_without_common_marks_distances_stand_as_counted() -> None:
    found = lay_over(placed(SEEN[2]), placed(replace(SEEN[2], distance=5.1)))
    assert found.ties == ()
    assert found.shift == 0.0
    assert found.pairs[0].laid == 5.1
    assert found.pairs[0].second is not None
    assert lay_over((), ()).pairs == ()
