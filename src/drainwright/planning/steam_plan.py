"""How long steam flows: the maker's schedule and the simulation, the longer of both printed.

The maker's schedule is the shortest that is ever printed; the simulation, which has not yet
been compared with instrumented liners, can only lengthen it.
"""

from __future__ import annotations

from dataclasses import dataclass

from drainwright.checks import Check, at_least, at_most
from drainwright.engineering.cure import CureResult, simulate
from drainwright.engineering.cure_confidence import hold_at_confidence
from drainwright.engineering.cure_model import Place
from drainwright.engineering.kinetics import glass_transition
from drainwright.errors import InputError
from drainwright.planning.cure_case import CureInputs, cure_case, resin_kinetics, why_not
from drainwright.planning.figures import figure, given
from drainwright.planning.site import Site
from drainwright.planning.tap_and_pipe import is_plastic
from drainwright.records.material import Resin
from drainwright.records.standing import Knowledge
from drainwright.records.work_sheet import Figure, Fitness, Reason
from drainwright.sources import cite

_MAKER = cite("maker", "cure schedule")
_MODEL = cite("memory", "cure simulation, docs/theory/cure.md", "C")
NOT_COMPARED = (
    "The cure simulation has not yet been compared with instrumented liners: it may lengthen the "
    "maker’s schedule, never shorten it. Read the sensors before you shut steam."
)
NO_SCHEDULE = "The resin maker's cure schedule is not entered: ask for the letter."


@dataclass(frozen=True, slots=True)
class SteamPart:
    """Steam times of one lateral, their checks and reasons; SI."""

    figures: tuple[Figure, ...]
    checks: tuple[Check, ...] = ()
    cautions: tuple[str, ...] = ()
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class Simulated:
    """What the engine says of one lateral."""

    result: CureResult
    sure: float | None
    """Steam time at the wanted confidence [s]; None where it was not asked for or never."""
    draws: int


def maker_hold(resin: Resin) -> float | None:
    """Steam time by the maker's schedule [s]; None where there is none."""
    return sum(step.time for step in resin.schedule) if resin.schedule else None


def letdown(site: Site) -> float:
    """Warmest wall at which pressure may be let down [K]."""
    limits = ("letdown_temperature", "letdown_temperature_steam")
    return min(site.specification.value(name) for name in limits)


def plan_steam(inputs: CureInputs, draws: int = 0) -> SteamPart:
    """Steam time printed, by maker and by simulation, with the last place to cure.

    `draws` asks for the time at the specification's confidence; 0 leaves it at the nominal one.
    """
    site, resin = inputs.site, inputs.resin
    by_maker = maker_hold(resin)
    cautions = [] if by_maker is not None else [NO_SCHEDULE]
    found, lacks = _simulate(inputs, draws)
    if found is None:
        cautions.append(f"The cure is not simulated: {lacks}. The maker’s schedule alone rules.")
        figures = (*_hold_figures(resin, by_maker, None), _letdown_figure(site, resin))
        return SteamPart(figures, cautions=tuple(cautions))
    cautions.append(NOT_COMPARED)
    figures = (
        *_hold_figures(resin, by_maker, found),
        *_result_figures(found.result),
        _letdown_figure(site, resin, found.result),
    )
    checks, reasons = _judged(site, found.result)
    return SteamPart(figures, checks, tuple(cautions), reasons)


def _simulate(inputs: CureInputs, draws: int) -> tuple[Simulated | None, str]:
    lacks = why_not(inputs)
    if lacks:
        return None, lacks
    try:
        case = cure_case(inputs)
        result = simulate(case)
        level = inputs.site.specification.value("confidence")
        sure = hold_at_confidence(case, level=level, draws=draws).hold if draws else None
    except InputError as error:
        return None, "; ".join(str(fault) for fault in error.faults)
    return Simulated(result, sure, draws), ""


def _hold_figures(resin: Resin, by_maker: float | None, found: Simulated | None) -> list[Figure]:
    figures = []
    nominal = found.result.hold if found else None
    sure = found.sure if found else None
    known = [hold for hold in (by_maker, sure or nominal) if hold is not None]
    if known and (found is None or nominal is not None):
        name = "steam time (95 % sure)" if sure is not None else "steam time"
        figures.append(
            figure(
                "steam.hold",
                name,
                max(known),
                "time",
                _MAKER,
                how="longer of maker's and simulated",
            )
        )
    if by_maker is not None:
        steps = [
            given(f"step {n}", step.temperature, "temperature", Knowledge.MAKER)
            for n, step in enumerate(resin.schedule, 1)
        ]
        parts = ", then ".join(f"{step.time / 60:.0f} min" for step in resin.schedule)
        figures.append(
            figure("steam.maker", "by the maker", by_maker, "time", _MAKER, *steps, how=parts)
        )
    if nominal is not None:
        how = "until the last point reaches the target with steam on; nominal inputs"
        figures.append(
            figure("steam.simulated", "simulated, nominal", nominal, "time", _MODEL, how=how)
        )
    if sure is not None and found is not None:
        how = f"{found.draws} draws of soil, resin, wall, contact and supply within their spreads"
        figures.append(figure("steam.sure", "simulated, 95 % sure", sure, "time", _MODEL, how=how))
    return figures


def place_words(place: Place) -> str:
    """Where a point of the liner is, in the crew's words."""
    line = {"top": ", top", "invert": ", bottom"}.get(place.line, "")
    if place.part == "lateral":
        return f"{place.position / 0.3048:.0f} ft ({place.position:.1f} m) up the lateral{line}"
    return place.part.replace("middle", "at the bladder").replace("edge", "at its edge") + line


def _result_figures(result: CureResult) -> list[Figure]:
    figures = [
        figure("steam.last", "last to cure", place_words(result.last_place), "", _MODEL),
        figure("steam.peak", "warmest wall", result.peak_temperature, "temperature", _MODEL),
        figure("steam.used", "steam used", result.steam_used, "mass", _MODEL),
    ]
    if result.cool_down is not None:
        how = "until the warmest wall is below the let-down temperature"
        figures.append(
            figure("steam.cool", "cool with air", result.cool_down, "time", _MODEL, how=how)
        )
    return figures


def _letdown_figure(site: Site, resin: Resin, result: CureResult | None = None) -> Figure:
    """The smaller of the specified limit and the reached cure's Tg less its margin."""
    how = "warmest wall, still so 10 min after cooling air is shut; no suction"
    limit = letdown(site)
    glass = resin_kinetics(resin).glass if result is not None else None
    if result is None or glass is None:
        return figure(
            "steam.letdown", "let down below", limit, "temperature", cite("south-bend"), how=how
        )
    tg = float(glass_transition(result.conversion_at_end, glass))
    margin = site.specification.value("letdown_below_tg")
    return figure(
        "steam.letdown",
        "let down below",
        min(limit, tg - margin),
        "temperature",
        cite("south-bend"),
        given("specified limit", limit, "temperature"),
        given("Tg of the least cured point", tg, "temperature", Knowledge.MAKER),
        given("margin below Tg", margin, "temperature_difference", Knowledge.MEMORY),
        how=f"smaller of the limit and Tg less the margin; {how}",
    )


def _judged(site: Site, result: CureResult) -> tuple[tuple[Check, ...], tuple[Reason, ...]]:
    checks: list[Check] = []
    reasons: list[Reason] = []
    if result.hold is None:
        target = site.specification.limit("target_cure")
        reached = result.conversion_at_end
        checks.append(
            at_least("cure at the last point", reached, target.value or 0.0, "share", target.source)
        )
        words = f"Steam alone does not cure the last point ({place_words(result.last_place)})."
        work = "More steam, a larger vent, a hotter gas, or another method; ask the resin maker."
        reasons.append(Reason(Fitness.ASK, "cure", words, _MODEL, work=work))
    limit = site.specification.limit("host_plastic_most")
    if is_plastic(site) and limit.value is not None:
        checks.append(
            at_most(
                "host stays below its limit",
                result.peak_host,
                limit.value,
                "temperature",
                limit.source,
            )
        )
        if result.peak_host > limit.value:
            words = "Pure steam at this pressure overheats the plastic host."
            work = "Mix air into the steam down to the gas limit, or cure another way."
            reasons.append(Reason(Fitness.ASK, "host limit", words, limit.source, work=work))
    return tuple(checks), tuple(reasons)
