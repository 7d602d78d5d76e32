from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest

from drainwright.errors import PaperError
from drainwright.papers import paper
from drainwright.papers.paper import make_pdf, printable
from tests.papers import pdf_reading

NOON = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)


@pytest.fixture
def templates(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Templates of the test's own in place of the program's."""
    monkeypatch.setattr(paper, "TEMPLATES", tmp_path)
    paper._compiler.cache_clear()
    yield tmp_path
    paper._compiler.cache_clear()


def test_a_template_that_fails_is_a_paper_error_with_its_cause(templates: Path) -> None:
    (templates / "bad.typ").write_text("#no-such-thing(1)\n")
    with pytest.raises(PaperError, match="bad") as caught:
        make_pdf("bad", {}, NOON)
    assert caught.value.__cause__ is not None


def test_an_unknown_paper_is_refused() -> None:
    with pytest.raises(PaperError, match="no paper"):
        make_pdf("nothing", {}, NOON)


def test_a_time_without_zone_is_refused() -> None:
    with pytest.raises(PaperError, match="zone"):
        make_pdf("work_sheet", {}, dt.datetime(2026, 11, 25, 12))  # noqa: DTZ001


def test_what_is_no_json_is_refused() -> None:
    with pytest.raises(PaperError, match="can't be put on paper"):
        make_pdf("work_sheet", {"value": float("nan")}, NOON)


def test_data_are_text_never_markup(templates: Path) -> None:
    (templates / "say.typ").write_text(
        '#let d = json(bytes(sys.inputs.data))\n#set text(font: "Drainwright Sans")\n#d.words\n'
    )
    words = '#let x = 1 *bold* _it_ $x^2$ @ref <label> `raw` \\ // -- = [a] {b} ~ "q"'
    assert words in pdf_reading.text(make_pdf("say", {"words": words}, NOON))


def test_only_our_fonts_are_there(templates: Path) -> None:
    (templates / "fonts.typ").write_text(
        '#set text(font: ("DejaVu Sans", "Liberation Sans", "Libertinus Serif"))\nwords\n'
    )
    assert all("Drainwright" in name for name, _ in pdf_reading.fonts(make_pdf("fonts", {}, NOON)))


def test_the_same_data_and_time_give_the_same_bytes(templates: Path) -> None:
    (templates / "same.typ").write_text("#set document(date: auto)\n#sys.inputs.data\n")
    once, again = (make_pdf("same", {"a": "b"}, NOON) for _ in range(2))
    later = make_pdf("same", {"a": "b"}, NOON + dt.timedelta(days=1))
    assert once == again
    assert once != later


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("Łódź, Ægir, Ñandú ½ ⅜ ° ≥ ′ Ø →", "Łódź, Ægir, Ñandú ½ ⅜ ° ≥ ′ Ø →"),
        ("Nguyễn", "Nguyen"),
        ("ﬁne", "fine"),
        ("東京", "??"),
        ("a\x00b\x07c", "a b c"),
        ("two\nlines", "two\nlines"),
        ("\ud800x", "x"),
    ],
)
def test_letters_the_typeface_lacks_lose_their_accents_first(given: str, shown: str) -> None:
    assert printable(given) == shown
