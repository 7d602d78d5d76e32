"""Which test holds which item of the trade's list (TRADE.md 1 to 20 and 25).

The table says where each rule is tested; a test here sees that those tests are there. Below it
stand the tests that no single module owns: every rule reaches the work sheet.
"""

from __future__ import annotations

import ast
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from drainwright.engineering import steam
from drainwright.engineering.cure import simulate
from drainwright.engineering.cure_model import Collar as CureCollar
from drainwright.engineering.cure_model import Grid, Liner, Schedule, Supply
from drainwright.engineering.groundwater import water_pressure
from drainwright.papers.design_note import design_note_pdf
from drainwright.planning.design import design
from drainwright.planning.site import Site
from drainwright.records.lateral import Branch, FarAccess, TapKind
from drainwright.records.premises import EntryState
from drainwright.records.rig import Rig
from drainwright.records.standing import Knowledge, Standing
from drainwright.records.work_sheet import WorkSheet
from drainwright.units import INCH, PSI
from tests.engineering.cure_cases import case
from tests.papers import pdf_reading
from tests.planning.sites import lateral, site
from tests.planning.test_design import COLLAR, RESIN, SIGNED, TUBES, made

HERE = Path(__file__).parent
P = "planning/test_"
ITEMS: dict[int, tuple[str, ...]] = {
    1: (
        "papers/test_mix_ticket.py::test_no_address_proof_no_ticket_but_by_name_and_reason",
        f"{P}fitness.py::test_a_rule_bites",
        f"{P}site_rules.py::test_a_dig_needs_a_ticket_valid_that_day",
        "test_trade_items.py::test_each_rule_reaches_the_work_sheet",
    ),
    2: (
        f"{P}site_rules.py::test_each_matter_is_raised",
        f"{P}site_rules.py::test_a_dead_branch_or_one_beyond_the_liner_is_left_alone",
        f"{P}design.py::test_the_cost_splits_at_the_property_line",
        "acceptance/test_pay.py::test_a_liner_is_paid_once_and_a_set_up_once_a_segment",
    ),
    3: (
        f"{P}batch_go_specifications.py::test_the_list_is_made_for_this_lateral",
        "papers/test_mix_ticket.py::test_one_page_with_go_no_go_and_water_off_at_every_premises",
    ),
    4: (
        f"{P}steam_fit_sensitivity.py::test_trap_seals_are_weak",
        f"{P}steam_fit_sensitivity.py::test_the_route_is_told",
        f"{P}steam_fit_sensitivity.py::test_a_quarter_inch_vent_takes_as_much_as_a_boiler_horsepower",
        "test_trade_items.py::test_four_inches_of_water_in_a_trap",
    ),
    5: (f"{P}steam_fit_sensitivity.py::test_how_long_the_main_may_stay_plugged",),
    6: (
        f"{P}cut_length.py::test_each_way_has_its_conversion",
        f"{P}fitness.py::test_a_camera_from_the_cleanout_counts_from_its_own_end",
        f"{P}site_rules.py::test_the_mouth_of_a_wye_is_an_ellipse",
    ),
    7: (
        f"{P}cut_length.py::test_cut_length_by_hand",
        f"{P}cut_length.py::test_the_gap_to_the_cleanout",
        f"{P}design.py::test_a_length_far_off_the_list_waits_for_the_owner",
        "papers/test_work_sheet.py::test_us_numbers",
    ),
    8: (
        "engineering/test_wet_out_and_inversion.py::test_cable_front_and_tail",
        "engineering/test_wet_out_and_inversion.py::test_marks_tell_where_tail_and_front_are",
        "test_trade_items.py::test_a_cable_tied_to_the_carrier_proves_nothing",
    ),
    9: (
        f"{P}site_rules.py::test_landing_is_what_the_hole_leaves_less_the_error",
        f"{P}site_rules.py::test_a_second_live_tap_under_the_collar_stops",
        f"{P}site_rules.py::test_joints_manholes_and_short_landings",
        f"{P}site_rules.py::test_the_shortest_collar_that_lands_is_chosen_for_the_true_bore",
        f"{P}design.py::test_the_figures_by_hand",
    ),
    10: ("test_trade_items.py::test_seals_at_collar_and_both_ends",),
    11: (
        f"{P}design.py::test_a_step_to_six_inches_thins_the_wall",
        f"{P}steam_fit_sensitivity.py::test_surplus_girth_and_bends",
        f"{P}stations.py::test_what_is_not_known_is_marked_as_assumed",
    ),
    12: (
        f"{P}steam_fit_sensitivity.py::test_what_the_pipe_brings_along",
        f"{P}steam_fit_sensitivity.py::test_slope_from_depths_and_cautions",
        f"{P}stations.py::test_a_riser_lifts_the_pipe_at_the_main",
        f"{P}steam_plan.py::test_a_belly_and_cast_iron_take_longer",
    ),
    13: (
        f"{P}resin_clock.py::test_deadlines_follow_each_other_and_use_the_stated_share",
        f"{P}resin_clock.py::test_one_gel_time_says_so_and_a_witness_cup_is_asked_for",
        "engineering/test_resin_life.py::test_one_point_is_taken_on_the_safe_side",
        "engineering/test_resin_life.py::test_against_general_solvers",
    ),
    14: (
        "operations/test_mix_batch.py::test_masses_add_up_and_split_by_the_ratio",
        "operations/test_mix_batch.py::test_what_the_scale_said_is_held_against_letter_and_sheet",
        f"{P}design.py::test_the_makers_chart_wins",
        "engineering/test_wet_out_and_inversion.py::test_roller_gap_counts_coatings_only_where_there_are",
        "papers/test_mix_ticket.py::test_masses_and_their_limits",
    ),
    15: (
        f"{P}design.py::test_pressure_windows_by_phase",
        f"{P}field_checks.py::test_each_phase_has_its_own_least_pressure",
        "acceptance/test_cure_log.py::test_pressure_dip_at_the_change",
    ),
    16: (
        f"{P}steam_fit_sensitivity.py::test_pure_steam_and_the_share_for_cooler_gas",
        f"{P}steam_fit_sensitivity.py::test_elevation_lowers_the_gas_temperature",
        f"{P}steam_plan.py::test_the_hold_in_a_form_that_a_crew_can_measure",
        f"{P}steam_plan.py::test_the_longer_of_both_is_printed_and_the_model_says_what_it_is",
        f"{P}gas_mix.py::test_the_engine_keeps_the_host_below_its_limit_and_the_wall_near_it",
    ),
    17: (
        f"{P}steam_plan.py::test_the_collar_behind_the_bladder_is_last",
        "test_trade_items.py::test_the_collar_stays_colder_behind_the_bladder",
    ),
    18: (
        f"{P}steam_plan.py::test_let_down_stays_below_the_glass_transition",
        "engineering/test_cure_plan.py::test_let_down_waits_until_the_wall_stays_cold",
    ),
    19: (
        "records/test_attempt.py::test_attempts_are_numbered_and_end",
        f"{P}trouble_cards.py::test_every_failure_of_the_trade_has_one_card",
        "acceptance/test_pay.py::test_evidence_of_a_failed_and_a_finished_attempt",
    ),
    20: (
        f"{P}site_rules.py::test_where_a_rig_falls_short",
        "test_trade_items.py::test_each_rule_reaches_the_work_sheet",
    ),
    25: (
        f"{P}design.py::test_every_figure_names_a_source_and_inputs_their_standing",
        f"{P}design.py::test_demo_materials_never_enter_a_real_project",
        "papers/test_design_note.py::test_assumptions_stand_in_a_box_before_the_figures",
        "papers/test_design_note.py::test_sensitivities_stand_with_the_assumptions",
        "operations/test_would_change.py::test_an_outcome_that_would_turn_is_told_with_its_reason",
        "test_trade_items.py::test_the_design_note_leaves_a_place_for_the_licensed_engineer",
    ),
}  # fmt: skip


@pytest.mark.parametrize("item", [*range(1, 21), 25])
def test_each_item_has_its_tests(item: int) -> None:
    for name in ITEMS[item]:
        file, _, test = name.partition("::")
        tree = ast.parse((HERE / file).read_text("utf-8"))
        there = {one.name for one in tree.body if isinstance(one, ast.FunctionDef)}
        assert test in there, name


# ---------------------------------------------------------------- tests no module owns


def sheet_of(where: Site) -> WorkSheet:
    return design(where, TUBES, (RESIN,), (COLLAR,))


def settled(**changes: Any) -> Site:
    return site(lateral=lateral(**changes), premises=(SIGNED,))


WHERE: dict[str, Site] = {
    "address proof": settled(proof=None),
    "right of entry": site(premises=(replace(SIGNED, entry=EntryState.REFUSED),)),
    "premises": settled(premises=()),
    "branch": settled(branches=(Branch(5.0, live=True),)),
    "exhaust": settled(far_access=FarAccess.INDOORS),
    "tap kind": settled(tap_kind=TapKind.BROKEN_IN),
    "steep": settled(slope=0.6),
    "host material": settled(material="pitch fibre"),
    "foreign pipe": settled(foreign_pipes=(4.0,)),
    "dig ticket": settled(far_access=FarAccess.NONE),
    "rig": replace(settled(), rig=Rig("R1", hose_reach=1.0)),
}  # fmt: skip


@pytest.mark.parametrize("name", WHERE)
def test_each_rule_reaches_the_work_sheet(name: str) -> None:
    plain = {reason.rule for reason in made().reasons}
    found = {reason.rule for reason in sheet_of(WHERE[name]).reasons} - plain
    assert name in found, found


@pytest.mark.published
def test_four_inches_of_water_in_a_trap() -> None:
    # TRADE 4, mark C: 2 in of water = 0.072 psi, 4 in = 0.144 psi
    assert float(water_pressure(2 * INCH)) / PSI == pytest.approx(0.072, abs=5e-4)
    assert float(water_pressure(4 * INCH)) / PSI == pytest.approx(0.144, abs=1e-3)


def test_a_cable_tied_to_the_carrier_proves_nothing() -> None:
    # TRADE 8: tied to the carrier it proves nothing; folded, only the seated mark counts
    def cautions(rig: Rig) -> str:
        return " ".join(sheet_of(replace(settled(), rig=rig)).cautions).lower()

    rig = Rig("R1", cable_tied_to="end cap", tube_stored="straight", cable_reference="hose gland")
    assert "tied to the carrier" not in cautions(rig)
    assert "prove nothing of the front" in cautions(replace(rig, cable_tied_to="carrier"))
    assert "only the seated mark" in cautions(replace(rig, tube_stored="folded"))


def test_seals_at_collar_and_both_ends() -> None:
    # TRADE 10: hydrophilic gaskets or sealant at both ends and the collar: type, lot, place, photo
    figure = made().figure("seal.places")
    assert figure is not None
    for words in ("collar", "tap", "far end", "type", "lot", "place", "photo"):
        assert words in str(figure.value)


@pytest.mark.published
def test_the_collar_stays_colder_behind_the_bladder() -> None:
    # TRADE 17, mark C (rubber assumed, wall not told): 5 mm of rubber, 105 °C, 70 min: the
    # collar's outer face about 62 °C where the lateral's is 81 °C; 4 mm of wall taken here
    pressure = steam.saturation_pressure(378.15)
    found = simulate(
        case(
            liner=Liner(0.004),
            gas=Supply(pressure - steam.STANDARD_BAROMETER),
            collar=CureCollar(16 * INCH, 0.004, 8 * INCH, bladder_wall=0.005),
            schedule=Schedule(600.0, 4200.0, 295.0, 0.8),
            grid=Grid(4, 3, 8, 5),
        ),
        times=(4200.0,),
    )
    rows = found.fields.temperature[0] - 273.15
    face = (rows[2] + rows[3]) / 2  # between the last liner cell and the first of the host
    collar, pipe = float(np.min(face)), float(np.max(face))
    assert collar == pytest.approx(62, abs=2.0)
    assert pipe == pytest.approx(81, abs=2.0)


def test_the_design_note_leaves_a_place_for_the_licensed_engineer() -> None:
    known = Standing(Knowledge.ASSUMED, by="R. Vale")
    sheet = sheet_of(settled(standing={"water_depth": known}))
    text = pdf_reading.text(design_note_pdf(sheet, revision=1))
    assert "licensed engineer" in text.lower()
    assert "water_depth" not in text
