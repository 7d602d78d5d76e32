"""Quantities and pay estimates: nothing twice, to the cent, in whatever order the record grows."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainwright.acceptance.evidence import Evidence, horizontal_length, lined_evidence
from drainwright.acceptance.pay_estimate import money, pay_estimate, variations
from drainwright.acceptance.quantities import quantities
from drainwright.errors import InputError
from drainwright.records.attempt import attempts_of
from drainwright.records.contract import (
    AgreedWork,
    Contract,
    LengthWay,
    LinedWhen,
    Payer,
    PayEstimate,
    PayItem,
    PayRule,
    PriceChange,
    Work,
)
from drainwright.records.field_entry import EntryKind, FieldEvent, FieldValue
from drainwright.records.lateral import Lateral
from drainwright.units import FOOT

DAY = dt.date(2026, 6, 1)
LINER = PayItem("liner", "Line lateral, first 20 ft", "each", 412_500, Work.LINED, PayRule.EACH)
EXTRA = PayItem("extra", "Beyond 20 ft", "ft", 9_437, Work.LINED, PayRule.BEYOND, 20 * FOOT)
SETUP = PayItem("setup", "Set-up", "each", 150_000, Work.LINED, PayRule.SEGMENT)
ROOTS = PayItem("roots", "Root cutting", "h", 21_333, Work.ROOTS, PayRule.AMOUNT)
TEST = PayItem("test", "Tightness test", "each", 30_000, Work.TEST, PayRule.EACH)
LUMP = PayItem("mobile", "Mobilization", "lump sum", 1_000_001, Work.OTHER, PayRule.AMOUNT)
ITEMS = (LINER, EXTRA, SETUP, ROOTS, TEST, LUMP)
CONTRACT = Contract("invented", ITEMS, retainage="0.05")


def lined(lateral: str, feet: float, day: int = 0, **more: object) -> Evidence:
    """A lateral lined on a day after `DAY`."""
    on = DAY + dt.timedelta(days=day)
    length = feet * FOOT
    made = Evidence(Work.LINED, f"end {lateral}", on, lateral, lateral[0], 1.0, length, length)
    return replace(made, **more)  # type: ignore[arg-type]


def total(contract: Contract, evidence: list[Evidence], item: str) -> Decimal:
    """Quantity of an item, whoever pays."""
    earned = quantities(contract, evidence)
    return sum((one.amount for one in earned if one.item == item), Decimal(0))


@pytest.mark.published
def test_prices_of_a_city_contract() -> None:
    """San Francisco Public Works WW-684, schedule of values: 801 × 165, 31 × 1,550, 39 × 495."""
    items = (
        PayItem("line", "line side sewer", "ft", 16_500, Work.LINED, PayRule.LENGTH),
        PayItem("hat", "piece at the connection", "each", 155_000, Work.COLLAR, PayRule.EACH),
        PayItem("tap", "remove protrusion", "each", 49_500, Work.TAP, PayRule.EACH),
    )
    contract = Contract("city", items)
    feet = [26.0] * 30 + [21.0]
    evidence = [lined(f"S-{n}", length) for n, length in enumerate(feet)]
    evidence += [replace(one, work=Work.COLLAR) for one in evidence]
    evidence += [Evidence(Work.TAP, f"entry {n}", DAY, f"S-{n}", "S") for n in range(39)]
    made = pay_estimate(contract, quantities(contract, evidence), [], DAY)
    assert {line.item: line.amount for line in made.lines} == {
        "line": 132_165_00, "hat": 48_050_00, "tap": 19_305_00,
    }  # fmt: skip
    assert made.payment == 199_520_00


def test_a_liner_is_paid_once_and_a_set_up_once_a_segment() -> None:
    evidence = [lined("A-1", 35), lined("A-2", 20.04, 1), lined("B-1", 18, 2), lined("A-1", 35)]
    again = replace(lined("A-1", 35), ref="another entry of the same lateral")
    found = [*evidence, again]
    assert total(CONTRACT, found, "liner") == 3
    assert total(CONTRACT, found, "setup") == 2
    assert total(CONTRACT, found, "extra") == Decimal("15.0")


def test_length_is_split_at_the_property_line() -> None:
    contract = replace(CONTRACT, owner_pays_to_property_line_only=True)
    earned = quantities(contract, [lined("A-1", 40, public=0.75)])
    shares = {one.payer: one.amount for one in earned if one.item == "extra"}
    assert shares == {Payer.PUBLIC: Decimal("10.0"), Payer.PRIVATE: Decimal("10.0")}
    made = pay_estimate(contract, earned, [], DAY)
    assert made.private == 10 * 9_437
    assert made.work == 412_500 + 150_000 + 10 * 9_437


@pytest.mark.analytic
def test_horizontal_length_by_slope_and_by_depths() -> None:
    steep = Lateral("A-1", "A", 1.0, slope=0.75, riser=1.0)
    assert horizontal_length(steep, 6.0) == pytest.approx(4.0)  # 5 m at 3:4:5
    by_depth = Lateral("A-1", "A", 1.0, tap_depth=5.0, far_depth=2.0)
    assert horizontal_length(by_depth, 5.0) == pytest.approx(4.0)
    item = replace(EXTRA, rule=PayRule.LENGTH, unit="m")
    evidence = [replace(lined("A-1", 0), length=5.0, horizontal=4.0)]
    for way, length in ((LengthWay.HORIZONTAL, 4), (LengthWay.ALONG, 5)):
        contract = Contract("invented", (item,), length_way=way)
        assert total(contract, evidence, "extra") == length


def test_accepted_liners_only_where_the_contract_says_so() -> None:
    contract = replace(CONTRACT, lined_when=LinedWhen.ACCEPTED)
    later = DAY + dt.timedelta(days=9)
    evidence = [lined("A-1", 30), lined("A-2", 30, accepted=later)]
    earned = quantities(contract, evidence)
    assert {(one.lateral, one.on) for one in earned if one.item == "liner"} == {("A-2", later)}


def test_a_changed_price_holds_from_its_day() -> None:
    change = PriceChange("CO-1", "liner", 400_000, DAY + dt.timedelta(days=5), "harder ground")
    contract = replace(CONTRACT, changes=(change,), retainage="0")
    earned = quantities(contract, [lined("A-1", 10), lined("A-2", 10, 6)])
    made = pay_estimate(contract, earned, [], DAY + dt.timedelta(days=7))
    assert made.payment == 412_500 + 400_000 + 150_000


def test_damages_stop_on_the_day_of_completion() -> None:
    contract = replace(CONTRACT, due=DAY, damages_per_day=50_000, retainage="0")
    ten = DAY + dt.timedelta(days=10)
    assert pay_estimate(contract, [], [], ten).payment == -500_000
    done = replace(contract, completed=DAY + dt.timedelta(days=3))
    assert pay_estimate(done, [], [], ten).damages == 150_000


def test_an_estimate_does_not_go_back() -> None:
    first = pay_estimate(CONTRACT, [], [], DAY)
    with pytest.raises(InputError, match="goes further"):
        pay_estimate(CONTRACT, [], [first], DAY - dt.timedelta(days=1))


def test_a_quantity_beyond_the_contract_is_told_but_not_for_conditional_items() -> None:
    planned = replace(LINER, quantity="2")
    free = replace(SETUP, quantity="1", conditional=True)
    contract = Contract("invented", (planned, free))
    earned = quantities(contract, [lined(f"{s}-1", 10) for s in "ABC"])
    (one,) = variations(contract, earned)
    assert (one.item, one.share) == ("liner", Decimal("0.5"))


LATERALS = [f"{segment}-{number}" for segment in "AB" for number in range(1, 5)]
EVENTS = st.lists(
    st.one_of(
        st.builds(lined, st.sampled_from(LATERALS), st.floats(5, 90), st.integers(0, 60)),
        st.builds(
            lambda key, number, hours, day: Evidence(
                Work.ROOTS, f"entry {number}", DAY + dt.timedelta(days=day), key, key[0], hours
            ),
            st.sampled_from(LATERALS), st.integers(0, 30), st.floats(60, 20_000),
            st.integers(0, 60),
        ),
        st.builds(
            lambda key, day: Evidence(
                Work.TEST, f"test {key} {day}", DAY + dt.timedelta(days=day), key, key[0]
            ),
            st.sampled_from(LATERALS), st.integers(0, 60),
        ),
    ),
    max_size=30,
)  # fmt: skip
AGREED = st.lists(
    st.builds(
        lambda number, share, day: AgreedWork(
            f"agreed {number}", "mobile", str(share), DAY + dt.timedelta(days=day), "Ada", "share"
        ),
        st.integers(0, 9), st.decimals("-0.5", "0.5", places=2), st.integers(0, 60),
    ),
    max_size=6,
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(EVENTS, AGREED, st.lists(st.integers(0, 60), max_size=5), st.data())
def test_estimates_add_up_under_any_order_of_events(
    events: list[Evidence], agreed: list[AgreedWork], days: list[int], data: st.DataObject
) -> None:
    """Late entries come between estimates; all add up to quantities × prices; retainage to 0."""
    order = data.draw(st.permutations(events))
    end = DAY + dt.timedelta(days=61)
    contract = replace(CONTRACT, retainage_released=end)
    made: list[PayEstimate] = []
    cuts = sorted(data.draw(st.integers(0, len(order))) for _ in days)
    for day, known in zip(sorted(days), cuts, strict=True):
        earned = quantities(contract, order[:known], agreed)
        made.append(pay_estimate(contract, earned, made, DAY + dt.timedelta(days=day)))
    last = quantities(contract, order, agreed)
    made.append(pay_estimate(contract, last, made, end))
    assert last == quantities(contract, events, agreed)
    sums: dict[str, Decimal] = {}
    for one in last:
        sums[one.item] = sums.get(one.item, Decimal(0)) + one.amount
    due = sum(money(sums.get(item.key, Decimal(0)), item.price) for item in ITEMS)
    assert sum(one.payment for one in made) == due
    assert made[-1].retained == 0
    assert sum(line.this_amount for one in made for line in one.lines) == due
    entries = [(one.item, one.ref, one.lateral) for one in last if one.item != "mobile"]
    assert len(entries) == len(set(entries))


def test_evidence_of_a_failed_and_a_finished_attempt() -> None:
    """Two attempts: roots cut in the first count, the liner once, TV of the second only."""
    lateral = Lateral("A-1", "A", 1.0, property_line=6.0)
    at = dt.datetime(2026, 6, 2, 3, 30, tzinfo=dt.UTC)  # 1 June, 22:30, in Chicago

    def event(kind: EntryKind, ident: str, **more: object) -> FieldEvent:
        return replace(FieldEvent(kind, "A-1", at, "Ada", id=ident), **more)  # type: ignore[arg-type]

    events = [
        event(
            EntryKind.READING, "1", values=(FieldValue("root_cutting", 5400.0, "time", "1.5 h"),)
        ),
        event(EntryKind.STEP, "2", step="post_tv"),
        event(EntryKind.END, "3", answer="pulled before gel", reason="cap blown"),
        event(EntryKind.STEP, "4", step="post_tv", attempt=2),
        event(
            EntryKind.READING,
            "5",
            attempt=2,
            values=(FieldValue("lined_length", 12.0, "length", "12 m"),),
        ),
        event(EntryKind.END, "6", answer="cured", attempt=2),
    ]
    found = list(
        lined_evidence(lateral, NoFigures(), attempts_of(events)["A-1"], "America/Chicago")  # type: ignore[arg-type]
    )
    assert {(one.work, one.ref) for one in found} == {
        (Work.LINED, "6"), (Work.ROOTS, "1"), (Work.TV, "4"),
    }  # fmt: skip
    liner = next(one for one in found if one.work is Work.LINED)
    assert (liner.on, liner.length, liner.public) == (dt.date(2026, 6, 1), 12.0, 0.5)


class NoFigures:
    """A work sheet without figures."""

    def figure(self, key: str) -> None:
        """No figure has this key."""
