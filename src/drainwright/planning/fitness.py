"""Can this lateral be lined? Rules, each giving reasons with what was seen and its source.

A rule is a function from a `Site` to reasons. The outcome is the severest of all reasons;
with none the lateral is fit to line.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from drainwright.planning.site import Site
from drainwright.records.lateral import FarAccess
from drainwright.records.specification import Limit
from drainwright.records.survey import Observation, ObservationKind, SurveyPurpose
from drainwright.records.work_sheet import Fitness, Reason
from drainwright.sources import Citation, cite

Rule = Callable[[Site], Iterator[Reason]]
SEVERITY = tuple(Fitness)

Kind = ObservationKind


@dataclass(frozen=True, slots=True)
class FitnessReport:
    """The outcome and every reason, severest first."""

    outcome: Fitness
    reasons: tuple[Reason, ...]


def assess(site: Site, rules: tuple[Rule, ...] | None = None) -> FitnessReport:
    """The fitness of a lateral by all rules."""
    found = [reason for rule in (RULES if rules is None else rules) for reason in rule(site)]
    return FitnessReport(*outcome_of(found))


def outcome_of(found: Iterable[Reason]) -> tuple[Fitness, tuple[Reason, ...]]:
    """The severest outcome, and the reasons from the severest on, along the pipe."""
    reasons = sorted(found, key=lambda r: (-SEVERITY.index(r.outcome), r.distance or 0.0))
    return (reasons[0].outcome if reasons else Fitness.LINE), tuple(reasons)


def _seen(
    outcome: Fitness, rule: str, words: str, source: Citation, at: tuple[int, float], work: str = ""
) -> Reason:
    return Reason(outcome, rule, words, source, at[1], at[0], work)


def _limit(site: Site, name: str) -> Limit:
    return site.specification.limit(name)


# ---------------------------------------------------------------- size and access


def size(site: Site) -> Iterator[Reason]:
    """Lateral and main within the scope of the method."""
    bores = (("lateral", site.diameter), ("main", site.segment.bore))
    for name, diameter in bores:
        if diameter is None:
            words = f"The inside diameter of the {name} is not known."
            yield Reason(
                Fitness.PREPARE, "size", words, cite("practice"), work=f"Measure the {name}."
            )
            continue
        least, most = _limit(site, f"{name}_diameter_least"), _limit(site, f"{name}_diameter_most")
        for limit, outside in (
            (least, least.value is not None and diameter < least.value - 1e-9),
            (most, most.value is not None and diameter > most.value + 1e-9),
        ):
            if outside:
                side = "smaller than the smallest" if limit is least else "larger than the largest"
                words = f"The {name} is {side} in scope."
                yield Reason(Fitness.STOP, "size", words, limit.source)


def size_steps(site: Site) -> Iterator[Reason]:
    """Changes of size within one liner."""
    limit = _limit(site, "size_steps_most")
    changes = list(site.seen(Kind.SIZE_CHANGE))
    if limit.value is not None and len(changes) > limit.value:
        index, _, distance = changes[-1]
        words = f"The pipe changes size {len(changes)} times."
        yield _seen(Fitness.ASK, "size steps", words, limit.source, (index, distance))


def access(site: Site) -> Iterator[Reason]:
    """The method needs the main and an opening on the lateral."""
    source = cite("astm-f2561", "scope")
    if site.lateral.far_access is FarAccess.NONE:
        words = "There is no cleanout on the lateral."
        work = "Set a cleanout; any dig needs a utility-locate ticket."
        yield Reason(Fitness.PREPARE, "access", words, source, work=work)
    elif site.lateral.far_access is FarAccess.UNKNOWN:
        words = "Nobody has said whether the lateral has a cleanout."
        yield Reason(Fitness.PREPARE, "access", words, source, work="Find the cleanout.")


def in_use(site: Site) -> Iterator[Reason]:
    """An inactive service may stay closed if the engineer says so."""
    if site.lateral.in_use is False:
        words = "The service is not in use."
        yield Reason(Fitness.ASK, "in use", words, cite("nashua"), work="Prove it by dye.")


def survey_there(site: Site) -> Iterator[Reason]:
    """Nothing is lined unseen, and a survey that broke off saw only part of it."""
    if site.survey is None:
        words = "The lateral has not been surveyed."
        work = "Clean and film it."
        yield Reason(Fitness.PREPARE, "survey", words, cite("practice"), work=work)
        return
    for index, observation, distance in site.seen(Kind.ABANDONED):
        words = "The camera did not get through" + _remark(observation) + "."
        at = (index, distance)
        yield _seen(Fitness.PREPARE, "survey", words, cite("practice"), at, "Clear it; film again.")


def survey_age(site: Site) -> Iterator[Reason]:
    """Old surveys serve design only."""
    limit = _limit(site, "survey_age_most")
    if site.survey is None or site.today is None or limit.value is None:
        return
    days = (site.today - site.survey.date).days
    if days * 86400 > limit.value:
        words = f"The survey is {days} days old; it serves for design only."
        work = "Clean and film again before lining."
        yield Reason(Fitness.PREPARE, "survey age", words, limit.source, work=work)


# ---------------------------------------------------------------- what the camera saw


def bends(site: Site) -> Iterator[Reason]:
    """Bends beyond routine, and those no tube passes."""
    routine, most = _limit(site, "bend_routine"), _limit(site, "bend_most")
    for index, seen, distance in site.seen(Kind.BEND):
        if seen.measure is None:
            words = "A bend whose angle was not read."
            yield _seen(
                Fitness.PREPARE, "bend", words, cite("practice"), (index, distance), "Read it."
            )
        elif most.value is not None and seen.measure > most.value + 1e-6:
            words = f"A bend of {_degrees(seen)}: no tube passes it."
            yield _seen(Fitness.STOP, "bend", words, most.source, (index, distance))
        elif _is_hard(seen) and most.value is not None and seen.measure > most.value - 1e-6:
            words = "A hard 90° turn, not a sweep."
            yield _seen(Fitness.STOP, "bend", words, most.source, (index, distance))
        elif routine.value is not None and seen.measure > routine.value + 1e-6:
            words = f"A bend of {_degrees(seen)}: stretch fabric only."
            yield _seen(Fitness.ASK, "bend", words, routine.source, (index, distance))


def offsets(site: Site) -> Iterator[Reason]:
    """Joint offsets by size and by share of the bore."""
    most = _limit(site, "offset_most")
    ask, stop = _limit(site, "offset_ask_share"), _limit(site, "offset_most_share")
    for index, seen, distance in site.seen(Kind.OFFSET):
        if seen.measure is None or seen.measure_kind != "small_length":
            continue
        share = seen.measure / site.diameter if site.diameter else 0.0
        text = f"A joint offset of {share * 100:.0f} % of the bore"
        at = (index, distance)
        if most.value is not None and seen.measure > most.value + 1e-9:
            words = text + ", beyond the largest allowed."
            yield _seen(Fitness.STOP, "offset", words, most.source, at, "Dig and repair the joint.")
        elif stop.value is not None and share > stop.value:
            yield _seen(Fitness.STOP, "offset", text + ".", stop.source, at, "Dig and repair.")
        elif ask.value is not None and share > ask.value:
            yield _seen(Fitness.ASK, "offset", text + ".", ask.source, at)


def roots(site: Site) -> Iterator[Reason]:
    """Roots are cut before lining."""
    source = cite("cleaning-tv", "two passes of jetting at least, root cutter where substantial")
    for index, seen, distance in site.seen(Kind.ROOTS):
        share = f" over {seen.measure * 100:.0f} % of the bore" if seen.measure else ""
        words = f"{(seen.grade or 'Roots').capitalize()}{share}."
        if "roots" not in words.lower():
            words = f"Roots, {seen.grade}{share}."
        yield _seen(Fitness.PREPARE, "roots", words, source, (index, distance), "Cut the roots.")


def infiltration(site: Site) -> Iterator[Reason]:
    """Running or gushing water is sealed first; dripping may stay."""
    source = cite("trade-press", "running or gushing is sealed first")
    for index, seen, distance in site.seen(Kind.INFILTRATION):
        if seen.grade in ("flowing", "running", "gushing"):
            words = f"Groundwater {seen.grade} in."
            work = "Seal it before the last look."
            yield _seen(Fitness.PREPARE, "infiltration", words, source, (index, distance), work)


def intruding_tap(site: Site) -> Iterator[Reason]:
    """A tap that sticks into the main is cut back to its wall."""
    source = cite("ramsey", "A6–A11")
    for index, seen, distance in site.seen(Kind.INTRUDING_TAP):
        share = f", {seen.measure * 100:.0f} % of the bore" if seen.measure else ""
        words = f"A connection sticks into the pipe{share}."
        work = "Cut it back to the wall."
        yield _seen(Fitness.PREPARE, "intruding tap", words, source, (index, distance), work)


def obstacles(site: Site) -> Iterator[Reason]:
    """Deposits and obstacles come out; what stays must leave the bore open."""
    limit = _limit(site, "bore_loss_most")
    for index, seen, distance in site.seen(Kind.DEPOSIT, Kind.OBSTACLE, Kind.SEALING):
        share = seen.measure if seen.measure_kind == "share" else None
        text = f" taking {share * 100:.0f} % of the bore" if share else ""
        name = {"deposit": "Deposits", "obstacle": "An obstacle"}.get(seen.kind, "Hanging sealing")
        at = (index, distance)
        if share is not None and limit.value is not None and share > limit.value:
            words = f"{name}{text}, beyond what may stay."
            yield _seen(Fitness.STOP, "obstacle", words, limit.source, at, "Clear it, film again.")
        else:
            yield _seen(
                Fitness.PREPARE, "obstacle", f"{name}{text}.", cite("practice"), at, "Clear it."
            )


def structure(site: Site) -> Iterator[Reason]:
    """Collapse stops; broken pipe, holes, voids and strong deformation go to the engineer."""
    limit = _limit(site, "ovality_most")
    for index, seen, distance in site.seen(
        Kind.BREAK, Kind.HOLE, Kind.VOID, Kind.SOIL_VISIBLE, Kind.DEFORMATION
    ):
        at = (index, distance)
        if seen.kind is Kind.DEFORMATION:
            share = seen.measure if seen.measure_kind == "share" else None
            if share is not None and limit.value is not None and share > limit.value:
                words = f"The pipe is deformed by {share * 100:.0f} %."
                yield _seen(Fitness.ASK, "deformation", words, limit.source, at)
        elif seen.grade == "collapsed":
            words = "The pipe has collapsed."
            yield _seen(Fitness.STOP, "structure", words, cite("practice"), at, "Dig and replace.")
        else:
            name = {"break": "Pipe broken", "hole": "A hole", "void": "A void behind the pipe"}
            words = f"{name.get(seen.kind, 'Soil visible')}{_remark(seen)}."
            yield _seen(Fitness.ASK, "structure", words, cite("practice"), at)


def standing_water(site: Site) -> Iterator[Reason]:
    """A belly collects condensate, so the wall there stays cold; lining does not cure it."""
    limit = _limit(site, "belly_water_most")
    for index, seen, distance in site.seen(Kind.WATER_LEVEL):
        share = seen.measure if seen.measure_kind == "share" else None
        if share is not None and limit.value is not None and share > limit.value:
            words = f"Standing water to {share * 100:.0f} % of the bore"
            words += ": a belly; lining does not cure it."
            yield _seen(Fitness.ASK, "belly", words, limit.source, (index, distance))


def foreign_pipe(site: Site) -> Iterator[Reason]:
    """Anything foreign through the pipe may be a gas line."""
    words = "Something foreign crosses the pipe; it may be a gas line."
    work = "No jet, no cutter, keep clear, call the utility."
    source = cite("practice", "safety")
    for index, _, distance in site.seen(Kind.FOREIGN_PIPE):
        yield _seen(Fitness.STOP, "foreign pipe", words, source, (index, distance), work)
    for distance in site.lateral.foreign_pipes:
        yield Reason(Fitness.STOP, "foreign pipe", words, source, distance, work=work)


def unread(site: Site) -> Iterator[Reason]:
    """A code without neutral meaning is looked at by a person."""
    for index, seen, distance in site.seen(Kind.UNKNOWN):
        words = f"Code {seen.code} has no meaning here{_remark(seen)}."
        work = "Look at the film."
        yield _seen(Fitness.PREPARE, "code", words, cite("en13508-2"), (index, distance), work)


def lined_already(site: Site) -> Iterator[Reason]:
    """A survey made after lining is no ground for lining again."""
    if site.survey is not None and site.survey.purpose is SurveyPurpose.POST_LINING:
        words = "The survey shows a lined lateral."
        yield Reason(Fitness.ASK, "lined already", words, cite("practice"))


def _is_hard(seen: Observation) -> bool:
    """A turn without a sweep, by its grade or by what the camera operator wrote."""
    return seen.grade == "hard" or "hard" in seen.remark.lower().split()


def _degrees(seen: Observation) -> str:
    return f"{(seen.measure or 0.0) * 57.29577951308232:.0f}°"


def _remark(seen: Observation) -> str:
    return f" ({seen.remark})" if seen.remark else ""


RULES: tuple[Rule, ...] = (
    size,
    size_steps,
    access,
    in_use,
    survey_there,
    survey_age,
    bends,
    offsets,
    roots,
    infiltration,
    intruding_tap,
    obstacles,
    structure,
    standing_water,
    foreign_pipe,
    unread,
    lined_already,
)
