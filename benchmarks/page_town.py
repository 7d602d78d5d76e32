"""The town that the pages are called with, filled once and kept where a path is given.

Mains, laterals and the small work sheets are those of `record_town`. Every fiftieth lateral has a
survey and a work sheet as large as planning makes them: the demo's A-04, planned and carried over.
"""

from __future__ import annotations

import datetime as dt
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from record_town import AT, KEY, lateral, project, segments, sheet

from drainwright.records.specification import default_specification
from drainwright.records.survey import Survey
from drainwright.records.work_sheet import DocumentRef, Fitness, WorkSheet

WHOLE = 50
"""Every so many laterals has a whole work sheet."""


def planned() -> WorkSheet:
    """The work sheet of the demo's A-04."""
    from drainwright.operations.file_reading import ReadRequest
    from drainwright.operations.plan_laterals import plan_laterals
    from drainwright.operations.read_files import read_file
    from drainwright.operations.run_demo import FILES, PROJECT, TODAY, demo_folder
    from drainwright.operations.start_project import start_project
    from drainwright.operations.stores import create

    at = dt.datetime.combine(TODAY, dt.time(18), dt.UTC)
    with tempfile.TemporaryDirectory() as folder, create(f"{folder}/demo") as store:
        start_project(store, replace(project(), key=PROJECT, demo=True), by="bench", at=at)
        for name in FILES:
            content = (demo_folder() / name).read_bytes()
            read_file(store, PROJECT, ReadRequest(content, name), by="bench", at=at, today=TODAY)
        (made,) = plan_laterals(store, PROJECT, ["A-04"], by="bench", at=at, draws=32)
        if made.sheet is None:
            raise SystemExit(f"A-04 can't be planned: {made.faults}")
        return made.sheet


def town(count: int) -> Iterator[tuple[Any, int]]:
    """Project, specification, mains, laterals, work sheets and surveys."""
    outcomes, mains, whole = list(Fitness), list(segments(count)), planned()
    yield project(), 0
    yield default_specification(), 0
    yield from ((main, 0) for main in mains)
    yield from ((lateral(n), 0) for n in range(count))
    for n in range(0, count, 5):
        if n % WHOLE == 0:
            yield from ((record, 0) for record in carried(whole, n, mains[n // 20]))
        else:
            yield sheet(n, mains[n // 20], outcomes[n // 5 % len(outcomes)]), 0


def carried(whole: WorkSheet, n: int, main: Any) -> tuple[Survey, WorkSheet]:
    """The planned sheet and its survey as those of another lateral."""
    if whole.survey is None:
        raise SystemExit("A-04 has no survey")
    seen = replace(whole.survey, lateral=f"L-{n}")
    made_from = (
        DocumentRef("Project", KEY, 1),
        DocumentRef("Specification", default_specification().key, 1),
        DocumentRef("MainSegment", main.key, 1),
        DocumentRef("Lateral", f"L-{n}", 1),
        DocumentRef("Survey", seen.key, 1),
    )
    own = replace(
        whole, project=project(), segment=main, lateral=lateral(n), survey=seen,
        made_from=made_from,
    )  # fmt: skip
    return seen, own


def fill(path: Path, count: int) -> None:
    """Store the town in one transaction."""
    from drainwright.operations.stores import create

    with create(str(path)) as store, store.write(
        by="bench", at=AT, origin="bench", reason="filled"
    ) as session:  # fmt: skip
        session.put_many(KEY, town(count))
