"""Pictures of a cure: along the profile, through the wall at the last place, and by time.

Arrays in, SVG out. Graphite is what is given (gas, ground, limits), ink is the liner. Lines are
told apart by their dashes and named at their ends; nothing is told by hue.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainwright.drawing.scale import Linear
from drainwright.drawing.svg import FAINT, GRAPHITE, INK, PALE, Sheet, path
from drainwright.errors import Fault, raise_if_any
from drainwright.units import UnitSystem, from_si, kind_unit, show

Array = NDArray[np.float64]
DASHES = ("", "7 3", "3 3", "9 3 2 3", "2 4", "12 4")
_WIDTH, _LEFT, _RIGHT, _GAP = 760.0, 64.0, 132.0, 30.0
_TOP = 24.0
_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


@dataclass(frozen=True, slots=True)
class Curve:
    """One line: SI values over SI places or times, its name, and whether it is the liner's."""

    x: Array
    y: Array
    name: str
    ink: bool = True


@dataclass(frozen=True, slots=True)
class Panel:
    """One chart of a picture; kinds name the units of both axes."""

    title: str
    x_kind: str
    y_kind: str
    curves: tuple[Curve, ...]
    y_range: tuple[float, float] | None = None
    level: tuple[float, str] | None = None
    """A value on the upright axis that matters, and its name."""
    mark: tuple[float, str] | None = None
    """A place or time that matters, and its name."""
    bands: tuple[tuple[float, float, str], ...] = ()
    """Stretches of the x axis with names, such as liner, host, soil."""
    height: float = 190.0


def ticks_of(low: float, high: float, most: int) -> list[float]:
    """Round numbers from low to high, at most about `most` of them.

    >>> ticks_of(0.0, 64.0, 6)
    [0.0, 20.0, 40.0, 60.0]
    """
    span = max(high - low, 1e-12)
    power = 10.0 ** np.floor(np.log10(span / most))
    step = next(float(s * power) for s in _STEPS if span / (s * power) <= most)
    first = int(np.ceil(low / step - 1e-9))
    return [n * step for n in range(first, int(np.floor(high / step + 1e-9)) + 1)]


def picture(panels: Sequence[Panel], system: UnitSystem, label: str, prefix: str = "") -> str:
    """An SVG with the panels below each other; `label` is what a screen reader says."""
    raise_if_any(_faults(panels))
    height = sum(panel.height + _GAP + 34.0 for panel in panels) + 8.0
    sheet = Sheet(_WIDTH, height, prefix)
    hatch = sheet.pattern(
        "liner-hatch", 6, 6, f'<path d="M0 6 L6 0" stroke="{INK}" stroke-width="0.6"/>'
    )
    top = _TOP
    for panel in panels:
        _draw(sheet, panel, system, top, hatch)
        top += panel.height + _GAP + 34.0
    return sheet.render(label)


def panel_paths(
    panels: Sequence[Panel], system: UnitSystem, values: Sequence[Array]
) -> tuple[str, ...]:
    """Path data of other values over the places of each panel's first curve, as `picture` has it.

    For the same picture at another time; each panel needs a `y_range` of its own.
    """
    top, found = _TOP, []
    for panel, changed in zip(panels, values, strict=True):
        axes = _axes(panel, system, top)
        pairs = zip(panel.curves[0].x, changed, strict=True)
        found.append(path([axes.at(float(x), float(y)) for x, y in pairs]))
        top += panel.height + _GAP + 34.0
    return tuple(found)


def _faults(panels: Sequence[Panel]) -> list[Fault]:
    found = []
    for panel in panels:
        for curve in panel.curves:
            if curve.x.size != curve.y.size or curve.x.size < 2:
                found.append(Fault(curve.name, "needs as many places as values, two at least"))
            elif not (np.isfinite(curve.x).all() and np.isfinite(curve.y).any()):
                found.append(Fault(curve.name, "holds no finite values"))
    return found


@dataclass(frozen=True, slots=True)
class _Axes:
    """Scales of one panel in the reader's units."""

    x: Linear
    y: Linear
    x_low: float
    x_high: float
    y_low: float
    y_high: float
    x_unit: str
    y_unit: str
    bottom: float
    top: float

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Position of SI values on the sheet."""
        shown = min(max(from_si(y, self.y_unit), self.y_low), self.y_high)
        return self.x.at(from_si(x, self.x_unit)), self.y.at(shown)


def _axes(panel: Panel, system: UnitSystem, top: float) -> _Axes:
    x_unit, y_unit = kind_unit(panel.x_kind, system), kind_unit(panel.y_kind, system)
    xs = np.concatenate([curve.x for curve in panel.curves])
    ys = np.concatenate([curve.y[np.isfinite(curve.y)] for curve in panel.curves])
    low, high = panel.y_range or (float(ys.min()), float(ys.max()))
    if panel.level is not None:
        low, high = min(low, panel.level[0]), max(high, panel.level[0])
    y_low, y_high = from_si(low, y_unit), from_si(high, y_unit)
    pad = 0.0 if panel.y_range else 0.06 * max(y_high - y_low, 1e-9)
    y_low, y_high = y_low - pad, y_high + pad
    x_low, x_high = from_si(float(xs.min()), x_unit), from_si(float(xs.max()), x_unit)
    wide = (_WIDTH - _LEFT - _RIGHT) / max(x_high - x_low, 1e-12)
    bottom = top + panel.height
    tall = -panel.height / max(y_high - y_low, 1e-12)
    x, y = Linear(_LEFT - x_low * wide, wide), Linear(bottom - y_low * tall, tall)
    return _Axes(x, y, x_low, x_high, y_low, y_high, x_unit, y_unit, bottom, top)


def _draw(sheet: Sheet, panel: Panel, system: UnitSystem, top: float, hatch: str) -> None:
    axes = _axes(panel, system, top)
    with sheet.group("panel", panel.title):
        sheet.text((_LEFT, top - 9), panel.title)
        _draw_bands(sheet, panel, axes, hatch)
        _draw_scales(sheet, panel, system, axes)
        _draw_curves(sheet, panel, axes)
        if panel.level is not None:
            at = axes.at(from_x(axes), panel.level[0])[1]
            sheet.line(
                [(_LEFT, at), (_WIDTH - _RIGHT, at)], "limit", GRAPHITE, 1, stroke_dasharray="1 3"
            )
            sheet.text((_LEFT + 6, at - 5), panel.level[1], role="pale", ground=True)
        if panel.mark is not None:
            x = axes.x.at(from_si(panel.mark[0], axes.x_unit))
            sheet.line([(x, top), (x, axes.bottom)], "mark", INK, 1, stroke_dasharray="5 3")
            near = x > _WIDTH - _RIGHT - 130
            place = (x - 4, top + 12) if near else (x + 4, top + 12)
            sheet.text(
                place, panel.mark[1], anchor="end" if near else "start", role="ink", ground=True
            )


def from_x(axes: _Axes) -> float:
    """Any place on the x axis; a level does not care where."""
    return axes.x_low


def _draw_bands(sheet: Sheet, panel: Panel, axes: _Axes, hatch: str) -> None:
    for number, (start, end, name) in enumerate(panel.bands):
        left = axes.x.at(from_si(start, axes.x_unit))
        right = min(axes.x.at(from_si(end, axes.x_unit)), _WIDTH - _RIGHT)
        if name == "liner":
            sheet.add(
                "rect", "liner", x=left, y=axes.top, width=right - left,
                height=axes.bottom - axes.top, fill=hatch,
            )  # fmt: skip
        if number:
            sheet.line([(left, axes.top), (left, axes.bottom)], "edge", FAINT, 1)
        sheet.text(
            ((left + right) / 2, axes.top + 12), name, anchor="middle", role="pale", ground=True
        )


def _draw_scales(sheet: Sheet, panel: Panel, system: UnitSystem, axes: _Axes) -> None:
    right = _WIDTH - _RIGHT
    sheet.line([(_LEFT, axes.top), (_LEFT, axes.bottom), (right, axes.bottom)], "axis", GRAPHITE, 1)
    for value in ticks_of(axes.y_low, axes.y_high, 6):
        y = axes.y.at(value)
        sheet.line([(_LEFT - 4, y), (_LEFT, y)], "tick", GRAPHITE, 1)
        sheet.text((_LEFT - 7, y + 4), f"{value:g}", anchor="end", role="pale")
    for value in ticks_of(axes.x_low, axes.x_high, 9):
        x = axes.x.at(value)
        sheet.line([(x, axes.bottom), (x, axes.bottom + 4)], "tick", GRAPHITE, 1)
        sheet.text((x, axes.bottom + 17), f"{value:g}", anchor="middle", role="pale")
    unit = show(0.0, panel.y_kind, system).unit_text
    sheet.text((_LEFT - 7, axes.top - 9), unit, anchor="end", role="pale")
    sheet.text(
        (right + 16, axes.bottom + 17), show(0.0, panel.x_kind, system).unit_text, role="pale"
    )


def _draw_curves(sheet: Sheet, panel: Panel, axes: _Axes) -> None:
    ends = []
    for number, curve in enumerate(panel.curves):
        good = np.isfinite(curve.y)
        points = [
            axes.at(float(x), float(y)) for x, y in zip(curve.x[good], curve.y[good], strict=True)
        ]
        ends.append((points[-1][1], number))
        sheet.line(
            points, "curve", INK if curve.ink else PALE, 1.6 if curve.ink else 1.2,
            stroke_dasharray=DASHES[number % len(DASHES)] or None,
        )  # fmt: skip
    order = sorted(ends)
    places = _spread([y + 4 for y, _ in order], axes.bottom - 2)
    for (y, number), at in zip(order, places, strict=True):
        start = (_WIDTH - _RIGHT + 2, y)
        sheet.line([start, (_WIDTH - _RIGHT + 8, at - 4)], "leader", FAINT, 0.8)
        with sheet.group("name"):
            sheet.text((_WIDTH - _RIGHT + 11, at), panel.curves[number].name)


def _spread(wanted: list[float], lowest: float, gap: float = 14.0) -> list[float]:
    """Heights for names near the wanted ones, a gap apart, none below the lowest."""
    out: list[float] = []
    for value in wanted:
        out.append(max(value, out[-1] + gap) if out else value)
    limit = lowest
    for n in range(len(out) - 1, -1, -1):
        out[n] = min(out[n], limit)
        limit = out[n] - gap
    return out


# ---------------------------------------------------------------- the three pictures


@dataclass(frozen=True, slots=True)
class CureFields:
    """What the pictures show; SI.

    `positions` along the pipe; `radii` of the rows' centers; `temperature` [time, row, place],
    `conversion` [time, liner row, place]; `liner_rows` rows from `first_row` are the liner.
    """

    times: Array
    positions: Array
    radii: Array
    temperature: Array
    conversion: Array
    first_row: int
    liner_rows: int
    host_rows: int


@dataclass(frozen=True, slots=True)
class CureTimes:
    """Values at every step; SI."""

    time: Array
    exhaust: Array
    warmest_liner: Array
    least_conversion: Array
    steam_end: float
    hold: float | None
    target: float


def along_profile(fields: CureFields, target: float, system: UnitSystem, prefix: str = "") -> str:
    """Temperature and least cure of the liner along the pipe, at each time."""
    outer = fields.first_row + fields.liner_rows - 1
    names = [_minutes(time, system) for time in fields.times]
    warm = tuple(
        Curve(fields.positions, fields.temperature[n, outer], name) for n, name in enumerate(names)
    )
    cured = tuple(
        Curve(fields.positions, fields.conversion[n].min(axis=0), name)
        for n, name in enumerate(names)
    )
    panels = (
        Panel("Outermost liner cell, along the pipe from the tap", "length", "temperature", warm),
        Panel(
            "Cure, least across the wall", "length", "share", cured, (0.0, 1.0),
            (target, "wanted"),
        ),
    )  # fmt: skip
    return picture(panels, system, "Temperature and cure along the pipe, at several times", prefix)


def through_wall(
    fields: CureFields, place: int, target: float, system: UnitSystem, prefix: str = ""
) -> str:
    """Temperature and cure through the wall at one place, at each time."""
    first, liner, host = fields.first_row, fields.liner_rows, fields.host_rows
    last = min(first + liner + host + 6, fields.radii.size)
    names = [_minutes(time, system) for time in fields.times]
    depth = fields.radii - fields.radii[first]
    rows = slice(first, last)
    warm = tuple(
        Curve(depth[rows], fields.temperature[n, rows, place], name) for n, name in enumerate(names)
    )
    cured = tuple(
        Curve(depth[first : first + liner], fields.conversion[n, :, place], name)
        for n, name in enumerate(names)
    )
    edges = [0.5 * (depth[k - 1] + depth[k]) for k in (first + liner, first + liner + host)]
    bands = (
        (0.0, edges[0], "liner"), (edges[0], edges[1], "host"),
        (edges[1], float(depth[last - 1]), "soil"),
    )  # fmt: skip
    where = show(float(fields.positions[place]), "length", system).text
    panels = (
        Panel(
            f"Through the wall at {where} from the tap: depth from the liner's inside",
            "small_length", "temperature", warm, bands=bands,
        ),
        Panel(
            "Cure through the liner", "small_length", "share", cured, (0.0, 1.0),
            (target, "wanted"),
        ),
    )  # fmt: skip
    return picture(panels, system, f"Section through the wall at {where}, at several times", prefix)


def by_time(times: CureTimes, system: UnitSystem, prefix: str = "") -> str:
    """Gas at the far end, warmest liner and least cure over time, with the hold."""
    warm = (
        Curve(times.time, times.warmest_liner, "warmest liner"),
        Curve(times.time, times.exhaust, "gas at the end", ink=False),
    )
    cured = (Curve(times.time, times.least_conversion, "least cure"),)
    off = (times.steam_end, f"steam off, {_minutes(times.steam_end, system)}")
    hold = None if times.hold is None else (times.hold, f"cured, {_minutes(times.hold, system)}")
    panels = (
        Panel("Temperatures since steam on", "time", "temperature", warm, mark=off),
        Panel(
            "Cure of the last point", "time", "share", cured, (0.0, 1.0),
            (times.target, "wanted"), hold,
        ),
    )  # fmt: skip
    return picture(panels, system, "Temperature and cure over time", prefix)


def _minutes(time: float, system: UnitSystem) -> str:
    return show(time, "time", system, 0).text
