"""A file of the first schema, and what it held when it was written, stay readable for good.

`fixtures/v0001.drainwright` was written by the program whose schema was 0001, and
`v0001.jsonl` holds its dump of that day. Neither is ever written again.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from drainwright.storage import open_store, schema, upgrade

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


@pytest.fixture
def old(tmp_path: Path) -> Path:
    return Path(shutil.copy(HERE / "v0001.drainwright", tmp_path / "job.drainwright"))


def content(file: Path) -> list[object]:
    store = open_store(file)
    with store.read() as session:
        assert session.verify("oak") == ()
        lines = [json.loads(json.dumps(line)) for line in session.dump("oak")]
    store.close()
    return lines


def written() -> list[object]:
    text = (HERE / "v0001.jsonl").read_text("utf-8")
    return [json.loads(line) for line in text.split("\n")[:-1]]


def test_the_first_schema_opens_with_the_content_it_had(old: Path) -> None:
    assert content(old) == written()
    copies = list(old.parent.glob("job.schema-0001*"))
    assert bool(copies) == (schema.HEAD != "0001")  # copied aside where it had to be changed


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
