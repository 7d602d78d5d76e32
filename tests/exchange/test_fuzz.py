"""No reader raises, whatever it is given; what it accepts it can write and read again."""

from __future__ import annotations

import datetime as dt
import io
import random
from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from drainwright.exchange.any_file import is_survey_text
from drainwright.exchange.codes import default_code_table as codes
from drainwright.exchange.codes import read_code_table, write_code_table
from drainwright.exchange.columns import TABLES
from drainwright.exchange.en13508 import read_survey_text
from drainwright.exchange.en13508_writing import write_survey_text
from drainwright.exchange.mapping import read_mapping
from drainwright.exchange.table_writing import write_csv
from drainwright.exchange.tables import TableOptions, read_table
from drainwright.exchange.templates import template_csv, template_xlsx
from drainwright.exchange.workbook import xlsx_of
from drainwright.records.list_reading import ListMapping
from drainwright.units import UnitSystem

KINDS = sorted(TABLES)
TODAY = dt.date(2026, 6, 1)
FEW, MANY = 60, 4000
SETTINGS = {"phases": [Phase.generate], "suppress_health_check": list(HealthCheck)}
FIELDS = {kind: tuple(column.name for column in columns) for kind, columns in TABLES.items()}

SURVEY = b"""#A1=UTF-8
#A2=en
#A3=;
#A4=,
#A5="
#B01=AAA;ABF;ABG;AAK;ABQ;ACD;AXX
L-1;2026-04-02;09:30;B;12,5;AE;odd
#C=I;N;A;B;C;D;E;F;G;H;J;K;M;N
0,00;1;BCD;;;;;;;;;;;
1,20;2;BBA;A;;20;;"a;b";12;3;A1;A;p;9
2,20;3;BBA;A;;30;;;12;3;B1;;;
9,20;3;BZZ;Q;;30;;;;;;;;
#Z
"""
SHAPES = b"""{"type":"FeatureCollection","features":[
{"type":"Feature","geometry":{"type":"LineString","coordinates":[[0,0],[1,1]]},
"properties":{"LAT_ID":"L-1","MAIN":"M1","TAP_FT":12.5,"SIZE":"6\\""}}]}"""
WORDS = [",", ";", "\t", "\n", "\r\n", '"', "'", "#A3=;", "#B01=AAA,ABF", "#C=I,A", "#Z", "A1",
         "B1", "L-1", "12.5", "12,5", "1O", "6\"", "ft", "[in]", "2026-04-02", "4/5/26", "=1+1",
         "\x00", "\ufeff", "ß", "𝛑", "1e999", "-0", "nan", "inf", "9" * 400, "5'-3 1/2\"",
         "70 degF 90 min",
         "LINESTRING (0 0, 1 1)", "{", "[", "]", "}", "null", "sep=;", "%", " of 1",
         "1/0"]  # fmt: skip


def check_table(kind: str, data: bytes) -> None:
    reading = read_table(kind, data, "f", TableOptions(today=TODAY))
    for fault in (*reading.faults, *reading.notices):
        assert str(fault)
    assert len(reading.places) == len(reading.records)
    if reading.records:
        again = read_table(
            reading.kind, write_csv(reading.kind, reading.records, UnitSystem.US), "g"
        )
        assert [str(f) for f in again.faults] == []
        assert again.records == reading.records or reading.kind == "surveys"
    if not reading.faults:
        assert reading.left_out == b""


def check_survey(data: bytes) -> None:
    reading = read_survey_text(data, "f", today=TODAY)
    for fault in (*reading.faults, *reading.notices):
        assert str(fault)
    if reading.records:
        again = read_survey_text(write_survey_text(reading.records), "f")
        assert [str(f) for f in again.faults] == []
        assert [s.observations for s in again.records] == [s.observations for s in reading.records]
    is_survey_text(data)


def check_small(data: bytes) -> None:
    read_mapping(data, "f", FIELDS)
    read_code_table(data, "f")


def mangled(seed: bytes, pick: random.Random) -> bytes:
    """A good file with a few bytes or words changed, cut, doubled or put in."""
    data = bytearray(seed)
    for _ in range(pick.randint(1, 6)):
        at = pick.randrange(len(data) + 1)
        what = pick.randrange(5)
        if what == 0 and data:
            data[at % len(data)] = pick.randrange(256)
        elif what == 1:
            del data[at : at + pick.randint(1, 20)]
        elif what == 2:
            data[at:at] = data[at : at + pick.randint(1, 60)]
        else:
            data[at:at] = pick.choice(WORDS).encode("utf-8")
    return bytes(data)


def good_csv(kind: str) -> bytes:
    """A list with the examples of the field list."""
    columns = [column for column in TABLES[kind] if column.required or column.example]
    header = ",".join(column.title(UnitSystem.US) for column in columns)
    row = ",".join('"' + column.example.replace('"', '""') + '"' for column in columns)
    return f"{header}\r\n{row}\r\n{row}\r\n".encode()


def good_xlsx(kind: str) -> bytes:
    rows = [line.split(",") for line in good_csv(kind).decode().replace('"', "").splitlines()]
    return xlsx_of({kind: rows})


def every_reader(data: bytes, kind: str) -> None:
    check_table(kind, data)
    check_survey(data)
    check_small(data)


def by_bytes(examples: int) -> Callable[[], None]:
    @settings(max_examples=examples, **SETTINGS)  # type: ignore[arg-type]
    @given(st.binary(max_size=300), st.sampled_from(KINDS))
    def run(data: bytes, kind: str) -> None:
        every_reader(data, kind)

    return run


def by_words(examples: int) -> Callable[[], None]:
    headers = [column.title(UnitSystem.US) for columns in TABLES.values() for column in columns]

    @settings(max_examples=examples, **SETTINGS)  # type: ignore[arg-type]
    @given(st.lists(st.sampled_from(WORDS + headers), max_size=60), st.sampled_from(KINDS))
    def run(words: list[str], kind: str) -> None:
        every_reader("".join(words).encode("utf-8"), kind)

    return run


def by_cells(examples: int) -> Callable[[], None]:
    """A right header above wild cells: where most of the meaning is."""
    cells = st.one_of(st.sampled_from(WORDS), st.text(max_size=8), st.floats().map(str))

    @settings(max_examples=examples, **SETTINGS)  # type: ignore[arg-type]
    @given(st.data(), st.sampled_from(KINDS))
    def run(data: st.DataObject, kind: str) -> None:
        header = [column.title(UnitSystem.US) for column in TABLES[kind]]
        row = st.lists(cells, min_size=len(header), max_size=len(header))
        rows = data.draw(st.lists(row, min_size=1, max_size=3))
        out = io.StringIO()
        import csv

        csv.writer(out).writerows([header, *rows])
        check_table(kind, out.getvalue().encode("utf-8", "replace"))

    return run


def by_mangling(examples: int) -> Callable[[], None]:
    def run() -> None:
        pick = random.Random(13508)
        seeds = [(kind, good_csv(kind)) for kind in KINDS]
        seeds += [(kind, template_csv(kind, UnitSystem.SI)) for kind in KINDS]
        books = [(kind, good_xlsx(kind)) for kind in KINDS]
        books.append(("laterals", template_xlsx("laterals", UnitSystem.US)))
        table = write_code_table(codes())[:600]
        mapping = (
            b'kind = "laterals"\n[columns]\n"Dia." = { field = "inside diameter", unit = "in" }\n'
        )
        for number in range(examples):
            kind, seed = pick.choice(seeds)
            check_table(kind, mangled(seed, pick))
            check_survey(mangled(SURVEY, pick))
            check_table("laterals", mangled(SHAPES, pick))
            check_small(mangled(table if number % 2 else mapping, pick))
            if number % 4 == 0:
                kind, book = pick.choice(books)
                check_table(kind, mangled(book, pick))

    return run


WAYS = {"bytes": by_bytes, "words": by_words, "cells": by_cells, "mangled": by_mangling}


@pytest.mark.parametrize("way", WAYS)
def test_a_few_hundred_wild_files(way: str) -> None:
    WAYS[way](FEW)()


@pytest.mark.slow
@pytest.mark.parametrize("way", WAYS)
def test_twenty_thousand_wild_files(way: str) -> None:
    # 4,000 examples of four ways, the mangled one with four files each: over 28,000 cases
    WAYS[way](MANY)()


def test_a_mapping_that_names_what_is_not_there_does_no_harm() -> None:
    mapping = ListMapping(columns={}, sheet="nowhere", decimal=",", dates="dmy")
    reading = read_table("laterals", good_csv("laterals"), "f", TableOptions(mapping=mapping))
    assert [fault.name for fault in reading.faults] == ["header"]
