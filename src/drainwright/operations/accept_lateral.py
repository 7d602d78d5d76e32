"""Record a person's signature on a finished lateral (write); it alone sets the stage."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from drainwright.acceptance.judge import judge
from drainwright.acceptance.verdict import Verdict
from drainwright.errors import ConflictError, Fault, InputError
from drainwright.operations.lateral_case import case_of, shared_of
from drainwright.records.acceptance import Acceptance, AcceptanceStep
from drainwright.storage.protocol import Filters, RecordStore, Saved


@dataclass(frozen=True, slots=True)
class Signature:
    """Who signs what, and why where something is open."""

    step: AcceptanceStep
    name: str
    role: str
    reason: str = ""


def accept_lateral(
    store: RecordStore, project: str, key: str, signature: Signature, *, by: str, at: dt.datetime
) -> tuple[Acceptance, Saved]:
    """Keep a signature with the verdicts it was given for.

    Raises `InputError` for a signature without name, role or, where a subject is open or
    acceptance is refused, without a reason; `ConflictError` where nothing was installed, or
    where a lateral is to be closed that nobody accepted.
    """
    faults = [
        Fault(name, "must not be empty", "")
        for name in ("name", "role")
        if not getattr(signature, name).strip()
    ]
    with store.write(
        by=by, at=at, origin="signature", reason=signature.reason or str(signature.step)
    ) as session:
        verdict = judge(case_of(session, project, key, shared_of(session, project))).verdict
        before = [one.record for one in session.every(project, Acceptance, Filters(lateral=key))]
        _possible(verdict, before, signature)
        left_open = tuple(one.title for one in verdict.open)
        refused = signature.step is AcceptanceStep.REFUSED
        if (left_open or refused) and not signature.reason.strip():
            words = f"say why: open are {', '.join(left_open)}" if left_open else "say why"
            faults.append(Fault("reason", words, ""))
        if faults:
            raise InputError(*faults)
        made = Acceptance(
            key, signature.step, signature.name.strip(), signature.role.strip(), at,
            signature.reason.strip(), left_open, verdict.digest(),
        )  # fmt: skip
        return made, session.put(project, made, expected=None)


def _possible(verdict: Verdict, before: list[Acceptance], signature: Signature) -> None:
    if not verdict.attempt:
        raise ConflictError(f"lateral {verdict.lateral}: no attempt ended cured, nothing to sign")
    accepted = {AcceptanceStep.ACCEPTED, AcceptanceStep.CLOSED}
    closes = signature.step is AcceptanceStep.CLOSED
    if closes and not any(one.step in accepted for one in before):
        raise ConflictError(f"lateral {verdict.lateral}: accept it before it is closed")
