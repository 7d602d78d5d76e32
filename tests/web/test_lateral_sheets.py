"""The sheets of one lateral: read-out, survey entry, trying a design, cure, revisions."""

from __future__ import annotations

import itertools
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest
from fastapi.testclient import TestClient

from drainwright.operations import what_if
from drainwright.operations.stores import existing
from drainwright.records.design_choice import DesignChoice
from drainwright.records.project import Project
from drainwright.records.survey import ObservationKind, Survey
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import Filters, RecordStore
from drainwright.units import FOOT
from drainwright.web import lateral_page
from drainwright.web.app import make_app
from tests.web.conftest import clock
from tests.web.test_pages import Tags

PNG = b"\x89PNG\r\n\x1a\n" + b"\0" * 40
A07 = "/laterals/A-07"
Opened = tuple[TestClient, RecordStore, Project]


@pytest.fixture
def opened(demo_store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Opened]:
    """The app over a copy of the demo that may be written to; few draws, for speed."""
    for file in demo_store.parent.glob(demo_store.name + "*"):
        if file.is_file():
            shutil.copy(file, tmp_path)
    monkeypatch.setattr(what_if, "DRAWS", 20)
    monkeypatch.setattr(lateral_page, "DRAWS", 20)
    with existing(str(tmp_path / demo_store.name)) as (store, project):
        app = make_app(store, project, now=clock)
        yield TestClient(app, follow_redirects=False), store, project


def stored_survey(store: RecordStore, project: Project, lateral: str) -> tuple[Survey, int]:
    with store.read() as session:
        found = list(session.every(project.key, Survey, Filters(lateral=lateral)))
    last = max(found, key=lambda one: one.record.key)
    return last.record, last.revision.number


def post(client: TestClient, address: str, fields: list[tuple[str, str]]) -> tuple[int, str]:
    answer = client.post(
        address,
        content=urlencode(fields),
        headers={"content-type": "application/x-www-form-urlencoded"},
    )
    text: str = answer.text
    return answer.status_code, text


# ---------------------------------------------------------------- the read-out


def test_every_place_of_the_profile_tells_the_same_parts(client: TestClient) -> None:
    told = client.get(f"{A07}/along").json()
    assert told["names"] == [
        "from the tap", "invert below ground", "water above it", "wall needed of wall there",
        "outer liner at steam off",
    ]  # fmt: skip
    assert len(told["x"]) == len(told["rows"])
    assert all(len(row) == len(told["names"]) for row in told["rows"])
    assert told["x"] == sorted(told["x"])
    assert told["rows"][0][:2] == ["0.0 ft", "10.0 ft"]  # laterals.csv: 10 ft deep at the tap
    # water lies 6 ft deep there, so 4 ft stand above it: 0.433 psi a foot
    assert told["rows"][0][2] == "4.0 ft, 1.73 psi"
    assert told["rows"][0][3].endswith("of 3.00 mm")


def test_what_is_not_to_be_lined_tells_no_wall(client: TestClient) -> None:
    told = client.get("/laterals/B-06/along").json()
    assert told["names"][:1] == ["from the tap"]
    assert not [name for name in told["names"] if "wall" in name or "liner" in name]
    assert client.get("/laterals/Z-99/along").status_code == 404


def test_papers_and_sheets_are_one_step_away(client: TestClient) -> None:
    tags = Tags(client.get(A07).text)
    links = tags.values("href", "a")
    for sheet in ("survey", "what-if", "cure", "revisions"):
        assert f"{A07}/{sheet}" in links
        assert client.get(f"{A07}/{sheet}").status_code == 200
    assert "/papers/pdf?paper=work+sheet&lateral=A-07" in links


# ---------------------------------------------------------------- trying a design


def test_a_trial_stands_beside_the_design_on_record(client: TestClient) -> None:
    text = client.get(f"{A07}/what-if/tried", params={"tube": "T4-4.5"}).text
    rows = re.findall(r"<tr(.*?)><th scope=\"row\">(.*?)</th><td>(.*?)</td><td>(.*?)</td>", text)
    found = {label: (before, now) for _, label, before, now in rows}
    assert found["tube"] == ("T4-3.0", "<b>T4-4.5</b>")
    assert found["wall, needed"][0] == found["wall, needed"][1]  # the loads are the same
    assert "<svg" in text
    assert "No limit fails." in text


def test_a_tube_that_does_not_do_is_told_in_words(client: TestClient) -> None:
    # tubes.csv: T4-3.0 fits 3.75 to 4.3 in; B-02 is 6 in wide beyond its change of size
    text = client.get("/laterals/B-02/what-if/tried", params={"tube": "T4-3.0"}).text
    assert "the host is 6.00 in wide, its maker allows 4.30 in" in text
    assert re.search(r"its wall is [\d.]+ mm at .*? needed by X1", text)


def test_more_water_needs_more_wall_and_pressure(client: TestClient) -> None:
    def value(text: str, label: str) -> float:
        found = re.search(rf">{label}</th><td>.*?</td><td>(?:<b>)?([\d.]+)", text)
        assert found is not None
        return float(found[1])

    dry, wet = (
        client.get(f"{A07}/what-if/tried", params={"water_depth": depth}).text
        for depth in ("9", "0")
    )
    assert value(wet, "wall, needed") > value(dry, "wall, needed")
    assert value(wet, "launch pressure, at least") >= value(dry, "launch pressure, at least")


def test_two_variants_stand_side_by_side(client: TestClient) -> None:
    held = client.get(
        f"{A07}/what-if", params={"tube": "T4-4.5", "hold": "1"}, follow_redirects=False
    )
    assert held.status_code == 303
    address = f"{A07}/what-if{held.headers['location']}&soil_temperature=40"
    text = client.get(address).text
    assert '<th scope="col">held</th>' in text
    assert re.search(r">tube</th><td>T4-4.5</td><td>T4-4.5</td>", text)
    simulated = re.search(r">simulated, nominal</th><td>(.*?)</td><td><b>(.*?)</b></td>", text)
    assert simulated is not None  # colder soil takes another time


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"soil_temperature": "warm"}, "soil temperature"),
        ({"water_depth": "900 ft"}, "outside"),
        ({"tube": "T9"}, "no tube “T9” is on record"),
    ],
)
def test_what_cannot_be_tried_is_told(
    client: TestClient, given: dict[str, str], words: str
) -> None:
    text = client.get(f"{A07}/what-if/tried", params=given).text
    assert "This can’t be worked out" in text
    assert words in text
    assert words in client.get(f"{A07}/what-if", params=given).text


def test_a_design_is_kept_with_its_reason_and_planned(opened: Opened) -> None:
    client, store, project = opened
    fields = [("tube", "T4-4.5"), ("expected", "0"), ("held", "")]
    status, text = post(client, f"{A07}/what-if", fields)
    assert status == 422
    assert "say why" in text
    named = [("reason", "thicker tube is in stock"), ("by", "Ines Park")]
    status, _ = post(client, f"{A07}/what-if", fields + named)
    assert status == 303
    with store.read() as session:
        choice = session.get(project.key, DesignChoice, "A-07")
        sheet = session.get(project.key, WorkSheet, "A-07")
    assert choice.record == DesignChoice("A-07", tube="T4-4.5")
    assert (choice.revision.reason, choice.revision.by) == (named[0][1], named[1][1])
    assert sheet.record.tube is not None
    assert sheet.record.tube.key == "T4-4.5"
    assert sheet.revision.number == 2
    assert [r for r in sheet.record.made_from if r.document == "DesignChoice"]
    page = client.get(A07).text
    assert "Chosen for the design: tube “T4-4.5” (thicker tube is in stock, Ines Park)" in page
    assert "design choice 1" in page
    assert 'value="Ines Park"' in client.get(f"{A07}/what-if").text
    assert client.get(f"{A07}/along").json()["rows"][0][3].endswith("of 4.50 mm")


def test_nobody_s_choice_is_overwritten(opened: Opened) -> None:
    client, store, project = opened
    named = [("reason", "first"), ("by", "Ann"), ("expected", "0"), ("held", "")]
    assert post(client, f"{A07}/what-if", [("tube", "T4-4.5"), *named])[0] == 303
    status, text = post(client, f"{A07}/what-if", [("tube", "T4-6.0"), *named])
    assert status == 409
    assert "Somebody else chose meanwhile: revision 1, first." in text
    assert "<option selected>T4-6.0</option>" in text  # what was chosen is not lost
    with store.read() as session:
        assert session.get(project.key, DesignChoice, "A-07").record.tube == "T4-4.5"
    assert 'name="expected" value="1"' in text


def test_the_sure_time_follows_and_is_longer(client: TestClient) -> None:
    text = client.get(f"{A07}/what-if/tried", params={"tube": "T4-4.5"}).text
    later = re.search(r'hx-get="([^"]+/sure[^"]*)"', text)
    assert later is not None
    assert "95 % sure" in client.get(later[1].replace("&amp;", "&")).text


# ---------------------------------------------------------------- the cure


def test_the_cure_is_shown_without_a_script_and_at_every_time_with_one(
    client: TestClient,
) -> None:
    text = client.get(f"{A07}/cure").text
    assert text.count('<svg class="dw-profile"') == 4  # profile, section, over time, several times
    frames = client.get(f"{A07}/cure/frames").json()
    assert len(frames) > 20
    strips = re.findall(r'class="dw-curve" d="([^"]+)"', text.split("data-section")[0])
    off = int(re.search(r'max="\d+" value="(\d+)"', text)[1])  # type: ignore[index]
    assert frames[off]["strips"] == strips[:2]
    assert "steam on" in frames[off]["words"]
    assert "cooling" in frames[-1]["words"]
    sizes = {len(frame["strips"][0].split("L")) for frame in frames}
    assert len(sizes) == 1


@pytest.mark.analytic
def test_cure_only_ever_grows(client: TestClient) -> None:
    # on the drawing higher is less: no point of a later line lies below an earlier one's
    frames = client.get("/laterals/B-02/cure/frames").json()
    heights = [
        [float(pair.split()[1]) for pair in frame["strips"][1][1:].split(" L")] for frame in frames
    ]
    for before, after in itertools.pairwise(heights):
        assert all(b >= a - 0.11 for b, a in zip(before, after, strict=True))
    assert heights[0][0] > heights[-1][0]


def test_where_nothing_cures_the_page_says_why(client: TestClient) -> None:
    text = client.get("/laterals/B-06/cure").text
    assert "not to be lined" in text
    assert client.get("/laterals/B-06/cure/frames").json() == []
    assert client.get("/laterals/Z-99/cure").status_code == 404


# ---------------------------------------------------------------- survey entry

HEADER = [
    ("survey", ""), ("expected", "0"), ("date", "2026-11-20"), ("time", "10:15"),
    ("camera", "K. Amsel"), ("method", "from the main"), ("direction", "up"),
    ("purpose", "pre-lining TV"), ("length", "40"), ("zero", "0"), ("note", ""),
]  # fmt: skip
ROWS = (
    ("0", "", "start", "", "", "", "", ""),
    ("3.2", "", "be", "45", "", "", "", ""),
    ("6.4", "", "ro", "60 %", "10", "2", "j", "thick"),
    ("39.9", "", "fin", "", "", "", "", ""),
)


def grid(*rows: tuple[str, ...], still: str = "") -> list[tuple[str, str]]:
    names = ("distance", "until", "kind", "measure", "clock", "clock_to", "joint", "remark")
    return [
        pair
        for row in rows
        for pair in (*zip(names, row, strict=True), ("still", still), ("was", ""))
    ]


def test_what_is_typed_is_drawn_and_checked(client: TestClient) -> None:
    bad = ("5", "", "zz", "", "", "", "", "")
    status, text = post(client, f"{A07}/survey/draft", HEADER + grid(*ROWS, bad))
    assert status == 200
    assert "<html" not in text
    assert "roots 60 %" in text
    assert 'data-rows="0,1,2,3"' in text
    assert "Row 5, kind: “zz” is no kind that is known." in text
    assert "Cut the roots" in text
    later = [(n, "2027-01-01" if n == "date" else v) for n, v in HEADER]
    assert "lies in the future" in post(client, f"{A07}/survey/draft", later + grid(*ROWS))[1]


def test_a_typed_survey_is_a_revision_with_its_reason(opened: Opened) -> None:
    client, store, project = opened
    named = [("by", "Ines Park"), ("reason", "filmed again after cleaning")]
    assert post(client, f"{A07}/survey", HEADER + grid(*ROWS))[0] == 422
    status, text = post(client, f"{A07}/survey", HEADER + grid(*ROWS) + named)
    assert (status, text) == (303, "")
    survey, number = stored_survey(store, project, "A-07")
    assert number == 1
    assert survey.date.isoformat() == "2026-11-20"
    kinds = [one.kind for one in survey.observations]
    Kind = ObservationKind
    assert kinds == [Kind.START, Kind.BEND, Kind.ROOTS, Kind.FINISH]
    roots = survey.observations[2]
    assert roots.distance == pytest.approx(6.4 * FOOT)
    assert roots.measure == pytest.approx(0.6)
    assert (roots.clock_from, roots.clock_to, roots.at_joint) == (10, 2, True)
    page = client.get(A07).text
    assert "filmed again after cleaning" in page
    # the same survey again is somebody else's by now
    status, text = post(client, f"{A07}/survey", HEADER + grid(*ROWS[:3]) + named)
    assert status == 409
    assert "is on record already" in text
    assert stored_survey(store, project, "A-07")[1] == 1


def test_a_survey_on_record_is_changed_and_never_lost(opened: Opened) -> None:
    client, store, project = opened
    before, number = stored_survey(store, project, "A-07")
    tags = Tags(client.get(f"{A07}/survey", params={"survey": before.key}).text)
    fields = [
        (str(a["name"]), str(a.get("value", "") or ""))
        for tag, a in tags.found
        if tag == "input" and a.get("name") and a["name"] not in ("by", "reason")
    ]
    fields += [("purpose", before.purpose.value), ("by", "Ann"), ("reason", "looked again")]
    assert post(client, f"{A07}/survey", fields)[0] == 303
    assert stored_survey(store, project, "A-07") == (before, number)  # nothing was touched
    place = [n for n, (name, _) in enumerate(fields) if name == "remark"][1]
    changed = [*fields[:place], ("remark", "sharp edge"), *fields[place + 1 :]]
    assert post(client, f"{A07}/survey", changed)[0] == 303
    after, number = stored_survey(store, project, "A-07")
    assert number == 2
    assert after.observations[1].remark == "sharp edge"
    assert after.observations[0] == before.observations[0]
    assert after.header == before.header
    late = [*fields[:place], ("remark", "other"), *fields[place + 1 :]]
    status, text = post(client, f"{A07}/survey", late)
    assert status == 409
    assert "Ann saved revision 2 meanwhile: looked again." in text
    assert stored_survey(store, project, "A-07")[0] == after
    told = client.get(A07).text
    assert f"survey {before.key}: revision 1, now 2" in told
    assert "Plan again" in told


def test_the_plan_is_made_anew_from_the_page(opened: Opened) -> None:
    client, store, project = opened
    named = [("by", "Ines Park"), ("reason", "filmed again")]
    assert post(client, f"{A07}/survey", HEADER + grid(*ROWS) + named)[0] == 303
    assert post(client, f"{A07}/plan", [])[0] == 422
    assert post(client, f"{A07}/plan", [("by", "Ines Park")])[0] == 303
    with store.read() as session:
        sheet = session.get(project.key, WorkSheet, "A-07")
    assert sheet.record.survey is not None
    assert sheet.record.survey.date.isoformat() == "2026-11-20"
    assert "Planned from older records" not in client.get(A07).text


def test_without_a_script_the_page_draws_what_was_typed(client: TestClient) -> None:
    status, text = post(client, f"{A07}/survey", HEADER + grid(*ROWS) + [("draw", "1")])
    assert status == 200
    assert "roots 60 %" in text
    assert Tags(text).values("value").count("6.4") == 1
    assert text.count('name="distance"') == len(ROWS) + 3  # blank rows to go on


def test_a_still_is_kept_and_shown_and_nothing_else(opened: Opened) -> None:
    client, store, project = opened
    kept = client.post(f"{A07}/survey/still?name=joint.png", content=PNG)
    assert kept.status_code == 200
    sha256 = kept.json()["sha256"]
    shown = client.get(f"/stills/{sha256}")
    assert (shown.content, shown.headers["content-type"]) == (PNG, "image/png")
    named = [("by", "Ann"), ("reason", "with stills")]
    fields = HEADER + grid(*ROWS[:3], still=sha256) + named
    assert post(client, f"{A07}/survey", fields)[0] == 303
    assert stored_survey(store, project, "A-07")[0].observations[2].still == sha256
    assert client.post(f"{A07}/plan", content="by=Ann", headers={
        "content-type": "application/x-www-form-urlencoded"}).status_code == 303  # fmt: skip
    assert f"/stills/{sha256}" in client.get(A07).text
    script = b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>"
    assert client.post(f"{A07}/survey/still?name=x.svg", content=script).status_code == 422
    assert client.post(f"{A07}/survey/still?name=x", content=b"").status_code == 422
    assert client.get(f"/stills/{'0' * 64}").status_code == 404


# ---------------------------------------------------------------- surveys and revisions


def test_two_surveys_are_laid_over_each_other(opened: Opened) -> None:
    client, _, _ = opened
    assert "it takes two" in client.get(f"{A07}/surveys").text
    named = [("by", "Ann"), ("reason", "again")]
    assert post(client, f"{A07}/survey", HEADER + grid(*ROWS) + named)[0] == 303
    text = client.get(f"{A07}/surveys").text
    assert text.count('<svg class="dw-profile"') == 1
    assert "Tied at the bend" in text
    assert "other size" in text  # roots 20 % in surveys.txt, 60 % now
    assert "only in the first" in text
    key = re.search(r'<option value="([^"]+)"', text)
    assert key is not None
    same = client.get(f"{A07}/surveys", params={"first": key[1], "second": key[1]})
    assert same.status_code == 422


def test_two_revisions_are_compared_in_plain_words(client: TestClient) -> None:
    text = client.get(f"{A07}/revisions").text
    assert "Record" in text
    assert "Work sheet" in text
    asked = {"document": "record", "old": "1", "new": "2"}
    told = client.get(f"{A07}/revisions", params=asked).text
    assert "from revision 1 to 2" in told
    assert '<table class="changes">' in told
    assert client.get(f"{A07}/revisions", params={**asked, "new": "99"}).status_code == 404
    assert client.get(f"{A07}/revisions", params={**asked, "document": "x"}).status_code == 422


@pytest.mark.parametrize("sheet", ["survey", "what-if", "cure", "revisions", "surveys"])
def test_a_sheet_holds_no_inline_code_and_weighs_little(client: TestClient, sheet: str) -> None:
    with client.stream("GET", f"{A07}/{sheet}", headers={"accept-encoding": "gzip"}) as answer:
        size = sum(len(part) for part in answer.iter_raw())
    assert size <= 60 * 1024
    tags = Tags(client.get(f"{A07}/{sheet}").text)
    assert not tags.values("style")
    assert not [a for _, attrs in tags.found for a in attrs if a.startswith(("on", "hx-on"))]
    ids = tags.values("id")
    assert len(ids) == len(set(ids))
    for reference in (*tags.values("aria-labelledby"), *tags.values("for")):
        assert reference in ids
    assert client.get(f"/laterals/Z-99/{sheet}").status_code == 404
