"""What is written as CSV or XLSX reads back equal, whatever it holds."""

from __future__ import annotations

import csv
import io
import zipfile
from typing import Any

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from drainwright.exchange import fields as f
from drainwright.exchange.columns import TABLES
from drainwright.exchange.forms import Form
from drainwright.exchange.table_records import BUILDERS, values_of
from drainwright.exchange.table_writing import kind_of, safe, write_csv, write_xlsx
from drainwright.exchange.tables import read_table
from drainwright.exchange.templates import choices_of, template_csv, template_xlsx
from drainwright.records.lateral import Lateral
from drainwright.records.material import Collar, Resin, Tube
from drainwright.records.premises import Premises
from drainwright.records.project import MainSegment
from drainwright.records.rig import Rig
from drainwright.units import UnitSystem
from tests.exchange.record_strategies import records

KINDS = sorted(TABLES)
SYSTEMS = list(UnitSystem)


def read_back(kind: str, data: bytes) -> list[Any]:
    reading = read_table(kind, data, "f")
    assert [str(fault) for fault in reading.faults] == []
    return list(reading.records)


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=12, phases=[Phase.explicit, Phase.generate])
@given(data=st.data())
def test_csv_and_xlsx_read_back_equal(kind: str, data: st.DataObject) -> None:
    every = data.draw(records(kind))
    system = data.draw(st.sampled_from(SYSTEMS))
    form = data.draw(
        st.sampled_from(
            [Form("csv"), Form("csv", ";", "utf-8-sig", "\r\n"), Form("csv", "\t", "utf-16")]
        )
    )
    assert read_back(kind, write_csv(kind, every, system, form)) == every
    assert read_back(kind, write_xlsx(kind, every, system)) == every


@pytest.mark.parametrize("record", [Lateral, MainSegment, Premises, Tube, Resin, Collar, Rig])
def test_every_field_of_a_record_has_its_column(record: type) -> None:
    kind = {"MainSegment": "segments", "Premises": "premises"}.get(
        record.__name__, record.__name__.lower() + "s"
    )
    columns = {column.attribute for column in TABLES[kind]}
    assert set(record.__dataclass_fields__) - columns == set()  # type: ignore[attr-defined]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("system", SYSTEMS)
def test_a_template_is_read_as_it_stands_and_every_column_is_known(
    kind: str, system: UnitSystem
) -> None:
    for data in (template_csv(kind, system), template_xlsx(kind, system)):
        reading = read_table(kind, data, "t")
        assert (reading.faults, reading.notices, reading.records) == ((), (), ())
        found = [column.field.name for column in reading.recognized if column.field]
        assert found == [column.name for column in TABLES[kind]]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("system", SYSTEMS)
def test_the_examples_of_a_template_can_be_read(kind: str, system: UnitSystem) -> None:
    from drainwright.exchange.templates import example_of

    columns = [column for column in TABLES[kind] if column.example]
    text = io.StringIO()
    out = csv.writer(text)
    out.writerow([column.title(system) for column in columns])
    row = {column.attribute: example_of(column, system) for column in columns}
    for spare in ("small_length", "angle", "diameter"):
        if kind == "surveys":
            row.pop(spare, None)
    out.writerow(row.values())
    (record,) = read_back(kind, text.getvalue().encode())
    assert kind_of(record) == kind
    assert values_of(kind, record)


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "'=x", "''+"])
def test_a_cell_that_a_spreadsheet_would_run_is_neutralized(text: str) -> None:
    assert safe(text) == "'" + text
    premises = Premises("P-1", text)
    cells = next(iter(list(csv.reader(io.StringIO(write_csv("premises", [premises], UnitSystem.US)
                                                  .decode())))[1:]))  # fmt: skip
    assert cells[1][0] == "'"
    assert read_back("premises", write_csv("premises", [premises], UnitSystem.US)) == [premises]


def test_builders_and_lists_name_the_same_tables() -> None:
    assert {*BUILDERS, "surveys"} == set(TABLES)
    assert {column.kind for columns in TABLES.values() for column in columns} >= {f.TEXT, f.DATE}


@pytest.mark.parametrize("kind", KINDS)
def test_a_template_offers_the_words_of_each_choice_in_a_list(kind: str) -> None:
    data = template_xlsx(kind, UnitSystem.US)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        sheets = [archive.read(name) for name in archive.namelist() if "worksheets/" in name]
    offered = b"".join(sheets).count(b'<dataValidation type="list"')
    listed = [one for one in TABLES[kind] if choices_of(one)]
    assert offered == len(listed)
    assert all(one in listed for one in TABLES[kind] if one.kind in (f.CHOICE, f.YES_NO))
