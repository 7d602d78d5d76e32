"""The demo town after lining: field entries, cure logs, tests, one signature (write)."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

from drainwright.errors import raise_if_any
from drainwright.operations.accept_lateral import Signature, accept_lateral
from drainwright.operations.closeout_book import closeout_book
from drainwright.operations.estimate_job import estimate_job
from drainwright.operations.field_journal import read_lines
from drainwright.operations.judge_cure import judge_cure
from drainwright.operations.judge_lateral import judge_lateral
from drainwright.operations.lateral_file import write_lateral_file
from drainwright.operations.pay import agree_work, make_estimate, take_contract
from drainwright.operations.print_papers import write_file
from drainwright.operations.read_log import LoggerFile, LogRequest, read_log
from drainwright.operations.record_tests import folder_of, record_tests
from drainwright.operations.warranty import warranty
from drainwright.records.acceptance import AcceptanceStep
from drainwright.records.contract import AgreedWork
from drainwright.storage.protocol import RecordStore

LINED = {"A-04": 1, "A-05": 1, "B-02": 2, "B-04": 1}
"""Laterals that were lined and the attempt that cured: finished, repaired, failed and then
finished, incomplete."""
SIGNED = "A-04"
MOBILIZED = AgreedWork(
    "M-1",
    "1",
    "0.6",
    dt.date(2026, 11, 16),
    "J. Oake",
    "on site, agreed with the owner",
)
COSTS = "costs.toml"
PAID_UNTIL = dt.date(2026, 11, 30)
ENGINEER = ("T. Rowan", "owner's engineer")


@dataclass(frozen=True, slots=True)
class Finished:
    """One lined lateral of the demo: its verdict in words, and what stays open."""

    lateral: str
    attempts: int
    verdict: str
    open: tuple[str, ...]


def finish_demo(
    store: RecordStore, project: str, folder: Path, *, by: str, at: dt.datetime
) -> tuple[Finished, ...]:
    """Take in what the crews and testers brought, and judge the lined laterals.

    Where a verdict has open subjects the signature says why it was given all the same.
    """
    for file in sorted((folder / "field").glob("*.jsonl")):
        with store.write(by=by, at=at, origin=file.name, reason="entries of a device") as session:
            session.journal.append(project, read_lines(file.read_text("utf-8")))
    for key, attempt in LINED.items():
        file = folder / "logs" / f"{key}.csv"
        request = LogRequest(key, (LoggerFile(file.name, file.read_bytes()),), attempt)
        raise_if_any(read_log(store, project, request, by=by, at=at).faults)
        judge_cure(store, project, key, attempt, by=by, at=at)
    for form in sorted((folder / "acceptance").glob("*.toml")):
        record_tests(
            store, project, form.read_bytes(), form.name, beside=folder_of(form), by=by, at=at
        )
    found = tuple(_finished(store, project, key) for key in LINED)
    signed = next(one for one in found if one.lateral == SIGNED)
    reason = f"taken over with open: {', '.join(signed.open)}" if signed.open else ""
    signature = Signature(AcceptanceStep.ACCEPTED, *ENGINEER, reason)
    accept_lateral(store, project, SIGNED, signature, by=by, at=at)
    contract = folder / "contract.toml"
    take_contract(store, project, contract.read_bytes(), contract.name, by=by, at=at)
    agree_work(store, project, MOBILIZED, at=at)
    return found


def _finished(store: RecordStore, project: str, key: str) -> Finished:
    verdict = judge_lateral(store, project, key).verdict
    return Finished(key, verdict.attempt, verdict.words, tuple(one.title for one in verdict.open))


def print_finished(
    store: RecordStore, project: str, folder: Path, out: Path, *, by: str, at: dt.datetime
) -> int:
    """Write lateral files, closeout book and estimates; return the number of files.

    `folder` holds the demo's files.
    """
    for key in LINED:
        write_lateral_file(store, project, key, out / "papers", by=by, at=at)
    made = make_estimate(store, project, PAID_UNTIL, by=by, at=at)
    name = f"pay estimate {made.estimate.number}"
    write_file(out / "papers" / f"{name}.pdf", made.pdf)
    write_file(out / "papers" / f"{name}.xlsx", made.xlsx)
    costs = (folder / COSTS).read_bytes()
    job = estimate_job(store, project, costs, COSTS, by=by, at=at)
    write_file(out / "papers" / "job estimate.pdf", job.pdf)
    write_file(out / "papers" / "job estimate.xlsx", job.xlsx)
    book = closeout_book(store, project, out / "closeout", by=by, at=at)
    write_file(out / "closeout" / "warranty.ics", warranty(store, project, at).calendar)
    return len(LINED) + len(book.files) + 5
