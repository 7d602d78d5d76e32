"""A liner's wall by every clause of ASTM F1216, Appendix X1, that applies, and which governs.

Partially deteriorated: X1.1 and X1.2 for the water above the invert. Fully deteriorated: X1.3
and X1.4 as well, and the largest wall counts. Without water above the invert the dimension
ratio has a limit instead. Limits come as arguments.
"""

from __future__ import annotations

from dataclasses import dataclass

from drainwright.engineering import wall as clauses
from drainwright.engineering import wall_soil
from drainwright.engineering._ranges import within
from drainwright.engineering.close_fit import close_fit_pressure
from drainwright.engineering.groundwater import height_above_crown, water_pressure
from drainwright.engineering.soil_load import (
    Ground,
    buoyancy_factor,
    elastic_support,
    external_pressure,
)
from drainwright.engineering.wall import Factors, Liner
from drainwright.engineering.wall_soil import SoilLoad
from drainwright.errors import OutOfRangeError

WITHOUT_WATER = "no water above the invert"
MINIMUM = "minimum wall"
CLAUSES = {
    "X1.1": "buckling under groundwater",
    "X1.2": "bending of an oval pipe under groundwater",
    "X1.3": "buckling under soil, water and traffic",
    "X1.4": "least stiffness",
    WITHOUT_WATER: "largest dimension ratio of a dry pipe",
    MINIMUM: "least wall, whatever the clauses say",
}
"""Every clause and what it guards against."""


@dataclass(frozen=True, slots=True)
class WallLimits:
    """Limits of the specification that the design needs.

    Attributes
    ----------
    stiffness_least : float
        Least stiffness of X1.4 [Pa].
    ratio_without_water_most : float
        Largest dimension ratio where no water stands above the invert [1].
    minimum_wall : float or None
        Least wall whatever the clauses say, None for none [m].
    """

    stiffness_least: float
    ratio_without_water_most: float
    minimum_wall: float | None = None


@dataclass(frozen=True, slots=True)
class WallCase:
    """One place of a host and what its liner is to carry.

    Attributes
    ----------
    host_diameter : float
        Mean inside diameter of the host [m].
    ovality : float
        Ovality of the host, as a share [1].
    water_above_invert : float
        Height of the groundwater above the invert [m].
    liner : Liner
        Material.
    factors : Factors
        Safety and enhancement.
    limits : WallLimits
        Limits of the specification.
    edition : str
        One of `wall_soil.EDITIONS`.
    ground : Ground or None
        Soil and traffic for a fully deteriorated host; None for a partially deteriorated one.
    """

    host_diameter: float
    ovality: float
    water_above_invert: float
    liner: Liner
    factors: Factors
    limits: WallLimits
    edition: str
    ground: Ground | None = None

    @property
    def water_above_crown(self) -> float:
        """Height of the groundwater above the crown, negative below it [m]."""
        return float(height_above_crown(self.water_above_invert, self.host_diameter))

    @property
    def water_pressure(self) -> float:
        """Pressure of the water above the invert, P [Pa]."""
        return float(water_pressure(self.water_above_invert))


@dataclass(frozen=True, slots=True)
class ClauseWall:
    """The wall one clause asks for.

    Attributes
    ----------
    clause : str
        One of `CLAUSES`.
    wall : float
        Wall asked for [m].
    """

    clause: str
    wall: float


@dataclass(frozen=True, slots=True)
class ClauseCapacity:
    """What one clause demands and what a given wall has.

    Attributes
    ----------
    clause : str
        One of `CLAUSES`.
    demand : float
        Pressure, stiffness, dimension ratio or wall demanded [Pa, m or 1].
    capacity : float
        The same of the given wall; infinite where the clause sets no limit [Pa, m or 1].
    kind : str
        "pressure", "number" or "thickness".
    """

    clause: str
    demand: float
    capacity: float
    kind: str


@dataclass(frozen=True, slots=True)
class WallDesign:
    """The wall required and how it was got.

    Attributes
    ----------
    clauses : tuple of ClauseWall
        The wall by each clause that applies.
    wall_required : float
        The largest of them [m].
    governing : str
        The clause it comes from.
    dimension_ratio : float
        Host diameter over the wall required [1].
    water_pressure : float
        Pressure of the water above the invert [Pa].
    close_fit_pressure : float
        Glock's critical pressure of the wall required, long-term modulus [Pa].
    load : SoilLoad or None
        Loads of a fully deteriorated host.
    """

    clauses: tuple[ClauseWall, ...]
    wall_required: float
    governing: str
    dimension_ratio: float
    water_pressure: float
    close_fit_pressure: float
    load: SoilLoad | None

    def wall_by(self, clause: str) -> float | None:
        """The wall by one clause [m]; None where it does not apply."""
        return next((entry.wall for entry in self.clauses if entry.clause == clause), None)


def soil_load(case: WallCase) -> SoilLoad | None:
    r"""Loads of a fully deteriorated host.

    .. math:: q_t = \gamma_w H_w + w H R_w + W_s

    Parameters
    ----------
    case : WallCase
        The place.

    Returns
    -------
    SoilLoad or None
        Loads; None for a partially deteriorated host.

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Examples
    --------
    >>> liner, factors = Liner(1.72e9, 0.5, 15.5e6, 0.3), Factors(2, 7)
    >>> case = WallCase(0.2, 0.02, 1.5, liner, factors, WallLimits(641, 100), "ASTM F1216-09")
    >>> soil_load(case) is None
    True

    References
    ----------
    ASTM F1216-09, equation X1.3, second-hand: Najafi, Trenchless Technology Piping, p. 109-111.
    """
    ground = case.ground
    if ground is None:
        return None
    above = case.water_above_crown
    pressure = external_pressure(ground.cover, above, ground.soil_weight, ground.live_load)
    return SoilLoad(
        external_pressure=float(pressure),
        buoyancy_factor=float(buoyancy_factor(ground.cover, above)),
        elastic_support=float(elastic_support(ground.cover)),
        soil_modulus=ground.soil_modulus,
    )


def design_wall(case: WallCase) -> WallDesign:
    r"""The wall a liner needs at one place, and the clause that governs.

    .. math:: t = \max(t_{X1.1}, t_{X1.2}, t_{X1.3}, t_{X1.4}, t_{min})

    Valid for thin rings in hosts up to 15 % oval. Without water above the invert X1.1 and X1.2
    ask for nothing, and t = D / DR of the limit stands in their place.

    Parameters
    ----------
    case : WallCase
        The place, with `ground` for a fully deteriorated host.

    Returns
    -------
    WallDesign
        Walls by clause, the largest, and the second opinion.

    Raises
    ------
    OutOfRangeError
        If an input is outside its range, or no wall below the radius carries the loads.
    InputError
        If the edition is not known.

    Examples
    --------
    >>> psi, inch, foot = 6894.757, 0.0254, 0.3048
    >>> case = WallCase(
    ...     8 * inch, 0.02, 5 * foot + 8 * inch, Liner(250e3 * psi, 0.5, 2250 * psi, 0.3),
    ...     Factors(2, 7), WallLimits(0.093 * psi, 100), "ASTM F1216-09",
    ...     Ground(10 * foot, 120 * 157.0875, 1000 * psi, 0.6 * psi),
    ... )
    >>> design = design_wall(case)
    >>> design.governing, round(design.wall_required / inch, 4)
    ('X1.3', 0.137)

    References
    ----------
    ASTM F1216-09, Appendix X1, second-hand: Najafi, Trenchless Technology Piping, sec. 2.7.
    The limit of the dimension ratio without water is from memory.
    """
    load = soil_load(case)
    walls = [*_water_walls(case), *_soil_walls(case, load)]
    if case.limits.minimum_wall is not None:
        walls.append(ClauseWall(MINIMUM, case.limits.minimum_wall))
    most = max(walls, key=lambda entry: entry.wall)
    if most.wall >= case.host_diameter / 2:
        reason = f"{most.clause}, {CLAUSES[most.clause]}: no wall below the radius is enough"
        raise OutOfRangeError(
            "wall_required", most.wall, "m", high=case.host_diameter / 2, reason=reason
        )
    liner = case.liner
    return WallDesign(
        clauses=tuple(walls),
        wall_required=most.wall,
        governing=most.clause,
        dimension_ratio=case.host_diameter / most.wall,
        water_pressure=case.water_pressure,
        close_fit_pressure=float(
            close_fit_pressure(
                most.wall, case.host_diameter, liner.long_term_modulus, liner.poisson_ratio
            )
        ),
        load=load,
    )


def wall_capacities(case: WallCase, wall: float) -> tuple[ClauseCapacity, ...]:
    r"""What a given wall has against every clause that applies.

    .. math:: \text{safety ratio} = \text{capacity} / \text{demand}

    The clause is met where capacity is at least demand (for the dimension ratio: where the
    ratio reached, the demand, is at most the limit, the capacity).

    Parameters
    ----------
    case : WallCase
        The place, with `ground` for a fully deteriorated host.
    wall : float
        Wall of the liner in this host [m].

    Returns
    -------
    tuple of ClauseCapacity
        One entry a clause, safety factor taken off.

    Raises
    ------
    OutOfRangeError
        If an input is outside its range, or the wall not below the radius.
    InputError
        If the edition is not known.

    Examples
    --------
    >>> liner, factors = Liner(1.72e9, 0.5, 15.5e6, 0.3), Factors(2, 7)
    >>> case = WallCase(0.2, 0.02, 1.5, liner, factors, WallLimits(641, 100), "ASTM F1216-09")
    >>> [(c.clause, round(c.capacity / c.demand, 2)) for c in wall_capacities(case, 0.003)]
    [('X1.1', 1.33), ('X1.2', 5.17)]

    References
    ----------
    ASTM F1216-09, Appendix X1, second-hand: Najafi, Trenchless Technology Piping, sec. 2.7.
    """
    load = soil_load(case)
    found = [*_water_capacities(case, wall), *_soil_capacities(case, load, wall)]
    if case.limits.minimum_wall is not None:
        found.append(ClauseCapacity(MINIMUM, case.limits.minimum_wall, wall, "thickness"))
    return tuple(found)


def _is_dry(case: WallCase) -> bool:
    return case.water_above_invert <= 0


def _most_ratio(case: WallCase) -> float:
    most = within("ratio_without_water_most", case.limits.ratio_without_water_most, above=2)
    return float(most)


def _water_walls(case: WallCase) -> list[ClauseWall]:
    where = (case.host_diameter, case.water_pressure, case.ovality)
    strength, safety = case.liner.strength, case.factors.safety_factor
    buckling = clauses.wall_water_buckling(*where, case.liner, case.factors)
    bending = clauses.wall_ovality_bending(*where, strength, safety)
    walls = [ClauseWall("X1.1", float(buckling)), ClauseWall("X1.2", float(bending))]
    if _is_dry(case):
        walls.append(ClauseWall(WITHOUT_WATER, case.host_diameter / _most_ratio(case)))
    return walls


def _soil_walls(case: WallCase, load: SoilLoad | None) -> list[ClauseWall]:
    if load is None:
        return []
    diameter, safety = case.host_diameter, case.factors.safety_factor
    buckling = wall_soil.wall_soil_buckling(
        diameter, load, case.ovality, case.liner, safety, case.edition
    )
    stiffness = wall_soil.wall_stiffness(diameter, case.liner.modulus, case.limits.stiffness_least)
    return [ClauseWall("X1.3", float(buckling)), ClauseWall("X1.4", float(stiffness))]


def _water_capacities(case: WallCase, wall: float) -> list[ClauseCapacity]:
    where = (wall, case.host_diameter, case.ovality)
    strength, safety = case.liner.strength, case.factors.safety_factor
    buckling = clauses.pressure_water_buckling(*where, case.liner, case.factors)
    bending = clauses.pressure_ovality_bending(*where, strength, safety)
    demand = case.water_pressure
    found = [
        ClauseCapacity("X1.1", demand, float(buckling), "pressure"),
        ClauseCapacity("X1.2", demand, float(bending), "pressure"),
    ]
    if _is_dry(case):
        ratio, most = case.host_diameter / wall, _most_ratio(case)
        found.append(ClauseCapacity(WITHOUT_WATER, ratio, most, "number"))
    return found


def _soil_capacities(case: WallCase, load: SoilLoad | None, wall: float) -> list[ClauseCapacity]:
    if load is None:
        return []
    pressure = wall_soil.pressure_soil_buckling(
        wall,
        case.host_diameter,
        load,
        case.ovality,
        case.liner,
        case.factors.safety_factor,
        edition=case.edition,
    )
    stiffness = wall_soil.ring_stiffness(wall, case.host_diameter, case.liner.modulus)
    demand = float(within("external_pressure", load.external_pressure, "Pa"))
    return [
        ClauseCapacity("X1.3", demand, float(pressure), "pressure"),
        ClauseCapacity("X1.4", case.limits.stiffness_least, float(stiffness), "pressure"),
    ]
