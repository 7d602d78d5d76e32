"""The proof that infiltration fell: a file of storms in, what it shows and the report out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response

from drainwright.errors import Fault, InputError
from drainwright.operations.prove import MoneyAsked, ProofMade, prove_file
from drainwright.units import fault_texts
from drainwright.web.desk import Desk
from drainwright.web.forms import LONGEST_NAME, SentForm, keep_name, name_of, sent_form
from drainwright.web.kept import Kept
from drainwright.web.papers_page import download

Sent = Annotated[SentForm, Depends(sent_form)]


@dataclass(frozen=True, slots=True)
class ProofPage:
    """What the page shows; `made` once a file was looked at."""

    template: ClassVar[str] = "proof.html"
    made: ProofMade | None
    token: str
    file: str
    typed: Mapping[str, str]
    told: tuple[str, ...]
    by: str


def routes(desk: Desk) -> APIRouter:
    """The page, what a file shows, and the report."""
    router = APIRouter(include_in_schema=False)
    reports: Kept[bytes] = Kept("the report")

    @router.get("/proof")
    def page(request: Request) -> Response:
        return desk.page(ProofPage(None, "", "", {}, (), name_of(request)))

    @router.post("/proof")
    def look(sent: Sent) -> Response:
        by = sent.one("by")[:LONGEST_NAME]
        typed = {name: sent.one(name) for name in sent.fields}
        try:
            file, made = _made(desk, sent, by)
        except InputError as error:
            told = tuple(fault_texts(error.faults, desk.system))
            return desk.page(ProofPage(None, "", "", typed, told, by), 422)
        token = reports.keep(made.pdf, len(made.pdf))
        answer = desk.page(ProofPage(made, token, file, typed, (), by))
        keep_name(answer, by)
        return answer

    @router.get("/proof/{token}.pdf")
    def report(token: str) -> Response:
        return download(reports.get(token), "application/pdf", "proof report.pdf")

    return router


def _made(desk: Desk, sent: SentForm, by: str) -> tuple[str, ProofMade]:
    file = sent.file("file")
    if file is None:
        raise InputError(Fault("file", "choose the file of storms"))
    if not by:
        raise InputError(Fault("your name", "it stands on the report"))
    level = _number(sent, "confidence", 95.0) / 100
    made = prove_file(
        desk.project, file.content, file.name, by=by, at=desk.now(), confidence=level,
        money=_money(sent),
    )  # fmt: skip
    return file.name, made


def _money(sent: SentForm) -> MoneyAsked | None:
    """The reader's own volume and price; None where neither is given."""
    if not sent.one("annual") and not sent.one("price"):
        return None
    if not (sent.one("annual") and sent.one("price")):
        raise InputError(Fault("money", "give the volume of a year and its price, or neither"))
    try:
        price = Decimal(sent.one("price"))
    except InvalidOperation as error:
        raise InputError(Fault("price", "is not a number", sent.one("price"))) from error
    years, rate = _number(sent, "years", 0.0), _number(sent, "rate", 0.0) / 100
    return MoneyAsked(_number(sent, "annual", 0.0), sent.one("unit") or "Mgal", price, years, rate)


def _number(sent: SentForm, name: str, empty: float) -> float:
    text = sent.one(name)
    try:
        return float(text) if text else empty
    except ValueError as error:
        raise InputError(Fault(name, "is not a number", text)) from error
