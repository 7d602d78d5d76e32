"""A plane in meters for drawing, from coordinates in any coordinate system."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from drainwright.errors import Fault, InputError
from drainwright.records.project import Point

_RADIUS = 6371008.8
"""Mean radius of the earth [m]."""


@dataclass(frozen=True, slots=True)
class Plane:
    """How points of a coordinate system lie in a plane of meters around `origin`."""

    place: Callable[[Point], Point]
    north: float
    """True north from the plane's y axis, clockwise [rad]."""


def plane_of(crs: str, around: Sequence[Point]) -> Plane:
    """The plane for points of `crs` around some of them; without `crs` they are meters.

    A projected system keeps its own plane in its own unit, made meters; of a geographic one
    the surroundings of the middle are laid flat. Raises `InputError` for an unknown system.
    """
    x0 = sum(x for x, _ in around) / len(around)
    y0 = sum(y for _, y in around) / len(around)
    if not crs:
        return Plane(lambda point: (point[0] - x0, point[1] - y0), 0.0)
    from pyproj import CRS, Proj
    from pyproj.exceptions import CRSError

    try:
        system = CRS.from_user_input(crs)
    except CRSError as error:
        raise InputError(Fault("crs", "is no coordinate system that is known", crs)) from error
    if system.is_geographic:
        flat = math.cos(math.radians(y0))
        per_degree = math.radians(1.0) * _RADIUS
        return Plane(
            lambda point: ((point[0] - x0) * flat * per_degree, (point[1] - y0) * per_degree), 0.0
        )
    meters = float(system.axis_info[0].unit_conversion_factor or 1.0)
    north = 0.0
    if system.is_projected:
        projection = Proj(system)
        longitude, latitude = projection(x0, y0, inverse=True)
        if math.isfinite(longitude) and math.isfinite(latitude):
            # the angle from true north to grid north, clockwise
            grid = projection.get_factors(longitude, latitude).meridian_convergence
            north = -math.radians(float(grid))
    return Plane(lambda point: ((point[0] - x0) * meters, (point[1] - y0) * meters), north)
