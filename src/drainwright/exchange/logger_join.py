"""From tables of a logger to one log: channels by the rig's map, SI, one clock, files joined."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from drainwright.acceptance.log_findings import Rows
from drainwright.errors import Fault
from drainwright.exchange.logger_columns import in_si, kind_of, name_of_header
from drainwright.exchange.logger_file import Column, LoggerTable
from drainwright.records.cure_log import (
    Channel,
    ChannelMap,
    CureLog,
    LogFile,
    LogFinding,
    Reads,
    Series,
)

Array = NDArray[np.float64]
_DIGITS = {"temperature": 2, "pressure": 0}


@dataclass(frozen=True, slots=True)
class JoinRules:
    """What joining needs besides the tables."""

    channels: ChannelMap
    lateral: str
    attempt: int
    lined: float
    """Lined length, for channels that count from the far end [m]."""
    barometer: float = 101_325.0


@dataclass(frozen=True, slots=True)
class SourceFile:
    """One table with the hash of its file and what to add to its clock [s]."""

    table: LoggerTable
    sha256: str
    offset: float = 0.0


@dataclass(slots=True)
class Joined:
    """The log, where there are no faults."""

    log: CureLog | None = None
    rows: Rows | None = None
    faults: list[Fault] = field(default_factory=list)
    notices: list[Fault] = field(default_factory=list)


@dataclass(slots=True)
class _Part:
    """One file on the true clock: seconds since a common start, values by channel name."""

    source: SourceFile
    seconds: Array
    values: dict[str, Array]


def join_tables(sources: Sequence[SourceFile], rules: JoinRules) -> Joined:
    """One log of all tables, in the order of their times."""
    found = Joined()
    findings: list[LogFinding] = []
    start = min(
        (s.table.moments[0] + dt.timedelta(seconds=s.offset) for s in sources if s.table.moments),
        default=None,
    )
    if start is None:
        found.faults.append(Fault("file", "holds no readings"))
        return found
    parts = []
    for source in sources:
        seconds, clock = _straight(source, start)
        findings += clock
        values = dict(_columns(source, rules, found, findings))
        parts.append(_Part(source, seconds, values))
    if not found.faults and not any(part.values for part in parts):
        found.faults.append(_nothing_mapped(sources, rules.channels))
    if found.faults:
        return found
    log, found.rows = _together(parts, rules, start)
    found.log = replace(log, findings=tuple(findings))
    return found


def _nothing_mapped(sources: Sequence[SourceFile], channels: ChannelMap) -> Fault:
    there = ", ".join(c.header for s in sources for c in s.table.columns)
    named = ", ".join(one.name for one in channels.channels) or "none"
    words = f"none of its columns ({there}) is a channel of {channels.key} ({named}): map them"
    return Fault("channels", words, file=sources[0].table.file)


def _straight(source: SourceFile, start: dt.datetime) -> tuple[Array, list[LogFinding]]:
    """Rising seconds; a clock that was set back is straightened and told."""
    table = source.table
    seconds = np.array([(m - start).total_seconds() for m in table.moments]) + source.offset
    usual = float(np.median(np.diff(seconds))) if seconds.size > 2 else 1.0
    step = usual if usual > 0 else 1.0
    found = []
    for at in np.flatnonzero(np.diff(seconds) <= 0.0):
        back = float(seconds[at] - seconds[at + 1])
        seconds[at + 1 :] += back + step
        row = table.rows[at + 1]
        words = (
            f"the clock jumps back by {_span(back)} at row {row}; the rows from there on were "
            "moved so that time goes on"
        )
        found.append(
            LogFinding("clock", words, file=table.file, rows=(row, table.rows[-1]),
                       from_second=float(seconds[at + 1]), grave=back > 10 * step)
        )  # fmt: skip
    return seconds, found


def _span(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"


def _columns(
    source: SourceFile, rules: JoinRules, found: Joined, findings: list[LogFinding]
) -> Iterator[tuple[str, Array]]:
    """The mapped columns of a table, in SI."""
    for column in source.table.columns:
        channel = channel_of(column.header, rules.channels)
        if channel is None:
            words = f"column “{column.header}” is not mapped and was left out"
            found.notices.append(Fault("channels", words, file=source.table.file))
            continue
        if channel.reads is Reads.NOTHING:
            continue
        unit = channel.unit or column.unit
        if not unit:
            words = "has no unit: write it into the header or tell it in the rig's map"
            found.faults.append(Fault(column.header, words, file=source.table.file))
            continue
        if kind_of(unit) != channel.kind:
            words = f"is in {unit}, but the map says it reads a {channel.kind}"
            found.faults.append(Fault(column.header, words, file=source.table.file))
            continue
        findings += _open(column, source.table)
        yield channel.name, _si(column, unit, rules.barometer)


def channel_of(header: str, channels: ChannelMap) -> Channel | None:
    """The channel that a header names, with or without its unit."""
    for channel in channels.channels:
        if channel.name.strip().casefold() == header.strip().casefold():
            return channel
    wanted = name_of_header(header)
    return next((c for c in channels.channels if name_of_header(c.name) == wanted), None)


def _si(column: Column, unit: str, barometer: float) -> Array:
    return np.array(
        [np.nan if v is None else in_si(v, unit, barometer) for v in column.values], dtype=float
    )


def _open(column: Column, table: LoggerTable) -> Iterator[LogFinding]:
    """Runs of rows in which a sensor read open."""
    for first, last in runs(column.open_rows):
        rows = f"rows {first} to {last}" if last > first else f"row {first}"
        words = f"{column.header} reads open in {rows}: broken wire or plug"
        yield LogFinding("broken", words, column.header, table.file, (first, last))


def runs(rows: Sequence[int], gap: int = 3) -> Iterator[tuple[int, int]]:
    """First and last of rows that lie together.

    >>> list(runs([4, 5, 6, 20]))
    [(4, 6), (20, 20)]
    """
    first = last = None
    for row in rows:
        if first is None or last is None:
            first = last = row
        elif row - last <= gap:
            last = row
        else:
            yield first, last
            first = last = row
    if first is not None and last is not None:
        yield first, last


def _together(parts: Sequence[_Part], rules: JoinRules, start: dt.datetime) -> tuple[CureLog, Rows]:
    """All parts on one row of times: those of the part that begins first, then what follows it."""
    ordered = sorted(parts, key=lambda part: (part.seconds[0], -part.seconds.size))
    times, origin = ordered[0].seconds, [(ordered[0], n) for n in range(ordered[0].seconds.size)]
    for part in ordered[1:]:
        after = np.flatnonzero(part.seconds > times[-1])
        times = np.concatenate([times, part.seconds[after]])
        origin += [(part, int(n)) for n in after]
    series = []
    for channel in rules.channels.channels:
        having = [part for part in ordered if channel.name in part.values]
        if not having:
            continue
        values = np.full(times.size, np.nan)
        for part in having:
            there = _at_times(part, channel.name, times)
            values = np.where(np.isfinite(values), values, there)
        digits = _DIGITS[channel.kind]
        kept = tuple(None if not np.isfinite(v) else round(float(v), digits) for v in values)
        series.append(Series(_placed(channel, rules.lined), channel.kind, kept))
    files = tuple(_file(part, start) for part in ordered)
    seconds = tuple(round(float(t), 3) for t in times)
    rows = Rows(
        tuple(part.source.table.file for part, _ in origin),
        tuple(part.source.table.rows[n] for part, n in origin),
    )
    return CureLog(rules.lateral, rules.attempt, start, seconds, tuple(series), files), rows


def _at_times(part: _Part, name: str, times: Array) -> Array:
    """A part's values at common times: its own reading where one is near enough, else nothing."""
    seconds, values = part.seconds, part.values[name]
    usual = float(np.median(np.diff(seconds))) if seconds.size > 1 else 10.0
    place = np.clip(np.searchsorted(seconds, times), 1, max(seconds.size - 1, 1))
    before = np.maximum(place - 1, 0)
    place = np.minimum(place, seconds.size - 1)
    near = np.where(
        np.abs(seconds[before] - times) <= np.abs(seconds[place] - times), before, place
    )
    close = np.abs(seconds[near] - times) <= 0.75 * max(usual, 1.0)
    return np.where(close, values[near], np.nan)


def _placed(channel: Channel, lined: float) -> Channel:
    """A channel with its distance counted from the tap."""
    if not channel.from_end:
        return channel
    return replace(channel, position=max(lined - (channel.position or 0.0), 0.0), from_end=False)


def _file(part: _Part, start: dt.datetime) -> LogFile:
    table = part.source.table
    first, last = (start + dt.timedelta(seconds=float(part.seconds[at])) for at in (0, -1))
    return LogFile(table.file, part.source.sha256, len(table.rows), first, last, part.source.offset)
