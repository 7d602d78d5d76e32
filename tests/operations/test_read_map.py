"""A map written, edited with a GIS library, and read back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pyogrio.raw
import pytest
import shapely

from drainwright.errors import InputError, NotFoundError
from drainwright.operations.read_map import read_map, table_of_map
from drainwright.operations.write_map import write_map
from drainwright.records.lateral import FarAccess, Lateral
from drainwright.records.project import MainSegment, Project
from drainwright.storage import RecordStore, open_store
from tests.storage.samples import NOON, hours, project, work_sheet, writing

CRS = "EPSG:26915"
ROOT = (442000.0, 4985000.0)
SUFFIXES = (".gpkg", ".geojson", ".shp")


def at(x: float, y: float) -> tuple[float, float]:
    return ROOT[0] + x, ROOT[1] + y


SEGMENT = MainSegment("S-1", "MH 1", "MH 2", 0.2, 100.0, geometry=(at(0, 0), at(100, 0)))
LATERAL = Lateral(
    "L-1", "S-1", 30.0, geometry=(at(30, 0), at(30.5, 20)), cleanout_distance=20.0,
    lined_length=5.0, far_access=FarAccess.OUTDOORS, address="5 Élm",
)  # fmt: skip
OTHER = Lateral("L-2", "S-1", 50.0, geometry=(at(50, 9), at(50, 0)))  # drawn toward the main


@pytest.fixture
def oak() -> Project:
    return replace(project(), crs=CRS)


@pytest.fixture
def job(tmp_path: Path, oak: Project) -> RecordStore:
    store = open_store(tmp_path / "job.drainwright", create=True)
    with writing(store) as session:
        session.put("oak", oak, expected=0)
        session.put_many("oak", [(one, 0) for one in (SEGMENT, LATERAL, OTHER)])
        session.put("oak", work_sheet(LATERAL), expected=0)
    return store


def lateral(store: RecordStore, key: str) -> Lateral:
    with store.read() as session:
        return session.get("oak", Lateral, key).record


def file_of(path: Path, layer: str) -> Path:
    return path if path.suffix == ".gpkg" else path.with_name(f"{path.stem}-{layer}{path.suffix}")


def edit(path: Path, layer: str, crs: str, move: float) -> None:
    """Another program's edit: every feature of a layer moved north, written anew in `crs`."""
    file = file_of(path, layer)
    own = layer if path.suffix == ".gpkg" else None
    meta, _, shapes, columns = pyogrio.raw.read(file, layer=own)
    moved = shapely.transform(shapely.from_wkb(shapes), lambda xy: xy + np.array([0.0, move]))
    if crs != CRS:
        from pyproj import Transformer

        way = Transformer.from_crs(CRS, crs, always_xy=True)
        moved = shapely.transform(
            moved, lambda xy: np.column_stack(way.transform(xy[:, 0], xy[:, 1]))
        )
    pyogrio.raw.write(
        file, geometry=shapely.to_wkb(moved), field_data=columns, fields=meta["fields"],
        layer=layer if own else file.stem, geometry_type=meta["geometry_type"], crs=crs,
        driver={".gpkg": "GPKG", ".geojson": "GeoJSON", ".shp": "ESRI Shapefile"}[path.suffix],
    )  # fmt: skip


@pytest.mark.independent
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_what_was_written_comes_back_the_same(
    suffix: str, job: RecordStore, oak: Project, tmp_path: Path
) -> None:
    path = tmp_path / f"oak{suffix}"
    written = write_map(job, oak, path)
    done = read_map(job, oak, path, by="Ann", at=hours(1))
    assert done.layers == written.layers
    assert done.layers.keys() >= {"laterals", "taps", "access_points", "liners"}
    assert (done.changed, done.unchanged, done.unknown, done.notes) == ((), 3, (), ())
    assert done.crs == CRS
    assert not done.stored
    with job.read() as session:
        assert session.revision_of("oak", Lateral, "L-1") == 1


@pytest.mark.independent
@pytest.mark.parametrize("suffix", SUFFIXES)
@pytest.mark.parametrize("crs", [CRS, "EPSG:4326"])
def test_an_edit_in_a_gis_is_a_revision(
    suffix: str, crs: str, job: RecordStore, oak: Project, tmp_path: Path
) -> None:
    path = tmp_path / f"oak{suffix}"
    write_map(job, oak, path)
    edit(path, "laterals", crs, 2.0)
    looked = read_map(job, oak, path, by="Ann", at=hours(1), preview=True)
    assert not looked.stored
    assert lateral(job, "L-1") == LATERAL
    done = read_map(job, oak, path, by="Ann", at=hours(1), reason="moved")
    assert done.changed == looked.changed == ("L-1", "L-2")
    assert done.stored
    now = lateral(job, "L-1")
    assert now.geometry == pytest.approx(np.add(LATERAL.geometry, (0.0, 2.0)), abs=1e-3)
    assert replace(now, geometry=()) == replace(LATERAL, geometry=())
    # the taps were not moved with them
    assert sum("tap is 2.0 units" in note for note in done.notes) == 2
    with job.read() as session:
        last = session.history("oak", Lateral, "L-1")[-1]
    assert (last.by, last.origin, last.reason) == ("Ann", path.name, "moved")


def test_a_project_without_a_coordinate_system_takes_the_map_s(
    job: RecordStore, oak: Project, tmp_path: Path
) -> None:
    path = tmp_path / "oak.gpkg"
    write_map(job, oak, path)
    bare = replace(oak, crs="")
    with writing(job, hours(1)) as session:
        session.put("oak", bare, expected=1)
    done = read_map(job, bare, path, by="Ann", at=hours(2))
    assert done.crs == CRS
    with job.read() as session:
        assert session.get("oak", Project, "oak").record.crs == CRS


def test_what_the_project_does_not_hold_is_told(
    job: RecordStore, oak: Project, tmp_path: Path
) -> None:
    path = tmp_path / "oak.gpkg"
    write_map(job, oak, path)
    with writing(job, hours(1)) as session:
        session.withdraw("oak", Lateral, "L-2", expected=1)
    done = read_map(job, oak, path, by="Ann", at=hours(2))
    assert done.unknown == ("L-2",)
    with pytest.raises(NotFoundError, match="no such map"):
        read_map(job, oak, tmp_path / "none.shp", by="Ann", at=NOON)
    with pytest.raises(InputError, match="must end in"):
        read_map(job, oak, tmp_path / "none.dxf", by="Ann", at=NOON)


def test_a_datum_grid_that_is_missing_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    from pyproj import transformer

    from drainwright.exchange.gis_reading import grid_note

    class Group:
        best_available = False

        def __init__(self, *names: object, **_: object) -> None:
            self.names = names

    assert grid_note(CRS, CRS) == ""
    monkeypatch.setattr(transformer, "TransformerGroup", Group)
    assert "EPSG:4267 to EPSG:26915 needs a datum grid" in grid_note("EPSG:4267", CRS)


@pytest.mark.parametrize("suffix", [".gpkg", ".shp"])
def test_an_owner_s_map_is_read_as_a_table(suffix: str, oak: Project, tmp_path: Path) -> None:
    import datetime as dt

    from drainwright.operations.read_files import ReadRequest, read_file

    path = tmp_path / f"sewer{suffix}"
    pyogrio.raw.write(
        path, geometry=shapely.to_wkb(shapely.linestrings([[at(10, 0), at(10, 12)]])),
        field_data=[np.array(["N-1"], dtype=object), np.array(["S-1"], dtype=object),
                    np.array([33.0]), np.array(["4 in"], dtype=object)],
        fields=["lat_id", "main", "tap_ft", "dia"], layer="pipes", geometry_type="LineString",
        crs=CRS, driver="GPKG" if suffix == ".gpkg" else "ESRI Shapefile",
    )  # fmt: skip
    data, notes = table_of_map(path, "", oak)
    assert notes == ()
    store = open_store(tmp_path / "new.drainwright", create=True)
    with writing(store) as session:
        session.put("oak", oak, expected=0)
        session.put("oak", SEGMENT, expected=0)
    mapping = b"""kind = "laterals"
[columns]
lat_id = "lateral"
main = "main segment"
tap_ft = { field = "tap distance", unit = "ft" }
dia = "inside diameter"
"""
    request = ReadRequest(data, path.name, "laterals", mapping=mapping)
    done = read_file(store, "oak", request, by="Ann", at=NOON, today=dt.date(2026, 5, 4))
    assert done.faults == ()
    got = lateral(store, "N-1")
    assert got.geometry == (at(10, 0), at(10, 12))
    assert got.tap_distance == pytest.approx(33.0 * 0.3048)
    with pytest.raises(InputError, match="is none of"):
        table_of_map(path, "roads", oak)
