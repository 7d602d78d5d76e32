"""Lists in the forms in which owners and crews send them."""

from __future__ import annotations

import datetime as dt
import io
from typing import Any

import pytest
import xlsxwriter

from drainwright.exchange.tables import TableOptions, TableReading, read_table
from drainwright.records.lateral import Lateral
from drainwright.units import FOOT, INCH

ODD = """Town of Example - sewer laterals
printed 2026

Lat ID;Main;Tap Footage (ft);Clock;Site Address;Dia.;Mat'l;Length;Depth at main
;;;;;in;;ft;ft
L-1;M1;12,5;2;1 Müller St;4;VCP;42;9,5

Lat ID;Main;Tap Footage (ft);Clock;Site Address;Dia.;Mat'l;Length;Depth at main
L-2;M1;22,5 m;10;2 Oak St;6";orangeburg;12'-6";1.009,5 mm
"""


def clean(reading: TableReading) -> list[Any]:
    assert [str(fault) for fault in reading.faults] == []
    return list(reading.records)


@pytest.mark.parametrize(
    ("encoding", "newline"),
    [("utf-8", "\n"), ("utf-8-sig", "\r\n"), ("cp1252", "\r\n"), ("utf-16", "\n"),
     ("utf-16-le", "\n"), ("utf-8", "\r")],
)  # fmt: skip
def test_titles_units_row_decimal_comma_and_a_repeated_header(encoding: str, newline: str) -> None:
    data = ODD.replace("\n", newline).encode(encoding)
    first, second = clean(read_table("laterals", data, "f"))
    assert first.address == "1 Müller St"
    assert first.tap_distance == pytest.approx(12.5 * FOOT)
    assert (first.inside_diameter, first.material) == (pytest.approx(4 * INCH), "vitrified clay")
    assert first.tap_depth == pytest.approx(9.5 * FOOT)
    assert second.tap_distance == pytest.approx(22.5)
    assert (second.inside_diameter, second.material) == (pytest.approx(6 * INCH), "pitch fibre")
    assert second.lengths[0].reading == pytest.approx(12.5 * FOOT)
    assert second.tap_depth == pytest.approx(1.0095)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_the_delimiter_is_found(delimiter: str) -> None:
    rows = ["id,main,tap [ft],notes", 'L-1,M1,12.5,"a; b|c"', "L-2,M1,13.5,x"]
    data = "\n".join(rows).replace(",", delimiter).encode()
    assert [one.key for one in clean(read_table("laterals", data, "f"))] == ["L-1", "L-2"]


def workbook() -> bytes:
    buffer = io.BytesIO()
    book = xlsxwriter.Workbook(buffer, {"in_memory": True})
    book.add_worksheet("Cover").write(0, 0, "Laterals of two districts")
    page = book.add_worksheet("North")
    page.merge_range(0, 0, 0, 5, "North district")
    page.write_row(2, 0, ["Lateral ID", "Main", "Tap (ft)", "Dia (in)", "Street", "Clock"])
    page.write_row(3, 0, [101, "M1", "12.5", "4"])
    page.write_row(4, 0, [102, "M1"])
    page.write_formula(4, 2, "=C4+10", None, 22.5)
    page.write(4, 3, 6)
    page.write(4, 5, 3)
    page.merge_range(3, 4, 4, 4, "Oak Street")
    page = book.add_worksheet("South")
    page.write_row(0, 0, ["Lateral ID", "Main", "Tap (m)", "Dia (mm)"])
    page.write_row(1, 0, ["S-1", "M2", 3.5, 100])
    book.close()
    return buffer.getvalue()


def test_a_workbook_with_sheets_merged_cells_text_numbers_and_formulas() -> None:
    reading = read_table("laterals", workbook(), "f.xlsx")
    one, two, three = clean(reading)
    assert (one.key, one.street, two.street) == ("101", "Oak Street", "Oak Street")
    assert one.tap_distance == pytest.approx(12.5 * FOOT)
    assert two.tap_distance == pytest.approx(22.5 * FOOT)
    assert (two.tap_clock, three.tap_distance, three.inside_diameter) == (3.0, 3.5, 0.1)
    assert reading.places == (("North", 4), ("North", 5), ("South", 2))
    assert [notice.sheet for notice in reading.notices] == ["Cover"]


def test_dates_in_their_many_ways() -> None:
    head = "Lateral,Way,Reading (ft),Date\n"
    days = ["2026-04-02", "2.4.2026", "4/2/26", "46114", "2 Apr 2026", "April 2, 2026"]
    # day 46114 of a spreadsheet: 2026-01-01 is 46023 there, and April 2 is 91 days later
    rows = [f"L-{n},tape,40,{day}" for n, day in enumerate(days)]
    data = (head + "\n".join(f'{r[: r.rindex(",40,") + 4]}"{r[r.rindex(",40,") + 4 :]}"'
                             for r in rows)).encode()  # fmt: skip
    found = clean(read_table("measurements", data, "f", TableOptions(date_order="mdy")))
    assert {one.measurement.on for one in found} == {dt.date(2026, 4, 2)}
    assert len(found) == len(days)


GEO = b"""{"type": "FeatureCollection", "features": [
{"type": "Feature", "geometry": {"type": "MultiLineString",
 "coordinates": [[[0, 0], [1, 1]], [[2, 2], [1, 1]]]},
 "properties": {"LAT_ID": "L-1", "MAIN": "M1", "TAP_FT": 12.5, "SIZE": "6\\"", "MAT": "CI"}},
{"type": "Feature", "geometry": null,
 "properties": {"LAT_ID": "L-2", "MAIN": "M1", "TAP_FT": 22.5, "SIZE": "100 mm",
  "MAT": "clay"}}]}"""


def test_geojson_with_sizes_in_inches_and_a_line_in_parts() -> None:
    one, two = clean(read_table("laterals", GEO, "f.geojson"))
    assert one == Lateral(
        "L-1", "M1", 12.5 * FOOT, inside_diameter=one.inside_diameter, material="cast iron",
        geometry=((0.0, 0.0), (1.0, 1.0), (2.0, 2.0)),
    )  # fmt: skip
    assert one.inside_diameter == pytest.approx(6 * INCH)
    assert (two.inside_diameter, two.material, two.geometry) == (0.1, "vitrified clay", ())


@pytest.mark.parametrize(
    ("word", "material"),
    [("VCP", "vitrified clay"), ("Clay", "vitrified clay"), ("C.I.", "cast iron"), ("pvc", "PVC"),
     ("Orangeburg", "pitch fibre"), ("SDR-35", "PVC"), ("unknown", ""), ("bamboo", "bamboo")],
)  # fmt: skip
def test_words_for_materials(word: str, material: str) -> None:
    data = f"id,main,tap [ft],material\nL-1,M1,3,{word}\n".encode()
    assert clean(read_table("laterals", data, "f"))[0].material == material


def test_the_header_says_what_the_rows_are() -> None:
    tubes = b"Tube,Diameter (in),Wall (mm),Largest bend (deg)\nT-1,4,3,45\n"
    assert read_table("", tubes, "f").kind == "tubes"
    assert read_table("", GEO, "f").kind == "laterals"


def test_what_was_left_out_has_the_form_of_the_file() -> None:
    bad = GEO.replace(b"22.5", b'"2x"')
    left = read_table("laterals", bad, "f").left_out
    assert [r.key for r in clean(read_table("laterals", left.replace(b"2x", b"22.5"), "f"))] == [
        "L-2"
    ]


@pytest.mark.parametrize(
    ("formula", "text"), [("=1/0", "#DIV/0!"), ("=NA()", "#N/A"), ("=A9", "#REF!")]
)
def test_a_formula_with_an_error_is_a_fault_with_its_text(formula: str, text: str) -> None:
    buffer = io.BytesIO()
    book = xlsxwriter.Workbook(buffer, {"in_memory": True})
    book.add_worksheet("Cover & more")
    page = book.add_worksheet("North & East")
    page.write_row(0, 0, ["Lateral ID", "Main", "Tap (ft)", "Dia (in)", "Address"])
    page.write_row(1, 0, ["L-1", "M1", 12.5])
    page.write_formula(1, 3, formula, None, text)
    page.write_row(2, 0, ["L-2", "M1", 22.5, 4])
    page.write_formula(2, 4, formula, None, text)
    book.close()
    reading = read_table("laterals", buffer.getvalue(), "f.xlsx")
    assert reading.records == ()
    told = [(fault.sheet, fault.row, fault.column) for fault in reading.faults]
    assert told == [("North & East", 2, "Dia (in)"), ("North & East", 3, "Address")]
    assert all(text in fault.message and fault.value == text for fault in reading.faults)
