"""What must be settled with premises and papers before a tube is wet: proof, entry, exhaust."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from drainwright.planning.site import Site
from drainwright.records.lateral import FarAccess
from drainwright.records.premises import EntryState
from drainwright.records.work_sheet import Fitness, Reason
from drainwright.sources import cite

_PRACTICE = cite("practice")


def address_proof(site: Site) -> Iterator[Reason]:
    """No proof that this tap serves this address, no mix ticket."""
    if site.lateral.proof is None:
        words = "Nobody has shown that this tap serves this address."
        work = "Prove it by dye, sonde or light, with name, date and a still."
        yield Reason(Fitness.PREPARE, "address proof", words, _PRACTICE, work=work)


def right_of_entry(site: Site) -> Iterator[Reason]:
    """Every premises on the lateral has agreed, and the agreement has not run out."""
    for premises in site.premises:
        if premises.entry is EntryState.REFUSED:
            words = f"{premises.address} refused entry."
            work = "The owner of the sewer decides."
            yield Reason(Fitness.ASK, "right of entry", words, _PRACTICE, work=work)
        elif premises.entry is not EntryState.SIGNED:
            words = f"{premises.address} has not signed the right of entry ({premises.entry})."
            yield Reason(
                Fitness.PREPARE, "right of entry", words, _PRACTICE, work="Get the signature."
            )
        elif _expired(premises.entry_expires, site.today):
            words = f"The right of entry of {premises.address} has expired."
            yield Reason(Fitness.PREPARE, "right of entry", words, _PRACTICE, work="Renew it.")


def premises_known(site: Site) -> Iterator[Reason]:
    """A lateral whose premises are not listed can't be told to stop using water."""
    if not site.lateral.premises:
        words = "No premises are listed on this lateral."
        work = "Find out who drains into it."
        yield Reason(Fitness.PREPARE, "premises", words, _PRACTICE, work=work)
    missing = set(site.lateral.premises) - {premises.key for premises in site.premises}
    for key in sorted(missing):
        words = f"Premises {key} drain into this lateral but are not on the list of premises."
        yield Reason(Fitness.PREPARE, "premises", words, _PRACTICE, work="Enter them.")


def branch_inside(site: Site) -> Iterator[Reason]:
    """A live branch within the lined length would be closed by the liner."""
    lined = site.lateral.lined_length
    for branch in site.lateral.branches:
        beyond = lined is not None and branch.distance >= lined
        if branch.live is False or beyond:
            continue
        state = "live branch" if branch.live else "branch that may be live"
        words = f"A {state} joins within the lined length."
        work = "Stop short of it, line and reopen, or dig."
        yield Reason(Fitness.ASK, "branch", words, _PRACTICE, branch.distance, work=work)


def dig_ticket(site: Site) -> Iterator[Reason]:
    """Work that needs a dig carries a utility-locate ticket that is valid that day."""
    if site.lateral.far_access is not FarAccess.NONE or site.today is None:
        return
    today = site.today
    if not any(t.valid_from <= today <= t.valid_to for t in site.lateral.dig_tickets):
        words = "Setting a cleanout is a dig, and there is no utility-locate ticket valid today."
        work = "Get the ticket; write down valid from and valid to."
        yield Reason(Fitness.PREPARE, "dig ticket", words, cite("practice", "safety"), work=work)


def exhaust(site: Site) -> Iterator[Reason]:
    """Steam must leave outdoors; a blind end needs a method of its own."""
    if site.lateral.far_access is FarAccess.INDOORS:
        words = "The cleanout is indoors: steam must not leave into a building."
        work = "Blind cap with return through the carrier, warm water, or ambient cure."
        yield Reason(Fitness.ASK, "exhaust", words, cite("practice", "safety"), work=work)


def _expired(until: dt.date | None, today: dt.date | None) -> bool:
    return until is not None and today is not None and until < today
