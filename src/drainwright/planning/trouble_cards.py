"""Trouble cards: what to look at first when something goes wrong with a live resin clock.

A card never decides. It names the deadlines that count now, which a page fills with the
running clock's times, and the figures of the work sheet that bear on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.records.work_sheet import WorkSheet
from drainwright.units import UnitSystem, show

SEATED, PULL_OUT, GELS = "seated", "pull_out", "gels"
WATER_BACK, MAIN, STEAM_TROUBLE, STEAM_UNTIL = "water_back", "main", "steam_trouble", "steam_until"
LET_DOWN = "let_down"
CLOCKS = (SEATED, PULL_OUT, GELS, WATER_BACK, MAIN, STEAM_TROUBLE, STEAM_UNTIL, LET_DOWN)
"""Deadlines a card may name."""


@dataclass(frozen=True, slots=True)
class TroubleCard:
    """One failure. `clocks` are deadlines by their key, `figures` those of the work sheet."""

    key: str
    title: str
    first: tuple[str, ...]
    record: tuple[str, ...]
    cautions: tuple[str, ...]
    clocks: tuple[str, ...] = ()
    figures: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    """Steps at which it is likeliest; it is at hand at every step."""


_STAND_CLEAR = "Nobody over the manhole or in line with hose, carrier or cap."
_NO_ENTRY = "Nobody enters the manhole to help: the attendant calls, rescue goes in."
_WET = "Wet resin: gloves, sleeves, goggles; keep it out of the main."
_STEAM = "Steam and hot water burn: valves shut and pressure off before anything is opened."
_DECIDE = "The crew lead decides, by name; the superintendent is called."
_LAUNCH = ("inversion", "half", "seated")
_HOT = ("steam_on", "exhaust_steady", "air_on", "steam_shut")

CARDS = (
    TroubleCard(
        "people",
        "Gas alarm, or a person down",
        (
            (
                "Everybody out and upwind. Shut steam; leave air on and hold pressure, if that "
                "can be done from where you stand."
            ),
            "Call the emergency number; one person meets them at the street.",
            "Keep people out of the houses on this lateral and of the manholes around.",
        ),
        ("Time of the alarm, the monitor’s readings, who was where.", "Who was called, and when."),
        (_NO_ENTRY, "A liner can be replaced. Nobody goes back for it."),
    ),
    TroubleCard(
        "steam_in_building",
        "Steam, hot water or a smell in a building",
        (
            "Shut steam. Hold with air within the window.",
            "People out of the house, windows open, lids and drains left alone.",
            (
                "Call; then find the way in: dry trap, open lid, branch that is not on the sheet, "
                "cap or hose that leaks."
            ),
        ),
        ("House and room, time, who saw it, who was told.", "Which trap or branch it came by."),
        (_STEAM, "A trap holds back very little: see the figure below."),
        (STEAM_UNTIL, WATER_BACK),
        ("steam.trap_seal", "pressure.steam_least"),
        _HOT,
    ),
    TroubleCard(
        "cap_blown",
        "End cap blown, or pressure gone at once",
        (
            "Close the supply. Stay away from the far end until the gauge reads nothing.",
            "Is the front past the mouth, is the collar on the hole? Look with the camera.",
            (
                "Resin still liquid in the witness cup, and time left to pull: decide now whether "
                "it comes out."
            ),
        ),
        (
            "Pressure and cable mark when it went.",
            "State of clamp, cap and tube end; photo.",
            "End the attempt with cause, material and hours, if it comes out.",
        ),
        (_STAND_CLEAR, _WET, _DECIDE),
        (PULL_OUT, SEATED, GELS),
        ("launch.minimum", "launch.maximum"),
        _LAUNCH,
    ),
    TroubleCard(
        "stalled",
        "The front stands still",
        (
            "Read tube pressure and cable. Below the window: raise slowly to its middle.",
            (
                "Within the window: wait one minute, then look at the bend or offset the sheet "
                "shows at this distance."
            ),
            "Never above the window to force it. Half out is worse than not begun.",
        ),
        ("Pressure, cable mark and time, each try.", "What the camera saw at the front."),
        (_STAND_CLEAR, _DECIDE),
        (SEATED, PULL_OUT),
        ("launch.minimum", "launch.maximum", "launch.cable_half", "launch.cable_seated"),
        _LAUNCH,
    ),
    TroubleCard(
        "wrong_branch",
        "The tube went into the wrong branch",
        (
            "Hold pressure, stop the cable. Compare the cable mark with where the branch is.",
            "Resin liquid and time to pull: let down, draw back beyond the branch, try once more.",
            "Not enough time: all of it comes out.",
        ),
        (
            "Cable mark, distance of the branch, camera still.",
            "Whose service the branch is; look whether it is blocked.",
        ),
        (_STAND_CLEAR, _WET, "A closed branch floods a house: its water goes off first."),
        (PULL_OUT, SEATED),
        ("launch.cable_seated", "length.lined"),
        _LAUNCH,
    ),
    TroubleCard(
        "over_run",
        "The tube over-ran the cleanout",
        (
            "Stop the cable and hold pressure. How far past the cleanout is the front?",
            "Draw back until the seated mark stands at the reference point, if resin is liquid.",
            (
                "Else cure as it lies: the cleanout is reopened afterwards, and what lies beyond "
                "is looked at for a closed branch."
            ),
        ),
        ("Cable mark, how far over, photo at the cleanout.", "What lies beyond the cleanout."),
        (_STAND_CLEAR, _DECIDE),
        (SEATED, PULL_OUT),
        ("launch.cable_seated", "length.measured", "cut.length"),
        ("seated",),
    ),
    TroubleCard(
        "collar_off",
        "Collar off the hole",
        (
            "Do not steam. Look with the main camera: by how much, on which side?",
            "Resin liquid: bladder down, shift the carrier, seat again.",
            "Compare with the landing on the sheet: what is left on the short side?",
        ),
        ("Offset by side, still before and after.", "Time the collar sat for good."),
        (_STAND_CLEAR, "Less landing than the sheet’s least goes to the engineer, not to steam."),
        (SEATED, PULL_OUT),
        ("collar.landing_up", "collar.landing_down"),
        ("bladder_seated", "seated"),
    ),
    TroubleCard(
        "carrier_stuck",
        "Carrier stuck in the main",
        (
            "All pressure off, bladder soft, before any pull.",
            "Which line is slack, which is tight? Look with the camera from the other manhole.",
            "Pull back the way it came, by hand, with a gauge on the line if there is one.",
            "Flow rises behind it: bypass before it reaches the lowest basement.",
        ),
        ("Distance from the manhole, pull used, what held it.", "Water level upstream, with time."),
        (_NO_ENTRY, "A tight line whips when it parts: nobody in line with it."),
        (PULL_OUT, MAIN),
        ("launch.cable_seated",),
        ("at_tap", "bladder_seated", "bladder_out"),
    ),
    TroubleCard(
        "bladder_burst",
        "Carrier bladder burst or losing air",
        (
            "Close its supply. Is the collar still on the hole, is the tube pressure held?",
            "Before steam, resin liquid and time to pull: carrier out, spare bladder in.",
            (
                "Under steam: hold tube pressure with air, look at the collar with the camera "
                "before you go on."
            ),
        ),
        ("Pressure before it went, uses of this bladder, its temperature.", "State of the collar."),
        (_STAND_CLEAR, _STEAM),
        (PULL_OUT, SEATED, GELS),
        ("launch.bladder_most",),
        ("bladder_seated", *_LAUNCH, *_HOT),
    ),
    TroubleCard(
        "pressure_lost",
        "Tube pressure falls while it cures",
        (
            "Standby air on at once, to the middle of the window.",
            "Least pressure since the change: was it under the window?",
            "Leak at cap, hose, carrier or a branch? Look and listen; do not open anything.",
        ),
        ("Least pressure and for how long.", "Wall temperature then.", "Where it leaked."),
        (_STEAM, "A tube that folded soft stays folded: the camera looks before let down."),
        (STEAM_UNTIL, LET_DOWN),
        ("pressure.steam_least", "pressure.cool_least"),
        (*_HOT, "soak_back"),
    ),
    TroubleCard(
        "steam_short",
        "Exhaust not at temperature in time",
        (
            "Vent open, hose not kinked, water drained out of its low point?",
            "Boiler pressure, fuel, feed water; valve at the carrier full open?",
            "More water in the pipe than planned: belly, open branch, infiltration at the front.",
            "Time under steam counts only from the exhaust’s temperature.",
        ),
        ("Exhaust and gas temperature every 5 min.", "What was changed, with time."),
        (_STEAM, "Never past the gas limit to make up for time."),
        (STEAM_TROUBLE, WATER_BACK, MAIN),
        ("steam.exhaust", "steam.exhaust_at", "steam.smallest_vent", "steam.boiler"),
        ("steam_on", "exhaust_steady"),
    ),
    TroubleCard(
        "boiler_out",
        "Boiler out",
        (
            "Air on and shown, then shut the steam valve. Hold pressure.",
            "Sensors: how hot is the wall, top and bottom, and the collar?",
            (
                "Steam back: the hold starts again at the exhaust’s temperature, nothing is "
                "counted from before unless the engineer says so."
            ),
        ),
        ("Time out, time back.", "Coldest wall while it was out."),
        (_STEAM, "Cold resin that has begun to gel is weak: no let down."),
        (WATER_BACK, MAIN),
        ("pressure.cool_least", "steam.hold"),
        ("steam_on", "exhaust_steady"),
    ),
    TroubleCard(
        "air_at_change",
        "No air at the change from steam",
        (
            "Leave steam on. It is not shut before air shows on the gauge.",
            "Standby compressor: valve, regulator, hose.",
            "Air shows: open slowly, then shut steam slowly.",
        ),
        ("Least pressure at the change.", "How long steam ran over."),
        (_STEAM, "Condensing steam sucks a soft tube in within seconds."),
        (LET_DOWN, WATER_BACK),
        ("pressure.cool_least",),
        ("air_on", "steam_shut"),
    ),
    TroubleCard(
        "cup_gels",
        "Witness cup gels before the clock says",
        (
            "Believe the cup. The liner is as old as the cup, warmer or not.",
            "Not launched: it does not go in.",
            "Being launched: seated within minutes, or out while it still moves.",
        ),
        ("Time of gel, cup’s temperature.", "Lots A and B, where they were stored, weights."),
        (_WET, "A mass of mixed resin heats itself: cups and leftovers out of the truck, spread."),
        (PULL_OUT, SEATED),
        ("resin.life_air", "resin.life_ice"),
        ("on_ice", "off_ice", "at_tap", *_LAUNCH),
    ),
    TroubleCard(
        "no_outdoor_exhaust",
        "Exhaust can’t go outdoors",
        (
            "No steam. A vented cap without a way outdoors is a question for the engineer.",
            (
                "Ask which method instead: blind cap with return through the carrier, warm water, "
                "or cure as it is; each has its own hold."
            ),
            "Keep the liner on ice while you wait.",
        ),
        ("Why, photo of the place.", "Who decided which method."),
        ("Steam never vents into a building or under a window.", _DECIDE),
        (SEATED, PULL_OUT),
        ("steam.route", "steam.after_exhaust"),
        ("steam_ready", "off_ice"),
    ),
    TroubleCard(
        "main_backs_up",
        "The plugged main backs up",
        (
            "Look at the level upstream, and at the lowest basement on the segment.",
            "Start the bypass; if there is none, let flow past as far as the work allows.",
            "Tell the houses upstream to stop using water.",
        ),
        ("Level with time, upstream manhole.", "Bypass on, off."),
        (_NO_ENTRY, "Sewage in a basement is worse than a lost liner."),
        (MAIN, PULL_OUT),
        (),
        ("flow_control", *_LAUNCH, *_HOT),
    ),
    TroubleCard(
        "not_cured",
        "Cold place, or a soft wall after cooling",
        (
            "No let down. Hold pressure.",
            "Which sensor, where? Collar and bottom lag behind the top.",
            (
                "Steam again is possible while the tube holds: a whole hold, from the exhaust’s "
                "temperature."
            ),
        ),
        ("Coldest reading, place, time.", "Second hold from when to when."),
        (_STEAM, _DECIDE),
        (WATER_BACK, MAIN),
        ("steam.last", "steam.hold", "steam.letdown"),
        ("soak_back", "let_down"),
    ),
)


@dataclass(frozen=True, slots=True)
class LiveCard:
    """A card with the work sheet's figures as text: label and number."""

    card: TroubleCard
    numbers: tuple[tuple[str, str], ...]


def live_cards(sheet: WorkSheet, system: UnitSystem) -> tuple[LiveCard, ...]:
    """Every card with the figures that this work sheet has."""
    return tuple(LiveCard(card, _numbers(sheet, card.figures, system)) for card in CARDS)


def _numbers(
    sheet: WorkSheet, keys: Sequence[str], system: UnitSystem
) -> tuple[tuple[str, str], ...]:
    found = []
    for key in keys:
        figure = sheet.figure(key)
        if figure is None:
            continue
        text = figure.value
        shown = text if isinstance(text, str) else show(text, figure.kind, system).text
        found.append((figure.label.removeprefix("… "), shown))
    return tuple(found)
