"""Faults that only rows together show: doubles, two taps at one place, lengths that differ."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from drainwright.errors import Fault
from drainwright.exchange.fields import fold
from drainwright.exchange.table_records import MeasuredLength, SurveyRow, TableRecord
from drainwright.records.lateral import Lateral, MeasuringWay
from drainwright.records.premises import Premises
from drainwright.records.project import MainSegment
from drainwright.units import FOOT

SAME_PLACE = 0.01  # m
# two lengths agree within 1 % or 0.5 ft, whichever is larger (Silver Lake WSD 6.20.410)
AGREE_SHARE = 0.01
AGREE_LENGTH = 0.5 * FOOT


@dataclass(frozen=True, slots=True)
class Known:
    """What the project has already; None where the caller does not know."""

    segments: Mapping[str, MainSegment] | None = None
    laterals: Mapping[str, Lateral] | None = None
    premises: Collection[str] | None = None
    """Keys and addresses of premises."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A record, or None for a row at fault, the row it was read from, and its key."""

    record: TableRecord | SurveyRow | None
    sheet: str
    row: int
    key: str = ""
    values: Mapping[str, object] = field(default_factory=dict)
    """What the row said, by attribute."""

    @property
    def place(self) -> tuple[str, int]:
        """Sheet and row."""
        return self.sheet, self.row


@dataclass(slots=True)
class _Findings:
    bad: set[tuple[str, int]] = field(default_factory=set)
    faults: list[Fault] = field(default_factory=list)
    notices: list[Fault] = field(default_factory=list)

    def fault(self, entry: Entry, fault: Fault) -> None:
        """A fault of one row."""
        self.bad.add(entry.place)
        self.faults.append(fault.placed(sheet=entry.sheet or None, row=entry.row))

    def notice(self, entry: Entry, notice: Fault) -> None:
        """Something to tell about one row."""
        self.notices.append(notice.placed(sheet=entry.sheet or None, row=entry.row))


def cross_faults(
    kind: str, entries: Sequence[Entry], known: Known
) -> tuple[set[tuple[str, int]], list[Fault], list[Fault]]:
    """Places of the rows at fault, the faults, and notices."""
    found = _Findings()
    if kind != "surveys":
        _doubles(kind, entries, found)
    if kind == "laterals":
        _laterals(entries, known, found)
    elif kind == "segments":
        _segments(entries, found)
    elif kind == "premises":
        _addresses(entries, found, fault=True)
    elif kind in ("measurements", "surveys"):
        _of_laterals(entries, known, found)
    elif kind == "contacts":
        _contacts(entries, known, found)
    return found.bad, found.faults, found.notices


def _doubles(kind: str, entries: Sequence[Entry], found: _Findings) -> None:
    first: dict[str, Entry] = {}
    name = {"laterals": "lateral", "segments": "main segment"}.get(kind, kind.rstrip("s"))
    for entry in entries:
        one = first.setdefault(entry.key, entry) if entry.key else entry
        if one is not entry:
            words = f"“{entry.key}” stands twice, first in {_where(one, entry)}"
            found.fault(entry, Fault(name, words, entry.key))
            found.bad.add(one.place)  # which of both is right is not known


def _where(entry: Entry, other: Entry) -> str:
    if entry.row == 0:
        return "the project"
    place = f"row {entry.row}"
    return place if entry.sheet == other.sheet else f"sheet {entry.sheet}, {place}"


def _typed(entries: Sequence[Entry], kind: type[Lateral]) -> Iterator[tuple[Entry, Lateral]]:
    for entry in entries:
        if isinstance(entry.record, kind):
            yield entry, entry.record


def _laterals(entries: Sequence[Entry], known: Known, found: _Findings) -> None:
    _addresses(entries, found, fault=False)
    _one_place(entries, known.laterals or {}, found)
    missing: dict[str, list[Entry]] = {}
    for entry, lateral in _typed(entries, Lateral):
        if known.segments is not None and lateral.segment not in known.segments:
            missing.setdefault(lateral.segment, []).append(entry)
        elif known.segments is not None:
            _beyond(entry, lateral, known.segments[lateral.segment], found)
        _lengths(entry, lateral, found)
        for premises in lateral.premises:
            if known.premises is not None and premises not in known.premises:
                words = f"“{premises}” is not among the premises of the project"
                found.notice(entry, Fault("premises", words, premises))
    for segment, rows in missing.items():
        _missing(segment, rows, known.segments or {}, found)


def _missing(
    segment: str, rows: Sequence[Entry], segments: Mapping[str, MainSegment], found: _Findings
) -> None:
    near = difflib.get_close_matches(segment, segments, n=1, cutoff=0.8)
    guess = f"“{segment}” looks like “{near[0]}”" if near else None
    words = f"there is no main segment “{segment}” in the project"
    if not segments:
        words += ", which has none yet; read the list of segments first"
    if len(rows) > 1:
        words += f" (and so in {len(rows) - 1} more rows)"
    found.bad |= {entry.place for entry in rows}
    found.fault(rows[0], Fault("main segment", words, segment, guess=guess))


def _beyond(entry: Entry, lateral: Lateral, segment: MainSegment, found: _Findings) -> None:
    if lateral.tap_distance > segment.length + SAME_PLACE:
        words = f"{lateral.tap_distance:g} m is outside 0 to {segment.length:g} m "
        words += f"(the length of main segment {segment.key})"
        fault = Fault("tap distance", words, lateral.tap_distance, "m", 0.0, segment.length)
        found.fault(entry, fault)


def _one_place(entries: Sequence[Entry], known: Mapping[str, Lateral], found: _Findings) -> None:
    taps: dict[str, list[tuple[Entry, Lateral]]] = {}
    for entry, lateral in _typed(entries, Lateral):
        taps.setdefault(lateral.segment, []).append((entry, lateral))
    here = {entry.key for entry in entries}
    for key, lateral in known.items():
        if key not in here and lateral.segment in taps:
            taps[lateral.segment].append((Entry(lateral, "", 0, key), lateral))
    for group in taps.values():
        group.sort(key=lambda tap: tap[1].tap_distance)
        for (one, first), (other, second) in pairwise(group):
            if first.key == second.key or second.tap_distance - first.tap_distance > SAME_PLACE:
                continue
            later, earlier = (other, one) if other.row >= one.row else (one, other)
            if later.row == 0:  # both are in the project already
                continue
            words = (
                f"lateral {first.key} and lateral {second.key} join main {first.segment} at one "
            )
            words += f"distance ({_where(earlier, later)})"
            fault = Fault("tap distance", words, first.segment)
            sides = first.tap_clock, second.tap_clock
            if None in sides or sides[0] == sides[1]:
                found.fault(later, fault)
            else:
                found.notice(later, fault)


def _lengths(entry: Entry, lateral: Lateral, found: _Findings) -> None:
    listed = [one.reading for one in lateral.lengths if one.way is MeasuringWay.LISTED]
    for length in listed:
        far = lateral.cleanout_distance
        if far is not None and abs(far - length) > _tolerance(length):
            low, high = length - _tolerance(length), length + _tolerance(length)
            words = f"{far:g} m is outside {low:g} to {high:g} m (by the length in the same row)"
            found.fault(entry, Fault("cleanout distance", words, far, "m", low, high))
    known = [*listed, *([lateral.cleanout_distance] if lateral.cleanout_distance else [])]
    if lateral.lined_length is not None and known:
        most = max(known)
        if lateral.lined_length > most + _tolerance(most):
            words = f"{lateral.lined_length:g} m is outside 0 to {most:g} m "
            words += "(the length of the lateral)"
            fault = Fault("lined length", words, lateral.lined_length, "m", 0.0, most)
            found.fault(entry, fault)


def _tolerance(length: float) -> float:
    return max(AGREE_SHARE * length, AGREE_LENGTH)


def _addresses(entries: Sequence[Entry], found: _Findings, *, fault: bool) -> None:
    first: dict[str, Entry] = {}
    for entry in entries:
        record = entry.record
        if not isinstance(record, Lateral | Premises) or not fold(record.address):
            continue
        one = first.setdefault(fold(record.address), entry)
        if one is entry or one.key == record.key:
            continue
        words = f"“{record.address}” is the address of {one.key}, too ({_where(one, entry)})"
        told = Fault("address", words, record.address)
        if fault:
            found.fault(entry, told)
        else:  # one house may have two laterals
            found.notice(entry, told)


def _segments(entries: Sequence[Entry], found: _Findings) -> None:
    for entry in entries:
        segment = entry.record
        if not isinstance(segment, MainSegment):
            continue
        if segment.from_manhole == segment.to_manhole:
            words = "the main begins and ends at the same manhole"
            found.fault(entry, Fault("to manhole", words, segment.to_manhole))
        for joint in segment.joints:
            if not 0 <= joint <= segment.length + SAME_PLACE:
                words = f"{joint:g} m is outside 0 to {segment.length:g} m (the length of the main)"
                found.fault(entry, Fault("joints", words, joint, "m", 0.0, segment.length))


def _of_laterals(entries: Sequence[Entry], known: Known, found: _Findings) -> None:
    if known.laterals is None:
        return
    missing: dict[str, list[Entry]] = {}
    for entry in entries:
        record = entry.record
        if isinstance(record, MeasuredLength):
            name = record.lateral
        elif isinstance(record, SurveyRow):
            name = record.head.lateral
        else:
            continue
        if name not in known.laterals:
            missing.setdefault(name, []).append(entry)
        elif isinstance(record, MeasuredLength):
            _contradiction(entry, record, known.laterals[name], found)
    for name, rows in missing.items():
        near = difflib.get_close_matches(name, known.laterals, n=1, cutoff=0.8)
        guess = f"“{name}” looks like “{near[0]}”" if near else None
        words = f"there is no lateral “{name}” in the project"
        words += f" (and so in {len(rows) - 1} more rows)" if len(rows) > 1 else ""
        found.bad |= {entry.place for entry in rows}
        found.fault(rows[0], Fault("lateral", words, name, guess=guess))


def _contradiction(
    entry: Entry, record: MeasuredLength, lateral: Lateral, found: _Findings
) -> None:
    """A measurement that differs from others is told; which one is right is for a person."""
    for other in lateral.lengths:
        one = record.measurement
        if (other.way, other.on) == (one.way, one.on):
            continue
        if abs(other.reading - one.reading) > _tolerance(other.reading) and not one.rise:
            allowed = _tolerance(other.reading)
            low, high = other.reading - allowed, other.reading + allowed
            words = f"{one.reading:g} m is outside {low:g} to {high:g} m (by {other.way})"
            found.notice(entry, Fault("reading", words, one.reading, "m", low, high))


def _contacts(entries: Sequence[Entry], known: Known, found: _Findings) -> None:
    if known.premises is None:
        return
    folded = {fold(name) for name in known.premises}
    for entry in entries:
        if entry.record is not None and fold(entry.key) not in folded:
            words = f"there are no premises “{entry.key}” in the project"
            near = difflib.get_close_matches(entry.key, known.premises, n=1, cutoff=0.8)
            guess = f"“{entry.key}” looks like “{near[0]}”" if near else None
            found.fault(entry, Fault("premises", words, entry.key, guess=guess))
