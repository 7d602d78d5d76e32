"""The lateral: a small pipe from premises to the main; distances count from the tap.

Zero is the inside face of the main at the center of the tap hole.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from enum import StrEnum

from drainwright.records.project import Point
from drainwright.records.standing import Standing


class TapKind(StrEnum):
    """How the lateral joins the main."""

    WYE = "wye"
    TEE = "tee"
    SADDLE = "saddle"
    BROKEN_IN = "broken-in"
    UNKNOWN = "unknown"


class FarAccess(StrEnum):
    """What opens the far end."""

    OUTDOORS = "cleanout outdoors"
    INDOORS = "cleanout indoors"
    NONE = "none"
    UNKNOWN = "unknown"


class EndForm(StrEnum):
    """How the far end of the liner is finished."""

    BLIND = "stop blind"
    TRIMMED = "trim back"


class MeasuringWay(StrEnum):
    """How a length was measured; each way has its own zero and its own conversion."""

    MAIN_CAMERA = "camera from the main"
    CLEANOUT_CAMERA = "camera from the cleanout"
    SONDE = "sonde above ground"
    TAPE = "tape"
    LISTED = "owner's list"


@dataclass(frozen=True, slots=True)
class LengthMeasurement:
    """One measurement of tap to cleanout, as read."""

    way: MeasuringWay
    reading: float
    """As read [m]; for a sonde the horizontal run."""
    offset: float = 0.0
    """Head offset of a camera, or riser within the footage [m]; taken off the reading."""
    rise: float = 0.0
    """Height difference between both ends, for a sonde [m]."""
    by: str = ""
    on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class PipeSpan:
    """A stretch of one size and material."""

    start: float
    end: float
    inside_diameter: float
    material: str = ""


@dataclass(frozen=True, slots=True)
class Branch:
    """Another pipe joining the lateral."""

    distance: float
    clock: float | None = None
    live: bool | None = None
    premises: str = ""


@dataclass(frozen=True, slots=True)
class AddressProof:
    """How it was shown that this tap serves this address."""

    method: str
    by: str
    on: dt.date
    still: str = ""


@dataclass(frozen=True, slots=True)
class DigTicket:
    """A utility-locate ticket; no dig without one that is valid that day."""

    number: str
    valid_from: dt.date
    valid_to: dt.date


@dataclass(frozen=True, slots=True)
class Lateral:
    """One lateral as known today; `key` is the owner's id.

    All lengths in meters. A field that is None is not known. `standing` tells how a field
    named by its key is known; a field without an entry came with the owner's list.
    """

    key: str
    segment: str
    tap_distance: float
    tap_clock: float | None = None
    address: str = ""
    street: str = ""
    inside_diameter: float | None = None
    material: str = ""
    host_wall: float | None = None
    spans: tuple[PipeSpan, ...] = ()
    """Stretches of other size or material than the lateral's own."""
    tap_kind: TapKind = TapKind.UNKNOWN
    tap_angle: float | None = None
    """Angle of the lateral to the main [rad]."""
    tap_hole: float | None = None
    """Length of the tap hole along the main [m]."""
    tap_depth: float | None = None
    """Depth of the lateral's invert below ground at the tap."""
    far_depth: float | None = None
    slope: float | None = None
    """Fall of the invert toward the main, rise over run."""
    riser: float = 0.0
    """Height of a vertical riser at the main."""
    water_depth: float | None = None
    """Depth of the groundwater below ground."""
    far_access: FarAccess = FarAccess.UNKNOWN
    cleanout_distance: float | None = None
    end_form: EndForm = EndForm.BLIND
    lined_length: float | None = None
    """Wanted lined length; None lines to the cleanout."""
    property_line: float | None = None
    lengths: tuple[LengthMeasurement, ...] = ()
    branches: tuple[Branch, ...] = ()
    foreign_pipes: tuple[float, ...] = ()
    """Distances at which something foreign crosses the bore."""
    in_use: bool | None = None
    premises: tuple[str, ...] = ()
    proof: AddressProof | None = None
    dig_tickets: tuple[DigTicket, ...] = ()
    ovality: float | None = None
    resin: str = ""
    rig: str = ""
    geometry: tuple[Point, ...] = ()
    remark: str = ""
    standing: dict[str, Standing] = field(default_factory=dict)
