"""The contract file: read, and every fault told at once with its place."""

from __future__ import annotations

import datetime as dt

import pytest

from drainwright.errors import InputError
from drainwright.exchange.contract_file import EXAMPLE, read_contract
from drainwright.records.contract import LengthWay, PayRule, Work
from drainwright.units import FOOT


def test_the_printed_example_is_a_contract() -> None:
    text = EXAMPLE.replace("# due", "due").replace("# damages", "damages")
    text = "\n".join(
        line.removeprefix("# ") if place > text.splitlines().index("# [[changes]]") - 1 else line
        for place, line in enumerate(text.splitlines())
    )
    contract = read_contract(text.encode(), "contract.toml")
    assert contract.retainage == "0.05"
    assert contract.length_way is LengthWay.HORIZONTAL
    assert (contract.due, contract.damages_per_day) == (dt.date(2026, 12, 1), 50_000)
    first, second = contract.items
    assert (first.price, first.work, first.rule) == (412_500, Work.LINED, PayRule.EACH)
    assert second.first_length == pytest.approx(20 * FOOT)
    assert contract.price(first, dt.date(2026, 10, 1)) == 430_000
    assert contract.price(first, dt.date(2026, 9, 30)) == 412_500


BAD = """
name = "x"
retainage = "120 %"
colour = "blue"
[[items]]
key = "1"
words = "a"
unit = "yard"
price = "1.234"
work = "digging"
rule = "length beyond the first"
[[items]]
key = "1"
words = "b"
unit = "each"
price = "-3"
work = "lateral lined"
rule = "each"
quantity = "many"
[[changes]]
number = "CO-1"
item = "9"
price = "1.00"
effective = "2026-10-01"
reason = "r"
"""


def test_every_fault_is_told_with_its_place() -> None:
    with pytest.raises(InputError) as caught:
        read_contract(BAD.encode(), "bad.toml")
    told = {fault.name for fault in caught.value.faults}
    assert told == {
        "retainage", "colour", "items 1: unit", "items 1: price", "items 1: work",
        "items 1: first_length", "items 2: price", "items 2: quantity", "items", "changes",
        "changes 1: effective",
    }  # fmt: skip
    assert {fault.file for fault in caught.value.faults} == {"bad.toml"}


@pytest.mark.parametrize("data", [b"\xff", b"name =", b"name = 'x'\nitems = 3"])
def test_what_is_no_contract_is_told(data: bytes) -> None:
    with pytest.raises(InputError):
        read_contract(data, "bad.toml")
