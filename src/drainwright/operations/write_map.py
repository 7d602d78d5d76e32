"""A project's map as GIS files (read)."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from drainwright.errors import StorageError
from drainwright.exchange.gis_writing import Placed, missing_grids, write_gis
from drainwright.records.lateral import Lateral
from drainwright.records.project import MainSegment, Project
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import RecordStore


@dataclass(frozen=True, slots=True)
class Map:
    """Features by layer, and a note on datum grids; "" for none."""

    layers: dict[str, int]
    note: str


def write_map(store: RecordStore, project: Project, path: Path) -> Map:
    """Segments, laterals, taps, access points, liners and collars; replaces no file."""
    if path.exists():
        raise StorageError(f"{path}: it is there already; choose another name")
    with store.read() as session:
        collars = {
            one.key
            for one in session.every(project.key, WorkSheet)
            if any(figure.key.startswith("collar") for figure in one.record.figures)
        }
        segments = [one.record for one in session.every(project.key, MainSegment)]
        placed = (
            Placed(one.record, one.stage, one.fitness, one.key in collars)
            for one in session.every(project.key, Lateral)
        )
        layers = write_gis(path, segments, placed, project.crs)
    return Map(layers, missing_grids(project.crs))
