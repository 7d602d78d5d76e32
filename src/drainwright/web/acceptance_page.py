"""The page of a lateral's acceptance: verdicts, what is missing, forms for test, TV, signature."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response
from starlette.responses import RedirectResponse

from drainwright.errors import ConflictError, Fault, InputError
from drainwright.operations.accept_lateral import Signature, accept_lateral
from drainwright.operations.lateral_file import lateral_file
from drainwright.operations.list_project import STAGES
from drainwright.operations.open_acceptance import (
    LOOKED,
    METHODS,
    PLACES,
    SCOPES,
    OpenAcceptance,
    enter_inspection,
    enter_tightness,
    open_acceptance,
)
from drainwright.operations.record_tests import form_example, record_tests
from drainwright.records.acceptance import AcceptanceStep
from drainwright.units import fault_text
from drainwright.web.desk import Desk, lateral_address
from drainwright.web.forms import SentFile, SentForm, keep_name, name_of, sent_form
from drainwright.web.papers_page import download

_LABELS = {
    "at": "when", "by": "tested by", "on": "day", "gauge_due": "calibration runs out",
    "start_pressure": "start pressure", "allowed_drop": "drop allowed", "test_time": "time",
    "water_above_pipe": "groundwater above the pipe", "water_added": "water added",
    "not_isolated": "why it could not be isolated", "main_reduced": "main narrowed by",
    "delivered": "delivered on", "water_level": "water in the pipe",
}  # fmt: skip
"""Fields of a record, by the words that stand on the page."""
Sent = Annotated[SentForm, Depends(sent_form)]


@dataclass(frozen=True, slots=True)
class AcceptancePage:
    """What the page shows; `typed` is what a refused form had, `told` why."""

    template: ClassVar[str] = "acceptance.html"
    opened: OpenAcceptance
    stages: tuple[str, ...]
    methods: tuple[str, ...]
    scopes: tuple[str, ...]
    places: tuple[str, ...]
    looked: tuple[str, ...]
    steps: tuple[str, ...]
    by: str
    form: str
    typed: Mapping[str, str]
    told: tuple[str, ...]


def routes(desk: Desk) -> APIRouter:
    """The page, its three forms, and the lateral file."""
    router = APIRouter(include_in_schema=False)

    @router.get("/laterals/{key:path}/acceptance")
    def acceptance(request: Request, key: str) -> Response:
        return desk.page(_page(desk, key, name_of(request)))

    @router.get("/laterals/{key:path}/acceptance/lateral-file")
    def paper(request: Request, key: str) -> Response:
        content = lateral_file(
            desk.store, desk.project.key, key, by=name_of(request) or "page", at=desk.now()
        )
        return Response(
            content,
            media_type="application/pdf",
            headers={"Content-Disposition": 'inline; filename="lateral-file.pdf"'},
        )

    @router.get("/laterals/{key:path}/acceptance/form.toml")
    def example(key: str) -> Response:
        return download(form_example().encode(), "text/plain", f"{key} acceptance form.toml")

    @router.post("/laterals/{key:path}/acceptance/files")
    def files(key: str, sent: Sent) -> Response:
        by = sent.one("by")
        try:
            _keep_files(desk, sent)
        except (InputError, ConflictError) as error:
            told = _told(desk, error)
            return desk.page(_page(desk, key, by, "files", {}, told), 422)
        response = RedirectResponse(f"{lateral_address(key)}/acceptance", 303)
        keep_name(response, by)
        return response

    @router.post("/laterals/{key:path}/acceptance/{form}")
    def enter(key: str, form: str, sent: Sent) -> Response:
        typed = {name: sent.one(name) for name in sent.fields}
        by = typed.get("by", "")
        try:
            _keep(desk, key, form, typed)
        except (InputError, ConflictError) as error:
            told = _told(desk, error)
            return desk.page(_page(desk, key, by, form, typed, told), 422)
        response = RedirectResponse(f"{lateral_address(key)}/acceptance", 303)
        keep_name(response, by)
        return response

    return router


def _keep(desk: Desk, key: str, form: str, typed: Mapping[str, str]) -> None:
    by, at = typed.get("by", "").strip(), desk.now()
    if not by:
        raise ConflictError("Your name is needed: it stands in the record.")
    if form == "tightness":
        enter_tightness(desk.store, desk.project, key, typed, by=by, at=at)
    elif form == "inspection":
        enter_inspection(desk.store, desk.project, key, typed, by=by, at=at)
    elif form == "signature":
        step = typed.get("step", "")
        if step not in tuple(AcceptanceStep):
            raise ConflictError("Choose what is signed.")
        signature = Signature(
            AcceptanceStep(step), by, typed.get("role", ""), typed.get("reason", "")
        )
        accept_lateral(desk.store, desk.project.key, key, signature, by=by, at=at)
    else:
        raise ConflictError("There is no such form.")


def _keep_files(desk: Desk, sent: SentForm) -> None:
    """A written form with the files that it names: machine's curves of coupons, photos."""
    by, form = sent.one("by"), sent.file("form")
    if not by:
        raise ConflictError("Your name is needed: it stands in the record.")
    if form is None:
        raise InputError(Fault("form", "choose the form that was filled in"))
    beside = {one.name: one.content for one in sent.files.get("files", ()) if one.name}
    try:
        _record(desk, form, beside, by)
    except InputError as error:
        raise InputError(*(_not_sent(one) for one in error.faults)) from error


def _not_sent(fault: Fault) -> Fault:
    """A file that the form names and that was not sent with it, by its name."""
    if fault.name != "file":
        return fault
    return replace(fault, message=f"“{fault.value}” is named in the form and was not sent with it")


def _record(desk: Desk, form: SentFile, beside: Mapping[str, bytes], by: str) -> None:
    record_tests(
        desk.store, desk.project.key, form.content, form.name, beside=beside.get, by=by,
        at=desk.now(),
    )  # fmt: skip


def _told(desk: Desk, error: InputError | ConflictError) -> tuple[str, ...]:
    if isinstance(error, InputError):
        named = (replace(one, name=_LABELS.get(one.name, one.name)) for one in error.faults)
        return tuple(fault_text(fault, desk.system) for fault in named)
    return (str(error),)


def _page(
    desk: Desk,
    key: str,
    by: str,
    form: str = "",
    typed: Mapping[str, str] | None = None,
    told: tuple[str, ...] = (),
) -> AcceptancePage:
    return AcceptancePage(
        open_acceptance(desk.store, desk.project, key), STAGES, METHODS, SCOPES, PLACES, LOOKED,
        tuple(AcceptanceStep), by, form, typed or {}, told,
    )  # fmt: skip
