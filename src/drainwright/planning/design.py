"""From a site and the materials at hand to a work sheet: one lateral, one stretch.

Each part is a function that adds its figures, checks and reasons to a `Draft`; nothing here
computes by itself, it calls the engineering and names every number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from drainwright.checks import Check
from drainwright.errors import InputError
from drainwright.planning import consent, tap_and_pipe
from drainwright.planning.collar import (
    CollarPlan,
    choose_collar,
    collar_reasons,
    main_reasons,
    plan_collar,
)
from drainwright.planning.cure_case import CureInputs
from drainwright.planning.cut_length import (
    LengthPlan,
    listed_difference,
    listed_length,
    plan_cut,
    plan_length,
)
from drainwright.planning.fit_figures import fit_figures
from drainwright.planning.fitness import RULES, assess, outcome_of
from drainwright.planning.go_no_go import go_no_go
from drainwright.planning.launch_plan import cable_cautions, launch_figures
from drainwright.planning.make_up import flow_figures, wet_out_figures
from drainwright.planning.pressure_phases import CHANGE_TO_AIR, phase_figures
from drainwright.planning.resin_clock import clock_figures
from drainwright.planning.rig_reach import rig_reasons
from drainwright.planning.sensitivity import sensitivity_figures
from drainwright.planning.sheet_figures import (
    collar_figures,
    cut_figures,
    length_figures,
    seal_figures,
    station_figures,
    wall_figures,
)
from drainwright.planning.site import Site
from drainwright.planning.stations import Station, plan_stations
from drainwright.planning.steam_plan import plan_steam
from drainwright.planning.steam_site import plugged_main, steam_site
from drainwright.planning.wall_plan import (
    Material,
    StationWall,
    TubeChoice,
    choose_tube,
    material_of,
    station_walls,
    tube_checks,
)
from drainwright.records.material import Collar, Resin, Tube
from drainwright.records.work_sheet import Figure, Fitness, Reason, WorkSheet
from drainwright.sources import cite
from drainwright.units import show

CAUTIONS = (
    (
        "Manholes are confined spaces: permit, air monitor (oxygen 19.5–23.5 %, flammable gas "
        "below 10 % LFL), attendant, rescue."
    ),
    (
        "Steam and hot water burn. Exhaust outdoors only, stack at least 6 ft (1.8 m), keep people "
        "15 ft (4.6 m) away."
    ),
    "Air under pressure: nobody over the manhole or in line with a hose or cap.",
    "Resin on skin sensitizes for life: gloves, sleeves, eye protection; wash at once.",
    (
        "Vapors can enter buildings through dry traps: fill traps, lids down, look inside before "
        "and during steam."
    ),
    "Set up traffic control before a lid is lifted.",
    "Local codes, the makers’ letters and licensed practice rule over this sheet.",
)
SITE_RULES = (
    *RULES,
    consent.address_proof,
    consent.right_of_entry,
    consent.premises_known,
    consent.branch_inside,
    consent.exhaust,
    consent.dig_ticket,
    tap_and_pipe.tap_kind,
    tap_and_pipe.steepness,
    tap_and_pipe.host_material,
)


@dataclass(slots=True)
class Draft:
    """A work sheet in the making."""

    reasons: list[Reason] = field(default_factory=list)
    figures: list[Figure] = field(default_factory=list)
    checks: list[Check] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Materials:
    """What may be used on this project."""

    tubes: tuple[Tube, ...]
    resins: tuple[Resin, ...]
    collars: tuple[Collar, ...] = ()

    @staticmethod
    def allowed(
        site: Site,
        tubes: Sequence[Tube],
        resins: Sequence[Resin],
        collars: Sequence[Collar] = (),
    ) -> Materials:
        """Demo materials serve demo projects only."""
        demo = site.project.demo
        return Materials(
            tuple(tube for tube in tubes if demo or not tube.demo),
            tuple(resin for resin in resins if demo or not resin.demo),
            tuple(collar for collar in collars if demo or not collar.demo),
        )


def design(
    site: Site,
    tubes: Sequence[Tube],
    resins: Sequence[Resin],
    collars: Sequence[Collar] = (),
    draws: int = 0,
    *,
    margins: bool = True,
) -> WorkSheet:
    """The work sheet of one lateral, as far as its records allow.

    `draws` is how often uncertain inputs are drawn for the steam time at a confidence; 0 gives
    the nominal time alone. Without `margins` two runs of the cure engine are left out, and with
    them when trouble begins and when the steam front stalls; for trials, not for a sheet.

    Raises `InputError` only where the records contradict themselves; what is missing becomes a
    reason to prepare first.
    """
    draft = Draft(cautions=[*tap_and_pipe.pipe_cautions(site), *CAUTIONS])
    draft.reasons.extend(assess(site, SITE_RULES).reasons)
    materials = Materials.allowed(site, tubes, resins, collars)
    resin = _resin(site, materials, draft)
    choice = _make_up(site, materials, resin, draft, _Asked(draws, margins))
    outcome, reasons = outcome_of(draft.reasons)
    return WorkSheet(
        project=site.project,
        segment=site.segment,
        lateral=site.lateral,
        survey=site.survey,
        tube=choice.tube if choice else None,
        resin=resin,
        specification=site.specification,
        outcome=outcome,
        reasons=reasons,
        figures=tuple(draft.figures),
        checks=tuple(draft.checks),
        cautions=tuple(draft.cautions),
        go_no_go=() if outcome is Fitness.STOP else go_no_go(site),
    )


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is asked of the cure engine."""

    draws: int
    margins: bool


def _make_up(
    site: Site, materials: Materials, resin: Resin | None, draft: Draft, asked: _Asked
) -> TubeChoice | None:
    """Lengths, wall, tube, resin, launch and steam; stops where a needed input is missing."""
    try:
        length = plan_length(site)
        draft.checks.append(length.agreement)
        draft.figures.extend(length_figures(site, length))
        stations = plan_stations(site, length.lined, length.length)
    except InputError as error:
        draft.reasons.extend(_missing(error))
        return None
    _length_reasons(site, length, draft)
    if resin is None:
        return None
    material = material_of(site, resin)
    try:
        walls = station_walls(site, stations, material)
    except InputError as error:
        draft.reasons.append(_no_wall(error))
        return None
    choice = choose_tube(site, materials.tubes, walls)
    draft.figures.extend(wall_figures(site, walls, choice, material))
    if choice is None:
        draft.reasons.append(_no_tube())
        return None
    draft.figures.extend(station_figures(walls, choice))
    draft.checks.extend(tube_checks(choice))
    chosen = _Chosen(length, stations, walls, choice, material, asked)
    _with_tube(site, materials, resin, chosen, draft)
    return choice


@dataclass(frozen=True, slots=True)
class _Chosen:
    length: LengthPlan
    stations: tuple[Station, ...]
    walls: tuple[StationWall, ...]
    choice: TubeChoice
    material: Material
    asked: _Asked


def _with_tube(
    site: Site, materials: Materials, resin: Resin, chosen: _Chosen, draft: Draft
) -> None:
    tube = chosen.choice.tube
    cut = plan_cut(site, chosen.length.lined, tube)
    draft.figures.extend(cut_figures(cut, chosen.length))
    draft.reasons.extend(rig_reasons(site, cut.cut, tube))
    draft.figures.extend(fit_figures(site, chosen.stations, tube))
    draft.figures.extend(sensitivity_figures(site, chosen.choice.governing, chosen.material))
    collar = _collar(site, materials, draft)
    flow = flow_figures(site, chosen.stations, tube)
    draft.figures.extend(flow.figures)
    draft.checks.extend(flow.checks)
    draft.reasons.extend(
        _too_little_flow(check) for check in flow.checks if check.outcome == "not met"
    )
    wet = wet_out_figures(site, tube, resin, cut, collar)
    draft.figures.extend(wet.figures)
    draft.cautions.extend(wet.cautions)
    clock = clock_figures(site, resin)
    draft.figures.extend(clock.figures)
    draft.cautions.extend(clock.cautions)
    draft.reasons.extend(clock.reasons)
    launch = launch_figures(site, chosen.stations, tube, chosen.length)
    draft.figures.extend(launch.figures)
    draft.checks.extend(launch.checks)
    draft.reasons.extend(launch.reasons)
    draft.cautions.extend((*cable_cautions(site), CHANGE_TO_AIR))
    draft.figures.extend(phase_figures(site, chosen.stations, tube))
    steam = plan_steam(
        CureInputs(
            site, tube, resin, chosen.stations, chosen.length.lined, launch.pressure, collar
        ),
        chosen.asked.draws,
        margins=chosen.asked.margins,
    )
    draft.figures.extend(steam.figures)
    draft.checks.extend(steam.checks)
    draft.cautions.extend(steam.cautions)
    draft.reasons.extend(steam.reasons)
    at_site = steam_site(site, tube, launch.pressure)
    draft.figures.extend(at_site.figures)
    draft.checks.extend(at_site.checks)
    draft.figures.extend(plugged_main(site))


def _collar(site: Site, materials: Materials, draft: Draft) -> CollarPlan | None:
    if not materials.collars:
        return None
    collar = choose_collar(site, materials.collars)
    draft.reasons.extend(main_reasons(site, collar))
    if collar is None:
        return None
    plan = plan_collar(site, collar)
    draft.figures.extend(collar_figures(site, plan))
    draft.figures.extend(seal_figures(site, collar))
    draft.checks.extend(plan.checks)
    draft.reasons.extend(collar_reasons(site, plan))
    return plan


def _resin(site: Site, materials: Materials, draft: Draft) -> Resin | None:
    named = [resin for resin in materials.resins if resin.key == site.lateral.resin]
    usable = named or ([] if site.lateral.resin else list(materials.resins))
    if usable:
        return min(usable, key=lambda resin: resin.key)
    words = "No resin that may be used here is entered."
    work = "Enter the resin from its maker's data sheet."
    draft.reasons.append(Reason(Fitness.PREPARE, "resin", words, cite("maker"), work=work))
    return None


def _length_reasons(site: Site, length: LengthPlan, draft: Draft) -> None:
    if length.agreement.outcome == "not met":
        words = "Two measurements of the length disagree."
        work = "Measure again before the tube is cut."
        source = length.agreement.source
        draft.reasons.append(Reason(Fitness.PREPARE, "length", words, source, work=work))
    off = listed_difference(site, length.length)
    limit = site.specification.limit("listed_difference_most")
    if off is not None and limit.value is not None and off > limit.value and length.measured:
        measured, listed = (
            show(value, "length", site.project.units).text
            for value in (length.length, listed_length(site) or 0.0)
        )
        words = (
            f"The lateral measures {measured}; the owner's list says {listed} "
            f"({off * 100:.0f} % off)."
        )
        work = "Everything here was computed for the measured length; the owner decides."
        draft.reasons.append(Reason(Fitness.ASK, "listed length", words, limit.source, work=work))
    limit = site.specification.limit("lined_length_most")
    if limit.value is not None and length.lined > limit.value + 1e-9:
        words = "The lateral is longer than can be lined from the main."
        draft.reasons.append(Reason(Fitness.STOP, "length", words, limit.source))


def _missing(error: InputError) -> list[Reason]:
    return [
        Reason(
            Fitness.PREPARE,
            fault.name.replace("_", " "),
            f"{fault.message[0].upper()}{fault.message[1:]}.",
            cite("practice"),
            work="Measure it.",
        )
        for fault in error.faults
    ]


def _no_wall(error: InputError) -> Reason:
    words = f"No wall carries the loads here ({error})."
    return Reason(Fitness.ASK, "wall", words, cite("astm-f1216"))


def _too_little_flow(check: Check) -> Reason:
    words = "The lined pipe would carry less than the specification's capacity clause asks."
    work = "A thinner tube, a smoother liner shown by test, or the owner's consent."
    return Reason(Fitness.ASK, "capacity", words, check.source, work=work)


def _no_tube() -> Reason:
    words = "No tube entered suits these bores and bends with enough wall at every station."
    return Reason(
        Fitness.PREPARE, "tube", words, cite("astm-f1216"), work="Order a thicker or wider tube."
    )
