"""Commands on cure logs: map a rig's channels, read the logger's files, judge, print."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated
from zoneinfo import ZoneInfo

import typer

from drainwright.cli.faces import fail, tell
from drainwright.cli.projects import By, ProjectKey, Store, now, who
from drainwright.errors import DrainwrightError
from drainwright.records.cure_log import CureLog
from drainwright.records.cure_verdict import CureVerdict
from drainwright.records.project import Project
from drainwright.units import UnitSystem, fault_texts, parse, show

log = typer.Typer(
    name="log",
    help="Cure logs: map a rig's channels, read the logger's files, judge the cure.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
LateralKey = Annotated[str, typer.Argument(metavar="LATERAL", help="The owner's id.")]
Attempt = Annotated[int, typer.Option(help="Number of the attempt.", min=1)]
Attachments = Annotated[
    Path | None, typer.Option(help="Folder of attachments; a file's own is beside it.")
]


@log.command("map")
def map_(
    store: Store,
    rig: Annotated[str, typer.Argument(help="Key of the rig.")],
    channels: Annotated[
        list[str],
        typer.Argument(
            help="Such as “T3 = wall, top @ 10 ft; due 2027-06-01”, “T2 = exhaust @ 0 ft from end”"
        ),
    ],
    project: ProjectKey = "",
    dates: Annotated[str, typer.Option(help="mdy or dmy for dates such as 4/5/2026.")] = "",
    zone: Annotated[str, typer.Option(help="Zone of the logger's clock.")] = "",
    offset: Annotated[str, typer.Option(help="Added to the logger's clock.")] = "0 s",
    by: By = "",
) -> None:
    """Say once for a rig what each column of its logger reads."""
    from drainwright.operations.channel_map import channel_map, keep_channels
    from drainwright.operations.stores import existing

    try:
        made = channel_map(
            rig, channels, dates=dates, zone=zone, offset=parse(offset, "time", "offset")
        )
        with existing(store, project) as (opened, chosen):
            saved = keep_channels(opened, chosen.key, made, by=who(by), at=now())
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    state = "kept" if saved.changed else "unchanged"
    print(f"{rig}: {len(made.channels)} channels, revision {saved.revision} ({state})")


@log.command("read")
def read(
    store: Store,
    lateral: LateralKey,
    files: Annotated[list[Path], typer.Argument(metavar="FILES", help="The logger's files.")],
    project: ProjectKey = "",
    attempt: Attempt = 1,
    offset: Annotated[
        str, typer.Option(help="Added to the logger's clock.", show_default="the rig's map")
    ] = "",
    started: Annotated[
        str, typer.Option(help="When an elapsed time began, local: 2026-11-17 10:30.")
    ] = "",
    dates: Annotated[str, typer.Option(help="mdy or dmy for dates such as 4/5/2026.")] = "",
    anew: Annotated[bool, typer.Option("--anew", help="Leave out files read before.")] = False,
    by: By = "",
    attachments: Attachments = None,
) -> None:
    """Read the logger's files of a cure; the files themselves are kept unaltered."""
    from drainwright.operations.read_log import LoggerFile, LogRequest, read_log
    from drainwright.operations.stores import existing

    try:
        given = tuple(LoggerFile(file.name, file.read_bytes()) for file in files)
    except OSError as error:
        fail([f"{error.filename}: it can't be read: {error.strerror}"])
    try:
        with existing(store, project, attachments) as (opened, chosen):
            request = LogRequest(
                lateral,
                given,
                attempt,
                parse(offset, "time", "offset") if offset else None,
                _moment(started, chosen),
                dates,
                anew,
            )
            found = read_log(opened, chosen.key, request, by=who(by), at=now())
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    for line in fault_texts(found.notices, chosen.units):
        print(f"note: {line}")
    if found.faults or found.log is None:
        fail(fault_texts(found.faults, chosen.units))
    _print_log(found.log, chosen)
    state = "stored" if found.changed else "unchanged"
    print(f"{lateral}, attempt {attempt}: revision {found.revision} ({state})")


def _moment(text: str, project: Project) -> dt.datetime | None:
    if not text:
        return None
    try:
        return dt.datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(project.zone))
    except ValueError:
        fail([f"started: “{text}” is not like 2026-11-17 10:30"])


def _print_log(found: CureLog, project: Project) -> None:
    zone = ZoneInfo(project.zone)
    start, end = (moment.astimezone(zone) for moment in (found.start, found.end))
    print(f"{start:%Y-%m-%d %H:%M} to {end:%H:%M}, {len(found.seconds)} readings")
    for series in found.series:
        there = sum(value is not None for value in series.values)
        print(f"  {series.channel.name}: {series.channel.reads}, {there} readings")
    for finding in found.findings:
        print(f"  {'!' if finding.grave else '-'} {finding.words}")


@log.command("judge")
def judge(
    store: Store,
    lateral: LateralKey,
    project: ProjectKey = "",
    attempt: Attempt = 1,
    by: By = "",
) -> None:
    """Judge the cure: rules kept or not, cure at the least place with its band."""
    from drainwright.operations.judge_cure import judge_cure
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            found = judge_cure(opened, chosen.key, lateral, attempt, by=who(by), at=now())
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    _print_verdict(found.verdict, chosen.units)
    state = "stored" if found.changed else "unchanged"
    print(f"revision {found.revision} ({state}); a person signs it, not the program")


def _print_verdict(verdict: CureVerdict, units: UnitSystem) -> None:
    print(f"{verdict.lateral}, attempt {verdict.attempt}: {verdict.outcome}")
    for check in verdict.checks:
        sides = [
            show(value, check.kind, units).text if value is not None else "-"
            for value in (check.demand, check.capacity)
        ]
        note = f" ({check.note})" if check.note else ""
        print(f"  {check.outcome}: {check.name}: {sides[0]} / {sides[1]}{note}; {check.source}")
    if verdict.least_place:
        print(f"  least cured: {verdict.least_place}")
    for finding in verdict.findings:
        print(f"  {'!' if finding.grave else '-'} {finding.words}")
    for one in verdict.estimated:
        value, low, high = (show(v, one.kind, units).text for v in (one.value, one.low, one.high))
        print(f"  {one.words}: {value} ({low} to {high})")
    for words in verdict.leaves_out:
        print(f"  left out: {words}")


@log.command("print")
def print_(
    store: Store,
    lateral: LateralKey,
    project: ProjectKey = "",
    attempt: Attempt = 1,
    out: Annotated[Path, typer.Option(help="Folder for the PDF.")] = Path("papers"),
) -> None:
    """Print the cure record of a judged cure, one page."""
    from drainwright.operations.cure_record import print_cure_record
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            path, _ = print_cure_record(opened, chosen.key, lateral, attempt, out)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(path)
