"""Files of earlier schemas, and what they held when they were written, stay readable for good.

`fixtures/v0001.drainwright` was written by the program whose schema was 0001, and
`v0001.jsonl` holds its dump of that day; likewise v0003. None is ever written again.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic import command
from alembic.config import Config

from drainwright.records.lateral import Lateral
from drainwright.records.project import MainSegment
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage import codec, open_store, schema, upgrade
from drainwright.storage.driver import locate, make_engine

HERE = Path(__file__).parent / "fixtures"
NEXT = """
from alembic import op
import sqlalchemy as sa

revision = "9999"
down_revision = "{head}"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("document", sa.Column("later", sa.Text))
"""


VERSIONS = ("0001", "0003")


@pytest.fixture
def old(tmp_path: Path) -> Path:
    return Path(shutil.copy(HERE / "v0001.drainwright", tmp_path / "job.drainwright"))


def content(place: Path | str) -> list[object]:
    store = open_store(place)
    with store.read() as session:
        assert session.verify("oak") == ()
        lines = [json.loads(json.dumps(line)) for line in session.dump("oak")]
    store.close()
    return lines


def written(version: str = "0001") -> list[object]:
    text = (HERE / f"v{version}.jsonl").read_text("utf-8")
    return [json.loads(line) for line in text.split("\n")[:-1]]


@pytest.mark.parametrize("version", VERSIONS)
def test_every_schema_opens_with_the_content_it_had(version: str, tmp_path: Path) -> None:
    old = Path(shutil.copy(HERE / f"v{version}.drainwright", tmp_path / "job.drainwright"))
    assert content(old) == written(version)
    copies = list(old.parent.glob(f"job.schema-{version}*"))
    assert bool(copies) == (version != schema.HEAD)  # copied aside where it had to be changed


def first_schema(url: str) -> None:
    """The tables and rows of the first fixture in an empty schema of a server."""
    with sqlite3.connect(HERE / "v0001.drainwright") as source:
        engine = make_engine(locate(url))
        config = Config()
        config.set_main_option("script_location", str(upgrade.MIGRATIONS))
        with engine.connect().execution_options(writes=True) as target, target.begin():
            config.attributes["connection"] = target
            command.upgrade(config, "0001")
            for name in ("project", "document", "revision", "word", "entry", "attachment"):
                found = source.execute(f"SELECT * FROM {name}")
                names = [column[0] for column in found.description]
                table = sa.Table(name, sa.MetaData(), autoload_with=target)
                rows = [dict(zip(names, row, strict=True)) for row in found]
                for row in rows:
                    if "withdrawn" in row:
                        row["withdrawn"] = bool(row["withdrawn"])
                    for column in row.keys() & {"made_at", "received_at"}:
                        row[column] += "+00:00"  # SQLite keeps UTC without saying so
                if rows:
                    target.execute(sa.insert(table), rows)
        engine.dispose()
    source.close()


def test_a_server_goes_from_the_first_schema_to_this_one(schema_url: str) -> None:
    first_schema(schema_url)
    assert content(schema_url) == written()


@pytest.mark.independent
@pytest.mark.parametrize("database", ["sqlite", "postgresql"])
def test_an_upgraded_store_knows_what_lists_show(
    database: str, old: Path, request: pytest.FixtureRequest
) -> None:
    place: Path | str = old
    if database == "postgresql":
        place = str(request.getfixturevalue("schema_url"))
        first_schema(place)
    store = open_store(place)
    with store.read() as session:
        for kind in (Lateral, MainSegment, WorkSheet):
            for item in session.every("oak", kind):
                brief = session.briefs("oak", kind, [item.key])[item.key]
                text = json.loads(codec.encode(item.record))
                assert brief.revision == item.revision.number
                for name, value in brief.told.items():
                    if name != "reasons":
                        assert value == text[name]
                    else:
                        assert len(value) == len(text["reasons"])
                assert brief.told
    store.close()


def test_it_is_copied_aside_and_brought_to_a_later_schema(
    old: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    later = tmp_path / "later"
    later.mkdir()
    (later / "v9999_later.py").write_text(NEXT.format(head=schema.HEAD))
    monkeypatch.setattr(upgrade, "VERSIONS", (*upgrade.VERSIONS, later))
    monkeypatch.setattr(schema, "HEAD", "9999")
    assert content(old) == written()
    monkeypatch.undo()
    assert content(tmp_path / "job.schema-0001.drainwright") == written()
