"""A project's geometry as GeoPackage, GeoJSON or shapefiles, in its own coordinate system."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, pairwise
from pathlib import Path
from typing import Any

from drainwright.errors import Fault, InputError, StorageError
from drainwright.records.lateral import FarAccess, Lateral
from drainwright.records.project import MainSegment, Point

DRIVERS = {".gpkg": "GPKG", ".geojson": "GeoJSON", ".shp": "ESRI Shapefile"}
LAYERS = ("segments", "laterals", "taps", "access_points", "liners", "collars")
LINED_STAGES = ("designed", "scheduled", "installed", "accepted", "closed")
Line = tuple[Point, ...]
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


@dataclass(slots=True)
class Layer:
    """Features on their way into one layer: points of each, and what is told of it."""

    points: list[Line]
    told: list[tuple[Any, ...]]

    def add(self, points: Line, told: tuple[Any, ...]) -> None:
        """Add a feature, unless it has no points."""
        if points:
            self.points.append(points)
            self.told.append(told)


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
    layers = {name: Layer([], []) for name in LAYERS}
    mains: dict[str, Line] = {}
    for segment in segments:
        mains[segment.key] = segment.geometry
        layers["segments"].add(segment.geometry, _of_segment(segment))
    drawn = [one for one in laterals if one.lateral.geometry]
    for one, line in zip(drawn, _from_taps(drawn, mains), strict=True):
        _add_lateral(layers, one, line)
    for name in LAYERS:
        if layers[name].points:
            target = (
                path if driver == "GPKG" else path.with_name(f"{path.stem}-{name}{path.suffix}")
            )
            write_layer(target, driver, name, layers[name], crs)
    return {name: len(found.points) for name, found in layers.items() if found.points}


def _of_segment(segment: MainSegment) -> tuple[Any, ...]:
    return segment.key, segment.key, segment.street, "", "", "", segment.length


def _from_taps(drawn: Sequence[Placed], mains: Mapping[str, Line]) -> list[Line]:
    """The laterals' lines beginning at the main, whichever way they were drawn."""
    import numpy as np
    import shapely

    lines: list[Line] = [one.lateral.geometry for one in drawn]
    asked = [
        n
        for n, one in enumerate(drawn)
        if len(lines[n]) > 1 and len(mains.get(one.lateral.segment, ())) > 1
    ]
    if not asked:
        return lines
    keys = sorted({drawn[n].lateral.segment for n in asked})
    streets = dict(zip(keys, _shapes([mains[key] for key in keys]), strict=True))
    beside = [streets[drawn[n].lateral.segment] for n in asked]
    first, last = (
        shapely.distance(beside, shapely.points(np.array([lines[n][end] for n in asked])))
        for end in (0, -1)
    )
    for n, turned in zip(asked, last < first, strict=True):
        if turned:
            lines[n] = lines[n][::-1]
    return lines


def _add_lateral(layers: Mapping[str, Layer], one: Placed, line: Line) -> None:
    lateral = one.lateral
    whole = lateral.cleanout_distance
    told = (lateral.key, lateral.segment, lateral.street, lateral.address, one.stage, one.outcome)
    layers["laterals"].add(line, (*told, whole))
    layers["taps"].add(line[:1], (*told, None))
    if one.collar:
        layers["collars"].add(line[:1], (*told, None))
    if len(line) < 2:
        return
    if lateral.far_access in (FarAccess.OUTDOORS, FarAccess.INDOORS):
        layers["access_points"].add(line[-1:], (*told, None))
    lined = lateral.lined_length or whole
    if one.stage in LINED_STAGES and one.outcome == "line" and lined:
        # by share of the length: the map's unit may be feet or degrees
        share = min(1.0, lined / whole) if whole else 1.0
        layers["liners"].add(_beginning(line, share), (*told, lined))


def _beginning(line: Line, share: float) -> Line:
    """The first `share` of a line's length."""
    if share >= 1:
        return line
    left = share * sum(math.dist(a, b) for a, b in pairwise(line))
    kept = [line[0]]
    for a, b in pairwise(line):
        length = math.dist(a, b)
        if length >= left:
            at = left / length if length else 0.0
            return (*kept, (a[0] + at * (b[0] - a[0]), a[1] + at * (b[1] - a[1])))
        kept.append(b)
        left -= length
    return tuple(kept)


def _shapes(lines: Sequence[Line]) -> Any:
    """Lines of two points or more as geometries, all at once."""
    import numpy as np
    import shapely

    flat = np.fromiter(chain.from_iterable(chain.from_iterable(lines)), dtype=float)
    return shapely.linestrings(
        flat.reshape(-1, 2), indices=np.repeat(np.arange(len(lines)), [len(one) for one in lines])
    )


def write_layer(path: Path, driver: str, name: str, layer: Layer, crs: str) -> None:
    """Write one layer into a file, beside the layers that are in it."""
    try:
        import pyogrio.raw
    except ImportError as error:
        raise StorageError("maps need the extra “gis”: install drainwright[gis]") from error
    import numpy as np
    import shapely

    is_line = np.array([len(points) > 1 for points in layer.points])
    if driver == "ESRI Shapefile" and is_line.any():  # it holds one sort of geometry
        layer = _only_lines(layer)
        is_line = np.ones(len(layer.points), dtype=bool)
    shapes = np.empty(len(layer.points), dtype=object)
    if is_line.any():
        shapes[is_line] = _shapes([one for one in layer.points if len(one) > 1])
    if not is_line.all():
        alone = [one[0] for one in layer.points if len(one) == 1]
        shapes[~is_line] = shapely.points(np.array(alone, dtype=float))
    columns = list(zip(*layer.told, strict=True))
    texts = [np.array(column, dtype=object) for column in columns[:-1]]
    length = np.array([np.nan if one is None else one for one in columns[-1]], dtype=float)
    kind = "LineString" if is_line.all() else "Unknown" if is_line.any() else "Point"
    try:
        pyogrio.raw.write(
            str(path),
            geometry=shapely.to_wkb(shapes),
            field_data=[*texts, length],
            fields=list(_FIELDS),
            layer=name if driver != "ESRI Shapefile" else path.stem,
            driver=driver,
            geometry_type=kind,
            crs=crs,
            encoding="UTF-8" if driver == "ESRI Shapefile" else None,
        )
    except Exception as error:
        raise StorageError(f"{path}: the map can't be written: {error}") from error


def _only_lines(layer: Layer) -> Layer:
    kept = [n for n, points in enumerate(layer.points) if len(points) > 1]
    return Layer([layer.points[n] for n in kept], [layer.told[n] for n in kept])


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
