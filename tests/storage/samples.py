"""Records for storage tests, and short ways to write them."""

from __future__ import annotations

import datetime as dt
from contextlib import AbstractContextManager
from typing import Any

from drainwright.checks import at_least, not_assessed
from drainwright.records.acceptance import (
    Acceptance,
    AcceptanceStep,
    Claim,
    NonConformity,
    Submittal,
    SubmittalStep,
)
from drainwright.records.contract import (
    AgreedWork,
    Contract,
    Payer,
    PayEstimate,
    PayItem,
    PayLine,
    PayRule,
    PriceChange,
    Work,
)
from drainwright.records.crew import (
    Calendar,
    Crew,
    CrewStep,
    Mixing,
    Promise,
    StepTime,
    Stock,
    StockItem,
    StockKind,
    Wish,
)
from drainwright.records.cure_log import (
    Channel,
    ChannelMap,
    CureLog,
    LogFile,
    LogFinding,
    Reads,
    Series,
)
from drainwright.records.cure_verdict import CureVerdict, Estimated
from drainwright.records.design_choice import DesignChoice
from drainwright.records.field_step import START_STEPS, FieldSteps
from drainwright.records.lateral import AddressProof, Lateral, LengthMeasurement, MeasuringWay
from drainwright.records.list_reading import ColumnRule, ListMapping, ReadFile
from drainwright.records.live_cure import CureAlong
from drainwright.records.material import Collar, CureStep, GelTime, Resin, Tube
from drainwright.records.post_inspection import (
    Looked,
    PlaceSeen,
    PostInspection,
    TvPlace,
    VideoFit,
)
from drainwright.records.premises import EntryState, Premises
from drainwright.records.project import MainLining, MainSegment, Project
from drainwright.records.rig import Gauge, Rig, TubeCapacity
from drainwright.records.shift_plan import NotScheduled, Proof, SetUp, Shift, ShiftPlan, Turn
from drainwright.records.specification import default_specification
from drainwright.records.specimen import (
    CouponTest,
    CustodyStep,
    SamplingPlan,
    WallReading,
    WallReadings,
)
from drainwright.records.standing import Knowledge, Standing
from drainwright.records.survey import Observation, ObservationKind, Survey, SurveyMethod
from drainwright.records.tightness_report import (
    Plug,
    TestedSection,
    TestReading,
    TightnessReport,
)
from drainwright.records.warranty_terms import WarrantyTerms
from drainwright.records.work_sheet import (
    DocumentRef,
    Figure,
    FigureInput,
    Fitness,
    Reason,
    WorkSheet,
)
from drainwright.sources import cite
from drainwright.storage import RecordStore, WriteSession

NOON = dt.datetime(2026, 5, 4, 12, 0, tzinfo=dt.UTC)


def hours(number: float) -> dt.datetime:
    """A time so many hours after noon."""
    return NOON + dt.timedelta(hours=number)


def writing(
    store: RecordStore, at: dt.datetime = NOON, by: str = "Ann", reason: str = "survey read"
) -> AbstractContextManager[WriteSession]:
    """A transaction with a usual stamp."""
    return store.write(by=by, at=at, origin="list.csv", reason=reason)


def project(key: str = "oak", **fields: Any) -> Project:
    """A project."""
    return Project(key=key, name=f"Project {key}", **fields)


def lateral(key: str, **fields: Any) -> Lateral:
    """A lateral with only what it must have."""
    usual: dict[str, Any] = {"key": key, "segment": "S-1", "tap_distance": 31.5}
    return Lateral(**(usual | fields))


def survey(of: str, day: int = 1, **fields: Any) -> Survey:
    """A survey of a lateral on a day of April 2026."""
    usual: dict[str, Any] = {
        "lateral": of,
        "date": dt.date(2026, 4, day),
        "time": dt.time(9, 30),
        "method": SurveyMethod.MAIN,
        "direction": "up",
    }
    return Survey(**(usual | fields))


def work_sheet(of: Lateral, outcome: Fitness = Fitness.LINE) -> WorkSheet:
    """A work sheet that uses every kind of field."""
    thick = at_least("stiffness", 1.25, 0.641, "pressure", cite("najafi", "p. 111"))
    return WorkSheet(
        project=project(),
        segment=MainSegment("S-1", "MH 1", "MH 2", 0.2, 91.4),
        lateral=of,
        survey=survey(of.key),
        tube=Tube("T-4", 0.1016, 0.003),
        resin=None,
        specification=default_specification(),
        outcome=outcome,
        reasons=(Reason(Fitness.PREPARE, "roots", "cut the roots", cite("practice"), 3.2, 0),),
        figures=(
            Figure(
                "wall", "wall", 0.1 + 0.2, "wall", "larger of both", cite("astm-f1216", "X1.1"),
                (FigureInput("depth", 2.44, "length", Knowledge.MEASURED),),
            ),
            Figure("rule", "governing", "12", "", "the larger one", cite("astm-f1216")),
        ),
        checks=(thick, not_assessed("tightness", "time", cite("memory"), "no test yet")),
        cautions=("Steam burns.",),
        made_from=(DocumentRef("lateral", of.key, 1),),
        issued_at=dt.datetime(2026, 5, 4, 7, tzinfo=dt.timezone(dt.timedelta(hours=-5))),
        issued_by="Ann",
    )  # fmt: skip


ODD = 'Élm “ß” \x00 \u2028 𝛑 \\ " 50 %'
"""Text that databases, JSON and formats stumble over."""


def turn(of: str) -> Turn:
    """A lateral's turn, an hour for each step."""
    at = tuple(dt.time(7 + hour) for hour in range(10))
    return Turn(
        of, look=at[0], mix=at[1], on_ice=at[2], load=at[3], steam_on=at[4], steam_off=at[5],
        cooled=at[6], film=at[7], restored=at[8], off_ice_by=at[9], condition=ODD,
    )  # fmt: skip


def shift_plan(*keys: str) -> ShiftPlan:
    """A plan of one shift that lines these laterals."""
    day = NOON.date()
    stay = SetUp("S-1", "rig 1", dt.time(6), dt.time(7), dt.time(17), True, tuple(map(turn, keys)))
    return ShiftPlan(
        day, (Shift("north", day, (stay,)),),
        (NotScheduled("L-9", "hours", ODD, ("resident",)),), Proof(True, 1, 1, 1, 1, 1, "x"),
        made_from=(DocumentRef("work_sheet", "L-1", 1),), issued_at=NOON, issued_by="Ann",
    )  # fmt: skip


ONE_OF_EACH = (
    project(elevation=0.1 + 0.2),
    default_specification(),
    MainSegment(
        "S-1", "MH 1", "MH 2", 0.2, 91.44, lining=MainLining.BEFORE, liner_wall=0.0045,
        joints=(1.1, 2.2), geometry=((1e-300, -0.0), (4.9e6, 5.1e5)),
        standing={"length": Standing(Knowledge.MEASURED, "Ann", dt.date(2026, 4, 1))},
    ),
    Premises("P-1", ODD, entry=EntryState.SIGNED, entry_on=dt.date(2026, 4, 2)),
    lateral(
        "L-1", remark=ODD, lengths=(LengthMeasurement(MeasuringWay.SONDE, 12.3, rise=1.0),),
        proof=AddressProof("dye", "Ann", dt.date(2026, 4, 1)), in_use=False,
        premises=("P-1", "P-2"),
    ),
    survey(
        "L-1", header={"AAA": "", "ABF": ODD}, columns=("A", "I"), header_lines=(("AAA", "AAB"),),
        observations=(Observation(ObservationKind.ROOTS, 3.2, 0.3, "share", raw={"A": ""}),),
    ),
    Tube("T-4", 0.1016, 0.003, void_fraction=0.87),
    Resin("R-1", gel_times=(GelTime(293.15, 1800.0),), schedule=(CureStep(355.0, 3600.0),),
          kinetics={"a": 1.5e-7}),
    Collar("C8-16", 0.2032, 0.4064, 0.003, lap=0.0762),
    Rig("G-1", capacities=(TubeCapacity(0.1, 0.003, 30.0),), gauges=(Gauge("g", "pressure"),)),
    work_sheet(lateral("L-1")),
    ListMapping("laterals", "0f", {"Dia.": ColumnRule("inside diameter", "in")}, {"clay": ODD}),
    ReadFile("list.csv", "laterals", "0" * 64, {"L-1": "0f"}),
    FieldSteps(START_STEPS),
    Contract(
        "Invented", (PayItem("1", ODD, "ft", 9_437, Work.LINED, PayRule.BEYOND, 6.096, "40"),),
        due=dt.date(2026, 12, 1),
        changes=(PriceChange("CO-1", "1", 9_500, dt.date(2026, 10, 1), ODD),),
    ),
    AgreedWork("T-1", "1", "-2.50", dt.date(2026, 5, 4), "Ann", ODD, "L-1"),
    PayEstimate(
        1, dt.date(2026, 5, 31), (PayLine("1", 9_437, Payer.PRIVATE, "12.5", "0", 117_963, 0),),
        5_898, 0, 0, evidence=("entry",),
    ),
    ChannelMap("rig 1", (Channel("T1", Reads.WALL_TOP, 3.1, calibration_due=NOON.date()),)),
    CureLog(
        "L-1", 1, NOON, (0.0, 10.0),
        (Series(Channel("T1", Reads.GAS_IN), "temperature", (293.15, None)),),
        (LogFile("a.csv", "0" * 64, 2, NOON, NOON),),
        (LogFinding("gap", ODD, "T1", "a.csv", (3, 9), 0.1 + 0.2),),
    ),
    CureVerdict(
        "L-1", 1, (not_assessed("cure", "share", cite("cure-model"), ODD),), steam_on=NOON,
        along=CureAlong((0.1, 1.2), (0.9, 0.8), (0.8, 0.7), (0.95, 0.9), (0.9, 0.8, 0.95)),
        estimated=(Estimated("soil", ODD, "conductivity", 1.2, 1.4, 1.1, 1.7, 0.6, 0.3),),
    ),
    TightnessReport(
        "L-1", 1, NOON, "Ann", "hold", sections=(TestedSection(0.1016, 12.2),),
        plugs=(Plug(ODD, -0.3, 1e5),), start_pressure=27579.0, allowed_drop=3447.4, test_time=300.0,
        readings=(TestReading(0.0, 27579.0, 290.1), TestReading(300.0, 27000.0)),
    ),
    PostInspection(
        "L-1", 1, dt.date(2026, 5, 4), "Ann",
        (PlaceSeen(TvPlace.INVERT, Looked.WRINKLE, 5.1, 6.0, 0.004, ODD),),
        VideoFit("v.mp4", identity=True, speed=0.1), groundwater=1.5, main_reduced=0.03,
    ),
    WallReadings(
        "L-1", 1, dt.date(2026, 5, 4), "Ann", (WallReading(0.0031, 13.4, 12.0),), ovality=0.02
    ),
    CouponTest(
        "L-1", 1, "S-1", dt.date(2026, 5, 4), "plate", "ASTM D790", 0.096, 0.025, 0.006,
        custody=(CustodyStep(dt.date(2026, 5, 5), "Ann", "laboratory", ODD),), modulus=2e9,
    ),
    SamplingPlan(dt.date(2026, 4, 1), "Ann", 0.25, 7, 3),
    NonConformity("NC-1", "L-1", dt.date(2026, 5, 4), "Ann", ODD, "2 %", 5.1),
    Claim("C-1", "L-1", dt.date(2026, 5, 4), ODD, "water in the cellar"),
    Submittal("S-1", ODD, steps=(SubmittalStep(dt.date(2026, 4, 1), "Ann", "approved"),)),
    Acceptance("L-1", AcceptanceStep.ACCEPTED, "Ann", "engineer", NOON, left_open=("flexure",)),
    DesignChoice("A-07", "T4-4.5", minimum_wall=0.004, soil_temperature=283.15),
    WarrantyTerms(3, 0.2, 7),
    Crew("north", ("rig 1",), weekdays=(1, 2), days_off=(NOON.date(),),
         times=(StepTime(CrewStep.LOOK, 0.1 + 0.2, 900.0),), mixing=Mixing.ONE_BATCH),
    Calendar((NOON.date(),), rain_allowance=1,
             promises=(Promise("L-1", NOON.date(), "Ann", ODD),), wishes=(Wish("L-1", 1),)),
    Stock(NOON.date(), (StockItem(StockKind.TUBE, "T-4", 12.2, 30.5, NOON.date(), 10),)),
    shift_plan("L-1"),
)  # fmt: skip
