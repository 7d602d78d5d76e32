"""The register read back by another library: types, units, no formulas."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile

import pytest
from python_calamine import CalamineWorkbook

from drainwright.exchange.register import Entry, write_register
from drainwright.units import UnitSystem
from tests.storage.samples import lateral, project, work_sheet

LATERAL = lateral("L-1", address="=1+1", inside_diameter=0.1016, tap_distance=30.48)


@pytest.mark.independent
@pytest.mark.parametrize(
    ("units", "tap", "diameter"),
    # 30.48 m = 100 ft, 0.1016 m = 4 in: the international foot and inch are exact
    [
        (UnitSystem.US, ("[ft]", 100.0), ("[in]", 4.0)),
        (UnitSystem.SI, ("[m]", 30.48), ("[mm]", 101.6)),
    ],
)
def test_columns_are_typed(
    units: UnitSystem, tap: tuple[str, float], diameter: tuple[str, float]
) -> None:
    sheet = work_sheet(LATERAL)
    entries = [
        Entry(LATERAL, "designed", "line", 1, sheet, 2),
        Entry(lateral("L-2"), "listed", "", 1, None, 0),
    ]
    book = CalamineWorkbook.from_filelike(
        io.BytesIO(write_register(project(units=units), entries, "Made today"))
    )
    header, first, second = book.get_sheet_by_name("Register").to_python()
    row = dict(zip(map(str, header), first, strict=True))
    assert row[f"tap distance {tap[0]}"] == tap[1]
    assert row[f"inside diameter {diameter[0]}"] == diameter[1]
    assert row["work sheet issued"] == dt.date(2026, 5, 4)
    assert row["work sheet revision"] == 2.0
    assert row["address"] == "'=1+1"
    assert row["reasons"] == sheet.reasons[0].words
    assert second[header.index("work sheet issued")] == ""
    about = book.get_sheet_by_name("About").to_python()
    told = {line[0] for line in about}
    assert {str(title).split(" [")[0] for title in header} <= told


def test_the_head_of_the_table_stays_and_filters() -> None:
    made = write_register(project(), [Entry(LATERAL, "listed", "", 1, None, 0)], "Made today")
    with zipfile.ZipFile(io.BytesIO(made)) as book:
        page = book.read("xl/worksheets/sheet1.xml").decode()
    assert re.search(r'<pane [^>]*ySplit="1"[^>]*state="frozen"', page)
    assert "<autoFilter" in page
    widths = [float(found) for found in re.findall(r'<col [^>]*width="([\d.]+)"', page)]
    assert len(set(widths)) > 1
    assert max(widths) < 70
