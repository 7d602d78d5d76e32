"""Specifications ready to start from; each is a starting point to change, not a standard's text."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from drainwright.errors import NotFoundError
from drainwright.records.specification import Specification, default_specification
from drainwright.sources import Citation, cite
from drainwright.units import to_si

_CITY = cite("sf-3301")


def by_astm() -> Specification:
    """Walls by ASTM F1216, scope by ASTM F2561; the program's own starting values."""
    return replace(
        default_specification(), name="ASTM F1216 and F2561", basis="ASTM F1216, ASTM F2561"
    )


def like_a_public_city() -> Specification:
    """Values of one city's public specification: its soil, its water, its capacity clause."""
    changes: dict[str, tuple[float | None, Citation]] = {
        name: (to_si(number, unit), _CITY)
        for name, number, unit in (
            ("modulus_least", 400_000, "psi"),
            ("strength_least", 4_500, "psi"),
            ("safety_factor", 2, "1"),
            ("retention", 50, "%"),
            ("ovality", 2, "%"),
            ("water_above_invert", 2, "ft"),
            ("cover", 10, "ft"),
            ("soil_modulus", 1000, "psi"),
            ("soil_weight", 120, "lbf/ft^3"),
            ("roughness_host", 0.013, "1"),
            ("roughness_liner", 0.011, "1"),
            ("capacity_ratio_least", 1, "1"),
            ("coating", 0.010, "in"),
            ("letdown_temperature", 100, "degF"),
        )
    }
    changes["live_load"] = (0.0, cite("sf-3301", "H20 at 10 ft of cover", "C"))
    return replace(
        default_specification().with_limits(changes),
        name="Like a city's public specification",
        basis="San Francisco 33 01 30.73, 33 01 30.74 and 33 33 00",
    )


def by_iso() -> Specification:
    """Wall rules as in EN ISO 11296-4: a least wall of 3 mm, and 80 % of design at a point."""
    iso = cite("iso-11296-4")
    changes: Mapping[str, tuple[float | None, Citation]] = {
        "minimum_wall": (to_si(3, "mm"), iso),
        "wall_any_point": (0.80, iso),
    }
    return replace(
        default_specification().with_limits(changes),
        name="EN ISO 11296-4 and EN 1610",
        basis="EN ISO 11296-4, EN 1610 (from memory: check your copy)",
    )


STARTING: Mapping[str, Callable[[], Specification]] = {
    "astm": by_astm,
    "city": like_a_public_city,
    "iso": by_iso,
}
"""Starting specifications by short name."""


def starting_specification(name: str) -> Specification:
    """The starting specification `name`; `NotFoundError` for an unknown one."""
    if name not in STARTING:
        raise NotFoundError(f"no starting specification “{name}”; there are {', '.join(STARTING)}")
    return STARTING[name]()
