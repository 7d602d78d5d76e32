"""Payment: the contract's items with the entry behind each quantity, and pay estimates."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response
from starlette.responses import RedirectResponse

from drainwright.errors import Fault, InputError
from drainwright.operations import pay
from drainwright.records.contract import AgreedWork
from drainwright.web.desk import Desk
from drainwright.web.forms import SentForm, keep_name, name_of, sent_form, signed
from drainwright.web.papers_page import download

Sent = Annotated[SentForm, Depends(sent_form)]
_MEDIA = {
    "pdf": "application/pdf",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@dataclass(frozen=True, slots=True)
class PaymentPage:
    """What the payment page shows."""

    template: ClassVar[str] = "payment.html"
    sheet: pay.PaySheet | None
    today: dt.date
    by: str
    until: dt.date
    """Up to when the next estimate goes; none may go back behind the last one."""


def routes(desk: Desk) -> APIRouter:
    """The page, its forms and files."""
    router = APIRouter(include_in_schema=False)
    key = desk.project.key

    @router.get("/payment")
    def page(request: Request) -> Response:
        sheet = pay.pay_sheet(desk.store, key)
        until = max(
            [desk.today, *(one.until for one, _ in sheet.estimates)] if sheet else [desk.today]
        )
        return desk.page(PaymentPage(sheet, desk.today, name_of(request), until))

    @router.post("/payment/contract")
    def contract(sent: Sent) -> Response:
        file = sent.file("file")
        if file is None:
            raise InputError(Fault("file", "choose the contract's file"))
        who = signed(sent)
        pay.take_contract(
            desk.store, key, file.content, file.name, by=who.by, at=desk.now(), reason=who.reason
        )
        return _back(who.by)

    @router.get("/payment/contract.toml")
    def example() -> Response:
        return download(pay.contract_example().encode(), "text/plain", "contract.toml")

    @router.post("/payment/agreed")
    def agreed(sent: Sent) -> Response:
        who = signed(sent)
        work = AgreedWork(
            sent.one("key"), sent.one("item"), sent.one("amount"), _day(sent, "on"), who.by,
            who.reason, sent.one("lateral"),
        )  # fmt: skip
        pay.agree_work(desk.store, key, work, at=desk.now())
        return _back(who.by)

    @router.post("/payment/estimate")
    def estimate(sent: Sent) -> Response:
        by = sent.one("by")
        if not by:
            raise InputError(Fault("by", "say who you are"))
        pay.make_estimate(desk.store, key, _day(sent, "until"), by=by, at=desk.now())
        return _back(by)

    @router.get("/payment/estimates/{number}.{ending}")
    def again(number: int, ending: str) -> Response:
        if ending not in _MEDIA:
            raise InputError(Fault("file", f"is none of {', '.join(_MEDIA)}", ending))
        made = pay.estimate_again(desk.store, key, number)
        content = made.pdf if ending == "pdf" else made.xlsx
        return download(content, _MEDIA[ending], f"pay estimate {number}.{ending}")

    return router


def _back(by: str) -> Response:
    answer = RedirectResponse("/payment", 303)
    keep_name(answer, by)
    return answer


def _day(sent: SentForm, name: str) -> dt.date:
    try:
        return dt.date.fromisoformat(sent.one(name))
    except ValueError as error:
        raise InputError(Fault(name, "is not a day such as 2026-11-30", sent.one(name))) from error
