"""What is not known of a cure before its log is read, and how surely: priors of the unknowns.

The spreads are those of the planned steam time (`engineering.cure_confidence.Spreads`); where
planning holds one thing for known that a log has to find, the spread is wider and from memory.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from drainwright.acceptance.cure_series import Array
from drainwright.engineering.cure_confidence import Spreads
from drainwright.engineering.cure_model import CureCase
from drainwright.engineering.cure_vent import vent_steam
from drainwright.engineering.driven_cure import Unknowns
from drainwright.engineering.steam import saturated_by_fit
from drainwright.records.cure_verdict import Estimated

CONTACT = 1e-3
"""Resistance between liner and host, as much as 0.03 mm of air (from memory) [m^2 K/W]."""
STREET_SHARE = 0.25
"""Share of an unknown's variance that differs from lateral to lateral of a street (from memory)."""
OF_A_STREET = ("soil_conductivity", "soil_temperature", "contact", "host_conductivity")
"""Unknowns that neighbors have in common."""
_LOAD = 500.0
"""Condensing load that a lateral without a told supply is thought to be fed for [W/m]."""


@dataclass(frozen=True, slots=True)
class Prior:
    """One unknown of `Unknowns`; a relative spread is of the logarithm."""

    name: str
    words: str
    kind: str
    center: float
    spread: float
    relative: bool
    shown: float
    """What the shown value is at the center; SI of `kind`."""

    def value(self, z: float) -> float:
        """The unknown at so many standard deviations."""
        return (
            self.center * math.exp(self.spread * z)
            if self.relative
            else (self.center + self.spread * z)
        )

    def show(self, z: float) -> float:
        """The value shown at so many standard deviations."""
        return (
            self.shown * math.exp(self.spread * z)
            if self.relative
            else (self.shown + self.spread * z)
        )


def priors_of(case: CureCase, spreads: Spreads | None = None) -> tuple[Prior, ...]:
    """The unknowns of a case; a collar and a blind end bring their own."""
    s = spreads or Spreads()
    soil, liner = case.soil, case.liner
    wall = math.hypot(s.liner_conductivity, s.liner_wall)
    found = [
        _factor("soil_conductivity", "soil, conductivity", "conductivity", s.soil_conductivity,
                soil.conductivity),
        Prior("soil_temperature", "soil, temperature", "temperature", 0.0, s.soil_temperature,
              relative=False, shown=soil.temperature),
        Prior("contact", "contact of liner and host, as air", "thickness", CONTACT, 1.0,
              relative=True, shown=CONTACT * 0.028),
        _supply(case),
        _factor("resin_rate", "resin, rate of cure", "ratio", s.resin_rate, 1.0),
        _factor("heat_of_reaction", "resin, heat of reaction", "specific_energy",
                s.heat_of_reaction, case.heat_of_reaction),
        _factor("liner_conductivity", "liner, conductivity and wall", "conductivity", wall,
                liner.conductivity),
        _factor("host_conductivity", "host, conductivity", "conductivity", s.host_conductivity,
                case.host.conductivity),
        Prior("condensate", "condensate on the bottom", "thickness", 3e-3, s.contact,
              relative=True, shown=3e-3),
        Prior("gas_error", "gas sensor, error", "temperature_difference", 0.0, 1.0,
              relative=False, shown=0.0),
    ]  # fmt: skip
    if case.collar is not None:
        found += [
            _factor("bladder", "bladder, conductivity", "conductivity", 0.25,
                    case.collar.bladder_conductivity),
            Prior("collar_water", "water outside the collar, film", "film", 1.0, 1.5,
                  relative=True, shown=1.0),
        ]  # fmt: skip
    if case.gas.vent_diameter is None:
        found.append(
            Prior("plug", "still air at the blind end, share of the length", "share", 0.03, 0.8,
                  relative=True, shown=0.03)
        )  # fmt: skip
    return tuple(found)


def _factor(name: str, words: str, kind: str, spread: float, shown: float) -> Prior:
    return Prior(name, words, kind, 1.0, max(spread, 1e-3), relative=True, shown=shown)


def _supply(case: CureCase) -> Prior:
    """Steam that flows in: the boiler's, known only within a factor as valves are turned."""
    supply = case.gas.steam_supply
    spread = 0.7
    if supply is None:
        latent = saturated_by_fit(case.gas.pressure).latent_heat
        supply = 2 * (_LOAD * case.length / latent + vent_steam(case.gas))
        spread = 0.9
    if case.gas.vent_diameter is None:
        spread *= 1.2
    return Prior("supply", "steam that flows in", "mass_flow", supply, spread,
                 relative=True, shown=supply)  # fmt: skip


def unknowns_at(priors: Sequence[Prior], z: Array) -> Unknowns:
    """The unknowns at so many standard deviations each, cut at seven."""
    at = np.clip(z, -7.0, 7.0)
    values = {one.name: one.value(float(x)) for one, x in zip(priors, at, strict=True)}
    if "plug" in values:
        values["plug"] = min(values["plug"], 0.5)
    return Unknowns(**values)


# ---------------------------------------------------------------- learning along a street


@dataclass(frozen=True, slots=True)
class Learned:
    """What finished cures of a street say of one unknown, in its prior's standard deviations."""

    mean: float
    spread: float


def learn(
    logs: Sequence[Sequence[Estimated]], share: float = STREET_SHARE
) -> Mapping[str, Learned]:
    """The prior of the next lateral of a street from the finished ones.

    An unknown is the street's mean plus the lateral's own part, which has `share` of the
    variance. What a log says by itself is its estimate with the prior taken out again.
    """
    found: dict[str, Learned] = {}
    for name in OF_A_STREET:
        precision, weighted = 1 / (1 - share), 0.0
        for log in logs:
            for one in log:
                if one.name == name and one.error < 0.999:
                    own = 1 / one.error**2 - 1
                    mean = one.score * (1 + own) / own
                    weight = 1 / (share + 1 / own)
                    precision += weight
                    weighted += weight * mean
        if precision > 1 / (1 - share):
            found[name] = Learned(weighted / precision, math.sqrt(1 / precision + share))
    return found


def with_learned(priors: Sequence[Prior], learned: Mapping[str, Learned]) -> tuple[Prior, ...]:
    """Priors moved and narrowed by what was learned."""
    return tuple(
        one
        if one.name not in learned
        else replace(
            one,
            center=one.value(learned[one.name].mean),
            shown=one.show(learned[one.name].mean),
            spread=one.spread * learned[one.name].spread,
        )
        for one in priors
    )
