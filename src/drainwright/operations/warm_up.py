"""Load what is slow the first time, before anybody asks for it (read)."""

from __future__ import annotations

import datetime as dt
import logging
from contextlib import suppress

from drainwright.errors import DrainwrightError, InputError
from drainwright.operations.calculate import TOPICS, calculate
from drainwright.operations.example_inputs import example_inputs
from drainwright.operations.list_project import ProjectFilters, list_project
from drainwright.operations.open_lateral import open_lateral
from drainwright.operations.who_waits import PARTIES
from drainwright.records.project import Project
from drainwright.storage.protocol import RecordStore

_LOG = logging.getLogger("drainwright.warm_up")


def warm_up(store: RecordStore, project: Project, today: dt.date) -> None:
    """Read the first page, who waits on whom, and a first lateral; load units and compiled kernels.

    What fails here is told to the log: the page that needs it will tell its reader.
    """
    import tomllib

    try:
        found = list_project(store, project, ProjectFilters(), page=1, href=str)
        for party in PARTIES:
            list_project(store, project, ProjectFilters(waits=party), page=1, href=str)
        for line in (found.groups[0].lines if found.groups else ())[:1]:
            open_lateral(store, project, line.key, today)
        for name in TOPICS:
            with suppress(InputError):  # an example that reads a file has none here
                if example := example_inputs(name):
                    calculate(name, tomllib.loads(example), None)
    except DrainwrightError as error:
        _LOG.warning("not all could be loaded ahead: %s", error)
