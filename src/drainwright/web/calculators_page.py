"""The calculators as pages: inputs on the left as in the guide, the answer on the right."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Response

from drainwright.errors import Fault, InputError
from drainwright.operations.calculate import TOPICS, CalculatorError, calculate, topic
from drainwright.operations.calculators.base import Answer, Row, answer_rows
from drainwright.operations.example_inputs import example_inputs
from drainwright.operations.show_columns import ShownSource, shown_source
from drainwright.units import UnitSystem, fault_text
from drainwright.web.desk import Desk

LONGEST = 20_000


@dataclass(frozen=True, slots=True)
class CalculatorLine:
    """A calculator and what it is about."""

    name: str
    about: str


@dataclass(frozen=True, slots=True)
class ShownAnswer:
    """An answer in words."""

    method: str
    rows: tuple[Row, ...]
    checks: tuple[tuple[str, str, str], ...]
    cautions: tuple[str, ...]
    sources: tuple[ShownSource, ...]


@dataclass(frozen=True, slots=True)
class CalculatorsPage:
    """What the page of the calculators shows; without a topic the list alone."""

    template: ClassVar[str] = "calculators.html"
    topics: tuple[CalculatorLine, ...]
    topic: str
    about: str
    inputs: str
    units: str
    answer: ShownAnswer | None
    faults: tuple[str, ...]
    needs_file: bool = False
    """Whether the example itself asks for a file, which no page reads."""


def routes(desk: Desk) -> APIRouter:
    """The list of calculators, and each of them."""
    router = APIRouter(include_in_schema=False)

    @router.get("/calculators")
    def calculators() -> Response:
        return desk.page(CalculatorsPage(_topics(), "", "", "", desk.system.value, None, ()))

    @router.get("/calculators/{name}")
    def calculator(name: str, inputs: str = "", units: UnitSystem | None = None) -> Response:
        about = topic(name).about
        system = units or desk.system
        text = inputs or example_inputs(name)
        answer, faults = _answered(name, text, system)
        needs_file = bool(faults) and not inputs
        page = CalculatorsPage(
            _topics(), name, about, text, system.value, answer, faults, needs_file
        )
        return desk.page(page, 422 if faults and inputs else 200)

    return router


def _topics() -> tuple[CalculatorLine, ...]:
    return tuple(CalculatorLine(name, topic(name).about) for name in TOPICS)


def _answered(
    name: str, text: str, system: UnitSystem
) -> tuple[ShownAnswer | None, tuple[str, ...]]:
    """The answer, or what is wrong with the inputs."""
    try:
        # no folder: nothing may be read by a name that came over the network
        answer, _ = calculate(name, _read(text), None)
    except InputError as error:
        kinds = error.kinds if isinstance(error, CalculatorError) else {}
        return None, tuple(fault_text(fault, system, kinds) for fault in error.faults)
    return _shown(answer, system), ()


def _read(text: str) -> dict[str, object]:
    if len(text) > LONGEST:
        raise InputError(Fault("inputs", f"are longer than {LONGEST} letters"))
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError(Fault("inputs", f"can’t be read: {error}")) from error


def _shown(answer: Answer, system: UnitSystem) -> ShownAnswer:
    checks = tuple(
        (check.name, check.outcome.value, "" if check.ratio is None else f"{check.ratio:.2f}")
        for check in answer.checks
    )
    sources = tuple(dict.fromkeys(shown_source(citation) for citation in answer.sources))
    return ShownAnswer(
        answer.method, tuple(answer_rows(answer, system)), checks, answer.cautions, sources
    )
