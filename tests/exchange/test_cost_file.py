"""The file of costs: read, and every fault told at once with its place."""

from __future__ import annotations

import pytest

from drainwright.errors import InputError
from drainwright.exchange.cost_file import EXAMPLE, read_costs
from drainwright.records.cost_sheet import Added, Per


def test_the_printed_example_is_a_list_of_costs() -> None:
    costs = read_costs(EXAMPLE.replace("# tube =", "tube =").encode(), "costs.toml")
    assert [line.per for line in costs.lines] == [
        Per.JOB, Per.SEGMENT, Per.STEAM, Per.CUT, Per.WORK,
    ]  # fmt: skip
    tube = costs.lines[3]
    assert (tube.price, tube.each, tube.unit, tube.tube) == (1420, "1.05", "ft", "T4-3.0")
    assert costs.lines[4].work == "roots"
    assert costs.added == (Added("Overhead", "0.12"),)


BAD = """
name = "x"
colour = "blue"
[[lines]]
key = "1"
words = "a"
unit = "lb"
price = "1.234"
per = "tube cut"
[[lines]]
key = "1"
words = "b"
unit = "h"
price = "-3"
per = "job"
tube = "T4"
each = "many"
[[lines]]
key = "3"
words = "c"
unit = "h"
price = "3"
per = "work before lining"
[[lines]]
key = "4"
words = "d"
unit = "h"
per = "digging"
[[added]]
words = "Overhead"
share = "120 %"
"""


def test_every_fault_is_told_with_its_place() -> None:
    with pytest.raises(InputError) as caught:
        read_costs(BAD.encode(), "bad.toml")
    told = {fault.name for fault in caught.value.faults}
    assert told == {
        "colour", "lines 1: unit", "lines 1: price", "lines 2: price", "lines 2: tube",
        "lines 2: each", "lines 3: work", "lines 4: price", "lines 4: per", "added 1: share",
        "lines",
    }  # fmt: skip
    assert {fault.file for fault in caught.value.faults} == {"bad.toml"}


@pytest.mark.parametrize(
    "data", [b"\xff", b"name =", b"name = 'x'\nlines = 3", b"name = 'x'", b"name = 'x'\nlines = []"]
)
def test_what_is_no_list_of_costs_is_told(data: bytes) -> None:
    with pytest.raises(InputError):
        read_costs(data, "bad.toml")
