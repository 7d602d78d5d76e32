"""A project's geometry as GeoPackage, GeoJSON or shapefiles, in its own coordinate system."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from drainwright.errors import Fault, InputError, StorageError
from drainwright.records.lateral import FarAccess, Lateral
from drainwright.records.project import MainSegment

DRIVERS = {".gpkg": "GPKG", ".geojson": "GeoJSON", ".shp": "ESRI Shapefile"}
LAYERS = ("segments", "laterals", "taps", "access_points", "liners", "collars")
_FIELDS = ("id", "segment", "street", "address", "stage", "outcome", "length_m")
"""At most ten letters, as shapefiles need; `length_m` is measured, in meters."""
_BUILT = ("installed", "accepted", "closed")


@dataclass(frozen=True, slots=True)
class Placed:
    """A lateral with what a map tells about it."""

    lateral: Lateral
    stage: str
    outcome: str
    collar: bool
    """Whether its work sheet has a collar."""


def write_gis(
    path: Path, segments: Iterable[MainSegment], laterals: Iterable[Placed], crs: str
) -> dict[str, int]:
    """Write every layer that holds something; features by layer.

    A GeoPackage holds all layers; GeoJSON and shapefiles get a file for each layer, named
    after it. What has no geometry is left out.
    """
    driver = DRIVERS.get(path.suffix.lower())
    if driver is None:
        raise InputError(Fault("file", f"must end in {', '.join(DRIVERS)}", path.name))
    if not crs:
        raise InputError(Fault("crs", "the project names no coordinate system", crs))
    layers = {name: list[tuple[Any, tuple[Any, ...]]]() for name in LAYERS}
    mains: dict[str, Sequence[tuple[float, float]]] = {}
    for segment in segments:
        mains[segment.key] = segment.geometry
        _add(layers["segments"], segment.geometry, _of_segment(segment))
    for one in laterals:
        _add_lateral(layers, one, mains.get(one.lateral.segment, ()))
    for name in LAYERS:
        if layers[name]:
            target = (
                path if driver == "GPKG" else path.with_name(f"{path.stem}-{name}{path.suffix}")
            )
            _write(target, driver, name, layers[name], crs)
    return {name: len(found) for name, found in layers.items() if found}


def _of_segment(segment: MainSegment) -> tuple[Any, ...]:
    return segment.key, segment.key, segment.street, "", "", "", segment.length


def _from_tap(
    line: Sequence[tuple[float, float]], main: Sequence[tuple[float, float]]
) -> Sequence[tuple[float, float]]:
    """The lateral's line beginning at the main, whichever way it was drawn."""
    import shapely

    if len(line) < 2 or len(main) < 2:
        return line
    street = shapely.LineString(main)
    first, last = (street.distance(shapely.Point(end)) for end in (line[0], line[-1]))
    return line[::-1] if last < first else line


def _add_lateral(
    layers: Mapping[str, list[Any]], one: Placed, main: Sequence[tuple[float, float]]
) -> None:
    lateral, line = one.lateral, _from_tap(one.lateral.geometry, main)
    whole = lateral.cleanout_distance
    told = (lateral.key, lateral.segment, lateral.street, lateral.address, one.stage, one.outcome)
    _add(layers["laterals"], line, (*told, whole))
    if not line:
        return
    _add(layers["taps"], line[:1], (*told, None))
    if one.collar:
        _add(layers["collars"], line[:1], (*told, None))
    if len(line) < 2:
        return
    if lateral.far_access in (FarAccess.OUTDOORS, FarAccess.INDOORS):
        _add(layers["access_points"], line[-1:], (*told, None))
    lined = lateral.lined_length or whole
    planned = one.stage == "designed" and one.outcome == "line"
    if (planned or one.stage in _BUILT) and lined:
        # by share of the length: the map's unit may be feet or degrees
        share = min(1.0, lined / whole) if whole else 1.0
        _add(layers["liners"], line, (*told, lined), share)


def _add(
    layer: list[Any], points: Sequence[tuple[float, float]], told: tuple[Any, ...], share: float = 1
) -> None:
    import shapely
    from shapely.ops import substring

    if len(points) > 1:
        shape: Any = shapely.LineString(points)
        shape = substring(shape, 0, share, normalized=True) if share < 1 else shape
        layer.append((shape, told))
    elif points:
        layer.append((shapely.Point(points[0]), told))


def _write(path: Path, driver: str, name: str, found: list[Any], crs: str) -> None:
    try:
        import pyogrio.raw
    except ImportError as error:
        raise StorageError("maps need the extra “gis”: install drainwright[gis]") from error
    import numpy as np
    import shapely

    kinds = {shape.geom_type for shape, _ in found}
    if driver == "ESRI Shapefile" and len(kinds) > 1:  # it holds one sort of geometry
        found = [one for one in found if one[0].geom_type == "LineString"]
        kinds = {"LineString"}
    columns = list(zip(*(told for _, told in found), strict=True))
    texts = [np.array(column, dtype=object) for column in columns[:-1]]
    length = np.array([np.nan if one is None else one for one in columns[-1]], dtype=float)
    try:
        pyogrio.raw.write(
            str(path),
            geometry=shapely.to_wkb([shape for shape, _ in found]),
            field_data=[*texts, length],
            fields=list(_FIELDS),
            layer=name if driver != "ESRI Shapefile" else path.stem,
            driver=driver,
            geometry_type=kinds.pop() if len(kinds) == 1 else "Unknown",
            crs=crs,
        )
    except Exception as error:
        raise StorageError(f"{path}: the map can't be written: {error}") from error


def missing_grids(crs: str) -> str:
    """A note where the best way from `crs` to WGS 84 needs a datum grid that is not here."""
    from pyproj.exceptions import CRSError
    from pyproj.transformer import TransformerGroup

    try:
        group = TransformerGroup(crs, "EPSG:4326")
    except CRSError as error:
        raise InputError(Fault("crs", "is no coordinate system that is known", crs)) from error
    if group.best_available:
        return ""
    return (
        f"The best conversion of {crs} to WGS 84 needs a datum grid that is not installed here;"
        " coordinates are written unconverted, a viewer may show them a few feet off."
    )
