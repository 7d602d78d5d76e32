"""How long steam flows: the maker's schedule and the simulation, the longer of both printed.

The maker's schedule is the shortest that is ever printed; the simulation, which has not yet
been compared with instrumented liners, can only lengthen it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from drainwright.checks import Check, at_least, at_most
from drainwright.engineering.cure_model import CureCase, Place
from drainwright.engineering.cure_plan import CurePlan, plan
from drainwright.errors import InputError
from drainwright.planning.cure_case import CureInputs, case_inputs, cure_case, why_not
from drainwright.planning.figures import figure, given
from drainwright.planning.gas_mix import (
    GasMix,
    gas_mix,
    maker_letter,
    mix_caution,
    mix_figures,
    vent_check,
)
from drainwright.planning.site import Site
from drainwright.planning.tap_and_pipe import is_plastic
from drainwright.records.lateral import FarAccess
from drainwright.records.material import Resin
from drainwright.records.standing import Knowledge
from drainwright.records.work_sheet import Figure, FigureInput, Fitness, Reason
from drainwright.sources import cite
from drainwright.units import FOOT, UnitSystem, show

_LONGER = "longer of the maker's and the simulated time"
_RISE = 2 * 5 / 9  # K: 2 °F, the rise in 5 min under which the exhaust counts as steady
_MAKER = cite("maker", "cure schedule")
_MODEL = cite("cure-model", "not yet compared with instrumented liners")
NOT_COMPARED = (
    "The cure simulation has not yet been compared with instrumented liners: it may lengthen the "
    "maker’s schedule, never shorten it. Read the sensors before you shut steam."
)
NO_EXHAUST = (
    "Blind end: nobody can read an exhaust at the far end, so steam counts from steam on, for the "
    "whole steam time, by the method the engineer agreed to."
)
NO_SCHEDULE = "The resin maker's cure schedule is not entered: ask for the letter."


@dataclass(frozen=True, slots=True)
class SteamPart:
    """Steam times of one lateral, their checks and reasons; SI."""

    figures: tuple[Figure, ...]
    checks: tuple[Check, ...] = ()
    cautions: tuple[str, ...] = ()
    reasons: tuple[Reason, ...] = ()


def maker_hold(resin: Resin) -> float | None:
    """Steam time by the maker's schedule [s]; None where there is none."""
    return sum(step.time for step in resin.schedule) if resin.schedule else None


def letdown(site: Site) -> float:
    """Warmest wall at which pressure may be let down [K]."""
    limits = ("letdown_temperature", "letdown_temperature_steam")
    return min(site.specification.value(name) for name in limits)


def plan_steam(inputs: CureInputs, draws: int = 0, *, margins: bool = True) -> SteamPart:
    """Steam time printed, by maker and by simulation, with the last place to cure.

    `draws` asks for the time at the specification's confidence; 0 leaves it at the nominal one.
    Without `margins` it is not told when trouble begins and when the front stalls.
    """
    site, resin = inputs.site, inputs.resin
    by_maker = maker_hold(resin)
    cautions = [] if by_maker is not None else [NO_SCHEDULE]
    mix = gas_mix(site, inputs.tube, inputs.pressure)
    found, lacks = _simulate(inputs, by_maker or 0.0, draws, margins=margins)
    if found is None:
        cautions.append(f"The cure is not simulated: {lacks}. The maker’s schedule alone rules.")
        how = f"the maker's schedule alone; the cure is not simulated: {lacks}"
        figures = (*_maker_figures(resin, by_maker, by_maker, how), *_letdown_figures(site))
        return _with_mix(SteamPart(tuple(figures), cautions=tuple(cautions)), inputs, mix)
    cautions.append(NOT_COMPARED)
    vented = site.lateral.far_access is FarAccess.OUTDOORS
    cautions.extend(_crew_form(found, site.project.units) if vented else (NO_EXHAUST,))
    figures = (
        *_maker_figures(
            resin, by_maker, found.hold_printed, _LONGER, sure=found.hold_confident is not None
        ),
        *_simulated_figures(found, draws, case_inputs(inputs)),
        *(_exhaust_figures(found) if vented else ()),
        *_result_figures(found, mix),
        *_letdown_figures(site, found),
    )
    checks, reasons = _judged(site, found, mix)
    return _with_mix(SteamPart(figures, checks, tuple(cautions), reasons), inputs, mix)


def _with_mix(part: SteamPart, inputs: CureInputs, mix: GasMix | None) -> SteamPart:
    """The same with what a mixture of air and steam brings along."""
    if mix is None:
        return part
    check, reasons = vent_check(inputs.site, mix)
    return SteamPart(
        (*part.figures, *mix_figures(mix)),
        (*part.checks, check),
        (mix_caution(mix), *part.cautions),
        (*part.reasons, *reasons, *maker_letter(mix, inputs.resin)),
    )


def _simulate(
    inputs: CureInputs, by_maker: float, draws: int, *, margins: bool
) -> tuple[CurePlan | None, str]:
    lacks = why_not(inputs)
    if lacks:
        return None, lacks
    value = inputs.site.specification.value
    try:
        found = _cure_plan(
            cure_case(inputs),
            _Asked(
                by_maker,
                value("confidence") if draws else None,
                draws,
                letdown(inputs.site),
                value("letdown_below_tg"),
                value("soak_back"),
                margins,
            ),
        )
    except InputError as error:
        return None, "; ".join(str(fault) for fault in error.faults)
    return found, ""


class _Asked(NamedTuple):
    """What is asked of the engine beside the case."""

    maker_hold: float
    level: float | None
    draws: int
    letdown_limit: float
    below_glass: float
    soak_time: float
    margins: bool


@lru_cache(maxsize=256)
def _cure_plan(case: CureCase, asked: _Asked) -> CurePlan:
    """The engine's plan; one that was asked before is not computed again.

    Planning a lateral anew mostly leaves its cure case as it was.
    """
    return plan(
        case,
        maker_hold=asked.maker_hold,
        level=asked.level,
        draws=asked.draws,
        letdown_limit=asked.letdown_limit,
        below_glass=asked.below_glass,
        soak_time=asked.soak_time,
        margins=asked.margins,
    )


def _maker_figures(
    resin: Resin, by_maker: float | None, printed: float | None, how: str, *, sure: bool = False
) -> Iterator[Figure]:
    if printed is not None:
        name = "steam time (95 % sure)" if sure else "steam time (nominal)"
        name = "steam time (the maker’s)" if printed == by_maker and not sure else name
        # the longer one is what is printed, so it is what is cited
        source = _MODEL if printed > (by_maker or 0.0) else _MAKER
        yield figure("steam.hold", name, printed, "time", source, how=how)
    if by_maker is not None:
        steps = [
            given(f"step {n}", step.temperature, "temperature", Knowledge.MAKER)
            for n, step in enumerate(resin.schedule, 1)
        ]
        parts = ", then ".join(f"{step.time / 60:.0f} min" for step in resin.schedule)
        yield figure(
            "steam.maker", "steam time by the maker", by_maker, "time", _MAKER, *steps, how=parts
        )


def _simulated_figures(
    found: CurePlan, draws: int, inputs: tuple[FigureInput, ...]
) -> Iterator[Figure]:
    if found.hold_nominal is not None:
        how = "until the last point reaches the target with steam on; nominal inputs, no spread"
        yield figure(
            "steam.simulated",
            "simulated, nominal",
            found.hold_nominal,
            "time",
            _MODEL,
            *inputs,
            how=how,
        )
    if found.hold_confident is not None:
        how = f"{draws} draws of soil, resin, wall, contact and supply within their spreads"
        yield figure(
            "steam.sure", "simulated, 95 % sure", found.hold_confident, "time", _MODEL, how=how
        )


def place_words(place: Place) -> str:
    """Where a point of the liner is, in the crew's words."""
    line = {"top": ", top", "invert": ", bottom"}.get(place.line, "")
    if place.part == "lateral":
        return f"{place.position / FOOT:.0f} ft ({place.position:.1f} m) up the lateral{line}"
    return place.part.replace("middle", "under the bladder").replace("edge", "at its edge") + line


def _exhaust_figures(found: CurePlan) -> Iterator[Figure]:
    """What is read at the cap; a blind end has no exhaust that anybody could read."""
    yield figure(
        "steam.exhaust",
        "exhaust must read",
        found.exhaust_temperature,
        "temperature",
        _MODEL,
        how="the simulated exhaust at steam off, less 3 K (5.4 °F)",
    )
    if found.exhaust_time is not None:
        how = "first whole minute at that reading, rising less than 2 °F (1.1 K) in 5 min"
        yield figure(
            "steam.exhaust_at", "… expected after", found.exhaust_time, "time", _MODEL, how=how
        )
    if found.wait_after_exhaust is not None:
        how = "steam time less the time to that reading; a crew counts from what it reads"
        yield figure(
            "steam.after_exhaust",
            "then steam for another",
            found.wait_after_exhaust,
            "time",
            _MODEL,
            how=how,
        )
    if found.trouble_after is not None:
        how = "when the weakest steam within its spread reads it, 5 min later at least"
        yield figure(
            "steam.trouble", "trouble card if not by", found.trouble_after, "time", _MODEL, how=how
        )


def _result_figures(found: CurePlan, mix: GasMix | None) -> Iterator[Figure]:
    yield figure("steam.last", "last to cure", place_words(found.last_place), "", _MODEL)
    yield figure("steam.peak", "warmest wall", found.peak_temperature, "temperature", _MODEL)
    how = "condensed and vented until steam off"
    yield figure("steam.used", "steam used", found.steam_used, "mass", _MODEL, how=how)
    how = "greatest condensing load and the vent together, as latent heat"
    how = "the steam blown in, as latent heat" if mix else how
    power = mix.power if mix else found.boiler_power
    yield figure("steam.boiler", "boiler needed", power, "power", _MODEL, how=how)
    if mix is None:  # a mixture has its own vent and no sharp front
        yield from _front_figures(found)
    if found.let_down.cool_down is not None:
        how = "from steam off, so that the wall stays below the limit after the air is shut"
        yield figure(
            "steam.cool",
            "air on, steam off, cool for",
            found.let_down.cool_down,
            "time",
            _MODEL,
            how=how,
        )


def _front_figures(found: CurePlan) -> Iterator[Figure]:
    how = "passes the tube's gas once in five minutes"
    yield figure(
        "steam.smallest_vent", "smallest vent", found.smallest_vent, "small_length", _MODEL, how=how
    )
    if math.isfinite(found.stall_supply):
        how = "below it the steam front no longer stands at the far end"
        yield figure(
            "steam.stall", "front stalls below", found.stall_supply, "mass_flow", _MODEL, how=how
        )


def _crew_form(found: CurePlan, system: UnitSystem) -> Iterator[str]:
    """The hold in the form that a crew can measure."""
    if found.wait_after_exhaust is None or found.trouble_after is None:
        return
    reads = show(found.exhaust_temperature, "temperature", system).text
    rise = show(_RISE, "temperature_difference", system, 0).text
    yield (
        f"Steam {_minutes(found.wait_after_exhaust)} after the exhaust at the cap reads {reads} "
        f"and rises less than {rise} in 5 min. Not there {_minutes(found.trouble_after)} after "
        "steam on: trouble card."
    )


def _minutes(seconds: float) -> str:
    """A time that must be kept at least, in whole minutes, as the figures read."""
    hours, minutes = divmod(math.ceil(round(seconds / 60, 6)), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"


def _in_time(site: Site, found: CurePlan, checks: list[Check], reasons: list[Reason]) -> None:
    """Steam alone may not take longer than the residents may be without service."""
    limit = site.specification.limit("service_out_most")
    if found.hold_printed is None or limit.value is None:
        return
    name = "steam time within the time without service"
    checks.append(at_most(name, found.hold_printed, limit.value, "time", limit.source))
    if found.hold_printed > limit.value:
        words = "Steam alone takes longer than the residents may be without service."
        work = (
            "A hotter gas, a quicker resin by its maker's letter, a bypass for the house, or dig."
        )
        reasons.append(Reason(Fitness.ASK, "steam time", words, limit.source, work=work))


def _letdown_figures(site: Site, found: CurePlan | None = None) -> Iterator[Figure]:
    """The smaller of the specified limit and Tg less its margin; the soak, and how slowly."""
    limit, source, label = letdown(site), cite("south-bend"), "let down, wall below"
    how = "warmest wall, still so after cooling air is shut; no suction"
    if found is None or found.let_down.glass_transition is None:
        yield figure("steam.letdown", label, limit, "temperature", source, how=how)
    else:
        margin = site.specification.value("letdown_below_tg")
        yield figure(
            "steam.letdown",
            label,
            found.let_down.limit,
            "temperature",
            source,
            given("specified limit", limit, "temperature"),
            given("Tg of the least cured point", found.let_down.glass_transition, "temperature"),
            given("margin below Tg", margin, "temperature_difference", Knowledge.MEMORY),
            how=f"smaller of the limit and Tg less the margin; {how}",
        )
    soak = site.specification.limit("soak_back")
    if soak.value is not None:
        label = "… still so, air shut for"
        how = "after the cooling air is shut, before pressure is let down"
        yield figure("steam.soak", label, soak.value, "time", soak.source, how=how)
    slow = site.specification.limit("let_down_time")
    if slow.value is not None:
        how = "from the held pressure to none, evenly, through the vent; no suction"
        label = "then let down over, at least"
        yield figure("steam.let_down_time", label, slow.value, "time", slow.source, how=how)


def _judged(
    site: Site, found: CurePlan, mix: GasMix | None
) -> tuple[tuple[Check, ...], tuple[Reason, ...]]:
    checks: list[Check] = []
    reasons: list[Reason] = []
    if found.hold_printed is None:
        target = site.specification.limit("target_cure")
        reached = found.simulated.conversion_at_end
        checks.append(
            at_least("cure at the last point", reached, target.value or 0.0, "share", target.source)
        )
        words = f"Steam alone does not cure the last point ({place_words(found.last_place)})."
        work = "More steam, a larger vent, a hotter gas, or another method; ask the resin maker."
        reasons.append(Reason(Fitness.ASK, "cure", words, _MODEL, work=work))
    _in_time(site, found, checks, reasons)
    boiler = site.rig.boiler_power if site.rig else None
    if boiler is not None:
        checks.append(
            at_most(
                "boiler carries the load",
                mix.power if mix else found.boiler_power,
                boiler,
                "power",
                _MODEL,
            )
        )
    limit = site.specification.limit("host_plastic_most")
    if is_plastic(site) and limit.value is not None:
        checks.append(
            at_most(
                "host stays below its limit",
                found.peak_host,
                limit.value,
                "temperature",
                limit.source,
            )
        )
        if found.peak_host > limit.value:
            words = "The gas at this pressure overheats the plastic host."
            work = "Mix air into the steam down to the gas limit (boiler, compressor and an "
            work += "outdoor vent have to be known), or cure another way."
            reasons.append(Reason(Fitness.ASK, "host limit", words, limit.source, work=work))
    return tuple(checks), tuple(reasons)
