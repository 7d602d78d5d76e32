"""The same operations as JSON: calculators, the list of laterals, one lateral."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Body

from drainwright.checks import Check
from drainwright.operations.calculate import TOPICS, calculate, topic
from drainwright.operations.calculators.base import answer_json, citation_json, output_unit
from drainwright.operations.list_laterals import LateralPage, list_laterals
from drainwright.operations.show_lateral import show_lateral
from drainwright.records.lateral import Lateral
from drainwright.records.work_sheet import Figure, Reason, WorkSheet
from drainwright.units import KINDS, UnitSystem, from_si
from drainwright.web.api_problem import ERRORS
from drainwright.web.desk import Desk
from drainwright.web.project_page import AskedFilters, PageNumber


@dataclass(frozen=True, slots=True)
class TopicBody:
    """A calculator by name."""

    name: str
    about: str


@dataclass(frozen=True, slots=True)
class QuantityBody:
    """A number with its unit, not rounded; or words without unit."""

    value: float | str | None
    unit: str


@dataclass(frozen=True, slots=True)
class FigureBody:
    """One number of a work sheet with its inputs and its source."""

    key: str
    label: str
    value: QuantityBody
    how: str
    inputs: dict[str, QuantityBody]
    source: dict[str, str]


@dataclass(frozen=True, slots=True)
class ReasonBody:
    """Why a lateral is not simply lined."""

    outcome: str
    rule: str
    words: str
    work: str
    at: QuantityBody | None
    source: dict[str, str]


@dataclass(frozen=True, slots=True)
class CheckBody:
    """A check of a work sheet."""

    name: str
    demand: QuantityBody
    capacity: QuantityBody
    ratio: float | None
    outcome: str
    source: dict[str, str]


@dataclass(frozen=True, slots=True)
class LateralBody:
    """One lateral with its plan, if it has one."""

    key: str
    revision: int
    segment: str
    address: str
    street: str
    tap: QuantityBody
    diameter: QuantityBody
    material: str
    surveys: list[dt.date]
    outcome: str
    plan_revision: int
    reasons: list[ReasonBody]
    figures: list[FigureBody]
    checks: list[CheckBody]
    cautions: list[str]


def routes(desk: Desk) -> APIRouter:
    """The routes of the API."""
    router = APIRouter(prefix="/api", responses=ERRORS)

    @router.get("/calculators", summary="The calculators")
    def calculators() -> list[TopicBody]:
        return [TopicBody(name, topic(name).about) for name in TOPICS]

    @router.post("/calculators/{name}", summary="Compute one subject from named inputs")
    def calculator(
        name: str,
        inputs: Annotated[dict[str, Any], Body(description="Inputs by name, as in the guide.")],
        units: UnitSystem = UnitSystem.US,
    ) -> dict[str, Any]:
        answer, _ = calculate(name, inputs, None)
        return answer_json(answer, units)

    @router.get("/laterals", summary="Laterals, 50 a page; distances in m")
    def laterals(filters: AskedFilters, page: PageNumber = 1) -> LateralPage:
        return list_laterals(
            desk.store, desk.project.key, words=filters.words, segment=filters.segment,
            street=filters.street, stage=filters.stage, fitness=filters.outcome,
            waits=filters.waits, page=page,
        )  # fmt: skip

    @router.get("/laterals/{key:path}", summary="One lateral with its plan")
    def lateral(key: str, units: UnitSystem | None = None) -> LateralBody:
        found = show_lateral(desk.store, desk.project.key, key)
        system = units or desk.system
        dates = [survey.date for survey in found.surveys]
        return _lateral(found.lateral, found.revision, found.sheet, found.sheet_revision,
                        dates, system)  # fmt: skip

    return router


def _lateral(
    lateral: Lateral,
    revision: int,
    sheet: WorkSheet | None,
    sheet_revision: int,
    surveys: list[dt.date],
    system: UnitSystem,
) -> LateralBody:
    return LateralBody(
        key=lateral.key,
        revision=revision,
        segment=lateral.segment,
        address=lateral.address,
        street=lateral.street,
        tap=_quantity(lateral.tap_distance, "length", system),
        diameter=_quantity(lateral.inside_diameter, "diameter", system),
        material=lateral.material,
        surveys=surveys,
        outcome=sheet.outcome.value if sheet else "",
        plan_revision=sheet_revision,
        reasons=[_reason(one, system) for one in (sheet.reasons if sheet else ())],
        figures=[_figure(one, system) for one in (sheet.figures if sheet else ())],
        checks=[_check(one, system) for one in (sheet.checks if sheet else ())],
        cautions=list(sheet.cautions) if sheet else [],
    )


def _quantity(value: float | str | None, kind: str, system: UnitSystem) -> QuantityBody:
    if value is None or isinstance(value, str) or kind not in KINDS:
        return QuantityBody(value, "")
    unit = output_unit(kind, system)
    shown = from_si(value, unit)
    return QuantityBody(shown if shown - shown == 0 else None, unit)


def _figure(figure: Figure, system: UnitSystem) -> FigureBody:
    inputs = {one.name: _quantity(one.value, one.kind, system) for one in figure.inputs}
    value = _quantity(figure.value, figure.kind, system)
    source = citation_json(figure.source)
    return FigureBody(figure.key, figure.label, value, figure.how, inputs, source)


def _reason(reason: Reason, system: UnitSystem) -> ReasonBody:
    at = None if reason.distance is None else _quantity(reason.distance, "length", system)
    source = citation_json(reason.source)
    return ReasonBody(reason.outcome.value, reason.rule, reason.words, reason.work, at, source)


def _check(check: Check, system: UnitSystem) -> CheckBody:
    demand = _quantity(check.demand, check.kind, system)
    capacity = _quantity(check.capacity, check.kind, system)
    source = citation_json(check.source)
    return CheckBody(check.name, demand, capacity, check.ratio, check.outcome.value, source)
