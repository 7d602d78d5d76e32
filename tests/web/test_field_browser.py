"""The field page in a real Chromium: offline, two tabs, typing, plain http, gloves and sun."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import math
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from drainwright.operations.field_journal import entries_of, photos_of, read_outbox
from drainwright.planning.field_checks import check_reading, windows_of
from drainwright.planning.field_deadlines import deadlines
from drainwright.records.field_entry import FieldEvent, event_text
from drainwright.records.field_step import START_STEPS
from drainwright.units import UnitSystem
from tests.field_job import AT, KEY, PSI, chain, event, field_sheet, field_store, step
from tests.web.field_laptop import Laptop

pytestmark = pytest.mark.browser
PLAIN = "truck.test"
"""A name that is not the local machine's, so that a page from it is not secure."""


@pytest.fixture(scope="module")
def browser(chromium: str) -> Iterator[Browser]:
    arguments = ["--no-sandbox", f"--host-resolver-rules=MAP {PLAIN} 127.0.0.1"]
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium, args=arguments)
        yield started
        started.close()


@pytest.fixture
def laptop(tmp_path: Path) -> Iterator[Laptop]:
    path = tmp_path / "job.drainwright"
    with field_store(path):
        pass
    made = Laptop(path, str(tmp_path / "logger.csv")).start()
    yield made
    made.kill()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    made = browser.new_context(viewport={"width": 820, "height": 1180})
    yield made
    made.close()


def opened(
    context: BrowserContext, laptop: Laptop, key: str = "A-07", *, signed: bool = True
) -> Page:
    """The page of a lateral, with the crew signed in."""
    page = context.new_page()
    page.goto(f"{laptop.address}/field/{key}")
    page.wait_for_selector("body[data-ready=yes]")
    if signed and page.locator("#entered").count():
        page.fill("#entered", "Ada Lund")
        page.fill("#read", "Bo Ek")
        page.click("text=this is us")
    return page


def emit(page: Page, *events: FieldEvent) -> None:
    """Have the page make entries at times of ours."""
    for one in events:
        text = json.loads(event_text(one))
        for key in ("form", "lateral", "entered_by", "read_by", "sheet_revision"):
            text.pop(key, None)
        page.evaluate("([kind, parts]) => Field.emit(kind, parts)", [text.pop("kind"), text])
    page.evaluate("Field.show('step')")


def ago(minutes: float, one: FieldEvent) -> FieldEvent:
    """The event so many minutes before now, as the device's clock has it."""
    parts = {name: getattr(one, name) for name in one.__slots__}
    return FieldEvent(**(parts | {"at": dt.datetime.now(dt.UTC) - dt.timedelta(minutes=minutes)}))


UNTIL_MIXED = tuple(one.key for one in START_STEPS[:6])


def mixed(page: Page, minutes: float = 30) -> None:
    """Everything before inversion, mixed so long ago."""
    done = [ago(minutes + 40, step(key, 0)) for key in UNTIL_MIXED]
    go = [
        ago(minutes + 5, event("check", question=line, answer="yes"))
        for line in field_sheet().go_no_go
    ]
    done += [*go, ago(minutes + 2, event("release", answer="yes"))]
    for share, one in enumerate(START_STEPS[6:13]):
        done.append(ago(minutes * (1 - share / 10), step(one.key, 0)))
    emit(page, *done)
    page.wait_for_selector("h2:text-is('Inversion starts')")


def wait_sent(page: Page) -> None:
    """Until all that was entered is stored here, sent, and answered."""
    stored = "Field.state.own.every((one) => one.id)"
    waits = "Field.waiting().then((one) => one.entries + one.photos)"
    for _ in range(200):
        if page.evaluate(stored) and page.evaluate(waits) == 0:
            return
        page.wait_for_timeout(100)
    pytest.fail(f"still waiting: {page.inner_text('#outbox')}")


def told(laptop: Laptop) -> list[FieldEvent]:
    assert laptop.store is not None
    return [one.event for one in entries_of(laptop.store, KEY) if one.event]


# ---------------------------------------------------------------- the device's own arithmetic


@pytest.mark.published
def test_sha256_by_its_standard_and_against_a_library(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = opened(context, laptop)
    # FIPS 180-4 examples (NIST, Secure Hash Standard test vectors): “abc” and the 448-bit message
    long = "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"
    found = page.evaluate("(texts) => texts.map(Field.sha256)", ["abc", "", long])
    assert found == [
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ]
    texts = ["a" * n for n in range(130)] + ["°F “½” 𝛑" * 999, "x" * 1_000_000]
    ours = page.evaluate("(texts) => texts.map(Field.sha256)", texts)
    assert ours == [hashlib.sha256(text.encode()).hexdigest() for text in texts]


@pytest.mark.independent
def test_the_devices_clocks_are_the_programs_clocks(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = opened(context, laptop)
    bypass = event("step", 0, step="flow_control", words=(("bypass", "no"),))
    ways: list[tuple[float, list[FieldEvent]]] = [
        (5, [step("mixed", 0)]),
        (40, [step("mixed", 0, resin_temperature=298.0), step("on_ice", 22)]),
        (75, [bypass, step("mixed", 10, resin_temperature=291.0), step("on_ice", 30),
              step("off_ice", 60, liner_temperature=277.0), step("at_tap", 72)]),
        (150, [step("mixed", 0), step("on_ice", 140)]),
        (30, [step("steam_on", 0), step("exhaust_steady", 19)]),
        (95, [step("steam_on", 0), step("steam_shut", 80), step("soak_back", 94)]),
    ]  # fmt: skip
    for minutes, events in ways:
        now = AT + dt.timedelta(minutes=minutes)
        ours = {one.key: one.at.timestamp() for one in deadlines(field_sheet(), events, now)}
        texts = [json.loads(event_text(one)) for one in events]
        theirs = page.evaluate(
            "([events, now]) => Field.deadlines(Field.state.plan, events, now)",
            [texts, now.timestamp() * 1000],
        )
        found = {one["key"]: one["at"] / 1000 for one in theirs}
        assert found.keys() == ours.keys()
        assert all(abs(found[key] - ours[key]) <= 2 for key in ours), (minutes, found, ours)


@pytest.mark.independent
def test_the_devices_checks_are_the_programs_checks(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = opened(context, laptop)
    for window in windows_of(field_sheet(), START_STEPS, UnitSystem.US):
        ends = [end for end in (window.low, window.high) if end is not None]
        for end in ends:
            for value in (end, end * 1.0001, end * 0.9999, math.nextafter(end, math.inf)):
                theirs = page.evaluate("([w, v]) => Field.check(w, v)", [asdict(window), value])
                ours = check_reading(window, value)
                assert (theirs or {"heading": ""})["heading"] == ours.heading


def test_clock_texts_pass_midnight_and_daylight_saving(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = opened(context, laptop)
    chicago = "America/Chicago"
    evening = dt.datetime(2026, 11, 1, 5, 30, tzinfo=dt.UTC)  # 0:30 CDT, clocks go back at 2:00
    later = evening + dt.timedelta(hours=2)
    show = "([at, zone, now]) => Field.clockText(at, zone, now)"
    text = page.evaluate(show, [later.timestamp() * 1000, chicago, evening.timestamp() * 1000])
    assert text == "01:30"  # two hours on, but one by the wall
    tomorrow = evening + dt.timedelta(hours=30)
    text = page.evaluate(show, [tomorrow.timestamp() * 1000, chicago, evening.timestamp() * 1000])
    assert text == "05:30 Mon"


# ---------------------------------------------------------------- offline


def test_nothing_is_lost_while_the_laptop_is_dead(
    context: BrowserContext, laptop: Laptop, tmp_path: Path
) -> None:
    page = opened(context, laptop)
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    page.click("#card .do")  # permits
    wait_sent(page)
    laptop.kill()
    page.reload()
    page.wait_for_selector("body[data-ready]")
    page.click("button:text-is('no')")
    page.fill("#read-plugged_at", "MH 12")
    page.click("#card .do")  # flow control
    photo = tmp_path / "seal.jpg"
    photo.write_bytes(b"\xff\xd8\xff\xe0" + bytes(range(256)) * 40 + b"\xff\xd9")
    page.set_input_files("#photo", photo)
    page.wait_for_selector("#outbox:has-text('2 entries, 1 photo waiting')")
    page.click("#toremark")
    page.fill("#remark", "rain")
    page.close()
    page = context.new_page()
    page.goto(f"{laptop.address}/field/A-07")
    page.wait_for_selector("h2:text-is('Last look after cleaning, length measured again')")
    assert "2 entries" in page.inner_text("#outbox")
    page.click("#toremark")
    assert page.input_value("#remark") == "rain"  # half typed, kept over the closing
    page.click("#card .do")
    page.wait_for_selector("#outbox:has-text('3 entries')")
    laptop.start()
    wait_sent(page)
    kinds = [(one.kind.value, one.step) for one in told(laptop)]
    assert kinds == [
        ("step", "permits"), ("step", "flow_control"), ("photo", "last_look"),
        ("remark", "last_look"),
    ]  # fmt: skip
    assert laptop.store is not None
    kept = photos_of(laptop.store, KEY)
    assert kept == {hashlib.sha256(photo.read_bytes()).hexdigest(): "seal.jpg"}
    with laptop.store.read() as session:
        assert session.verify(KEY) == ()
    page.reload()
    wait_sent(page)
    assert len(told(laptop)) == 4


def test_the_list_and_a_lateral_never_opened_work_offline(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = context.new_page()
    page.goto(f"{laptop.address}/field")
    page.wait_for_selector("body[data-ready=yes]")
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    assert page.inner_text("#kept") == "2 of 2 laterals are kept on this device."
    page.reload()  # by now the worker stands in between and keeps the list
    page.wait_for_selector("body[data-ready=yes]")
    laptop.kill()
    page.reload()
    page.click("text=A-08")
    page.wait_for_selector("h1:text-is('A-08')")
    page.wait_for_selector("text=Who is on this tablet?")


def test_two_tabs_do_not_fork_the_chain(context: BrowserContext, laptop: Laptop) -> None:
    one, two = opened(context, laptop), opened(context, laptop, "A-08")
    for page, mark in ((one, "a"), (two, "b")):
        page.evaluate(
            """(mark) => { for (let n = 0; n < 40; n += 1) {
              setTimeout(() => Field.emit("remark", { reason: `${mark} ${n}` }), n * 3);
            } }""",
            mark,
        )
    for page in (one, two):
        page.wait_for_function("() => Field.state.own.filter((one) => one.id).length >= 40")
    wait_sent(one)
    wait_sent(two)
    found = one.evaluate("Field.entries()")
    previous = ""
    for number, entry in enumerate(found, 1):
        assert entry["number"] == number
        assert entry["sha256"] == hashlib.sha256((previous + entry["text"]).encode()).hexdigest()
        previous = entry["sha256"]
    assert len(found) == 80
    assert len(told(laptop)) == 80
    order = [json.loads(entry["text"])["reason"] for entry in found]
    assert [text for text in order if text[0] == "a"] == [f"a {n}" for n in range(40)]


def test_typing_is_not_eaten_while_earlier_entries_are_stored(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = opened(context, laptop)
    mixed(page)
    page.evaluate(
        """() => { const real = Field.append; Field.append = (...given) =>
          new Promise((done) => setTimeout(done, 700)).then(() => real(...given)); }"""
    )
    page.click("#read-tube_pressure")
    page.keyboard.type("7.0")
    page.click("#card .do")
    page.wait_for_selector("h2:text-is('Half mark at the reference point')")
    page.click("#read-cable")
    assert laptop.store is not None
    for letter in "39.8":
        page.keyboard.type(letter, delay=120)
        with laptop.store.write(by="t", at=AT, origin="", reason="") as session:
            heads = {head.device: head for head in session.journal.heads(KEY)}
            after = heads.get("tablet-9")
            behind = (after.number, after.sha256) if after else (0, "")
            news = [event("remark", 0, reason=f"elsewhere {letter}")]
            session.journal.append(KEY, chain("tablet-9", news, behind))
        page.evaluate("Field.soon()")
    page.wait_for_timeout(1500)
    assert page.input_value("#read-cable") == "39.8"
    assert page.evaluate("document.activeElement.id") == "read-cable"
    assert page.evaluate("Field.state.others.length") == 4
    assert next(one for one in told(laptop) if one.step == "inversion").value("tube_pressure")


def test_a_page_by_plain_http_says_what_it_cannot_do_and_works_with_the_laptop(
    context: BrowserContext, laptop: Laptop
) -> None:
    laptop.address = f"http://{PLAIN}:{laptop.port}"
    page = opened(context, laptop)
    assert page.evaluate("isSecureContext") is False
    assert page.evaluate("'serviceWorker' in navigator") is False
    notice = page.inner_text("#notices")
    assert "can’t be opened again while the laptop is off" in notice
    page.click("#card .do")
    wait_sent(page)
    laptop.kill()
    page.click("#card .do")
    page.wait_for_selector("#outbox:has-text('1 entry waiting')")
    laptop.start()
    wait_sent(page)
    assert [one.step for one in told(laptop)] == ["permits", "flow_control"]


def test_the_outbox_is_saved_to_a_file_and_read_in_elsewhere(
    context: BrowserContext, laptop: Laptop, tmp_path: Path
) -> None:
    page = opened(context, laptop)
    laptop.kill()
    page.click("#card .do")
    page.wait_for_selector("#outbox:has-text('1 entry waiting')")
    assert "oldest 0 min" in page.inner_text("#outbox")
    with page.expect_download() as saved:
        page.click("#save")
    assert saved.value.suggested_filename.endswith("outbox.jsonl")
    content = Path(saved.value.path()).read_bytes()
    with field_store(tmp_path / "office.drainwright") as office:
        assert read_outbox(office, KEY, content, by="office", at=AT).new == 1
        assert [one.event.step for one in entries_of(office, KEY) if one.event] == ["permits"]


def test_the_clock_goes_on_over_a_reload_and_the_laptops_clock_is_compared(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = opened(context, laptop)
    mixed(page, 30)
    before = page.inner_text("#clocks .big >> nth=0")
    assert before.startswith("seated by")
    wait_sent(page)
    laptop.now = lambda: dt.datetime.now(dt.UTC) + dt.timedelta(minutes=3)
    page.reload()
    page.wait_for_selector("#notices:has-text('3 min behind')")
    assert page.inner_text("#clocks .big >> nth=0") == before
    page.click("#toremark")
    page.fill("#remark", "late")
    page.click("#card .do")
    wait_sent(page)
    assert told(laptop)[-1].word("clock_off") == "180 s"


# ---------------------------------------------------------------- the crew decides


def test_a_reading_outside_its_window_is_kept_only_by_two_deliberate_touches(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = opened(context, laptop)
    mixed(page)
    page.click("#read-tube_pressure")
    for key in ("3", ".", "8"):
        page.click(f".keypad button:text-is('{key}')")
    page.click(".keypad button:text-is('next')")
    warn = page.inner_text(".warn")
    assert "Too low." in warn
    assert "2.60 psi" in warn
    page.click("text=keep this reading")
    page.click("text=AL keeps it")  # at once: the same touch twice
    assert page.inner_text("#card h2") == "Inversion starts"
    page.wait_for_timeout(600)
    page.click("text=AL keeps it")
    page.wait_for_selector("h2:text-is('Half mark at the reference point')")
    wait_sent(page)
    done, kept = told(laptop)[-2:]
    assert (done.kind, done.step) == ("step", "inversion")
    assert (kept.kind, kept.initials) == ("kept", "AL")
    assert kept.value("tube_pressure") == pytest.approx(3.8 * PSI)
    assert "window 4.60 – 9.00 psi" in kept.question


def test_the_other_choice_stores_what_was_read_and_asks_again(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = opened(context, laptop)
    mixed(page)
    page.fill("#read-tube_pressure", "9.4")
    page.click("#card .do")
    page.click("text=changed slowly, read again")
    assert page.input_value("#read-tube_pressure") == ""
    page.fill("#read-tube_pressure", "7.0")
    page.click("#card .do")
    page.wait_for_selector("h2:text-is('Half mark at the reference point')")
    wait_sent(page)
    read, done = told(laptop)[-2:]
    assert read.kind == "reading"
    assert read.value("tube_pressure") == pytest.approx(9.4 * PSI)
    assert "read again" in read.reason
    assert done.value("tube_pressure") == pytest.approx(7.0 * PSI)


def test_mixing_is_released_by_name_and_against_a_no_only_with_a_reason(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = opened(context, laptop)
    emit(page, *(ago(50, step(key, 0)) for key in UNTIL_MIXED))
    page.wait_for_selector("h2:text-is('Go / no-go before mixing')")
    page.click("text=release mixing: Ada Lund")
    assert "Not answered yet" in page.inner_text("#card .ask")
    for number, line in enumerate(field_sheet().go_no_go):
        page.click(f"[aria-label='{line}'] button:text-is('{'no' if number == 1 else 'yes'}')")
    page.click("text=release mixing: Ada Lund")
    assert "only with a reason" in page.inner_text("#card .ask")
    page.fill("#override", "second boiler runs")
    page.click("text=release mixing: Ada Lund")
    page.wait_for_selector("h2:text-is('A and B together')")
    wait_sent(page)
    release = told(laptop)[-1]
    assert (release.kind, release.entered_by, release.reason) == (
        "release", "Ada Lund", "second boiler runs",
    )  # fmt: skip
    assert release.question == "Boiler hot; standby air runs"


def test_the_mixing_ratio_is_checked_at_once(context: BrowserContext, laptop: Laptop) -> None:
    page = opened(context, laptop)
    emit(page, *(ago(50, step(key, 0)) for key in UNTIL_MIXED), event("release", answer="yes"))
    page.wait_for_selector("h2:text-is('A and B together')")
    page.fill("#read-part_a", "28.5")
    page.fill("#read-part_b", "6.9")
    page.click("#card .do")
    assert "Ratio off." in page.inner_text(".warns")


def test_an_alarm_inverts_the_sheet_slowly_until_a_person_has_seen_it(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = opened(context, laptop)
    mixed(page, 400)  # long past its time
    page.wait_for_selector("#alarm button")
    page.evaluate(
        """() => { window.flips = 0; new MutationObserver(() => { window.flips += 1; })
          .observe(document.documentElement, { attributes: true, attributeFilter: ["class"] }); }"""
    )
    page.wait_for_timeout(3000)
    assert 2 <= page.evaluate("window.flips") < 9  # under 3 times a second
    page.click("#alarm button:text-is('BE has seen it')")
    page.wait_for_function("() => !document.documentElement.classList.contains('alarm')")
    wait_sent(page)
    seen = [one for one in told(laptop) if one.kind == "alarm"]
    assert {one.initials for one in seen} == {"BE"}


def test_five_keys_suffice(context: BrowserContext, laptop: Laptop) -> None:
    page = opened(context, laptop)
    mixed(page)
    keys = {"enter": "Enter", "up": "ArrowUp", "down": "ArrowDown", "yes": "F9", "no": "F10"}
    while page.evaluate("document.activeElement.id") != "read-tube_pressure":
        page.keyboard.press(keys["down"])
    page.keyboard.press(keys["enter"])  # the middle of the window, to be turned
    assert page.input_value("#read-tube_pressure") == "6.8"
    page.keyboard.press(keys["up"])
    page.keyboard.press(keys["up"])
    page.keyboard.press(keys["enter"])
    page.keyboard.press(keys["yes"])
    page.wait_for_selector("h2:text-is('Half mark at the reference point')")
    page.keyboard.press(keys["no"])
    page.wait_for_selector("h2:text-is('Skip: Half mark at the reference point')")
    page.keyboard.press(keys["no"])
    page.wait_for_selector("h2:text-is('Half mark at the reference point')")
    wait_sent(page)
    assert told(laptop)[-1].value("tube_pressure") == pytest.approx(7.0 * PSI)


def test_a_failed_attempt_and_the_next_one_from_what_is_left(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = opened(context, laptop)
    mixed(page)
    page.click("#tocards")
    page.click("text=End cap blown")
    assert "pull out by" in page.inner_text("#card .live")
    assert "4.60 psi" in page.inner_text("#card .live")
    page.click("text=end this attempt")
    page.click("button:text-is('pulled before gel')")
    assert "needs its cause" in page.inner_text("#card .ask")
    for name, words in (("cause", "cap blown"), ("left", "clean pipe"), ("payer", "contractor"),
                        ("hours", "9")):  # fmt: skip
        page.fill(f"#{name}", words)
    page.click("button:text-is('pulled before gel')")
    page.click("text=begin attempt 2")
    assert "Left: clean pipe" in page.inner_text("#notices")
    page.click("#card .do")
    wait_sent(page)
    ended, began = told(laptop)[-2:]
    assert (ended.kind, ended.attempt, ended.reason) == ("end", 1, "cap blown")
    assert (ended.word("payer"), ended.value("crew_time")) == ("contractor", 9 * 3600)
    assert (began.step, began.attempt) == ("permits", 2)


def test_two_crews_on_one_step_are_shown_and_settled_by_a_person(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = opened(context, laptop)
    page.click("#card .do")
    wait_sent(page)
    assert laptop.store is not None
    other = ago(9, event("step", 0, step="permits", entered_by="Cy Ost"))
    with laptop.store.write(by="t", at=AT, origin="", reason="") as session:
        session.journal.append(KEY, chain("tablet-9", [other]))
    page.evaluate("Field.soon()")
    page.wait_for_selector("#notices:has-text('Two crews entered')")
    page.click("#notices button:has-text('Cy Ost is right')")
    page.wait_for_selector("#notices:not(:has-text('Two crews entered'))", state="attached")
    wait_sent(page)
    settled = told(laptop)
    assert len(settled) == 3  # both are still there
    mine = next(one for one in settled if one.entered_by == "Ada Lund" and not one.corrects)
    assert [one.corrects for one in settled if one.corrects] == [mine.id]


def test_an_entry_is_corrected_by_another_one(context: BrowserContext, laptop: Laptop) -> None:
    page = opened(context, laptop)
    emit(page, *(ago(50, step(key, 0)) for key in UNTIL_MIXED[:2]))
    page.fill("#read-length", "40.4")
    page.click("#card .do")
    page.wait_for_selector("h2:text-is('Seals placed, photo taken')")
    page.click("#tolog")
    page.click(".every button:has-text('40.4 ft')")
    assert page.input_value("#read-length") == "40.4"
    page.fill("#read-length", "40.1")
    page.click("#card .do")
    wait_sent(page)
    first, second = [one for one in told(laptop) if one.step == "last_look"]
    assert (second.corrects, second.at) == (first.id, first.at)
    assert "40.1 ft" in page.inner_text("#steps")


def test_the_live_cure_stands_beside_the_form_and_may_fail(
    context: BrowserContext, laptop: Laptop, tmp_path: Path
) -> None:
    page = opened(context, laptop)
    mixed(page, 60)
    for n, one in enumerate(START_STEPS[13:17]):
        emit(page, ago(20 - n, step(one.key, 0)))
    page.wait_for_selector("#live #csv", timeout=20000)
    start = dt.datetime.now(dt.UTC) - dt.timedelta(minutes=17)
    rows = ["time,gas in degC,exhaust degC,wall top 3 m degC,wall bottom 3 m degC,tube psi"]
    for minute in range(16):
        at = start + dt.timedelta(minutes=minute)
        warm = 20 + 60 * (1 - math.exp(-minute / 8))
        rows.append(
            f"{at:%Y-%m-%dT%H:%M:%SZ},105,{95 + minute / 3:.1f},{warm:.1f},{warm - 4:.1f},7.0"
        )
    page.fill("#csv", "\n".join(rows))
    page.click("text=look at it")
    page.wait_for_selector("#live h2:has-text('logger to')", timeout=20000)
    assert page.locator("#live svg path").count() > 2
    page.evaluate("document.getElementById('live').remove()")
    page.click("#toremark")
    page.fill("#remark", "the form goes on")
    page.click("#card .do")
    wait_sent(page)
    assert told(laptop)[-1].reason == "the form goes on"


# ---------------------------------------------------------------- sun, night, gloves

# WCAG 2.2: relative luminance and contrast (1.4.6, enhanced: 7:1)
LOOK = """() => {
  const channel = (c) => (c /= 255) <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  const light = (c) => 0.2126 * channel(c[0]) + 0.7152 * channel(c[1]) + 0.0722 * channel(c[2]);
  const parts = (text) => text.match(/[\\d.]+/g).map(Number);
  const ground = (node) => {
    for (; node; node = node.parentElement) {
      const color = parts(getComputedStyle(node).backgroundColor);
      if (color.length < 4 || color[3] > 0) return color;
    }
    return [255, 255, 255];
  };
  const low = [], small = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const node = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || !node.getClientRects().length) continue;
    const style = getComputedStyle(node), svg = node.namespaceURI.endsWith("svg");
    const [a, b] = [light(parts(svg ? style.fill : style.color)), light(ground(node))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 7) low.push([walk.currentNode.data.trim().slice(0, 30), ratio]);
  }
  const targets = "button, input, textarea, select, a";
  for (const node of document.querySelectorAll(targets)) {
    const box = (node.type === "file" ? node.closest("label") : node).getBoundingClientRect();
    if (box.width && (box.width < 64 || box.height < 64)) {
      small.push([node.outerHTML.slice(0, 60), box.width, box.height]);
    }
  }
  const wide = document.documentElement.scrollWidth - innerWidth;
  return { low, small, wide };
}"""
CLEAN: dict[str, Any] = {"low": [], "small": [], "wide": 0}


@pytest.mark.parametrize(("width", "height"), [(820, 1180), (1280, 800)])
def test_contrast_and_targets_by_day_by_night_and_in_alarm(
    context: BrowserContext, laptop: Laptop, width: int, height: int
) -> None:
    page = opened(context, laptop, signed=False)
    page.set_viewport_size({"width": width, "height": height})
    assert page.evaluate(LOOK) == CLEAN
    page.fill("#entered", "Ada Lund")
    page.click("text=this is us")
    mixed(page, 30)
    page.fill("#read-tube_pressure", "3.8")
    page.click("#card .do")
    page.click("text=keep this reading")
    for state in ("", "night", "flip", "night flip"):
        page.evaluate("(state) => { document.documentElement.className = state; }", state)
        assert page.evaluate(LOOK) == CLEAN, state
    page.evaluate("document.documentElement.className = ''")
    for view in ("read", "cards", "trouble stalled", "steps", "log", "remark", "end", "skip half"):
        page.evaluate("(view) => Field.show(view)", view)
        assert page.evaluate(LOOK) == CLEAN, view
    page.goto(f"{laptop.address}/field")
    page.wait_for_selector("body[data-ready=yes]")
    assert page.evaluate(LOOK) == CLEAN
    page.goto(f"{laptop.address}/field/A-07/paper")
    assert page.evaluate(LOOK)["low"] == []
    assert page.evaluate(LOOK)["wide"] == 0


def test_every_control_has_a_name_and_every_id_is_there_once(
    context: BrowserContext, laptop: Laptop
) -> None:
    page = opened(context, laptop)
    mixed(page)
    for view in ("step", "read", "cards", "end", "log", "remark"):
        page.evaluate("(view) => Field.show(view)", view)
        doubled = page.evaluate(
            """() => { const ids = [...document.querySelectorAll("[id]")].map((node) => node.id);
              return ids.filter((id, at) => ids.indexOf(id) !== at); }"""
        )
        assert doubled == []
        nameless = page.evaluate(
            """() => [...document.querySelectorAll("#card input, #card textarea, button")]
              .filter((node) => !(node.labels && node.labels.length) && !node.textContent.trim()
                && !node.getAttribute("aria-label")).map((node) => node.outerHTML)"""
        )
        assert nameless == []


def test_the_hand_form_is_typed_in_on_a_page(context: BrowserContext, laptop: Laptop) -> None:
    page = context.new_page()
    page.goto(f"{laptop.address}/field/A-07/paper")
    page.fill("[name=day]", "2026-11-19")
    page.fill("[name=entered_by]", "Cy Ost")
    page.fill("[name='time permits']", "9:40")
    page.fill("[name='row 0 time']", "soon")
    page.fill("[name='row 0 tube_pressure']", "7")
    page.click("text=store as")
    faults = page.inner_text(".faults")
    assert "read_by" in faults
    assert "soon" in faults
    assert page.input_value("[name='time permits']") == "9:40"
    page.fill("[name=read_by]", "Bo Ek")
    page.fill("[name='row 0 time']", "9:55")
    page.click("text=store as")
    page.wait_for_selector("text=2 entries are stored")
    assert [one.origin.value for one in told(laptop)] == ["paper", "paper"]
