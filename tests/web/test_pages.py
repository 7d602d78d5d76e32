from __future__ import annotations

import io
import re
import zipfile
from html.parser import HTMLParser
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from drainwright.operations.list_laterals import list_laterals
from drainwright.operations.list_project import STAGES
from drainwright.operations.open_lateral import open_lateral
from drainwright.operations.stores import existing
from drainwright.web.desk import asset_address, assets
from tests.web.conftest import NOW

PAGES = (
    "/", "/laterals/A-07", "/laterals/B-06", "/specification", "/papers", "/calculators",
    "/calculators/wall", "/nowhere",
)  # fmt: skip


class Tags(HTMLParser):
    """Every start tag with its attributes, and every id."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def values(self, attribute: str, tag: str = "") -> list[str]:
        return [
            str(attributes[attribute])
            for name, attributes in self.found
            if attribute in attributes and tag in ("", name)
        ]


def page(client: TestClient, address: str, status: int = 200) -> str:
    answer = client.get(address)
    text: str = answer.text
    assert answer.status_code == status, text
    return text


def rows(text: str) -> list[str]:
    return re.findall(r'data-key="([^"]+)"', text)


# ---------------------------------------------------------------- every page


@pytest.mark.parametrize("address", PAGES)
def test_a_page_asks_nothing_of_another_host_and_holds_no_inline_code(
    client: TestClient, address: str
) -> None:
    answer = client.get(address)
    tags = Tags(answer.text)
    for attribute in ("src", "href", "action"):
        assert not [v for v in tags.values(attribute) if re.match(r"(?:[a-z]+:)?//", v)]
    assert not tags.values("style")
    assert not [a for _, attrs in tags.found for a in attrs if a.startswith("on")]
    policy = answer.headers["content-security-policy"]
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    assert "http" not in policy


@pytest.mark.parametrize("address", PAGES)
def test_ids_are_unique_and_every_control_has_a_name(client: TestClient, address: str) -> None:
    tags = Tags(client.get(address).text)
    ids = tags.values("id")
    assert len(ids) == len(set(ids))
    for reference in (*tags.values("aria-labelledby"), *tags.values("for")):
        assert reference in ids
    assert len([tag for tag, _ in tags.found if tag == "h1"]) == 1


@pytest.mark.parametrize("address", PAGES)
def test_a_page_weighs_little(client: TestClient, address: str) -> None:
    files = Tags(client.get(address).text)
    assert len(client.get(address).content) > 0
    with client.stream("GET", address, headers={"accept-encoding": "gzip"}) as answer:
        size = sum(len(part) for part in answer.iter_raw())
    assert size <= 60 * 1024
    first = size
    fonts = [asset_address(name) for name in assets() if name.endswith(".woff2")]
    for name in {*files.values("href", "link"), *files.values("src", "script"), *fonts}:
        with client.stream("GET", name, headers={"accept-encoding": "gzip"}) as answer:
            first += sum(len(part) for part in answer.iter_raw())
    assert first <= 300 * 1024


def test_files_are_kept_for_good_under_their_own_mark(client: TestClient) -> None:
    for name in Tags(page(client, "/")).values("href", "link"):
        answer = client.get(name)
        assert answer.status_code == 200
        assert "immutable" in answer.headers["cache-control"]
    page(client, "/static/0000000000/sheet.css", 404)


def test_the_style_sheet_names_fonts_that_are_there(client: TestClient) -> None:
    styles = next(n for n in Tags(page(client, "/")).values("href", "link") if "sheet.css" in n)
    fonts = re.findall(r'url\("([^"]+)"\)', page(client, styles))
    assert len(fonts) == 2
    assert all(client.get(font).headers["content-type"] == "font/woff2" for font in fonts)


# ---------------------------------------------------------------- the project sheet


def test_the_sheet_shows_every_lateral_as_the_store_has_it(
    client: TestClient, demo_store: Path
) -> None:
    with existing(str(demo_store)) as (store, project):
        items = list_laterals(store, project.key).items
    text = page(client, "/")
    assert rows(text) == [item.key for item in items]
    for item in items:
        assert item.address.replace("'", "&#39;") in text
    drawn = {v for v in Tags(text).values("href", "a") if v.startswith("/laterals/")}
    assert drawn == {f"/laterals/{item.key}" for item in items}


@pytest.mark.parametrize(
    ("query", "filters"),
    [
        ("q=tannery", {"words": "tannery"}),
        ("segment=B", {"segment": "B"}),
        ("street=lantern street", {"street": "Lantern Street"}),
        ("outcome=ask the engineer", {"fitness": "ask the engineer"}),
        ("stage=designed&segment=C", {"stage": "designed", "segment": "C"}),
    ],
)
def test_filters_in_the_address_filter(
    client: TestClient, demo_store: Path, query: str, filters: dict[str, str]
) -> None:
    with existing(str(demo_store)) as (store, project):
        wanted = [item.key for item in list_laterals(store, project.key, **filters).items]  # type: ignore[arg-type]  # all of them are texts
    assert 0 < len(wanted) < 24 or filters == {"stage": "designed"}
    assert rows(page(client, f"/?{query}")) == wanted


def test_a_search_without_result_says_so_and_leads_back(client: TestClient) -> None:
    text = page(client, "/?q=zebra")
    assert "No lateral fits." in text
    assert not rows(text)
    assert 'href="/"' in text


def test_a_project_without_laterals_says_how_to_begin(empty: TestClient) -> None:
    text = page(empty, "/")
    assert "No laterals yet." in text
    assert 'href="/read"' in text
    assert page(empty, "/specification")
    assert "There are no laterals yet" in page(empty, "/papers")


def test_every_stage_is_told_by_word_and_leads_to_its_laterals(client: TestClient) -> None:
    text = page(client, "/?q=row&stage=designed")
    tags = Tags(text)
    for stage in STAGES:
        assert f">{stage}</span>" in text
    assert "/?q=row&stage=listed" in tags.values("href", "a")
    assert "/?q=row" in tags.values("href", "a")  # the chosen one lets go


def test_text_from_records_is_shown_and_never_run(client: TestClient) -> None:
    text = page(client, "/?q=%3Cscript%3Ealert(1)%3C/script%3E")
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)" in text


# ---------------------------------------------------------------- one lateral


def test_each_figure_opens_to_formula_inputs_and_source(
    client: TestClient, demo_store: Path
) -> None:
    with existing(str(demo_store)) as (store, project):
        sheet = open_lateral(store, project, "A-07", NOW.date()).sheet
    assert sheet is not None
    text = page(client, "/laterals/A-07").replace("&#39;", "'").replace("&amp;", "&")
    assert text.count('<details class="figure">') == len(sheet.figures)
    for figure in sheet.figures:
        assert figure.label in text
        assert figure.source.source.title in text
        assert not figure.how or figure.how in text
        for given in figure.inputs:
            assert f'<th scope="row">{given.name}</th>' in text
    for check in sheet.checks:
        assert f"{check.name}: {check.outcome.value}" in text


def test_an_observation_its_flag_and_its_reason_bear_the_same_number(
    client: TestClient, demo_store: Path
) -> None:
    with existing(str(demo_store)) as (store, project):
        opened = open_lateral(store, project, "A-07", NOW.date())
    tags = Tags(page(client, "/laterals/A-07"))
    in_table, flags = tags.values("data-row", "tr"), tags.values("data-row", "g")
    assert in_table == [str(row.index) for row in opened.seen]
    assert flags
    assert {n for flag in flags for n in flag.split(",")} <= set(in_table)
    assert opened.sheet is not None
    counted = {str(r.observation) for r in opened.sheet.reasons if r.observation is not None}
    assert set(tags.values("data-row", "li")) == counted


def test_what_is_not_to_be_lined_tells_nobody_to_make_it_up(client: TestClient) -> None:
    text = page(client, "/laterals/B-06")
    assert "Do not line." in text
    assert ">What to make up</h2>" not in text
    assert ">How to put it in</h2>" not in text
    assert "Before resin is mixed" not in text


def test_revisions_tell_what_changed(client: TestClient) -> None:
    text = page(client, "/laterals/A-07")
    assert "record 2" in text
    assert "read measurements, from measurements.csv" in text
    assert "1 change" in text


def test_a_lateral_that_is_not_there_is_a_page(client: TestClient) -> None:
    text = page(client, "/laterals/Z-99", 404)
    assert "There is no lateral Z-99" in text
    assert 'href="/"' in text


# ---------------------------------------------------------------- specification and papers


def test_every_limit_stands_with_value_source_and_mark(
    client: TestClient, demo_store: Path
) -> None:
    with existing(str(demo_store)) as (store, project):
        sheet = open_lateral(store, project, "A-07", NOW.date()).sheet
    assert sheet is not None
    tags = Tags(page(client, "/specification"))
    assert set(sheet.specification.limits) <= set(tags.values("id", "tr"))


def test_one_paper_is_a_pdf_with_a_name(client: TestClient) -> None:
    answer = client.get("/papers/pdf", params={"paper": "work sheet", "lateral": "A-07"})
    assert answer.content.startswith(b"%PDF-")
    assert "A-07 work sheet.pdf" in answer.headers["content-disposition"]


def test_many_papers_are_a_zip_that_tells_what_was_left_out(client: TestClient) -> None:
    query = {"paper": ["survey sheet", "mix ticket"], "lateral": ["A-04", "B-06"]}
    answer = client.get("/papers/zip", params=query)
    packed = zipfile.ZipFile(io.BytesIO(answer.content))
    assert packed.testzip() is None
    names = packed.namelist()
    assert {"A-04 survey sheet.pdf", "A-04 mix ticket.pdf", "B-06 survey sheet.pdf"} <= set(names)
    assert "B-06 mix ticket.pdf" not in names
    assert "B-06 mix ticket: " in packed.read("left out.txt").decode()


@pytest.mark.parametrize(
    ("query", "status", "words"),
    [
        ("", 422, "choose at least one"),
        ("paper=work sheet", 422, "choose at least one"),
        ("paper=poem&lateral=A-04", 422, "poem"),
        ("paper=work sheet&lateral=Z-1", 404, "Z-1"),
        ("paper=mix ticket&lateral=B-06", 422, "B-06 mix ticket"),
    ],
)
def test_a_choice_that_gives_no_paper_is_told(
    client: TestClient, query: str, status: int, words: str
) -> None:
    assert words in page(client, f"/papers/zip?{query}", status)
