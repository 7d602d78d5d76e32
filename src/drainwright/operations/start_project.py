"""Start a project in a store (write)."""

from __future__ import annotations

import datetime as dt

from drainwright.errors import ConflictError, Fault, InputError
from drainwright.records.project import Project
from drainwright.records.starting_specifications import starting_specification
from drainwright.storage.protocol import RecordStore


def start_project(
    store: RecordStore,
    project: Project,
    *,
    by: str,
    at: dt.datetime,
    specification: str = "astm",
) -> None:
    """Store a new project with a starting specification, by its short name.

    Raises `ConflictError` where the key is taken, `InputError` for an empty key or an unknown
    time zone, and `NotFoundError` for an unknown specification.
    """
    _check(project)
    started = starting_specification(specification)
    with store.write(by=by, at=at, origin="", reason="project started") as session:
        if session.revision_of(project.key, Project, project.key):
            raise ConflictError(f"there is a project “{project.key}” already")
        session.put(project.key, project, expected=0)
        session.put(project.key, started, expected=0)


def _check(project: Project) -> None:
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    if not project.key.strip():
        raise InputError(Fault("key", "is empty"))
    try:
        ZoneInfo(project.zone)
    except (ZoneInfoNotFoundError, ValueError) as error:
        message = f"“{project.zone}” is not a time zone such as America/Chicago"
        raise InputError(Fault("zone", message, project.zone)) from error
