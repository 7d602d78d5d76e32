"""A rig's channel map: what each column of its logger reads (read and write)."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence

from drainwright.errors import Fault, InputError, NotFoundError, raise_if_any
from drainwright.records.cure_log import Channel, ChannelMap, Reads
from drainwright.storage.protocol import ReadSession, RecordStore, Saved
from drainwright.units import parse

_PART = re.compile(
    r"^(?P<name>.+?)\s*=\s*(?P<reads>[^@=]+?)\s*(?:@\s*(?P<at>[^;]+?)\s*(?P<end>from end)?)?"
    r"(?:;\s*unit\s+(?P<unit>\S+))?(?:;\s*due\s+(?P<due>\S+))?(?:;\s*gauge\s+(?P<gauge>.+))?$"
)
_UNITS = ("degC", "degF", "K", "psi", "psia", "kPa", "kPaa", "bar", "bara", "mbar", "Pa", "MPa")


def keep_channels(
    store: RecordStore, project: str, channels: ChannelMap, *, by: str, at: dt.datetime
) -> Saved:
    """Keep a rig's map; every file read from now on uses it."""
    with store.write(by=by, at=at, origin="", reason="channels mapped") as session:
        return session.put(project, channels, expected=None)


def channels_of(session: ReadSession, project: str, rig: str) -> ChannelMap | None:
    """The map kept for a rig; None where there is none."""
    try:
        return session.get(project, ChannelMap, rig).record
    except NotFoundError:
        return None


def channel_map(
    rig: str, lines: Sequence[str], *, dates: str = "", zone: str = "", offset: float = 0.0
) -> ChannelMap:
    """A map from lines such as `T3 = wall, top @ 10 ft; due 2027-06-01`.

    A distance counts from the tap, or from the far end with `from end` behind it. Raises
    `InputError` with every line that can't be read.
    """
    faults: list[Fault] = []
    found = []
    for line in lines:
        try:
            found.append(_channel(line))
        except InputError as error:
            faults += error.faults
    if dates not in ("", "mdy", "dmy"):
        faults.append(Fault("dates", "must be mdy or dmy", dates))
    raise_if_any(faults)
    return ChannelMap(rig, tuple(found), dates, zone, offset)


def _channel(line: str) -> Channel:
    match = _PART.match(line.strip())
    if match is None:
        words = "must be like “T3 = wall, top @ 10 ft; due 2027-06-01”"
        raise InputError(Fault("channel", words, line))
    text = " ".join(match["reads"].casefold().split())
    place = ""
    if text.startswith("pressure") and text != "pressure":
        text, _, place = text.partition(",")
        place = place.strip()
    known = {one.value: one for one in Reads}
    if text not in known:
        raise InputError(Fault("channel", f"“{text}” is none of {', '.join(known)}", line))
    if match["unit"] and match["unit"] not in _UNITS:
        raise InputError(Fault("channel", f"the unit is none of {', '.join(_UNITS)}", line))
    at = parse(match["at"], "length", "channel") if match["at"] else None
    return Channel(
        match["name"].strip(), known[text], at, bool(match["end"]), place,
        match["unit"] or "", (match["gauge"] or "").strip(), _due(match["due"], line),
    )  # fmt: skip


def _due(text: str | None, line: str) -> dt.date | None:
    if not text:
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise InputError(Fault("channel", f"“{text}” is no date like 2027-06-01", line)) from error
