"""How it went in: seated length, resin, pressure, let-down and seals, from the field entries."""

from __future__ import annotations

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from drainwright.acceptance.case import Case
from drainwright.acceptance.verdict import Proof, Subject, answered
from drainwright.checks import Check, at_least, at_most, not_assessed
from drainwright.records.attempt import Attempt
from drainwright.records.field_entry import FieldEvent
from drainwright.records.post_inspection import TvPlace
from drainwright.sources import cite

_SHEET = cite("owner", "work sheet as issued")
_PRACTICE = cite("practice")
_PHASES = (
    ("while it goes in", ("inversion", "half", "seated"), "launch.minimum", "launch.maximum"),
    ("under steam", ("steam_on", "exhaust_steady"), "pressure.steam_least", "pressure.steam_most"),
    (
        "while it cools",
        ("air_on", "steam_shut", "soak_back"),
        "pressure.cool_least",
        "pressure.cool_most",
    ),
)
NO_ATTEMPT = "no attempt ended cured"


def seated_length(case: Case) -> Subject:
    """Whether the whole length was lined: cable at its seated mark, end at its place."""
    attempt, checks = case.cured, list[Check]()
    proofs: list[Proof] = []
    if attempt is None:
        checks.append(not_assessed("cable at its seated mark", "length", _SHEET, NO_ATTEMPT))
    else:
        checks += [_cable(case, attempt), _gap(case, attempt)]
        proofs += _proofs(case, attempt, "cable", "end_to_cleanout")
    return Subject("length", "Seated length", tuple(checks), tuple(proofs))


def _cable(case: Case, attempt: Attempt) -> Check:
    name, source = "cable off its seated mark", case.source("cable_off_most")
    wanted, read = case.figure("launch.cable_seated"), None
    for event, value in attempt.readings("cable"):
        read = value if event.step == "seated" else read
    if wanted is None or read is None:
        why = "the work sheet has no mark" if wanted is None else "no reading at the seated mark"
        return not_assessed(name, "small_length", source, why)
    if "carrier" in attempt.word("cable_tied_to"):
        why = "the cable is tied to the carrier and proves nothing"
        return not_assessed(name, "small_length", source, why)
    off = abs(read - wanted)
    note = "short of its mark: the front is short by half of it" if read < wanted - 1e-3 else ""
    limit = case.specification.value("cable_off_most")
    return at_most(name, off, limit, "small_length", source, note)


def _gap(case: Case, attempt: Attempt) -> Check:
    name, source = "unlined gap at the far end", case.source("end_gap_most")
    read, planned = attempt.last("end_to_cleanout"), case.figure("length.gap") or 0.0
    note = "" if read is not None else "from the footage of post-lining TV at the far end"
    read = _gap_by_tv(case) if read is None else read
    if read is None:
        return not_assessed(name, "small_length", source, "nobody read where the end sits")
    most = planned + case.specification.value("end_gap_most")
    return at_most(name, read, most, "small_length", source, note)


def _gap_by_tv(case: Case) -> float | None:
    """Unlined gap by the camera's footage, where the inspection says how far the liner goes."""
    length, seen = case.figure("length.measured"), case.inspection
    ends = [one.distance for one in (seen.seen(TvPlace.FAR_END) if seen else ())]
    if length is None or not ends or ends[0] is None:
        return None
    return max(0.0, length - ends[0])


def resin_used(case: Case) -> Subject:
    """Mass and ratio of the resin in the tube, and its lots."""
    attempt = case.cured
    if attempt is None:
        check = not_assessed("resin in the tube", "mass", _SHEET, NO_ATTEMPT)
        return Subject("resin", "Resin used", (check,))
    names = ("part_a", "part_b", "left_over")
    a, b, left = (attempt.last(name) for name in names)
    checks = [_mass(case, a, b, left), _ratio(case, a, b)]
    for name, words in (("lot_a", "lot A"), ("lot_b", "lot B"), ("tube_lot", "tube lot")):
        lot = attempt.word(name)
        note = lot or "not written down"
        checks.append(answered(f"{words} recorded", _PRACTICE, note, yes=True if lot else None))
    return Subject("resin", "Resin used", tuple(checks), tuple(_proofs(case, attempt, *names)))


def _mass(case: Case, a: float | None, b: float | None, left: float | None) -> Check:
    name, source = "resin in tube and collar", case.source("resin_short_most")
    wanted = case.figure("wetout.mass")
    if a is None or b is None or wanted is None:
        return not_assessed(name, "mass", source, "part A, part B or the sheet's mass is not known")
    short = case.specification.value("resin_short_most")
    note = f"the sheet's mass less {short * 100:g} %; what was left in pail and rollers is off"
    if left is None:
        return not_assessed(name, "mass", source, "nobody weighed back what was left")
    return at_least(name, a + b - left, wanted * (1 - short), "mass", source, note)


def _ratio(case: Case, a: float | None, b: float | None) -> Check:
    name, source = "mixing ratio off by", case.source("ratio_tolerance")
    resin = case.sheet.resin
    if resin is None or not a or not b:
        return not_assessed(name, "share", source, "weights or the maker's ratio are not known")
    off = abs((a / b) / (resin.ratio_a / resin.ratio_b) - 1)
    limit = case.specification.value("ratio_tolerance")
    return at_most(name, off, limit, "share", source, f"{a / b:.3f} : 1 by weight")


def pressure_held(case: Case) -> Subject:
    """Least and greatest tube pressure of each phase, and the bladder's."""
    attempt = case.cured
    if attempt is None:
        check = not_assessed("tube pressure", "pressure", _SHEET, NO_ATTEMPT)
        return Subject("pressure", "Pressure", (check,))
    checks = [check for phase in _PHASES for check in _phase(case, attempt, *phase)]
    most, read = case.figure("launch.bladder_most"), list(attempt.readings("bladder_pressure"))
    if most is not None and read:
        top = max(value for _, value in read)
        checks.append(at_most("greatest bladder pressure", top, most, "pressure", _SHEET))
    count = len(list(attempt.readings("tube_pressure")))
    remark = f"{count} readings by hand; between two of them only the logger tells."
    return Subject(
        "pressure",
        "Pressure",
        tuple(checks),
        tuple(_proofs(case, attempt, "tube_pressure")),
        (remark,),
    )


def _phase(
    case: Case, attempt: Attempt, words: str, steps: tuple[str, ...], low: str, high: str
) -> Iterator[Check]:
    read = [v for event, v in attempt.readings("tube_pressure") if event.step in steps]
    least, most = case.figure(low), case.figure(high)
    names = (f"least tube pressure {words}", f"greatest tube pressure {words}")
    if not read or least is None or most is None:
        why = "no reading" if not read else "the work sheet has no window"
        yield not_assessed(names[0], "pressure", _SHEET, why)
        return
    yield at_least(names[0], min(read), least, "pressure", _SHEET)
    yield at_most(names[1], max(read), most, "pressure", _SHEET)


def let_down(case: Case) -> Subject:
    """Whether pressure was held until the wall was cool and stayed cool."""
    attempt, most = case.cured, case.figure("steam.letdown")
    name, source = "warmest wall when let down", case.source("letdown_temperature")
    if attempt is None or most is None:
        why = NO_ATTEMPT if attempt is None else "the work sheet has no let-down temperature"
        check = not_assessed(name, "temperature", source, why)
        return Subject("let_down", "Let-down", (check,))
    checks = [_wall(attempt, most, name), _soaked(attempt, most), _waited(case, attempt)]
    proofs = _proofs(case, attempt, "wall_temperature", "wall_top", "wall_bottom")
    return Subject("let_down", "Let-down", tuple(checks), tuple(list(proofs)[-3:]))


def _wall(attempt: Attempt, most: float, name: str) -> Check:
    read = attempt.last("wall_temperature")
    if read is None:
        return not_assessed(name, "temperature", _SHEET, "not read before pressure was let down")
    return at_most(name, read, most, "temperature", _SHEET)


def _soaked(attempt: Attempt, most: float) -> Check:
    name = "warmest wall after the heat soaked back"
    read = [
        value
        for key in ("wall_top", "wall_bottom")
        for event, value in attempt.readings(key)
        if event.step == "soak_back"
    ]
    if not read:
        return not_assessed(name, "temperature", _SHEET, "not read with the cooling air shut")
    return at_most(name, max(read), most, "temperature", _SHEET)


def _waited(case: Case, attempt: Attempt) -> Check:
    name, source = "time for the heat to soak back", case.source("soak_back")
    shut, down = attempt.time_of("soak_back"), attempt.time_of("let_down")
    if shut is None or down is None:
        return not_assessed(name, "time", source, "the two steps are not both in the record")
    least = case.specification.value("soak_back")
    return at_least(name, (down - shut).total_seconds(), least, "time", source)


def seals(case: Case) -> Subject:
    """Whether seals were placed, with their lot."""
    attempt, source = case.cured, cite("practice", "seals at both ends and the collar")
    if attempt is None:
        check = not_assessed("seals placed", "", source, NO_ATTEMPT)
        return Subject("seals", "Seals", (check,))
    placed, lot = attempt.time_of("seals"), attempt.word("seal_lot")
    checks = (
        answered("seals placed", source, "" if placed else "the step is not in the record",
                 yes=True if placed else None),
        answered("seal lot recorded", source, lot or "not written down", yes=True if lot else None),
    )  # fmt: skip
    photos = [e for e in attempt.events if e.photo and e.step == "seals"]
    remarks = () if photos else ("No photo of the seals is on record.",)
    proofs = tuple(Proof("photo of the seals", event.photo) for event in photos)
    return Subject(
        "seals", "Seals", checks, (*_proofs(case, attempt, word="seal_lot"), *proofs), remarks
    )


def _proofs(case: Case, attempt: Attempt, *names: str, word: str = "") -> Iterator[Proof]:
    for event in attempt.events:
        read = [f"{one.name.replace('_', ' ')} {one.typed}" for one in event.values
                if one.name in names]  # fmt: skip
        if word and event.word(word):
            read.append(f"{word.replace('_', ' ')} {event.word(word)}")
        if read:
            yield Proof(f"{_said(case, event)}: {', '.join(read)}", event.id)


def _said(case: Case, event: FieldEvent) -> str:
    step = event.step.replace("_", " ")
    reader = event.read_by or event.entered_by
    at = event.at.astimezone(ZoneInfo(case.sheet.project.zone))
    return f"{at:%Y-%m-%d %H:%M %Z}, {step}, read by {reader}"
