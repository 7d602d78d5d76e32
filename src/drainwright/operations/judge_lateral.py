"""Judge one finished lateral from the record (read)."""

from __future__ import annotations

from drainwright.acceptance.judge import Judged, judge
from drainwright.operations.lateral_case import case_of, shared_of
from drainwright.storage.protocol import RecordStore


def judge_lateral(store: RecordStore, project: str, key: str) -> Judged:
    """Every verdict on the lateral `key`, with what shows it and what is missing.

    Raises `NotFoundError` where the lateral was never planned.
    """
    with store.read() as session:
        shared = shared_of(session, project)
        return judge(case_of(session, project, key, shared))
