"""What is measured on a profile: dimension lines, stations, the scale of distances, the caption."""

from __future__ import annotations

from dataclasses import dataclass

from drainwright.drawing.lettering import cut, text_width
from drainwright.drawing.profile_ground import water_is_below
from drainwright.drawing.profile_pipe import known_end
from drainwright.drawing.scale import ticks
from drainwright.drawing.section import Frame
from drainwright.drawing.svg import INK, Role, Sheet
from drainwright.units import UnitSystem, feet_and_inches, show

_ROW = 22.0
_STATIONS = 20.0
_SCALE = 32.0
_CAPTION = 20.0
COLLAR_HEIGHT = 104.0
LEAST_GAP = 0.02  # [m] an unlined gap worth a dimension


@dataclass(frozen=True, slots=True)
class Rows:
    """Heights of the rows below the section, 0 for one that is not needed."""

    lined: float
    gap: float
    stations: float

    @property
    def height(self) -> float:
        """Height of all rows with the scale and the caption."""
        return 6 + self.lined + self.gap + self.stations + _SCALE + _CAPTION


def rows_for(liner: bool, gap: bool, stations: bool) -> Rows:  # noqa: FBT001
    """The rows a drawing needs."""
    return Rows(_ROW * liner, _ROW * gap, _STATIONS * stations)


def length_text(value: float, system: UnitSystem) -> str:
    """A length as crews read it: decimal feet with feet and inches, or meters."""
    text = show(value, "length", system).text
    return f"{text} ({feet_and_inches(value, 1)})" if system is UnitSystem.US else text


def lined_text(frame: Frame, system: UnitSystem) -> str:
    """The words on the dimension line of the liner."""
    liner = frame.section.given.liner
    if liner is None:
        return ""
    length = liner.end - liner.start if liner.length is None else liner.length
    text = f"lined {length_text(length, system)}"
    if liner.uncertainty is None:
        return text
    return f"{text} ± {show(liner.uncertainty, 'length', system).text}"


def unlined_gap(frame: Frame) -> tuple[float, float] | None:
    """The stretch between the liner's end and the cleanout, if there is one."""
    given = frame.section.given
    if given.liner is None or given.cleanout is None:
        return None
    if given.cleanout.distance - given.liner.end < LEAST_GAP:
        return None
    return given.liner.end, given.cleanout.distance


def draw_measures(sheet: Sheet, frame: Frame, rows: Rows, top: float, system: UnitSystem) -> None:
    """All rows below the section and its strips, from `top` on."""
    y = top + 6
    liner = frame.section.given.liner
    if liner is not None:
        text = lined_text(frame, system)
        _dimension(sheet, frame, (liner.start, liner.end), y + 0.5 * rows.lined, text)
    y += rows.lined
    gap = unlined_gap(frame)
    if gap is not None:
        text = f"unlined to the cleanout {length_text(gap[1] - gap[0], system)}"
        _dimension(sheet, frame, gap, y + 0.5 * rows.gap, text)
    y += rows.gap
    if rows.stations:
        _draw_stations(sheet, frame, y + rows.stations)
    _draw_scale(sheet, frame, y + rows.stations, system)


def _dimension(sheet: Sheet, frame: Frame, span: tuple[float, float], y: float, text: str) -> None:
    """A dimension line with its text inside, or beside it where it is too short."""
    start, end = (frame.x.at(distance) for distance in span)
    width = text_width(text, bold=True)
    for x in (start, end):
        sheet.line([(x, y - 7), (x, y + 7)], "dim", INK, 1.2)
        sheet.line([(x - 3, y + 3), (x + 3, y - 3)], "dim", INK, 1.6)
    if end - start >= width + 40:
        left, right = (start + end - width) / 2 - 7, (start + end + width) / 2 + 7
        sheet.line([(start, y), (left, y)], "dim", INK, 1.2)
        sheet.line([(right, y), (end, y)], "dim", INK, 1.2)
        sheet.text(((start + end) / 2, y + 5), text, anchor="middle", role="ink")
        return
    sheet.line([(start, y), (end, y)], "dim", INK, 1.2)
    after, before = sheet.width - 13 - end, start - 9 - frame.space.left
    if after >= min(width, before):
        sheet.text((end + 9, y + 5), cut(text, after, bold=True), role="ink")
    else:
        sheet.text((start - 9, y + 5), cut(text, before, bold=True), anchor="end", role="ink")


def _draw_stations(sheet: Sheet, frame: Frame, bottom: float) -> None:
    """Stations as small triangles over the scale, the governing one filled and named first."""
    stations = frame.section.given.stations
    taken: list[tuple[float, float]] = []
    for station in sorted(stations, key=lambda one: (not one.governing, one.distance)):
        x = frame.x.at(station.distance)
        triangle = f"M{x - 4.5:.1f} {bottom - 8:.1f}h9l-4.5 7z"
        fill = INK if station.governing else "none"
        sheet.add("path", "station", d=triangle, fill=fill, stroke=INK, stroke_width="1.2")
        role: Role = "ink" if station.governing else "text"
        text = cut(station.text, 240, bold=station.governing)
        width = text_width(text, bold=station.governing)
        for left in (x + 8, x - 8 - width):
            right = left + width
            others = [frame.x.at(other.distance) for other in stations if other is not station]
            clear = all(not (left - 8 < other < right + 8) for other in others)
            free = all(right + 8 < a or b + 8 < left for a, b in taken)
            if clear and free and left >= frame.space.left and right < sheet.width - 4:
                sheet.text((left, bottom - 3), text, role=role)
                taken.append((left, right))
                break


def _draw_scale(sheet: Sheet, frame: Frame, y: float, system: UnitSystem) -> None:
    """The scale of distances from the main, and below it what the drawing is drawn to."""
    end = max(known_end(frame), (frame.space.right - frame.x.zero) / frame.x.per_unit)
    sheet.line([(frame.x.at(0.0), y), (frame.x.at(end), y)], "scale", width=1.2)
    for tick in ticks(0.0, end, frame.x.per_unit, system, 58):
        x = frame.x.at(tick.value)
        sheet.line([(x, y), (x, y + (4.0, 6.0, 9.0)[tick.weight])], "scale")
        sheet.text((x, y + 24), tick.label, anchor="middle")
    unit = "feet" if system is UnitSystem.US else "meters"
    words = f"{unit} from the main, along the pipe"
    right = sheet.width - 6
    sheet.text((frame.x.at(0.0) - 4, y + 44), words, role="pale")
    room = right - frame.x.at(0.0) - text_width(words) - 24
    sheet.text((right, y + 44), cut(caption(frame), room), anchor="end", role="pale")


def caption(frame: Frame) -> str:
    """How the drawing was drawn: scales, and what was assumed."""
    given = frame.section.given
    parts = [f"vertical × {frame.exaggeration:.3g}"]
    if abs(frame.pipe_factor - 1) > 0.04:
        parts.append(f"pipe width × {frame.exaggeration * frame.pipe_factor:.2g}")
    if not frame.main_to_scale:
        parts.append("main not to scale")
    if frame.y.cut is not None:
        parts.append("soil left out at the break")
    if water_is_below(frame):
        parts.append("water below the drawing")
    if given.invert_assumed or not given.invert:
        parts.append("depth assumed")
    if not given.ground:
        parts.append("ground drawn level")
    return " · ".join(parts)
