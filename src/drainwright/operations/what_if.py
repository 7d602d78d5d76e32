"""Try a design of one lateral with other materials and conditions (read), and keep it (write)."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache

from drainwright.checks import Outcome
from drainwright.errors import Fault, InputError, NotFoundError, raise_if_any
from drainwright.operations.draw_lateral import LateralDrawing, draw_site
from drainwright.operations.plan_laterals import Planned, plan_laterals
from drainwright.operations.site_of import Gathered, Gatherer
from drainwright.papers.shown import figure_reading, reading
from drainwright.planning.choice import Chosen, check_choice, with_choice
from drainwright.planning.design import design
from drainwright.planning.tube_fit import tube_words
from drainwright.records.design_choice import DesignChoice
from drainwright.records.project import Project
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.storage.protocol import RecordStore
from drainwright.units import UnitSystem, kind_unit, parse_in, show

DRAWS = 200
"""How often uncertain inputs are drawn for the steam time that is 95 % sure."""
NUMBERS = {
    "minimum_wall": ("least wall", "wall"),
    "water_depth": ("water below ground", "length"),
    "usual_pressure": ("launch pressure", "pressure"),
    "cap_vent": ("vent in the cap", "diameter"),
    "boiler_power": ("steam supply", "power"),
    "soil_temperature": ("soil temperature", "temperature"),
    "soil_heat_conductivity": ("soil conductivity", "conductivity"),
}
"""What can be chosen as a number: its label and kind."""
_ROWS = (
    "tube.name", "wall.required", "wall.governing", "wall.installed", "resin.name", "cut.length",
    "wetout.mass", "wetout.part_a", "wetout.part_b", "wetout.roller_gap", "deadline.seated",
    "launch.minimum", "launch.usual", "launch.head_limit", "flow.ratio", "steam.hold",
    "steam.simulated", "steam.last", "steam.exhaust", "steam.after_exhaust", "steam.peak",
    "steam.boiler", "steam.vent_flow", "steam.cool",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Field:
    """One number of the form: what is on record reads `recorded`, what is chosen `text`."""

    name: str
    label: str
    unit: str
    recorded: str
    text: str


@dataclass(frozen=True, slots=True)
class Bench:
    """What can be tried on a lateral, and what is chosen for it so far."""

    key: str
    address: str
    fields: tuple[Field, ...]
    tubes: tuple[str, ...]
    resins: tuple[str, ...]
    chosen: DesignChoice
    revision: int
    """Of the design choice on record; 0 for none."""
    reason: str


@dataclass(frozen=True, slots=True)
class Variant:
    """One design worked out: figures by key, what it fails in words, and its profile."""

    outcome: str
    texts: Mapping[str, tuple[str, str]]
    """By key of the figure: label and value."""
    failed: tuple[str, ...]
    drawing: LateralDrawing
    sure: str = ""
    """Steam time at the confidence, where it was asked for."""


@dataclass(frozen=True, slots=True)
class Row:
    """One figure of two variants."""

    label: str
    before: str
    now: str

    @property
    def differs(self) -> bool:
        """Whether the two are not the same."""
        return self.before != self.now


def read_choice(key: str, given: Mapping[str, str], system: UnitSystem) -> DesignChoice:
    """A choice as typed; a bare number is taken in the reader's unit, an empty field chooses none.

    Raises `InputError` with every field that can't be read.
    """
    numbers: dict[str, float] = {}
    faults: list[Fault] = []
    for name, (label, kind) in NUMBERS.items():
        text = given.get(name, "").strip()
        if not text:
            continue
        try:
            numbers[name] = parse_in(text, kind, kind_unit(kind, system), label)
        except InputError as error:
            faults.extend(error.faults)
    raise_if_any(faults)
    return DesignChoice(key, given.get("tube", ""), given.get("resin", ""), **numbers)


def typed(choice: DesignChoice, system: UnitSystem) -> dict[str, str]:
    """The fields of a choice as `read_choice` takes them, without those that choose nothing."""
    texts = {"tube": choice.tube, "resin": choice.resin}
    for name, (_, kind) in NUMBERS.items():
        value = getattr(choice, name)
        if value is not None:
            shown = show(value, kind, system)
            texts[name] = f"{shown.value:.6g} {shown.unit}"
    return {name: text for name, text in texts.items() if text}


def open_bench(store: RecordStore, project: Project, key: str, today: dt.date) -> Bench:
    """What can be tried on lateral `key`; `NotFoundError` where there is none."""
    with store.read() as session:
        gatherer = Gatherer(session, project.key, today)
        plain, stored = gatherer.recorded(key), gatherer.choice(key)
    chosen = stored.record if stored else DesignChoice(key)
    system, texts = project.units, typed(chosen, project.units)
    fields = tuple(
        Field(name, label, show(1.0, kind, system).unit_text, _recorded(plain, name, system),
              texts.get(name, ""))
        for name, (label, kind) in NUMBERS.items()
    )  # fmt: skip
    return Bench(
        key=key,
        address=plain.site.lateral.address,
        fields=fields,
        tubes=tuple(tube.key for tube in plain.tubes),
        resins=tuple(resin.key for resin in plain.resins),
        chosen=chosen,
        revision=stored.revision.number if stored else 0,
        reason=stored.revision.reason if stored else "",
    )


def _recorded(plain: Gathered, name: str, system: UnitSystem) -> str:
    """What a field is without a choice, in words."""
    site, kind = plain.site, NUMBERS[name][1]
    value: float | None
    if name == "water_depth":
        value = site.lateral.water_depth
        if value is None:
            value = site.specification.value("assumed_water_depth")
    elif name in ("cap_vent", "boiler_power"):
        value = getattr(site.rig, name) if site.rig else None
    else:
        value = site.specification.optional(name)
    return "none" if value is None else show(value, kind, system).text


def planned_variant(store: RecordStore, project: Project, key: str) -> Variant | None:
    """The design on record; None where the lateral is not planned yet."""
    with store.read() as session:
        try:
            sheet = session.get(project.key, WorkSheet, key).record
        except NotFoundError:
            return None
    return _variant(sheet, LateralDrawing(""), (), project.units)


def try_choice(
    store: RecordStore, project: Project, choice: DesignChoice, today: dt.date, draws: int = 0
) -> Variant:
    """The design of a lateral under a choice; with `draws` its steam time at the confidence too.

    `InputError` for a choice that can't be meant.
    """
    with store.read() as session:
        plain = Gatherer(session, project.key, today).recorded(choice.key)
    check_choice(choice, plain.tubes, plain.resins)
    materials = repr((plain.tubes, plain.resins, plain.collars)).encode()
    mark = hashlib.sha256(materials).hexdigest()
    kept = _Kept((choice, plain.revisions, mark, draws, today), plain)
    return _tried(kept, project.units)


@dataclass(frozen=True, slots=True)
class _Kept:
    """What a trial is made from: told apart by the choice and the revisions."""

    told_by: tuple[object, ...]
    plain: Gathered = field(compare=False)


@lru_cache(maxsize=64)
def _tried(kept: _Kept, system: UnitSystem) -> Variant:
    choice, draws = kept.told_by[0], kept.told_by[3]
    if not isinstance(choice, DesignChoice) or not isinstance(draws, int):
        raise InputError(Fault("choice", "is none"))
    plain = kept.plain
    chosen = with_choice(choice, plain.site, plain.tubes, plain.resins)
    sheet = design(
        chosen.site, chosen.tubes, chosen.resins, plain.collars, draws=draws, margins=False
    )
    drawing = draw_site(chosen.site, system, sheet)
    return _variant(sheet, drawing, _misfits(choice, chosen, sheet, system), system)


def _misfits(
    choice: DesignChoice, chosen: Chosen, sheet: WorkSheet, system: UnitSystem
) -> tuple[str, ...]:
    """Why a chosen tube was not taken."""
    if not choice.tube or sheet.tube is not None or not chosen.resins:
        return ()
    return tube_words(chosen.site, chosen.tubes[0], chosen.resins[0], system)


def _variant(
    sheet: WorkSheet, drawing: LateralDrawing, misfits: tuple[str, ...], system: UnitSystem
) -> Variant:
    texts = {}
    for name in _ROWS:
        found = sheet.figure(name)
        if found is not None:
            label = found.label.lstrip("… ")
            texts[name] = (label, figure_reading(found, system).text)
    sure = sheet.figure("steam.sure")
    return Variant(
        outcome=sheet.outcome.value,
        texts=texts,
        failed=(*misfits, *_failed(sheet, system)),
        drawing=drawing,
        sure="" if sure is None else figure_reading(sure, system).text,
    )


def _failed(sheet: WorkSheet, system: UnitSystem) -> tuple[str, ...]:
    """Checks that are not met and what else stands in the way, in words."""
    found = []
    for check in sheet.checks:
        if check.outcome is Outcome.NOT_MET:
            needs, has = (
                reading(v, check.kind, system).text for v in (check.demand, check.capacity)
            )
            found.append(f"{check.name}: not met, {needs} against {has} ({check.source}).")
    severe = (Fitness.ASK, Fitness.STOP)
    found += [
        f"{reason.words} {reason.work}".strip()
        for reason in sheet.reasons
        if reason.outcome in severe or reason.rule in ("tube", "resin")
    ]
    return tuple(dict.fromkeys(found))


def side_by_side(before: Variant | None, now: Variant) -> tuple[Row, ...]:
    """Two variants figure by figure; what only one has stands beside a dash."""
    there = before.texts if before else {}
    return tuple(
        Row((now.texts.get(name) or there[name])[0], there.get(name, ("", "—"))[1],
            now.texts.get(name, ("", "—"))[1])
        for name in _ROWS
        if name in now.texts or name in there
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Kept:
    """Who keeps a choice, when and why, and the revision it was made from."""

    by: str
    at: dt.datetime
    reason: str
    expected: int


def keep_choice(
    store: RecordStore,
    project: Project,
    choice: DesignChoice,
    kept: Kept,
    progress: Callable[[str], None] | None = None,
) -> Planned:
    """Store a choice as its next revision, and plan the lateral by it.

    `InputError` without a reason or a name, or for a choice that can't be meant;
    `ConflictError` where somebody else chose meanwhile, and then nothing is stored.
    """
    missing = [
        Fault(name, words, text)
        for name, words, text in (
            ("reason", "say why it is chosen", kept.reason),
            ("your name", "say who chooses", kept.by),
        )
        if not text.strip()
    ]
    raise_if_any(missing)
    with store.read() as session:
        plain = Gatherer(session, project.key, kept.at.date()).recorded(choice.key)
    check_choice(choice, plain.tubes, plain.resins)
    with store.write(by=kept.by, at=kept.at, origin="", reason=kept.reason) as session:
        session.put(project.key, choice, expected=kept.expected)
    planned = plan_laterals(
        store, project.key, [choice.key], by=kept.by, at=kept.at, draws=DRAWS, progress=progress
    )
    return planned[0]


def without_name(choice: DesignChoice) -> DesignChoice:
    """The same choice for no lateral, to compare choices."""
    return replace(choice, key="")
