"""Deadlines of a wet liner: on the ice by, off it by, at the tap by, seated by, pull out by.

Times count from mixing. They come from the resin's gel times, its temperature on the way, and
the crew's own durations that four of five shifts keep (P80).
"""

from __future__ import annotations

from dataclasses import dataclass

from drainwright.engineering.resin_life import (
    GelLaw,
    Phase,
    gel_law,
    gel_time,
    longest_phase,
)
from drainwright.planning.figures import figure, given, given_limit
from drainwright.planning.site import Site
from drainwright.records.material import Resin
from drainwright.records.standing import Knowledge
from drainwright.records.work_sheet import Figure, Fitness, Reason
from drainwright.sources import cite

_MEMORY = cite("memory", "75 % and 85 % of life")
_OFF_ICE = (
    "mixing + the longest time on ice with ∫ dt / t(T) from mixing to seated = the share of life; "
    "the resin begins at air temperature and follows: T = T_s + (T_0 − T_s) e^(−time/lag)"
)
_PULL_OUT = "when ∫ dt / t(T) reaches the share of life for pulling out, less pulling out again"
ONE_POINT = (
    "Only one gel time is entered: life toward the cold and the warm is taken on the safe side. "
    "Ask the maker for a second temperature."
)
WITNESS = (
    "Keep a witness cup of every batch beside the liner. If it gels before the clock says, stop."
)


@dataclass(frozen=True, slots=True)
class Deadlines:
    """Times from mixing [s] and the share of life they leave."""

    law: GelLaw
    points: int
    off_ice: float
    at_tap: float
    seated: float
    pull_out: float


@dataclass(frozen=True, slots=True)
class ClockPart:
    """The clock's figures, cautions, and reasons against mixing at all."""

    figures: tuple[Figure, ...] = ()
    cautions: tuple[str, ...] = ()
    reasons: tuple[Reason, ...] = ()


def resin_law(site: Site, resin: Resin) -> GelLaw:
    """The resin's gel law; one point alone is taken on the safe side. `InputError` for none."""
    return gel_law(
        [point.temperature for point in resin.gel_times],
        [point.time for point in resin.gel_times],
        site.specification.value("life_energy_low"),
        site.specification.value("life_energy_high"),
    )


def plan_deadlines(site: Site, resin: Resin) -> Deadlines | None:
    """Deadlines for this crew and resin; None where its steps alone use too much life."""
    value = site.specification.value
    law = resin_law(site, resin)
    air, ice = value("air_temperature"), value("ice_temperature")
    lag_ice, lag_air = value("lag_ice"), value("lag_air")
    wet_out, moving = value("wet_out_time"), value("load_time") + value("lower_time")
    phases = [
        Phase(wet_out, air, lag_air),
        Phase(0.0, ice, lag_ice),
        Phase(moving, air, lag_air),
        Phase(value("invert_time"), air, lag_air),
    ]
    on_ice = longest_phase(air, phases, law, value("life_launch"), 1)
    if on_ice is None:
        return None
    off_ice = wet_out + on_ice
    at_tap = off_ice + moving
    phases[1] = Phase(on_ice, ice, lag_ice)
    after = longest_phase(air, [*phases, Phase(0.0, air, lag_air)], law, value("life_pull"), 4)
    seated = at_tap + value("invert_time")
    pull_out = seated + (after or 0.0) - value("withdraw_time")
    points = len({point.temperature for point in resin.gel_times})
    return Deadlines(law, points, off_ice, at_tap, seated, pull_out)


def clock_figures(site: Site, resin: Resin) -> ClockPart:
    """Life in the air and on ice, and the deadlines, the first of which the others rest on."""
    if not resin.gel_times:
        words = "No gel time of the resin is entered, so nobody knows how long the mix lives."
        work = "Enter the gel times of the maker's data sheet, with mass and temperature."
        reason = Reason(Fitness.PREPARE, "resin life", words, cite("maker"), work=work)
        return ClockPart(reasons=(reason,))
    deadlines = plan_deadlines(site, resin)
    if deadlines is None:
        words = "The resin does not live long enough for this crew's steps, even without ice."
        work = "A slower resin, colder air, or a faster crew."
        reason = Reason(Fitness.PREPARE, "resin life", words, _MEMORY, work=work)
        return ClockPart(reasons=(reason,))
    cautions = (WITNESS, ONE_POINT) if deadlines.points == 1 else (WITNESS,)
    return ClockPart(tuple(_figures(site, resin, deadlines)), cautions)


def _figures(site: Site, resin: Resin, deadlines: Deadlines) -> list[Figure]:
    value = site.specification.value
    names = ("air_temperature", "ice_temperature")
    around = [
        given(name.replace("_", " "), value(name), "temperature", Knowledge.MEMORY)
        for name in names
    ]
    steps = [
        given(site.specification.limit(name).words, value(name), "time", Knowledge.MEMORY)
        for name in ("wet_out_time", "load_time", "lower_time", "invert_time", "withdraw_time")
    ]
    points = [
        given(f"gel at {point.temperature - 273.15:.0f} °C", point.time, "time", Knowledge.MAKER)
        for point in resin.gel_times
    ]
    law = "t = t_1 exp[B (1/T − 1/T_1)], B = ln(t_1/t_2) / (1/T_1 − 1/T_2), T in kelvin"
    if len(points) != 2:
        law = "Arrhenius: ln t on 1/T through the maker's gel times; one alone on the safe side"
    shares = [
        given_limit(site.specification.limit(name))
        for name in ("life_launch", "life_pull", "lag_ice", "lag_air")
    ]
    lives = [
        figure(
            f"resin.life_{place}",
            words,
            float(gel_time(value(name), deadlines.law)),
            "time",
            cite("maker"),
            *points,
            around[place == "ice"],
            how=law,
        )
        for place, name, words in (
            ("air", "air_temperature", "resin life, in the air"),
            ("ice", "ice_temperature", "resin life, on ice"),
        )
    ]
    inputs = (*points, *around, *steps, *shares)
    marks: tuple[tuple[str, str, float, str], ...] = (
        ("on_ice", "on the ice by", value("wet_out_time"), "mixing, wet-out and rolling"),
        ("off_ice", "off the ice by", deadlines.off_ice, _OFF_ICE),
        ("at_tap", "at the tap by", deadlines.at_tap, "off the ice + loading + lowering"),
        ("seated", "inverted and seated by", deadlines.seated, "at the tap + inverting"),
        ("pull_out", "pull out by", deadlines.pull_out, _PULL_OUT),
    )
    return lives + [
        figure(f"deadline.{key}", label, at, "time", _MEMORY, *inputs, how=how)
        for key, label, at, how in marks
    ]
