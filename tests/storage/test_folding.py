"""Words and keys as the store compares them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainwright.storage.folding import LAST, fold, index_words, prefixes, sort_key, street_key


@pytest.mark.parametrize(
    ("text", "folded"),
    [
        ("Élm Straße", "elm strasse"),
        ("ÅNGSTRÖM", "angstrom"),
        ("Łódź Øster Æble Þing İs ﬁn Ⅻ", "lodz oster aeble thing is fin xii"),
        ("n\u0303 \u00f1", "n n"),
        ("Ωmega", "ωmega"),
    ],
)
def test_case_and_accents_go(text: str, folded: str) -> None:
    assert fold(text) == folded


@given(st.text(max_size=20))
def test_folding_twice_changes_nothing_and_case_does_not_matter(text: str) -> None:
    assert fold(fold(text)) == fold(text)
    assert fold(text.upper().lower()) == fold(text.lower())


@given(st.text(max_size=20), st.text(max_size=20))
def test_a_text_is_found_by_each_of_its_words_and_their_beginnings(text: str, other: str) -> None:
    found = index_words([text, other])
    for prefix in prefixes(text):
        assert prefix in found
        assert prefix[:1] <= prefix < prefix[:1] + LAST


def test_what_is_joined_by_a_sign_is_found_both_ways() -> None:
    assert index_words(["L-12", "O’Brien, 7a"]) == {
        "l", "12", "l12", "o", "brien", "obrien", "7a",
    }  # fmt: skip
    assert prefixes("  L-12 – O'Brien_") == ["l12", "obrien"]


def test_keys_sort_by_their_numbers() -> None:
    ordered = ["L", "L-0", "L-1", "L-2", "L-09", "L-10", "L-10-2", "L-10-10", "L-100", "M-1"]
    shuffled = sorted(ordered, key=lambda key: key[::-1])
    assert sorted(shuffled, key=sort_key) == ordered


@given(st.integers(0, 10**15), st.integers(0, 10**15))
def test_numbers_in_keys_sort_as_numbers(one: int, other: int) -> None:
    assert (sort_key(f"L-{one}") < sort_key(f"L-{other}")) == (one < other)


def test_streets_are_compared_without_signs() -> None:
    assert street_key(" Élm-Straße,  No. 5 ") == "elm strasse no 5"
