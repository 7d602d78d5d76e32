"""One lateral worked out by hand, line by line, beside the program."""

from __future__ import annotations

import ast
import math
import operator
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from drainwright.operations.run_demo import run_demo
from drainwright.records.work_sheet import WorkSheet
from drainwright.units import UnitSystem, from_si

PAGE = Path(__file__).parents[2] / "docs" / "checks" / "by-hand-A-07.md"
OPERATORS: dict[type[ast.AST], Callable[..., float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
    ast.USub: operator.neg,
}
NAMES: dict[str, Any] = {
    "sqrt": math.sqrt,
    "exp": math.exp,
    "log": math.log,
    "sin": math.sin,
    "pi": math.pi,
    "max": max,
    "min": min,
}
ON_THE_WAY = "hand."
AS_READ = {
    "tube.diameter",
    "tube.wall",
    "collar.length",
    "collar.bore",
    "wall.station",
    "launch.maximum",
    "steam.gas_limit",
    "steam.peak",
}
GIVEN = {
    "length.public",
    "wall.term_stiffness_least",
    "wetout.suction_first",
    "launch.bladder_most",
    "pressure.steam_most",
    "pressure.cool_most",
    "steam.hold",
    "steam.soak",
    "steam.let_down_time",
}
"""Taken over from lists, letters and the specification, or the longer of two that stand there."""


def keyed_in(node: ast.AST) -> float:
    match node:
        case ast.Expression():
            return keyed_in(node.body)
        case ast.Constant(value=int() | float() as value):
            return float(value)
        case ast.Name():
            return float(NAMES[node.id])
        case ast.BinOp():
            return OPERATORS[type(node.op)](keyed_in(node.left), keyed_in(node.right))
        case ast.UnaryOp():
            return OPERATORS[type(node.op)](keyed_in(node.operand))
        case ast.Call(func=ast.Name(id=name)):
            function = NAMES[name]
            return float(function(*(keyed_in(argument) for argument in node.args)))
    raise ValueError(ast.dump(node))


def rows() -> list[tuple[str, str, str, str]]:
    found = []
    for line in PAGE.read_text("utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if line.startswith("| ") and "." in cells[0]:
            found.append((cells[0], cells[2].strip("`"), cells[3], cells[4]))
    return found


def last_digit(printed: str) -> float:
    decimals = len(printed.partition(".")[2])
    return 0.51 * 10.0**-decimals if "." in printed else 0.51


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> list[WorkSheet]:
    run = run_demo(tmp_path_factory.mktemp("hand"), UnitSystem.US, by="test", papers=False)
    return [item.sheet for item in run.planned if item.sheet is not None]


@pytest.fixture(scope="module")
def sheet(sheets: list[WorkSheet]) -> WorkSheet:
    return next(one for one in sheets if one.lateral.key == "A-07")


def test_every_computed_number_has_its_formula(sheets: list[WorkSheet]) -> None:
    """On all 24 sheets; what stands as read, by a letter or a list, has none."""
    bare = {one.key for sheet in sheets for one in sheet.figures if one.kind and not one.how}
    assert bare <= AS_READ, bare - AS_READ


@pytest.mark.independent
def test_collar_resin_and_parts_follow_from_the_inputs_beside_them(
    sheets: list[WorkSheet],
) -> None:
    """(π D + lap) · length · wall · φ ρ (1 + x), and A : B by weight, from what is printed."""
    done = 0
    for sheet in sheets:
        collar, part = sheet.figure("wetout.collar_mass"), sheet.figure("wetout.part_a")
        if collar is None or part is None:
            continue
        girth, lap, length, wall, share, excess, density = (
            float(given.value) for given in collar.inputs
        )
        by_hand = (math.pi * girth + lap) * length * wall * share * density * (1 + excess)
        assert collar.value == pytest.approx(by_hand, rel=1e-9)
        total, ratio = part.inputs
        a, b = (float(text) for text in str(ratio.value).split(":"))
        assert part.value == pytest.approx(float(total.value) * a / (a + b), rel=1e-9)
        done += 1
    assert done >= 20


def test_the_page_is_whole(sheet: WorkSheet) -> None:
    """Every computed number of the sheet is on the page, but for what the simulation gives."""
    done = {key for key, *_ in rows()}
    numbers = {one.key for one in sheet.figures if one.how and one.kind and one.value}
    simulated = {one.key for one in sheet.figures if one.source.key == "cure-model"}
    left = {key for key in numbers - done - simulated if not key.startswith("sensitivity.")}
    assert left <= GIVEN, left - GIVEN


@pytest.mark.published
@pytest.mark.parametrize(("key", "expression", "printed", "unit"), rows())
def test_by_hand(key: str, expression: str, printed: str, unit: str, sheet: WorkSheet) -> None:
    by_hand = keyed_in(ast.parse(expression, mode="eval"))
    assert by_hand == pytest.approx(float(printed), abs=last_digit(printed))
    if key.startswith(ON_THE_WAY):
        return
    figure = sheet.figure(key)
    assert figure is not None
    assert isinstance(figure.value, float)
    # intermediate values are keyed in with five digits, so the last digit may differ by one
    assert from_si(figure.value, unit) == pytest.approx(by_hand, abs=2 * last_digit(printed))
