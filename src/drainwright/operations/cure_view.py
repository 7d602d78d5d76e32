"""The cure of a planned liner at many times, along the pipe and through the wall (read)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drainwright.drawing.cure_frames import (
    AlongPipe,
    WallSection,
    cure_strips,
    minutes,
    section_paths,
    section_picture,
    strip_paths,
)
from drainwright.drawing.cure_pictures import CureTimes, by_time
from drainwright.engineering.cure import CureResult, Fields, simulate, with_schedule
from drainwright.engineering.cure_model import CureCase
from drainwright.engineering.cure_probes import column_of, field_view
from drainwright.errors import InputError
from drainwright.operations.draw_lateral import LateralDrawing, draw_site
from drainwright.operations.planned_site import Behind, behind_sheet
from drainwright.operations.sheet_case import case_of
from drainwright.planning.steam_plan import NOT_COMPARED, place_words
from drainwright.records.project import Project
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.storage.protocol import RecordStore
from drainwright.units import UnitSystem, show

Array = NDArray[np.float64]
_STEAMED, _COOLED = 20, 6
"""Frames while steam is on, and after."""
_LAST_COOLING = 7200.0
_SOIL_ROWS = 6


@dataclass(frozen=True, slots=True)
class CureFrame:
    """One time: its name, what is told of it, and the path data of the lines."""

    label: str
    words: str
    strips: tuple[str, str]
    section: tuple[str, str]


@dataclass(frozen=True, slots=True)
class CureView:
    """A planned cure in pictures, or why there is none."""

    why_not: str = ""
    profile: LateralDrawing = field(default_factory=lambda: LateralDrawing(""))
    """With a strip for temperature and one for cure, as they are at the first frame."""
    section: str = ""
    frames: tuple[CureFrame, ...] = ()
    stills: tuple[tuple[str, str], ...] = ()
    """Name and picture, each several times at once."""
    steam_off: int = 0
    """The frame at which steam is shut."""
    facts: tuple[tuple[str, str], ...] = ()
    caution: str = NOT_COMPARED


@dataclass(frozen=True, slots=True)
class _Kept:
    """A sheet in a cache, told apart by the hash of its stored text."""

    sha256: str
    behind: Behind = field(compare=False)


@dataclass(frozen=True, slots=True)
class PlannedRun:
    """A planned cure as computed, with its fields at the frames."""

    case: CureCase
    result: CureResult
    hold: float

    @property
    def times(self) -> Array:
        """When the frames are."""
        return self.result.fields.times

    @property
    def off(self) -> int:
        """The last frame with steam on."""
        return int(np.flatnonzero(self.times <= self.hold + 1e-6)[-1])


def cure_view(store: RecordStore, project: Project, key: str) -> CureView:
    """The cure of lateral `key` as planned; `NotFoundError` where it has no work sheet."""
    with store.read() as session:
        stored = session.get(project.key, WorkSheet, key)
        behind = behind_sheet(session, project.key, stored.record)
    return _viewed(_Kept(stored.revision.sha256, behind), project.units)


def planned_run(sha256: str, behind: Behind) -> PlannedRun | str:
    """The planned cure of a sheet stored under `sha256`, or why there is none."""
    return _run(_Kept(sha256, behind))


def outer_at_steam_off(sha256: str, behind: Behind, places: Sequence[float]) -> list[float] | None:
    """Temperature of the outermost liner cell when steam is shut, at distances from the tap [K].

    NaN beyond the liner; None where the cure can't be simulated.
    """
    run = _run(_Kept(sha256, behind))
    if isinstance(run, str):
        return None
    along = _along(run)
    values = np.interp(
        places, along.positions, along.outer[run.off], right=np.nan
    )  # up to the last cell's center
    inside = np.asarray(places) <= run.case.length + 1e-9
    near_end = inside & np.isnan(values)
    values[near_end] = along.outer[run.off, -1]
    return [float(value) for value in values]


@lru_cache(maxsize=32)
def _viewed(kept: _Kept, system: UnitSystem) -> CureView:
    run = _run(kept)
    if isinstance(run, str):
        return CureView(why_not=run)
    along, section = _along(run), _section(run)
    behind = kept.behind
    drawn = draw_site(behind.site, system, behind.sheet, strips=cure_strips(along, run.off))
    if drawn.layout is None:
        return CureView(why_not=drawn.why_not)
    labels = [minutes(float(time), system) for time in run.times]
    pairs = zip(
        strip_paths(along, drawn.layout), section_paths(section, along.target, system), strict=True
    )
    frames = tuple(
        CureFrame(labels[n], _words(run, along, section, n, system), strips, walls)
        for n, (strips, walls) in enumerate(pairs)
    )
    return CureView(
        profile=drawn,
        section=section_picture(section, ((run.off, labels[run.off]),), along.target, system, "s-"),
        frames=frames,
        stills=_stills(run, section, along, labels, system),
        steam_off=run.off,
        facts=_facts(run, behind.sheet, system),
    )


@lru_cache(maxsize=32)
def _run(kept: _Kept) -> PlannedRun | str:
    """The planned run with its fields at the frames, or why there is none."""
    behind = kept.behind
    if behind.sheet.outcome is Fitness.STOP:
        return "this lateral is not to be lined"
    found = case_of(behind.site, behind.sheet, behind.collars)
    if found.case is None:
        return found.lacks
    planned, cooled = behind.sheet.figure("steam.hold"), behind.sheet.figure("steam.cool")
    try:
        case = found.case
        hold = _number(planned) or case.schedule.heat_up + 3600.0
        rest = min(_number(cooled) or _LAST_COOLING, _LAST_COOLING)
        steamed = np.linspace(0.0, hold, _STEAMED + 1)
        times = np.concatenate([steamed, hold + rest * np.arange(1, _COOLED + 1) / _COOLED])
        times[0] = min(1.0, hold / 100)  # nothing is kept before the first step
        result = simulate(with_schedule(case, steam=hold), times=[float(time) for time in times])
    except InputError as error:
        return "; ".join(str(fault) for fault in error.faults)
    return PlannedRun(case, replace(result, fields=_kept_ones(result.fields)), hold)


def _kept_ones(fields: Fields) -> Fields:
    """The fields at times the run reached."""
    there = np.isfinite(fields.temperature).all(axis=(1, 2))
    return Fields(fields.times[there], fields.temperature[there], fields.conversion[there])


def _number(figure: object) -> float | None:
    value = getattr(figure, "value", None)
    return float(value) if isinstance(value, float | int) else None


def _lines(case: CureCase) -> tuple[str, ...]:
    return ("top", "invert") if case.grid.invert else ("top",)


def _along(run: PlannedRun) -> AlongPipe:
    fields, views = run.result.fields, [field_view(run.case, line) for line in _lines(run.case)]
    outer = [
        fields.temperature[:, view.first_row + view.liner_rows - 1][:, view.columns]
        for view in views
    ]
    least = [fields.conversion[:, :, view.columns].min(axis=1) for view in views]
    return AlongPipe(
        run.times, views[0].positions, np.min(outer, axis=0), np.min(least, axis=0),
        run.case.schedule.target_conversion,
    )  # fmt: skip


def _section(run: PlannedRun) -> WallSection:
    """Through the wall where it cures last; in the collar only the liner's own wall."""
    case, place = run.case, run.result.last_place
    view, column = field_view(case), column_of(case, place)
    first, count = view.first_row, view.liner_rows
    conversion = run.result.fields.conversion[:, :, column]
    lateral = place.part == "lateral"
    rows = slice(first, first + count)
    if lateral:
        last = min(first + count + view.host_rows + _SOIL_ROWS, view.radii.size)
        rows = slice(first, last)
        depth = view.radii[rows] - view.radii[first]
        edges = [0.5 * (depth[k - 1] + depth[k]) for k in (count, count + view.host_rows)]
        bands: tuple[tuple[float, float, str], ...] = (
            (0.0, float(edges[0]), "liner"), (float(edges[0]), float(edges[1]), "host"),
            (float(edges[1]), float(depth[-1]), "soil"),
        )  # fmt: skip
    else:
        wall = case.collar.wall if case.collar else case.liner.wall
        depth = wall * (np.arange(count) + 0.5) / count
        bands = ((float(depth[0]), float(depth[-1]), "liner"),)
    words = f"where it cures last, {place_words(place)}"
    return WallSection(
        words, depth, run.result.fields.temperature[:, rows, column], conversion, bands
    )


def _words(
    run: PlannedRun, along: AlongPipe, section: WallSection, frame: int, system: UnitSystem
) -> str:
    time, outer, least = run.times[frame], along.outer[frame], along.least[frame]
    state = "steam on" if time <= run.hold + 1e-6 else "steam off, cooling"
    low = show(float(outer.min()), "temperature", system)
    high = show(float(outer.max()), "temperature", system)
    warm = high.text if low.number == high.number else f"{low.number} to {high.text}"
    at = int(least.argmin())
    cure = show(float(least[at]), "share", system, 0).text
    where = show(float(along.positions[at]), "length", system).text
    last = show(float(section.conversion[frame].min()), "share", system, 0).text
    return (
        f"{state}; outermost liner {warm}; along the lateral least cured {cure} at {where}; "
        f"where it cures last {last}"
    )


def _stills(
    run: PlannedRun, section: WallSection, along: AlongPipe, labels: list[str], system: UnitSystem
) -> tuple[tuple[str, str], ...]:
    log, chosen = run.result.log, sorted({run.off // 8, run.off // 4, run.off // 2, run.off})
    times = tuple((n, labels[n]) for n in chosen)
    over = CureTimes(
        log.time, log.exhaust, log.warmest_liner, log.least_conversion, run.hold,
        run.result.hold, along.target,
    )  # fmt: skip
    return (
        ("Over time", by_time(over, system, "t-")),
        ("Through the wall", section_picture(section, times, along.target, system, "w-")),
    )


def _facts(run: PlannedRun, sheet: WorkSheet, system: UnitSystem) -> tuple[tuple[str, str], ...]:
    result = run.result
    found = [("steam time, planned", minutes(run.hold, system))]
    for key, label in (("steam.simulated", "simulated, nominal"), ("steam.sure", "… 95 % sure")):
        value = _number(sheet.figure(key))
        if value is not None:
            found.append((label, minutes(value, system)))
    found += [
        ("last to cure", place_words(result.last_place)),
        ("warmest liner", show(result.peak_temperature, "temperature", system).text),
        ("warmest host", show(result.peak_host, "temperature", system).text),
    ]
    return tuple(found)
