"""Where a lateral stands on its way (read)."""

from __future__ import annotations

from dataclasses import dataclass

from drainwright.operations.list_project import STAGES
from drainwright.records.lateral import Lateral
from drainwright.storage.protocol import RecordStore


@dataclass(frozen=True, slots=True)
class Course:
    """The stages of the way, and the one that the lateral has reached."""

    stages: tuple[str, ...]
    stage: str


def course_of(store: RecordStore, project: str, key: str) -> Course:
    """How far lateral `key` has come; `NotFoundError` where there is none."""
    with store.read() as session:
        return Course(STAGES, session.get(project, Lateral, key).stage)
