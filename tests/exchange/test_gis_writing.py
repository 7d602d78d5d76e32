"""Maps: read back by a GIS library and, for GeoPackage, by SQL of its tables."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pyogrio
import pytest
import shapely

from drainwright.errors import InputError
from drainwright.exchange.gis_writing import Placed, write_gis
from drainwright.records.lateral import FarAccess, Lateral
from drainwright.records.project import MainSegment

CRS = "EPSG:26915"
SEGMENT = MainSegment("S-1", "MH 1", "MH 2", 0.2, 100.0, geometry=((0.0, 0.0), (100.0, 0.0)))
LINED = Lateral(
    "L-1", "S-1", 30.0, geometry=((30.0, 20.0), (30.0, 0.0)), cleanout_distance=20.0,
    lined_length=5.0, far_access=FarAccess.OUTDOORS, address="5 Élm",
)  # fmt: skip
LISTED = Lateral("L-2", "S-1", 50.0, geometry=((50.0, 0.0), (50.0, 9.0)))
BARE = Lateral("L-3", "S-1", 60.0)
PLACED = (
    Placed(LINED, "designed", "line", collar=True),
    Placed(LISTED, "listed", "", collar=False),
    Placed(BARE, "listed", "", collar=False),
)
WANTED = {"segments": 1, "laterals": 2, "taps": 2, "access_points": 1, "liners": 1, "collars": 1}


@pytest.mark.independent
@pytest.mark.parametrize("suffix", [".gpkg", ".geojson", ".shp"])
def test_a_gis_library_reads_the_same_layers(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"oak{suffix}"
    assert write_gis(path, [SEGMENT], PLACED, CRS) == WANTED
    for layer, number in WANTED.items():
        file = path if suffix == ".gpkg" else tmp_path / f"oak-{layer}{suffix}"
        name = layer if suffix == ".gpkg" else None
        meta, _, shapes, fields = pyogrio.raw.read(file, layer=name)
        assert len(shapes) == number
        assert meta["crs"] == CRS
        if layer == "liners":  # 5 m of 20 m, from the tap, though drawn the other way
            line = shapely.from_wkb(shapes[0])
            assert list(line.coords) == [(30.0, 0.0), (30.0, 5.0)]
            told = dict(zip(meta["fields"], (one[0] for one in fields), strict=True))
            assert told["address"] == "5 Élm"
            assert told["length_m"] == 5.0


@pytest.mark.independent
def test_the_tables_of_a_geopackage(tmp_path: Path) -> None:
    path = tmp_path / "oak.gpkg"
    write_gis(path, [SEGMENT], PLACED, CRS)
    with closing(sqlite3.connect(path)) as connection:
        contents = connection.execute("SELECT table_name, srs_id FROM gpkg_contents").fetchall()
        assert sorted(contents) == sorted((name, 26915) for name in WANTED)
        kinds = dict(
            connection.execute("SELECT table_name, geometry_type_name FROM gpkg_geometry_columns")
        )
        assert kinds["liners"] == "LINESTRING"
        assert kinds["taps"] == "POINT"
        assert connection.execute("SELECT id, stage FROM laterals ORDER BY id").fetchall() == [
            ("L-1", "designed"),
            ("L-2", "listed"),
        ]
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_what_a_map_must_have(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="must end in"):
        write_gis(tmp_path / "oak.dxf", [], [], CRS)
    with pytest.raises(InputError, match="names no coordinate system"):
        write_gis(tmp_path / "oak.gpkg", [], [], "")
