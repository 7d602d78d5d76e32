"""Layers of a GeoPackage, GeoJSON or shapefile read back, in the project's coordinate system."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from drainwright.errors import Fault, InputError, NotFoundError, StorageError
from drainwright.exchange.gis_writing import DRIVERS, LAYERS, Line


@dataclass(frozen=True, slots=True)
class Feature:
    """One feature: its attributes by name, empty ones left out, and its points."""

    told: Mapping[str, Any]
    points: Line


@dataclass(frozen=True, slots=True)
class MapLayer:
    """One layer of a map, its points in the coordinate system that was asked for."""

    name: str
    crs: str
    """The file's own coordinate system; "" where it names none."""
    features: tuple[Feature, ...]
    odd: int
    """Features whose geometry is neither a point nor one line: left out."""


def layer_names(path: Path) -> dict[str, Path]:
    """The layers of a map by name, with the file that holds each.

    A GeoPackage holds all of its own; of GeoJSON and shapefiles the file itself counts, or the
    files that `write_gis` made beside it, `NAME-laterals.shp` and so on.
    """
    _checked_suffix(path)
    if path.suffix.lower() == ".gpkg" and path.is_file():
        import pyogrio

        try:
            return {str(name): path for name, _ in pyogrio.list_layers(path)}
        except Exception as error:
            raise StorageError(f"{path}: the map can't be read: {error}") from error
    if path.is_file():
        ending = path.stem.rpartition("-")[2]
        return {ending if ending in LAYERS else path.stem: path}
    found = {name: path.with_name(f"{path.stem}-{name}{path.suffix}") for name in LAYERS}
    found = {name: file for name, file in found.items() if file.is_file()}
    if not found:
        raise NotFoundError(f"{path}: there is no such map")
    return found


def _checked_suffix(path: Path) -> None:
    if path.suffix.lower() not in DRIVERS:
        raise InputError(Fault("file", f"must end in {', '.join(DRIVERS)}", path.name))


def read_layer(path: Path, name: str, crs: str = "") -> MapLayer:
    """One layer with its points in `crs`, or in its own coordinate system where `crs` is ""."""
    _checked_suffix(path)
    try:
        import pyogrio.raw
    except ImportError as error:
        raise StorageError("maps need the extra “gis”: install drainwright[gis]") from error
    whole = path.suffix.lower() == ".gpkg"
    try:
        meta, _, shapes, columns = pyogrio.raw.read(path, layer=name if whole else None)
    except Exception as error:
        raise StorageError(f"{path}: the map can't be read: {error}") from error
    own = str(meta["crs"] or "")
    lines = _moved(_lines(shapes), own, crs)
    names = [str(one) for one in meta["fields"]]
    features = []
    for n, points in enumerate(lines):
        if points:
            values = zip(names, (_plain(column[n]) for column in columns), strict=True)
            told = {key: value for key, value in values if value is not None}
            features.append(Feature(told, points))
    return MapLayer(name, own, tuple(features), len(lines) - len(features))


def _plain(value: Any) -> Any:
    """A column's value as Python's own; None where it is empty."""
    value = value.item() if hasattr(value, "item") else value
    if value is None or value == "" or (isinstance(value, float) and math.isnan(value)):
        return None
    return value if isinstance(value, bool | int | float | str) else str(value)


def _lines(wkb: Any) -> list[Line]:
    """The points of each geometry; none for what is neither a point nor one line."""
    import numpy as np
    import shapely

    if wkb is None:
        return []
    shapes = shapely.force_2d(shapely.from_wkb(wkb))
    many = shapely.get_type_id(shapes) == shapely.GeometryType.MULTILINESTRING
    if many.any():
        shapes[many] = shapely.line_merge(shapes[many])
    kinds = shapely.get_type_id(shapes)
    single = many & (kinds == shapely.GeometryType.MULTIPOINT)
    if single.any():
        shapes[single] = shapely.get_geometry(shapes[single], 0)
    kept = np.isin(
        shapely.get_type_id(shapes), [shapely.GeometryType.POINT, shapely.GeometryType.LINESTRING]
    )
    points, owner = shapely.get_coordinates(shapes[kept], return_index=True)
    found: list[list[tuple[float, float]]] = [[] for _ in range(int(kept.sum()))]
    for at, (x, y) in zip(owner.tolist(), points.tolist(), strict=True):
        if math.isfinite(x) and math.isfinite(y):
            found[at].append((x, y))
    rest = iter(found)
    return [tuple(next(rest)) if one else () for one in kept.tolist()]


def _moved(lines: list[Line], own: str, crs: str) -> list[Line]:
    """The lines in another coordinate system; as they are where either is not known."""
    if not own or not crs or same_crs(own, crs):
        return lines
    import numpy as np
    from pyproj import Transformer

    flat = [point for line in lines for point in line]
    if not flat:
        return lines
    xs, ys = np.array(flat, dtype=float).T
    moved = iter(
        zip(
            *(
                one.tolist()
                for one in Transformer.from_crs(own, crs, always_xy=True).transform(xs, ys)
            ),
            strict=True,
        )
    )
    return [tuple(next(moved) for _ in line) for line in lines]


def same_crs(one: str, other: str) -> bool:
    """Whether two names mean one coordinate system; `InputError` for one that is not known."""
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        return bool(CRS.from_user_input(one).equals(other, ignore_axis_order=True))
    except CRSError as error:
        raise InputError(Fault("crs", "is no coordinate system that is known", one)) from error


def grid_note(own: str, crs: str) -> str:
    """A note where the best way from one to the other needs a datum grid that is not here."""
    from pyproj.transformer import TransformerGroup

    if not own or not crs or same_crs(own, crs):
        return ""
    if TransformerGroup(own, crs, always_xy=True).best_available:
        return ""
    return (
        f"The best conversion of {own} to {crs} needs a datum grid that is not installed here;"
        " the coordinates may be a few feet off."
    )


def geojson_of_layer(layer: MapLayer) -> bytes:
    """A layer as the table reader takes it: attributes as columns, geometry beside them."""
    from drainwright.exchange.forms import geojson_of

    return geojson_of(
        [
            {
                "type": "Feature",
                "properties": dict(one.told),
                "geometry": {"type": "LineString", "coordinates": [list(p) for p in one.points]}
                if len(one.points) > 1
                else {"type": "Point", "coordinates": list(one.points[0])},
            }
            for one in layer.features
        ]
    )
