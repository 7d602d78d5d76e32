"""What a change would do to the plans of a project, before anything is stored (read)."""

from __future__ import annotations

import datetime as dt
import math
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass, replace
from typing import TypeVar, get_args

from drainwright.errors import Fault, InputError
from drainwright.operations.site_of import Gathered, Gatherer
from drainwright.planning.choice import with_choice
from drainwright.planning.design import design
from drainwright.records.design_choice import DesignChoice
from drainwright.records.lateral import Lateral
from drainwright.records.material import Collar, Resin, Tube
from drainwright.records.project import MainSegment, Project
from drainwright.records.rig import Rig
from drainwright.records.specification import Specification
from drainwright.records.work_sheet import Figure, Fitness, Reason, WorkSheet
from drainwright.storage.protocol import Filters, ReadSession, RecordStore

Change = Specification | Resin | Tube | Collar | Rig | Project | MainSegment | Lateral
T = TypeVar("T", Tube, Resin, Collar, Lateral)
Progress = Callable[[str, int, int], None]

KEY_FIGURES = (
    "length.lined",
    "tube.name",
    "tube.wall",
    "wall.required",
    "wall.governing",
    "cut.length",
    "collar.name",
    "flow.ratio",
    "resin.name",
    "wetout.mass",
    "wetout.roller_gap",
    "deadline.off_ice",
    "deadline.seated",
    "deadline.pull_out",
    "launch.minimum",
    "launch.maximum",
    "launch.usual",
    "steam.hold",
    "steam.simulated",
    "steam.last",
    "steam.gas",
    "steam.gas_limit",
    "steam.exhaust",
    "steam.letdown",
    "main.plugged",
)
"""The figures that a superintendent or an owner's engineer asks about."""
_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class FigureChange:
    """One figure before and after: SI of `kind`, words for kind "", None where there is none."""

    key: str
    label: str
    kind: str
    before: float | str | None
    after: float | str | None


@dataclass(frozen=True, slots=True)
class PlanChange:
    """What would change for one lateral; a lateral that stays as it is has none."""

    lateral: str
    before: Fitness | None
    """Outcome now; None where it can't be planned or was not planned yet."""
    after: Fitness | None
    figures: tuple[FigureChange, ...]
    new_reasons: tuple[str, ...]
    """Reasons and checks not met that the change brings, in words."""
    gone_reasons: tuple[str, ...]
    faults: tuple[str, ...] = ()
    """Why it could not be planned with the change."""

    @property
    def outcome_changes(self) -> bool:
        """Whether the outcome itself would change."""
        return self.before is not self.after


@dataclass(frozen=True, slots=True)
class WouldChange:
    """All laterals that a change touches, and how many were looked at."""

    laterals: tuple[PlanChange, ...]
    looked_at: int

    @property
    def outcomes(self) -> int:
        """How many outcomes would change."""
        return sum(one.outcome_changes for one in self.laterals)


def would_change(
    store: RecordStore,
    project: str,
    changed: Sequence[Change],
    *,
    at: dt.datetime,
    keys: Sequence[str] = (),
    progress: Progress | None = None,
) -> WouldChange:
    """The laterals whose outcome or key figures would change with the records `changed`.

    Each record of `changed` (a specification, resin, tube, collar, rig, the project itself, a
    main segment or a lateral) stands in for the stored one of its kind and key, or beside the
    others where there is none; nothing is stored. Each lateral of `keys`, or of the whole
    project, is planned twice, as recorded and with the change, both with its design choice and
    today's program, without draws for a confidence.

    With nothing in `changed` the kept work sheets are compared with what this program would
    plan from the records as they stand: what planning again would change, after an update of
    the program or of the records. A lateral without a kept sheet is left out then.

    `progress` gets the lateral's key, how many are done and how many there are; it is called
    in the caller's thread. Raises `InputError` for a record of another kind, `NotFoundError`
    for a key that is not there.
    """
    _known(changed)
    with store.read() as session:
        gatherer = Gatherer(session, project, at.date())
        wanted = keys or [stored.key for stored in session.every(project, Lateral)]
        pairs = [_pair(session, gatherer, project, key, changed) for key in wanted]
    pairs = [pair for pair in pairs if changed or pair.kept is not None]
    found: dict[str, PlanChange | None] = {}
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        running = {pool.submit(_compared, pair): pair.key for pair in pairs}
        for done in as_completed(running):
            found[running[done]] = done.result()
            if progress:
                progress(running[done], len(found), len(pairs))
    told = [found[pair.key] for pair in pairs]
    return WouldChange(tuple(one for one in told if one is not None), len(pairs))


@dataclass(frozen=True, slots=True)
class _Pair:
    """One lateral's site as recorded and as changed."""

    key: str
    now: Gathered
    then: Gathered
    kept: WorkSheet | None
    """The kept sheet, where it is what counts as now."""


def _known(changed: Sequence[object]) -> None:
    wrong = [one for one in changed if not isinstance(one, Change)]
    if wrong:
        kinds = ", ".join(kind.__name__ for kind in get_args(Change))
        raise InputError(
            *(Fault("changed", f"a {type(one).__name__} is none of {kinds}") for one in wrong)
        )


def _pair(
    session: ReadSession, gatherer: Gatherer, project: str, key: str, changed: Sequence[Change]
) -> _Pair:
    plain, choice = gatherer.recorded(key), gatherer.choice(key)
    made = choice.record if choice else None
    kept = None if changed else _kept(session, project, key)
    return _Pair(key, _chosen(plain, made), _chosen(_overlaid(plain, changed), made), kept)


def _kept(session: ReadSession, project: str, key: str) -> WorkSheet | None:
    found = session.every(project, WorkSheet, Filters(lateral=key))
    return next((stored.record for stored in found), None)


def _chosen(plain: Gathered, choice: DesignChoice | None) -> Gathered:
    made = with_choice(choice, plain.site, plain.tubes, plain.resins)
    return Gathered(made.site, made.tubes, made.resins, plain.collars, plain.revisions)


def _overlaid(plain: Gathered, changed: Sequence[Change]) -> Gathered:
    """The same lateral with the changed records in place of the stored ones."""
    site, tubes, resins, collars = plain.site, plain.tubes, plain.resins, plain.collars
    for one in changed:
        match one:
            case Specification():
                site = replace(site, specification=one)
            case Project():
                site = replace(site, project=one)
            case Tube():
                tubes = tuple(_with(tubes, one))
            case Resin():
                resins = tuple(_with(resins, one))
            case Collar():
                collars = tuple(_with(collars, one))
            case Rig() if site.rig is not None and site.rig.key == one.key:
                site = replace(site, rig=one)
            case MainSegment() if site.segment.key == one.key:
                site = replace(site, segment=one)
            case Lateral() if site.lateral.key == one.key:
                site = replace(site, lateral=one)
            case Lateral():
                there = any(other.key == one.key for other in site.neighbors)
                beside = tuple(_with(site.neighbors, one)) if there else site.neighbors
                site = replace(site, neighbors=beside)
            case _:
                pass
    return Gathered(site, tubes, resins, collars, plain.revisions)


def _with(stored: Sequence[T], new: T) -> Iterator[T]:
    """The records with one replaced, or added at the end."""
    there = any(one.key == new.key for one in stored)
    yield from (new if one.key == new.key else one for one in stored)
    if not there:
        yield new


def _compared(pair: _Pair) -> PlanChange | None:
    """What changes between both plans; None where nothing does."""
    before, _ = (pair.kept, ()) if pair.kept is not None else _planned(pair.now)
    after, faults = _planned(pair.then)
    figures = tuple(_figures(before, after))
    old, new = _reasons(before), _reasons(after)
    change = PlanChange(
        pair.key,
        before.outcome if before else None,
        after.outcome if after else None,
        figures,
        tuple(words for words in new if words not in old),
        tuple(words for words in old if words not in new),
        faults,
    )
    same = not (change.outcome_changes or figures or change.new_reasons or change.gone_reasons)
    return None if same else change


def _planned(gathered: Gathered) -> tuple[WorkSheet | None, tuple[str, ...]]:
    try:
        sheet = design(gathered.site, gathered.tubes, gathered.resins, gathered.collars)
    except InputError as error:
        return None, tuple(str(fault) for fault in error.faults)
    return sheet, ()


def _figures(before: WorkSheet | None, after: WorkSheet | None) -> Iterator[FigureChange]:
    """The key figures that differ; a time at a confidence is not compared with one without."""
    sure = {sheet.figure("steam.sure") is not None for sheet in (before, after) if sheet}
    for key in KEY_FIGURES:
        old = before.figure(key) if before else None
        new = after.figure(key) if after else None
        named = new or old
        if named is None or (key == "steam.hold" and len(sure) > 1) or _same(old, new):
            continue
        yield FigureChange(
            key,
            named.label,
            named.kind,
            old.value if old else None,
            new.value if new else None,
        )


def _same(old: Figure | None, new: Figure | None) -> bool:
    if old is None or new is None:
        return old is new
    if isinstance(old.value, float) and isinstance(new.value, float):
        return math.isclose(old.value, new.value, rel_tol=_SAME, abs_tol=1e-15)
    return old.value == new.value


def _reasons(sheet: WorkSheet | None) -> list[str]:
    if sheet is None:
        return []
    told = [_words(reason) for reason in sheet.reasons]
    told += [f"{one.name}: not met" for one in sheet.checks if one.outcome == "not met"]
    return list(dict.fromkeys(told))


def _words(reason: Reason) -> str:
    return f"{reason.outcome}: {reason.words}"
