"""How pages and programs are told an error: one mapping, two forms."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from drainwright.errors import (
    ConflictError,
    DrainwrightError,
    Fault,
    InputError,
    NotFoundError,
    PaperError,
    StorageError,
)
from drainwright.operations.calculate import CalculatorError
from drainwright.units import UnitSystem, fault_text
from drainwright.web.desk import Desk

PROBLEM = "application/problem+json"
_LOG = logging.getLogger("drainwright.web")
_STATUS: tuple[tuple[type[DrainwrightError], int, str], ...] = (
    (InputError, 422, "That can’t be used as it stands"),
    (NotFoundError, 404, "There is nothing here"),
    (ConflictError, 409, "Somebody else was faster"),
    (PaperError, 422, "This paper can’t be made"),
    (StorageError, 503, "The store can’t be read"),
    (DrainwrightError, 500, "This could not be worked out"),
)


@dataclass(frozen=True, slots=True)
class Problem:
    """One error as both forms tell it."""

    status: int
    title: str
    detail: str
    errors: tuple[dict[str, Any], ...] = ()


@dataclass(frozen=True, slots=True)
class ProblemPage:
    """The page of an error."""

    template: ClassVar[str] = "problem.html"
    status: int
    title: str
    lines: tuple[str, ...]
    asked: str


def problem_of(error: DrainwrightError, system: UnitSystem) -> Problem:
    """An error of ours as a problem; faults in the reader's units."""
    status, title = next((s, t) for kind, s, t in _STATUS if isinstance(error, kind))
    if not isinstance(error, InputError):
        return Problem(status, title, str(error))
    kinds = error.kinds if isinstance(error, CalculatorError) else {}
    rows = tuple(_fault(fault, kinds, system) for fault in error.faults)
    detail = "; ".join(fault_text(fault, system, kinds) for fault in error.faults)
    return Problem(status, title, detail, rows)


def _fault(fault: Fault, kinds: dict[str, str], system: UnitSystem) -> dict[str, Any]:
    message = fault_text(fault, system, kinds).removeprefix(f"{fault.name}: ")
    row: dict[str, Any] = {"key": fault.name, "value": _plain(fault.value), "message": message}
    if fault.unit is not None:
        row |= {"unit": fault.unit, "low": fault.low, "high": fault.high}
    return row


def _plain(value: object) -> object:
    """A value as JSON can hold it."""
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float) and value - value == 0:
        return value
    return str(value)


def answer(request: Request, problem: Problem, desk: Desk) -> Response:
    """The problem as JSON under /api, as a page elsewhere."""
    if request.url.path.startswith(("/api/", "/field/-/")):
        body = {
            "type": "about:blank",
            "title": problem.title,
            "status": problem.status,
            "detail": problem.detail,
            "errors": list(problem.errors),
        }
        return JSONResponse(body, problem.status, media_type=PROBLEM)
    lines = tuple(f"{row['key']}: {row['message']}" for row in problem.errors)
    told = tuple(line[:1].upper() + line[1:] for line in lines or (problem.detail,))
    page = ProblemPage(problem.status, problem.title, told, request.url.path)
    response = desk.page(page, problem.status)
    if "hx-request" in request.headers:  # a part was asked for: the problem takes the whole sheet
        response.headers.update({"HX-Retarget": "#sheet", "HX-Reselect": "#sheet"})
        response.headers["HX-Reswap"] = "outerHTML"
    return response


def add_answers(app: FastAPI, desk: Desk) -> None:
    """Map every error in one place."""

    def ours(request: Request, error: Exception) -> Response:
        if not isinstance(error, DrainwrightError):
            raise error
        return answer(request, problem_of(error, desk.system), desk)

    def unread(request: Request, error: Exception) -> Response:
        if not isinstance(error, RequestValidationError):
            raise error
        faults = [
            Fault(
                ".".join(str(part) for part in entry["loc"][1:]) or "body",
                str(entry["msg"]),
                _plain(entry.get("input")) if not isinstance(entry.get("input"), dict) else None,
            )
            for entry in error.errors()
        ]
        return answer(request, problem_of(InputError(*faults), desk.system), desk)

    def not_there(request: Request, error: Exception) -> Response:
        if not isinstance(error, HTTPException):
            raise error
        title = "There is nothing here" if error.status_code == 404 else str(error.detail)
        words = f"No page has the address {request.url.path}."
        detail = words if error.status_code == 404 else str(error.detail)
        response = answer(request, Problem(error.status_code, title, detail), desk)
        response.headers.update(error.headers or {})
        return response

    app.add_exception_handler(DrainwrightError, ours)
    app.add_exception_handler(RequestValidationError, unread)
    app.add_exception_handler(HTTPException, not_there)


def broken_answer(desk: Desk) -> Callable[[Request, Exception], Response]:
    """What is answered where the program itself is at fault; the log has the rest."""

    def broken(request: Request, error: Exception) -> Response:
        _LOG.error("%s %s failed", request.method, request.url.path, exc_info=error)
        detail = "A fault in the program. Nothing was changed; the log says what happened."
        return answer(request, Problem(500, "This went wrong", detail), desk)

    return broken
