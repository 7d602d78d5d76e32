"""Post-lining TV as a person answered it: place by place, with the video's fitness for purpose."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum


class TvPlace(StrEnum):
    """The places that are asked one by one."""

    COLLAR_UP = "collar, upstream edge"
    COLLAR_DOWN = "collar, downstream edge"
    RIM = "hole rim"
    INVERT = "invert along the liner"
    BENDS = "bends"
    FAR_END = "far end"


class Looked(StrEnum):
    """What a place looked like."""

    SOUND = "sound"
    WRINKLE = "wrinkle"
    DEFECT = "defect"
    """A leak, dry spot, lift, delamination, loose edge, soft place: in words."""
    NOT_SEEN = "not seen"
    NONE = "none there"
    """There is no such place: no bend in this lateral."""


class VideoState(StrEnum):
    """What became of the video."""

    RETURNED = "returned"
    REJECTED = "rejected"
    RESUBMITTED = "resubmitted"
    MISSING = "missing"


@dataclass(frozen=True, slots=True)
class PlaceSeen:
    """The answer for one place."""

    place: TvPlace
    looked: Looked
    distance: float | None = None
    """From the tap [m]."""
    clock: float | None = None
    wrinkle: float | None = None
    """Height of the wrinkle [m]."""
    words: str = ""
    still: str = ""
    """SHA-256 of the attachment."""
    still_before: str = ""
    """SHA-256 of the still of pre-lining TV at the same distance."""


@dataclass(frozen=True, slots=True)
class VideoFit:
    """Whether the video shows what it must; None where nobody answered."""

    file: str = ""
    """Name of the file, or SHA-256 of the attachment."""
    identity: bool | None = None
    """Lateral, date and direction are shown at its start."""
    zeroed: bool | None = None
    """Footage is zeroed at the inside face of the main."""
    tap_panned: bool | None = None
    lens_clear: bool | None = None
    speed: float | None = None
    """Fastest run of the camera [m/s]."""
    water_level: float | None = None
    """Water in the pipe, share of its height."""


@dataclass(frozen=True, slots=True)
class PostInspection:
    """One look at a finished liner; a resubmitted video is a further inspection."""

    lateral: str
    number: int
    """Counts the inspections of the lateral, from 1."""
    on: dt.date
    by: str
    places: tuple[PlaceSeen, ...]
    video: VideoFit = VideoFit()
    state: VideoState = VideoState.RETURNED
    state_reason: str = ""
    delivered: dt.date | None = None
    groundwater: float | None = None
    """Depth of the groundwater below ground that day [m]; None where nobody looked."""
    main_reduced: float | None = None
    """Share by which the collar narrows the main."""
    remark: str = ""

    @property
    def key(self) -> str:
        """Lateral and number of the inspection."""
        return f"{self.lateral} {self.number}"

    def seen(self, place: TvPlace) -> tuple[PlaceSeen, ...]:
        """The answers for one place; bends may have several."""
        return tuple(one for one in self.places if one.place is place)
