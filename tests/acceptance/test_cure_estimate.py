"""The estimate against synthetic truths of another program: coverage, learning, blind ends."""

from __future__ import annotations

import math
import multiprocessing
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

from drainwright.acceptance.cure_estimate import (
    Estimate,
    Question,
    drive_of,
    estimate,
    watched_of,
)
from drainwright.acceptance.cure_log import estimated_of
from drainwright.acceptance.cure_priors import Prior, learn, priors_of, unknowns_at, with_learned
from drainwright.engineering.cure_model import CureCase
from drainwright.engineering.driven_cure import follow, layout_of
from drainwright.records.cure_verdict import Estimated
from tests.acceptance.draws import BOILER, Logged, case, drawn, logged
from tests.acceptance.synthetic_logs import Made, Sensors, Truth, make

CASES = 200
UNSEEN = 5000
"""First seed of the cures that the coverage is judged by."""


def asked(given: CureCase, seen: Logged) -> Question:
    off = seen.phases.steam_off
    end = float(seen.readings.seconds[-1]) if off is None else off
    drive = drive_of(seen.readings, seen.phases, given, end)
    assert drive is not None
    watched = watched_of(seen.readings, seen.phases, layout_of(given).columns)
    return Question(given, drive, watched, priors_of(given))


def found_in(made: Made, sensors: Sensors, *, blind: bool = False) -> tuple[Question, Estimate]:
    question = asked(case(blind=blind), logged(made, sensors, blind=blind))
    return question, estimate(question, most=4)


def covered(seed: int) -> tuple[float, float, float]:
    """True least cure at the end of steam, and the band, of one drawn cure."""
    rng = np.random.default_rng(seed)
    truth = drawn(rng)
    made = make(truth)
    sensors = Sensors(seed=seed + 1_000_000, lag=float(rng.uniform(5, 25)))
    _, found = found_in(made, sensors)
    _, low, high = found.band(found.driven.times.size - 1)
    return made.least(truth.steam_time), float(low.min()), float(high.min())


@pytest.mark.slow
@pytest.mark.independent
def test_bands_cover_the_truth_in_90_to_98_percent_of_200_cures() -> None:
    """Issue 7: 95 % bands over 200 cures with noise, constant errors and lag of the sensors.

    The model's allowance was set on seeds 0 to 59; none of these seeds took part in that.
    """
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, mp_context=context) as pool:
        found = list(pool.map(covered, range(UNSEEN, UNSEEN + CASES), chunksize=10))
    inside = sum(low <= true <= high for true, low, high in found) / CASES
    width = float(np.median([high - low for _, low, high in found]))
    assert 0.90 <= inside <= 0.98, inside
    assert width < 0.05


@pytest.mark.independent
def test_soil_contact_and_supply_come_out_within_their_bands() -> None:
    truth = Truth(
        soil_k=1.4 * 0.7, contact=4e-3, bladder_k=0.28, supply=BOILER, soil=291.0,
        condensate=0.006, steam_time=9000.0,
    )  # fmt: skip
    _, found = found_in(make(truth), Sensors(seed=3))
    told = {one.name: one for one in estimated_of(found)}
    true = {
        "soil_conductivity": truth.soil_k,
        "contact": truth.contact * 0.028,
        "bladder": truth.bladder_k,
        "soil_temperature": truth.soil,
        "condensate": truth.condensate,
    }
    for name, value in true.items():
        assert told[name].low <= value <= told[name].high, (name, told[name])
        assert told[name].error < 0.95, name
    assert told["soil_conductivity"].value < 1.25
    assert told["contact"].value > 1.5 * told["contact"].prior


def test_a_blind_end_has_a_wider_band_there_and_only_there() -> None:
    truth = Truth(steam_time=7200.0)
    made = make(truth)
    _, seen = found_in(made, Sensors())
    _, blind = found_in(made, Sensors(), blind=True)
    ends = [n for n, one in enumerate(seen.driven.columns) if one.line == "top"]
    widths = []
    for found in (seen, blind):
        _, low, high = found.band(found.driven.times.size - 1)
        widths.append((high - low)[ends])
    assert widths[1][-1] > 5 * widths[0][-1]
    assert widths[1][0] < 2 * widths[0][0]


@pytest.mark.independent
def test_learning_makes_the_next_cure_of_a_street_foreseeable() -> None:
    """Held-back cures of a street with dry soil and poor contact: the error falls."""
    rng = np.random.default_rng(5)

    def on_the_street() -> Truth:
        own = 0.5 * rng.standard_normal(3)
        return Truth(
            soil_k=1.4 * math.exp(0.25 * (-1.5 + own[0])),
            contact=1e-3 * math.exp(1.0 * (1.3 + own[1])),
            soil=288.15 + 2.0 * (1.2 + own[2]),
            steam_time=5400.0,
        )

    logs: list[list[Estimated]] = []
    for seed in range(3):
        _, found = found_in(make(on_the_street()), Sensors(seed=seed))
        logs.append(list(estimated_of(found)))
    given = case()
    plain = priors_of(given)
    taught = with_learned(plain, learn(logs))
    errors = {"plain": [0.0], "taught": [0.0]}
    for seed in range(10, 16):
        made = make(on_the_street())
        question = asked(given, logged(made, Sensors(seed=seed)))
        for name, priors in (("plain", plain), ("taught", taught)):
            errors[name].append(foreseen(question, priors, made))
    assert sum(errors["taught"]) < 0.6 * sum(errors["plain"])


def foreseen(question: Question, priors: tuple[Prior, ...], made: Made) -> float:
    """Error of the wall's temperature near the tap from the gas alone, mean over the steam [K]."""
    run = follow(question.case, question.drive, unknowns_at(priors, np.zeros(len(priors))))
    top = next(n for n, one in enumerate(run.columns) if one.line == "top")
    true = np.interp(run.times, made.times, made.face["top", 0])
    return float(np.abs(run.face[:, top] - true).mean())


def test_what_was_learned_can_be_switched_off() -> None:
    priors = priors_of(case())
    assert with_learned(priors, {}) == priors
    log = (Estimated("soil_temperature", "", "temperature", 288.0, 291.0, 290.0, 292.0, 1.5, 0.2),)
    taught = {one.name: one for one in with_learned(priors, learn([log]))}
    plain = {one.name: one for one in priors}
    assert taught["soil_temperature"].shown > plain["soil_temperature"].shown
    assert taught["soil_temperature"].spread < plain["soil_temperature"].spread
    assert taught["resin_rate"] == plain["resin_rate"]


def test_a_supply_that_nobody_told_is_still_found() -> None:
    truth = Truth(supply=0.0022, steam_time=7200.0)
    made = make(truth)
    given = replace(case(), gas=replace(case().gas, steam_supply=None))
    found = estimate(asked(given, logged(made, Sensors())))
    told = {one.name: one for one in estimated_of(found)}["supply"]
    assert 0.4 * truth.supply < told.value < 2.0 * truth.supply
