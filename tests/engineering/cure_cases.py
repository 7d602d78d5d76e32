"""Cases that the tests of the cure engine share."""

from __future__ import annotations

from typing import Any

from drainwright.engineering.cure_model import (
    Collar,
    CureCase,
    Grid,
    Host,
    Liner,
    Schedule,
    Soil,
    Stretch,
    Supply,
)
from drainwright.engineering.kinetics import Glass, Kinetics

PSI = 6894.757293168361
RESIN = Kinetics(
    "kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8,
    glass=Glass(243.15, 383.15, 0.45, 6.0),
)  # fmt: skip
CLAY = Host(0.015, 1.4, 2500.0, 840.0)
IRON = Host(0.006, 56.0, 7500.0, 530.0)
PVC = Host(0.0045, 0.16, 1380.0, 1000.0)
SMALL = Grid(4, 3, 8, 5)
LATENT = 2.2268e6


def supply(power: float | None = None, **changes: Any) -> Supply:
    given: dict[str, Any] = {"steam_supply": None if power is None else power / LATENT}
    return Supply(7 * PSI, **(given | changes))


def case(**changes: Any) -> CureCase:
    given: dict[str, Any] = {
        "length": 20.0,
        "host_diameter": 0.1016,
        "host": CLAY,
        "liner": Liner(0.006),
        "kinetics": RESIN,
        "heat_of_reaction": 4.2e5,
        "gas": supply(),
        "schedule": Schedule(600.0, 2400.0, 295.0, 0.8),
        "grid": SMALL,
    }
    return CureCase(**(given | changes))


WET = Soil(2.4, 3.0e6, 285.15)
TWO_LINES = Grid(4, 3, 8, 5, invert=True, axial_conduction=True)
SIX = {
    "ample steam": case(),
    "stalled front, pure": case(gas=supply(5e3, mixture=False)),
    "stalled front, mixture": case(gas=supply(5e3)),
    "cast iron in wet soil": case(
        host=IRON, soil=WET, gas=supply(12e3), grid=TWO_LINES,
        groundwater=(Stretch(3.0, 9.0, 40.0),),
    ),
    "collar": case(
        gas=supply(8e3, air_supply=4 / 3600), grid=TWO_LINES,
        collar=Collar(0.4, 0.003, 0.2, water_in_main=True),
    ),
    "blind end": case(gas=supply(9e3, vent_diameter=None, blind_air=0.2, mixture=False)),
    "PVC host at its limit": case(host=PVC, gas=supply(6e3, air_supply=10 / 3600)),
    "belly": case(gas=supply(10e3), bellies=(Stretch(4.0, 8.0, 0.02),)),
}  # fmt: skip
