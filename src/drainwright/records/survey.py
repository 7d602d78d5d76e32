"""A camera survey: neutral observations beside the raw codes they were read from."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from enum import StrEnum


class ObservationKind(StrEnum):
    """What was seen, in plain words; the raw code is kept beside it."""

    ROOTS = "roots"
    INFILTRATION = "infiltration"
    EXFILTRATION = "exfiltration"
    CRACK = "crack"
    BREAK = "break"
    HOLE = "hole"
    OFFSET = "offset"
    DEFORMATION = "deformation"
    CORROSION = "corrosion"
    DEPOSIT = "deposit"
    OBSTACLE = "obstacle"
    FOREIGN_PIPE = "foreign_pipe"
    INTRUDING_TAP = "intruding_tap"
    JOINT_DEFECT = "joint_defect"
    SEALING = "sealing"
    BRANCH = "branch"
    BEND = "bend"
    SIZE_CHANGE = "size_change"
    MATERIAL_CHANGE = "material_change"
    LINING_DEFECT = "lining_defect"
    REPAIR = "repair"
    SOIL_VISIBLE = "soil_visible"
    VOID = "void"
    VERMIN = "vermin"
    WATER_LEVEL = "water_level"
    START = "start"
    FINISH = "finish"
    ABANDONED = "inspection_abandoned"
    REMARK = "remark"
    UNKNOWN = "unknown"


class SurveyMethod(StrEnum):
    """From where the camera looked."""

    MAIN = "from the main"
    CLEANOUT = "from the cleanout"
    ALONG_MAIN = "along the main"
    OTHER = "other"


class SurveyPurpose(StrEnum):
    """Why the survey was made."""

    PLANNING = "planning"
    PRE_LINING = "pre-lining TV"
    POST_LINING = "post-lining TV"
    WARRANTY = "warranty"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Observation:
    """One thing seen at one place; distances from the survey's zero [m], clock in hours."""

    kind: ObservationKind
    distance: float
    measure: float | None = None
    """Size of what was seen, SI of `measure_kind`."""
    measure_kind: str = ""
    """Kind of `measure` as in `units.KINDS`: share, small_length, angle, diameter."""
    grade: str = ""
    """A neutral word that goes with the kind, such as dripping, gushing, open, radial."""
    clock_from: float | None = None
    clock_to: float | None = None
    running_to: float | None = None
    """End of a running defect [m]; None for a single place or one left open."""
    at_joint: bool = False
    remark: str = ""
    still: str = ""
    video: str = ""
    code: str = ""
    """The raw code with its characterisations, such as BBA A."""
    raw: dict[str, str] = field(default_factory=dict)
    """The row as read, by column letter; empty fields left out, a repeated letter as N.2."""
    row: int = 0
    """Place among the survey's rows as read, from 1; 0 where the observation was not read."""
    end_raw: dict[str, str] = field(default_factory=dict)
    """The row that ends a running defect, as read."""
    end_row: int = 0
    """Place of that row among the survey's rows; 0 for none."""


@dataclass(frozen=True, slots=True)
class Survey:
    """One inspection of one lateral in one direction, with everything it saw."""

    lateral: str
    date: dt.date
    time: dt.time | None
    method: SurveyMethod
    direction: str
    """"up" from the tap toward the premises, "down" the other way, or as given."""
    purpose: SurveyPurpose = SurveyPurpose.OTHER
    by: str = ""
    length: float | None = None
    """Inspected length [m]."""
    code_system: str = ""
    observations: tuple[Observation, ...] = ()
    header: dict[str, str] = field(default_factory=dict)
    """Header fields as read, unknown ones included."""
    columns: tuple[str, ...] = ()
    """Observation columns of the file, in their order."""
    header_lines: tuple[tuple[str, ...], ...] = ()
    """Header field lists, line by line, in their order."""
    settings: dict[str, str] = field(default_factory=dict)
    """Settings of the exchange text (separator, decimal sign, encoding ...), in their order."""
    tap_distance: float | None = None
    """Where the lateral joins its main, as the survey says [m]."""
    tap_clock: float | None = None
    inside_diameter: float | None = None
    material: str = ""
    expected_length: float | None = None
    """Length the survey's header gives for the pipe [m]."""
    file: str = ""
    remark: str = ""

    @property
    def key(self) -> str:
        """The natural key: lateral, date, time, method and direction."""
        at = self.time.isoformat("minutes") if self.time else "--:--"
        return f"{self.lateral} {self.date.isoformat()} {at} {self.method} {self.direction}".strip()
