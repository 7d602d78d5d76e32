"""Write the field entries of the demo town: four laterals, five attempts, two tablets.

`python -m tests.play_field STORE` takes the go/no-go lines of the demo store's work sheets.
What the crews read is made up here; the demo town's windows and mix tickets were looked up in
its work sheets, so that a good installation is one.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import math
import sys
import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from zoneinfo import ZoneInfo

from drainwright.records.field_entry import EntryKind, FieldEvent, FieldValue, event_text
from drainwright.records.field_step import START_STEPS
from drainwright.units import parse

FOLDER = Path(__file__).resolve().parents[1] / "examples" / "alder_ferry" / "field"
ZONE = ZoneInfo("America/Chicago")
KINDS = {one.name: one.kind for step in START_STEPS for one in step.readings if one.kind}
DELL, IRIS, TOMAS, WREN = "Dell Harker", "Iris Moe", "Tomas Quell", "Wren Abbott"


@dataclass(frozen=True)
class Job:
    """What one attempt was like; times of the day as HH:MM, quantities as a crew types them."""

    lateral: str
    attempt: int
    device: str
    day: dt.date
    crew: tuple[str, str]
    """Who entered, who read."""
    times: Mapping[str, str]
    readings: Mapping[str, Mapping[str, str]]
    lots: Mapping[str, str]
    warm: float = 0.0
    """How much hotter or colder this wall ran than the usual one [K]."""
    remarks: Sequence[tuple[str, str]] = ()
    release: str = ""
    first_check: str = ""
    kept: Mapping[str, tuple[str, str, str]] = field(default_factory=dict)
    """Step: what was asked, initials, reason."""
    end: Mapping[str, str] = field(default_factory=dict)

    def at(self, clock: str) -> dt.datetime:
        """A time of its day in UTC."""
        time = dt.time.fromisoformat(clock)
        return dt.datetime.combine(self.day, time, ZONE).astimezone(dt.UTC)


def value(name: str, typed: str) -> FieldValue:
    """A reading as typed."""
    kind = KINDS.get(name) or {"crew_time": "time", "water_level": "length"}[name]
    return FieldValue(name, parse(typed, kind, name), kind, typed)


def events(job: Job, lines: Sequence[str]) -> Iterator[FieldEvent]:
    """Every entry of an attempt, in the order of its times."""
    made = [*_before(job, lines), *_steps(job), *_under_steam(job), *_ending(job)]
    return iter(sorted(made, key=lambda one: one.at))


def _event(job: Job, kind: EntryKind, clock: str, **parts: object) -> FieldEvent:
    base = FieldEvent(
        kind, job.lateral, job.at(clock), job.crew[0], job.attempt, read_by=job.crew[1],
        sheet_revision=1,
    )  # fmt: skip
    return replace(base, **parts)  # type: ignore[arg-type]


def _before(job: Job, lines: Sequence[str]) -> Iterator[FieldEvent]:
    start = job.at(job.first_check)
    for number, line in enumerate(lines):
        one = _event(job, EntryKind.CHECK, job.first_check, question=line, answer="yes")
        yield replace(one, at=start + dt.timedelta(seconds=35 * number))
    yield _event(job, EntryKind.RELEASE, job.release, answer="yes", read_by="")


def _steps(job: Job) -> Iterator[FieldEvent]:
    for step in START_STEPS:
        clock = job.times.get(step.key)
        if clock is None:
            continue
        typed = job.readings.get(step.key, {})
        values = tuple(value(name, text) for name, text in typed.items() if name in KINDS)
        words = tuple((name, text) for name, text in typed.items() if name not in KINDS)
        words += tuple(
            (one.name, job.lots[one.name]) for one in step.readings if one.name in job.lots
        )
        yield _event(job, EntryKind.STEP, clock, step=step.key, values=values, words=words)
        if step.key in job.kept:
            question, initials, reason = job.kept[step.key]
            yield _event(
                job, EntryKind.KEPT, clock, step=step.key, values=values[:1], question=question,
                initials=initials, reason=reason,
            )  # fmt: skip
    for clock, remark in job.remarks:
        yield _event(job, EntryKind.REMARK, clock, reason=remark)


def _under_steam(job: Job) -> Iterator[FieldEvent]:
    """Readings on the quarter hour between steam on and soak-back."""
    on, shut, soak = (job.times.get(key) for key in ("steam_on", "steam_shut", "soak_back"))
    if on is None or shut is None or soak is None:
        return
    steam, cool, end = job.at(on), job.at(shut), job.at(soak)
    at, number = steam + dt.timedelta(minutes=8), 0
    while at < end:
        heating = at < cool
        since = (at - (steam if heating else cool)).total_seconds() / 60
        long = (cool - steam).total_seconds() / 60
        pressure = 7.0 + (0.1, -0.1, 0.0, 0.2, -0.2)[number % 5]
        typed = {"tube_pressure": f"{pressure:.1f} psi"}
        if heating:
            typed["gas_temperature"] = f"{231 - 2 * (number % 2)} °F"
            typed["exhaust_temperature"] = f"{_rise(55, 228, since, 4):.0f} °F"
        typed["wall_top"] = f"{_wall(since, long, heating, 208 + job.warm, 30):.0f} °F"
        typed["wall_bottom"] = f"{_wall(since, long, heating, 199 + job.warm, 38):.0f} °F"
        steady = at >= job.at(job.times["exhaust_steady"])
        step = ("exhaust_steady" if steady else "steam_on") if heating else "steam_shut"
        one = _event(
            job, EntryKind.READING, on, step=step,
            values=tuple(value(name, text) for name, text in typed.items()),
            words=(("gauge", "steam gauge"),),
        )  # fmt: skip
        yield replace(one, at=at)
        at, number = at + dt.timedelta(minutes=15), number + 1


def _rise(start: float, end: float, minutes: float, lag: float) -> float:
    return end + (start - end) * math.exp(-minutes / lag)


def _wall(since: float, long: float, heating: bool, top: float, lag: float) -> float:
    if heating:
        return _rise(62, top, since, lag)
    return _rise(_rise(62, top, long, lag), 66, since, lag + 30)


def _ending(job: Job) -> Iterator[FieldEvent]:
    if not job.end:
        return
    words = tuple(
        (name, job.end[name]) for name in ("material_lost", "left", "payer") if name in job.end
    )
    yield _event(
        job, EntryKind.END, job.end["at"], answer=job.end["as"], reason=job.end.get("cause", ""),
        values=(value("crew_time", job.end["hours"]),), words=words, initials=job.end["initials"],
    )  # fmt: skip


def _chain(device: str, made: Sequence[FieldEvent]) -> Iterator[dict[str, object]]:
    previous = ""
    for number, event in enumerate(made, 1):
        text = event_text(event)
        previous = hashlib.sha256((previous + text).encode()).hexdigest()
        seed = hashlib.sha256(f"{device} {number}".encode()).digest()
        yield {
            "id": str(_uuid7(event.at, seed)), "device": device, "number": number, "text": text,
            "sha256": previous,
        }  # fmt: skip


def _uuid7(at: dt.datetime, seed: bytes) -> uuid.UUID:
    milliseconds = int(at.timestamp() * 1000)
    number = milliseconds << 80 | int.from_bytes(seed[:10], "big")
    number = number & ~(0xF << 76) | 7 << 76
    return uuid.UUID(int=number & ~(0x3 << 62) | 2 << 62)


def files(lines: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """Each tablet's file as text, by its name; `lines` are the go/no-go lines by lateral."""
    of: dict[str, list[FieldEvent]] = {}
    for job in JOBS:
        of.setdefault(job.device, []).extend(events(job, lines[job.lateral]))
    return {
        f"{device}.jsonl": "".join(
            json.dumps(one, ensure_ascii=False) + "\n"
            for one in _chain(device, sorted(made, key=lambda event: event.at))
        )
        for device, made in of.items()
    }


def _readings(
    length: str, mix: tuple[str, str, str], seated: tuple[str, str], let_down: str, **more: str
) -> dict[str, dict[str, str]]:
    """The readings of a whole installation: measured length, A, B and left over, cable marks."""
    pressed = {"tube_pressure": "7.0 psi", "bladder_pressure": "15.0 psi"}
    walls = {"wall_top": more["hot_top"], "wall_bottom": more["hot_bottom"]}
    after = f"{int(let_down.split(maxsplit=1)[0]) - 1} °F"
    return {
        "flow_control": {"plugged_at": more["plug"], "bypass": "yes"},
        "last_look": {"length": length},
        "sensors": {"sensor_places": "collar upstream edge, 10 ft, 30 ft, exhaust at the cap"},
        "mixed": {"part_a": mix[0], "part_b": mix[1], "resin_temperature": "71 °F"},
        "wet_out": {"left_over": mix[2], "vacuum": "-10.5 psi"},
        "on_ice": {"liner_temperature": "73 °F"},
        "off_ice": {"liner_temperature": "40 °F"},
        "bladder_seated": {"bladder_pressure": "15.0 psi"},
        "inversion": {
            "tube_pressure": more.get("first", "5.6 psi"), "bladder_pressure": "15.0 psi",
            "cable": "0.0 ft", "cable_reference": "hose gland", "cable_tied_to": "end cap",
            "gauge": "inversion gauge",
        },
        "half": {"cable": seated[0], "tube_pressure": "7.0 psi"},
        "seated": {"cable": seated[1], **pressed},
        "steam_on": {"tube_pressure": "7.0 psi", "gas_temperature": "212 °F"},
        "exhaust_steady": {"exhaust_temperature": "227 °F", "tube_pressure": "7.1 psi",
                           "gas_temperature": "231 °F"},
        "air_on": {"tube_pressure": "7.2 psi"},
        "steam_shut": {"tube_pressure": "6.8 psi", "exhaust_temperature": "226 °F", **walls},
        "soak_back": {"tube_pressure": "6.9 psi", "wall_top": after, "wall_bottom": after},
        "let_down": {"wall_temperature": let_down},
        "trimmed": {"end_to_cleanout": "0.0 ft"},
        "post_tv": {"video": more["video"], "water_level": more["water"]},
    }  # fmt: skip


def _times(clocks: str) -> dict[str, str]:
    """Times of the steps in their order; a dash leaves one out."""
    keys = (step.key for step in START_STEPS)
    return {key: clock for key, clock in zip(keys, clocks.split(), strict=False) if clock != "-"}


_NOV17, _NOV18, _NOV19 = (dt.date(2026, 11, day) for day in (17, 18, 19))


def _lots(lateral: str, tube: str, collar: str = "C8-16") -> dict[str, str]:
    return {
        "lot_a": "A-2611-07", "lot_b": "B-2610-33", "tube_lot": tube,
        "collar_lot": f"{collar} / {lateral}", "seal_lot": "S-118",
    }  # fmt: skip


_WRINKLE = (
    "Wrinkle at the invert near 21 ft seen in the post-lining TV; told the superintendent, "
    "non-conformity to be written."
)
_BLOWN = (
    "Cap blown at 9.1 psi with the front near 37 ft: band clamp slipped. Pressure gone in 2 s, "
    "nobody in line with the hose."
)
_CLAMP = "New band clamp, torque checked twice; cap pressed to 10 psi for 5 min above ground."
_NO_TEST = "No plug can be set at the far end; no tightness test. No plate was cast for coupons."
A04 = Job(
    "A-04", 1, "tablet-1", _NOV17, (DELL, IRIS),
    # permits, flow, look, seals, sensors, steam ready, mixed, cup, wet out, ice, off ice, tap,
    # bladder, inversion, half, seated, steam, exhaust, air, shut, soak, let down, out, trim,
    # service, video
    _times(
        "07:05 07:40 07:52 08:00 08:06 08:10 08:24 08:25 08:48 08:54 09:52 10:14 "
        "10:20 10:24 10:29 10:34 10:42 10:57 13:33 13:35 15:34 15:46 15:51 15:58 16:04 16:20"
    ),
    _readings(
        "44.2 ft", ("24.9 lb", "6.2 lb", "0.5 lb"), ("44.2 ft", "88.3 ft"), "91 °F",
        hot_top="206 °F", hot_bottom="197 °F", plug="MH 12, pillow plug",
        video="A-04 post 2026-11-17.mp4", water="ground water 5.9 ft below grade at the cleanout",
    ),
    _lots("A-04", "T4-3.0 / 26-0412"),
    release="08:22", first_check="08:11",
    end={"at": "16:30", "as": "cured", "hours": "19 h", "payer": "owner, by the bid item",
         "initials": "DH"},
)  # fmt: skip
A05 = Job(
    "A-05", 1, "tablet-2", _NOV17, (TOMAS, WREN),
    _times(
        "10:30 11:05 11:14 11:22 11:28 11:33 11:52 11:53 12:16 12:22 13:12 13:36 "
        "13:42 13:46 13:51 13:57 14:05 14:20 16:57 16:59 18:58 19:10 19:15 19:22 19:28 19:41"
    ),
    _readings(
        "40.4 ft", ("22.9 lb", "5.7 lb", "0.4 lb"), ("40.5 ft", "80.8 ft"), "93 °F",
        hot_top="204 °F", hot_bottom="195 °F", plug="MH 12, pillow plug",
        video="A-05 post 2026-11-17.mp4", water="ground water 5.9 ft below grade at the cleanout",
    ),
    _lots("A-05", "T4-3.0 / 26-0413"), warm=-2,
    remarks=(("19:50", _WRINKLE),),
    release="11:50", first_check="11:36",
    end={"at": "19:55", "as": "cured", "hours": "18 h", "payer": "owner, by the bid item",
         "initials": "TQ"},
)  # fmt: skip
B02_FIRST = Job(
    "B-02", 1, "tablet-1", _NOV18, (DELL, IRIS),
    _times(
        "06:40 07:12 07:20 07:28 07:33 07:38 07:54 07:55 08:21 08:27 09:18 09:41 "
        "09:46 09:50 09:55"
    ),
    {
        **_readings(
            "46.2 ft", ("39.8 lb", "10.0 lb", "0.8 lb"), ("46.1 ft", "92.3 ft"), "99 °F",
            hot_top="", hot_bottom="", plug="MH 13, pillow plug", video="", water="",
            first="4.6 psi",
        ),
        "half": {"cable": "46.1 ft", "tube_pressure": "6.4 psi"},
    },
    _lots("B-02", "T4-4.5S / 26-0398", "C7.6-16"),
    remarks=(
        ("09:58", _BLOWN),
        ("10:06", "Trouble card: cap blown. Tube wet and soft, witness cup liquid. Pulling out."),
        ("10:16", "Tube and collar out of the lateral and on the truck; main looked at, clear."),
    ),
    release="07:52", first_check="07:40",
    kept={"inversion": ("Tube pressure at least 5.00 psi", "DH", "raised at once, read again")},
    end={
        "at": "10:20", "as": "pulled before gel", "hours": "11 h", "initials": "DH",
        "cause": "cap blown: band clamp of the end cap slipped",
        "material_lost": "tube T4-4.5S 47.8 ft, collar C7.6-16, resin 49.8 lb, seals",
        "left": "lateral clean and empty; new tube and collar on the truck's list",
        "payer": "contractor",
    },
)  # fmt: skip
B02_SECOND = Job(
    "B-02", 2, "tablet-1", _NOV19, (DELL, IRIS),
    _times(
        "06:25 06:50 06:58 07:06 07:10 07:16 07:34 07:35 08:01 08:07 09:02 09:26 "
        "09:32 09:36 09:42 09:49 09:58 10:14 12:51 12:53 15:32 15:44 15:50 - 16:02 16:18"
    ),
    _readings(
        "46.2 ft", ("39.8 lb", "10.0 lb", "0.7 lb"), ("46.2 ft", "92.2 ft"), "90 °F",
        hot_top="205 °F", hot_bottom="196 °F", plug="MH 13, pillow plug",
        video="B-02 post 2026-11-19.mp4", water="ground water 5.1 ft below grade at MH 13",
        first="5.8 psi",
    ),
    _lots("B-02", "T4-4.5S / 26-0421", "C7.6-16"), warm=1,
    remarks=(("09:30", _CLAMP),),
    release="07:31", first_check="07:18",
    end={"at": "16:25", "as": "cured", "hours": "20 h", "payer": "contractor", "initials": "DH"},
)  # fmt: skip
B04 = Job(
    "B-04", 1, "tablet-2", _NOV19, (TOMAS, WREN),
    _times(
        "10:20 10:58 11:05 11:13 11:18 11:24 11:41 11:42 12:02 12:08 12:50 13:12 "
        "13:18 13:22 13:26 13:31 13:40 13:55 16:33 16:35 18:34 18:46 18:51 18:57 19:02 19:15"
    ),
    _readings(
        "30.1 ft", ("17.4 lb", "4.4 lb", "0.4 lb"), ("30.0 ft", "60.1 ft"), "92 °F",
        hot_top="207 °F", hot_bottom="198 °F", plug="MH 13, pillow plug",
        video="B-04 post 2026-11-19.mp4", water="ground water 5.1 ft below grade at MH 13",
        first="5.4 psi",
    ),
    _lots("B-04", "T4-3.0 / 26-0415", "C7.6-16"), warm=0.5,
    remarks=(("19:20", _NO_TEST),),
    release="11:39", first_check="11:26",
    end={"at": "19:24", "as": "cured", "hours": "18 h", "payer": "owner, by the bid item",
         "initials": "TQ"},
)  # fmt: skip
JOBS = (A04, A05, B02_FIRST, B02_SECOND, B04)


def main(store: str) -> None:
    """Write the files from a demo store's work sheets."""
    from drainwright.operations.show_lateral import show_lateral
    from drainwright.operations.stores import existing

    lines = {}
    with existing(store) as (opened, project):
        for job in JOBS:
            sheet = show_lateral(opened, project.key, job.lateral).sheet
            if sheet is None:
                raise SystemExit(f"{job.lateral} is not planned")
            lines[job.lateral] = sheet.go_no_go
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, text in files(lines).items():
        (FOLDER / name).write_text(text, "utf-8")


if __name__ == "__main__":
    main(sys.argv[1])
