"""Which inputs the wall hangs on: each one stepped within its spread, the three worst named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from drainwright.engineering.wall_design import WallCase, design_wall
from drainwright.errors import InputError
from drainwright.planning.figures import figure, given
from drainwright.planning.site import Site
from drainwright.planning.stations import ground
from drainwright.planning.wall_plan import Material, StationWall, ovality_of
from drainwright.records.standing import Knowledge
from drainwright.records.work_sheet import Figure
from drainwright.sources import cite

SPREAD = {
    Knowledge.MEASURED: 0.05,
    Knowledge.MAKER: 0.10,
    Knowledge.ASSUMED: 0.25,
    Knowledge.MEMORY: 0.25,
}
"""How far an input may be off, by its standing; from memory."""


@dataclass(frozen=True, slots=True)
class Effect:
    """What one input, stepped within its spread, does to the wall needed."""

    name: str
    value: float
    kind: str
    knowledge: Knowledge
    step: float
    """Signed share by which the input was changed, in the worse direction."""
    change: float
    """Share by which the wall needed grows."""


Change = Callable[[WallCase, float], WallCase]


def wall_effects(site: Site, worst: StationWall, material: Material) -> list[Effect]:
    """Every input of the wall with its effect, the worst first."""
    base = worst.design.wall_required
    effects = []
    for name, value, kind, knowledge, change in _inputs(site, worst, material):
        spread = SPREAD[knowledge]
        tried = []
        for step in (-spread, spread):
            try:
                wall = design_wall(change(worst.case, 1 + step)).wall_required
            except InputError:
                continue
            tried.append((wall / base - 1, step))
        if tried:
            grown, step = max(tried)
            effects.append(Effect(name, value, kind, knowledge, step, grown))
    return sorted(effects, key=lambda effect: -effect.change)


def sensitivity_figures(site: Site, worst: StationWall, material: Material) -> list[Figure]:
    """The three inputs that the wall needed hangs on most."""
    source = cite("memory", "spread by standing: measured 5, maker 10, else 25 %")
    return [
        figure(
            f"sensitivity.{number}",
            f"{effect.name} {'less' if effect.step < 0 else 'more'} by {abs(effect.step):.0%}",
            effect.change,
            "share",
            source,
            given(effect.name, effect.value, effect.kind, effect.knowledge),
            how="the wall needed grows by this",
        )
        for number, effect in enumerate(wall_effects(site, worst, material)[:3], 1)
        if effect.change > 5e-4
    ]


def _inputs(
    site: Site, worst: StationWall, material: Material
) -> list[tuple[str, float, str, Knowledge, Change]]:
    case, around = worst.case, ground(site)
    ovality, ovality_known = ovality_of(site)
    fixed = around.fixed_water is not None
    water_known = Knowledge.ASSUMED if fixed else around.water_knowledge
    measured = site.knowledge("inside_diameter") or Knowledge.MEASURED
    inputs: list[tuple[str, float, str, Knowledge, Change]] = [
        ("host diameter", case.host_diameter, "diameter", measured, _host),
        ("ovality", ovality, "share", ovality_known, _ovality),
        ("water above invert", case.water_above_invert, "length", water_known, _water),
        ("modulus", case.liner.modulus, "modulus", material.modulus_knowledge, _liner("modulus")),
        (
            "long-term strength",
            case.liner.strength,
            "strength",
            material.strength_knowledge,
            _liner("strength"),
        ),
        ("retention", case.liner.retention, "share", material.retention_knowledge, _retention),
    ]
    if case.ground is not None:
        assumed = Knowledge.ASSUMED
        inputs += [
            ("cover", case.ground.cover, "length", around.depth_knowledge, _soil("cover")),
            (
                "modulus of soil reaction",
                case.ground.soil_modulus,
                "modulus",
                assumed,
                _soil("soil_modulus"),
            ),
            ("soil weight", case.ground.soil_weight, "unit_weight", assumed, _soil("soil_weight")),
        ]
    return inputs


def _host(case: WallCase, factor: float) -> WallCase:
    return replace(case, host_diameter=case.host_diameter * factor)


def _ovality(case: WallCase, factor: float) -> WallCase:
    return replace(case, ovality=case.ovality * factor)


def _water(case: WallCase, factor: float) -> WallCase:
    return replace(case, water_above_invert=case.water_above_invert * factor)


def _retention(case: WallCase, factor: float) -> WallCase:
    retention = min(case.liner.retention * factor, 1.0)
    return replace(case, liner=replace(case.liner, retention=retention))


def _liner(name: str) -> Change:
    def change(case: WallCase, factor: float) -> WallCase:
        value = getattr(case.liner, name) * factor
        return replace(case, liner=replace(case.liner, **{name: value}))

    return change


def _soil(name: str) -> Change:
    def change(case: WallCase, factor: float) -> WallCase:
        if case.ground is None:
            return case
        value = getattr(case.ground, name) * factor
        return replace(case, ground=replace(case.ground, **{name: value}))

    return change
