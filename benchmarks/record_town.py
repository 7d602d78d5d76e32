"""A large invented town for the benchmark of the record: 50,000 laterals, 2 million observations.

Segments of 20 laterals in a grid of streets, a survey of 40 observations for each lateral, and
a work sheet with three reasons for every fifth, so that lists have something to show.
"""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Iterator

from drainwright.records.lateral import FarAccess, Lateral
from drainwright.records.project import MainSegment, Project
from drainwright.records.specification import default_specification
from drainwright.records.survey import Observation, ObservationKind, Survey, SurveyMethod
from drainwright.records.work_sheet import Fitness, Reason, WorkSheet
from drainwright.sources import cite
from drainwright.storage import RecordStore
from drainwright.storage.protocol import Record

KEY = "town"
ON_SEGMENT = 20
OBSERVATIONS = 40
SHEET_EVERY = 5
AT = dt.datetime(2026, 4, 2, 12, tzinfo=dt.UTC)
LAYOUT = 100
"""Segments side by side in the grid."""
_NAMES = ("Alder", "Birch", "Cedar", "Dogwood", "Elm", "Fir", "Gum", "Hazel", "Ivy", "Juniper")
_KINDS = (
    ObservationKind.ROOTS, ObservationKind.CRACK, ObservationKind.INFILTRATION,
    ObservationKind.OFFSET, ObservationKind.DEPOSIT,
)  # fmt: skip
_REMARKS = ("fine roots", "drips", "runs", "clay", "", "", "", "")


def project() -> Project:
    """The town, with a coordinate system."""
    return Project(KEY, "Town", crs="EPSG:26915")


def street_of(n: int) -> str:
    """The street of a segment: 2,500 segments lie in 500 streets."""
    return f"{_NAMES[n // 5 % 10]} Street {n // 50}"


def segments(count: int) -> Iterator[MainSegment]:
    """A main of 120 m for every 20 laterals."""
    for n in range(-(-count // ON_SEGMENT)):
        x, y = 130.0 * (n % LAYOUT), 60.0 * (n // LAYOUT)
        yield MainSegment(
            f"M-{n}", f"MH {n}", f"MH {n + 1}", 0.2, 120.0, street=street_of(n),
            geometry=((4e5 + x, 4.9e6 + y), (4e5 + x + 120.0, 4.9e6 + y)),
        )  # fmt: skip


def lateral(n: int) -> Lateral:
    """One lateral; every number is its own, so that a search can ask for one."""
    main, place = divmod(n, ON_SEGMENT)
    at, side = 5.0 + 5.8 * place, 1 if place % 2 else -1
    x, y = 4e5 + 130.0 * (main % LAYOUT) + at, 4.9e6 + 60.0 * (main // LAYOUT)
    return Lateral(
        f"L-{n}", f"M-{main}", at, tap_clock=2.0 if side < 0 else 10.0,
        address=f"{100 + n} {street_of(main)}", street=street_of(main), inside_diameter=0.1,
        material="vitrified clay", far_access=FarAccess.OUTDOORS, cleanout_distance=18.0,
        geometry=((x, y), (x + 0.5, y + side * 9.0), (x + 0.5, y + side * 18.0)),
        remark="by the owner's list" if n % 7 == 0 else "",
    )  # fmt: skip


def survey(n: int, pick: random.Random) -> Survey:
    """A camera survey with 40 observations."""
    seen = tuple(
        Observation(pick.choice(_KINDS), 0.45 * k, remark=pick.choice(_REMARKS))
        for k in range(OBSERVATIONS)
    )
    return Survey(
        f"L-{n}", dt.date(2026, 3, n % 28 + 1), dt.time(9, 30), SurveyMethod.MAIN, "up",
        observations=seen,
    )  # fmt: skip


def sheet(n: int, main: MainSegment, outcome: Fitness) -> WorkSheet:
    """A work sheet with its outcome and three reasons; its figures are left out."""
    own = lateral(n)
    reasons = tuple(
        Reason(outcome, rule, f"{rule} at {k + 1} places", cite("practice"), 3.2 + k)
        for k, rule in enumerate(("roots", "structure", "tube"))
    )
    seen = Survey(own.key, AT.date(), None, SurveyMethod.MAIN, "up")
    return WorkSheet(
        project=project(), segment=main, lateral=own, survey=seen, tube=None, resin=None,
        specification=default_specification(), outcome=outcome, reasons=reasons, figures=(),
        checks=(), cautions=(), made_from=(), issued_at=AT, issued_by="bench",
    )  # fmt: skip


def everything(count: int) -> Iterator[tuple[Record, int | None]]:
    """Every document of the town, in the order a project gets them."""
    pick = random.Random(5)
    yield project(), 0
    mains = list(segments(count))
    yield from ((main, 0) for main in mains)
    for n in range(count):
        yield lateral(n), 0
    for n in range(count):
        yield survey(n, pick), 0
    outcomes = list(Fitness)
    for n in range(0, count, SHEET_EVERY):
        yield sheet(n, mains[n // ON_SEGMENT], outcomes[n // SHEET_EVERY % len(outcomes)]), 0


def fill(store: RecordStore, count: int) -> None:
    """Store the town in one transaction."""
    with store.write(by="bench", at=AT, origin="bench", reason="filled") as session:
        session.put_many(KEY, everything(count))
