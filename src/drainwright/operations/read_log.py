"""Read a logger's files of one cure: the original kept, the log stored (write).

A further file of the same cure is joined to those read before. Reading a file again changes
nothing.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from drainwright.acceptance.cure_series import phases_of, readings_of, told_of
from drainwright.acceptance.log_findings import looked_through
from drainwright.engineering import steam
from drainwright.errors import Fault, InputError, NotFoundError
from drainwright.exchange.logger_columns import guess_channels
from drainwright.exchange.logger_file import LoggerTable, read_logger
from drainwright.exchange.logger_join import JoinRules, SourceFile, join_tables
from drainwright.exchange.logger_times import TimeHabits
from drainwright.operations.channel_map import channels_of
from drainwright.operations.live_cure import attempt_of
from drainwright.records.attempt import Attempt
from drainwright.records.cure_log import ChannelMap, CureLog, LogFinding, Reads, log_key
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.records.rig import Rig
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import ReadSession, RecordStore

_OTHER = 1800.0
"""Steam on in the log this far from the crew's is another cure, or a wrong clock [s]."""


@dataclass(frozen=True, slots=True)
class LoggerFile:
    """One file as it came from the logger."""

    name: str
    data: bytes

    @property
    def sha256(self) -> str:
        """Hash of its bytes."""
        return hashlib.sha256(self.data).hexdigest()


@dataclass(frozen=True, slots=True)
class LogRequest:
    """Files of one cure, and what the user said about them."""

    lateral: str
    files: tuple[LoggerFile, ...]
    attempt: int = 1
    offset: float | None = None
    """Added to the logger's clock [s]; None takes the rig's map."""
    started: dt.datetime | None = None
    """When an elapsed time began."""
    dates: str = ""
    """mdy or dmy; “” takes the rig's map."""
    anew: bool = False
    """Leave out the files read before."""


@dataclass(frozen=True, slots=True)
class ReadLog:
    """What reading did: the log with its findings, or the faults that kept it out."""

    lateral: str
    attempt: int
    log: CureLog | None
    faults: tuple[Fault, ...] = ()
    notices: tuple[Fault, ...] = ()
    stored: bool = False
    changed: bool = False
    revision: int = 0


def read_log(
    store: RecordStore, project: str, request: LogRequest, *, by: str, at: dt.datetime
) -> ReadLog:
    """Read the files, keep them as attachments and store the log; with faults nothing is stored.

    Raises `NotFoundError` for an unknown lateral.
    """
    with store.read() as session:
        found = _looked_at(session, project, request, at)
    if found.log is None or found.faults:
        return found
    names = ", ".join(one.name for one in request.files)
    with store.write(by=by, at=at, origin=names, reason="read cure log") as session:
        for one in request.files:
            session.attachments.add(project, one.data, one.name)
        saved = session.put(project, found.log, expected=None)
    return replace(found, stored=True, changed=saved.changed, revision=saved.revision)


def preview_log(
    session: ReadSession, project: str, request: LogRequest, *, at: dt.datetime
) -> ReadLog:
    """What reading would store; nothing is kept."""
    return _looked_at(session, project, request, at)


def _looked_at(session: ReadSession, project: str, request: LogRequest, at: dt.datetime) -> ReadLog:
    about = session.get(project, Project, project).record
    lateral = session.get(project, Lateral, request.lateral).record
    attempt = attempt_of(session, project, request.lateral, request.attempt)
    files = _all_files(session, project, request)
    faults = list(_others(session, project, request))
    channels = channels_of(session, project, _rig(session, project, lateral))
    habits = _habits(request, about, channels, attempt, at)
    tables = [(one, read_logger(one.data, one.name, habits)) for one in files]
    faults += [fault for _, table in tables for fault in table.faults]
    notices = [notice for _, table in tables for notice in table.notices]
    if faults:
        return ReadLog(request.lateral, request.attempt, None, tuple(faults), tuple(notices))
    if channels is None:
        channels = _guessed(lateral, [table for _, table in tables])
        words = "no map is kept for this rig: the columns were taken as their headers say"
        notices.append(Fault("channels", words))
    offset = channels.clock_offset if request.offset is None else request.offset
    barometer = steam.barometer_at(about.elevation)
    rules = JoinRules(
        channels, request.lateral, request.attempt, _lined(session, project, lateral), barometer
    )
    sources = [SourceFile(table, one.sha256, offset) for one, table in tables]
    joined = join_tables(sources, rules)
    notices += joined.notices
    log = joined.log
    if log is not None:
        log = looked_through(log, barometer, joined.rows)
        log = replace(log, findings=(*log.findings, *_of_another(log, attempt)))
    return ReadLog(request.lateral, request.attempt, log, tuple(joined.faults), tuple(notices))


def _all_files(session: ReadSession, project: str, request: LogRequest) -> tuple[LoggerFile, ...]:
    """The files read before, from the store, and the new ones; a name read again is replaced."""
    given = {one.sha256: one for one in request.files}
    before: dict[str, LoggerFile] = {}
    names = {one.name for one in request.files}
    if not request.anew:
        key = log_key(request.lateral, request.attempt)
        try:
            kept = session.get(project, CureLog, key).record.files
        except NotFoundError:
            kept = ()
        for one in kept:
            if one.sha256 not in given and one.name not in names:
                content = session.attachments.content(project, one.sha256)
                before[one.sha256] = LoggerFile(one.name, content)
    return (*before.values(), *given.values())


def _others(session: ReadSession, project: str, request: LogRequest) -> Iterator[Fault]:
    """A file that is already the log of another cure."""
    given = {one.sha256: one.name for one in request.files}
    own = log_key(request.lateral, request.attempt)
    for stored in session.every(project, CureLog):
        if stored.key == own:
            continue
        for file in stored.record.files:
            if file.sha256 in given:
                words = (
                    f"is already the log of {stored.record.lateral}, attempt "
                    f"{stored.record.attempt}: another lateral’s log"
                )
                yield Fault("file", words, file=given[file.sha256])


def _of_another(log: CureLog, attempt: Attempt | None) -> Iterator[LogFinding]:
    """Steam that came on at another time than the crew wrote down."""
    told = told_of(attempt, log)
    if told.steam_on is None:
        return
    error = phases_of(readings_of(log), told).clock_error
    outside = not -_OTHER <= told.steam_on <= log.seconds[-1]
    if not outside and (error is None or abs(error) <= _OTHER):
        return
    words = (
        f"the log runs from {log.start:%Y-%m-%d %H:%M} to {log.end:%H:%M} UTC and the crew put "
        f"steam on at {log.at(told.steam_on):%Y-%m-%d %H:%M} UTC"
    )
    if not outside and error is not None:
        words += (
            f", {abs(error) / 60:.0f} min {'before' if error > 0 else 'after'} the log shows it"
        )
    yield LogFinding("other", f"{words}: another lateral’s log, or a wrong clock", grave=True)


def _rig(session: ReadSession, project: str, lateral: Lateral) -> str:
    if lateral.rig:
        return lateral.rig
    rigs = [stored.key for stored in session.every(project, Rig)]
    return rigs[0] if len(rigs) == 1 else ""


def _lined(session: ReadSession, project: str, lateral: Lateral) -> float:
    """Lined length as issued, else to the cleanout [m]."""
    try:
        figure = session.get(project, WorkSheet, lateral.key).record.figure("length.lined")
    except NotFoundError:
        figure = None
    if figure is not None and not isinstance(figure.value, str):
        return float(figure.value)
    return lateral.lined_length or lateral.cleanout_distance or 0.0


def _habits(
    request: LogRequest,
    about: Project,
    channels: ChannelMap | None,
    attempt: Attempt | None,
    at: dt.datetime,
) -> TimeHabits:
    zone = channels.zone if channels and channels.zone else about.zone
    dates = request.dates or (channels.dates if channels else "")
    near = attempt.begun if attempt else at
    return TimeHabits(zone, dates, near.date(), request.started)


def _guessed(lateral: Lateral, tables: Sequence[LoggerTable]) -> ChannelMap:
    headers = [column.header for table in tables for column in table.columns]
    found = {channel.name: channel for channel in guess_channels(headers)}
    if not any(one.reads in (Reads.GAS_IN, Reads.EXHAUST) for one in found.values()):
        there = ", ".join(headers) or "none"
        words = f"nothing tells what the columns ({there}) read: map the rig’s channels first"
        raise InputError(Fault("channels", words))
    return ChannelMap(lateral.rig or "guessed", tuple(found.values()))
