"""A map that was written for a GIS, read back: geometry as it was edited there (write).

Segments and laterals get the file's lines. What else a map shows follows from other documents
and is compared, not stored: taps and access points lie at the ends of the lines, liners and
collars come from work sheets.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from drainwright.errors import Fault, InputError
from drainwright.exchange.gis_reading import (
    MapLayer,
    geojson_of_layer,
    grid_note,
    layer_names,
    read_layer,
)
from drainwright.exchange.gis_writing import LAYERS, LINED_STAGES
from drainwright.records.lateral import Lateral
from drainwright.records.project import MainSegment, Project
from drainwright.storage.protocol import ReadSession, RecordStore

NEAR = 0.5
"""How far a tap may lie off its line's end before it is told, in the map's own unit."""


@dataclass(frozen=True, slots=True)
class MapRead:
    """What reading a map did, or would do."""

    layers: Mapping[str, int]
    """Features by layer."""
    changed: tuple[str, ...]
    """Laterals and segments whose geometry is another one now."""
    unchanged: int
    unknown: tuple[str, ...]
    """Ids that the project does not hold: not stored."""
    notes: tuple[str, ...]
    crs: str
    stored: bool


@dataclass(slots=True)
class _Plan:
    """What is to be stored and told."""

    puts: list[tuple[Any, int | None]] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)
    unchanged: int = 0
    unknown: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read_map(
    store: RecordStore,
    project: Project,
    path: Path,
    *,
    by: str,
    at: dt.datetime,
    reason: str = "map read",
    preview: bool = False,
) -> MapRead:
    """Take the geometry of segments and laterals from a map; all of it or nothing.

    Coordinates are converted to the project's coordinate system; a project without one takes
    the map's. Raises `InputError` where the map has none of our layers.
    """
    files = {name: file for name, file in layer_names(path).items() if name in LAYERS}
    if not files:
        raise InputError(Fault("file", f"has none of the layers {', '.join(LAYERS)}", path.name))
    layers = {name: read_layer(file, name, project.crs) for name, file in files.items()}
    own = next((layer.crs for layer in layers.values() if layer.crs), "")
    crs = project.crs or own
    with store.read() as session:
        plan = _planned(session, project.key, layers)
    if not project.crs and own:
        plan.puts.append((replace(project, crs=own), None))
    plan.notes += _about_crs(path, layers, own, project.crs)
    if plan.puts and not preview:
        with store.write(by=by, at=at, origin=path.name, reason=reason) as writing:
            writing.put_many(project.key, plan.puts)
    return MapRead(
        {name: len(layer.features) for name, layer in layers.items()},
        tuple(plan.changed), plan.unchanged, tuple(plan.unknown), tuple(plan.notes), crs,
        stored=bool(plan.puts) and not preview,
    )  # fmt: skip


def _about_crs(path: Path, layers: Mapping[str, MapLayer], own: str, crs: str) -> Iterator[str]:
    if not own:
        taken = f"; they are taken as {crs}, the project's" if crs else ""
        yield f"{path.name} does not say in which coordinate system its coordinates are{taken}."
    note = grid_note(own, crs)
    if note:
        yield note
    for name, layer in layers.items():
        if layer.odd:
            yield f"{name}: {layer.odd} features are neither a point nor one line; left out."


def _planned(session: ReadSession, project: str, layers: Mapping[str, MapLayer]) -> _Plan:
    plan = _Plan()
    segments = {one.key: one for one in session.every(project, MainSegment)}
    laterals = {one.key: one for one in session.every(project, Lateral)}
    for name, known in (("segments", segments), ("laterals", laterals)):
        for feature in layers[name].features if name in layers else ():
            key = str(feature.told.get("id", ""))
            stored = known.get(key)
            if stored is None:
                plan.unknown.append(key or f"a feature of {name} without an id")
            elif stored.record.geometry in (feature.points, feature.points[::-1]):
                plan.unchanged += 1
            else:
                plan.changed.append(key)
                record = replace(stored.record, geometry=feature.points)
                plan.puts.append((record, stored.revision.number))
    lines = {key: one.record.geometry for key, one in laterals.items()}
    if "laterals" in layers:
        lines |= {str(f.told.get("id", "")): f.points for f in layers["laterals"].features}
    plan.notes += _off_their_lines(layers, lines)
    lined = {
        key for key, one in laterals.items() if one.stage in LINED_STAGES and one.fitness == "line"
    }
    plan.notes += _other_liners(layers, lined)
    return plan


def _off_their_lines(layers: Mapping[str, MapLayer], lines: Mapping[str, Any]) -> Iterator[str]:
    """Taps, collars and access points that are not at an end of their lateral's line."""
    for name in ("taps", "collars", "access_points"):
        for feature in layers[name].features if name in layers else ():
            key = str(feature.told.get("id", ""))
            line = lines.get(key)
            if not line:
                continue
            off = min(math.dist(feature.points[0], end) for end in (line[0], line[-1]))
            if off > NEAR:
                yield (
                    f"{key}: {name.replace('_', ' ')[:-1]} is {off:.1f} units of the map off the"
                    " ends of its lateral; move the line's end instead."
                )


def _other_liners(layers: Mapping[str, MapLayer], lined: set[str]) -> Iterator[str]:
    if "liners" not in layers:
        return
    drawn = {str(one.told.get("id", "")) for one in layers["liners"].features}
    for key in sorted(drawn - lined):
        yield f"{key}: the map has a liner, the record has no work sheet that says `line`."


def table_of_map(path: Path, layer: str, project: Project) -> tuple[bytes, tuple[str, ...]]:
    """One layer of an owner's map as a table to read with `read_file`, and notes about it.

    `layer` may be left empty where the file has one layer only.
    """
    files = layer_names(path)
    if not layer and len(files) > 1:
        words = f"has several layers ({', '.join(files)}); name one"
        raise InputError(Fault("layer", words, path.name))
    name = layer or next(iter(files), "")
    if name not in files:
        raise InputError(Fault("layer", f"is none of {', '.join(files)}", layer))
    found = read_layer(files[name], name, project.crs)
    notes = tuple(_about_crs(path, {name: found}, found.crs, project.crs))
    return geojson_of_layer(found), notes
