"""How long the lateral is, how much of it is lined, and how long the tube is cut.

Zero is the inside face of the main at the center of the tap hole; every way of measuring has
its own conversion to it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from drainwright.checks import Check, at_most, not_assessed
from drainwright.errors import Fault, InputError
from drainwright.planning.site import Site
from drainwright.records.lateral import EndForm, LengthMeasurement, MeasuringWay
from drainwright.records.material import Tube
from drainwright.records.survey import ObservationKind, SurveyMethod
from drainwright.sources import cite


@dataclass(frozen=True, slots=True)
class MeasuredLength:
    """One measurement brought to the common zero [m]."""

    way: MeasuringWay
    length: float
    how: str


@dataclass(frozen=True, slots=True)
class LengthPlan:
    """Lengths of one lateral [m]."""

    measured: tuple[MeasuredLength, ...]
    length: float
    """Tap to cleanout or far end."""
    uncertainty: float
    lined: float
    gap: float | None
    """Unlined rest to the cleanout; None where there is no cleanout."""
    agreement: Check


@dataclass(frozen=True, slots=True)
class CutPlan:
    """The tube's cut length and what it is made of [m]."""

    connection: float
    end: float
    factor: float
    length_change: float
    cut: float


def to_zero(measurement: LengthMeasurement) -> MeasuredLength:
    """A measurement from tap to cleanout, brought to the common zero.

    Cameras and tapes: reading less the head offset or the riser within the footage. A sonde
    gives the horizontal run; the pipe is √(run² + rise²).
    """
    if measurement.way is MeasuringWay.SONDE:
        length = math.hypot(measurement.reading - measurement.offset, measurement.rise)
        return MeasuredLength(measurement.way, length, "√(run² + rise²)")
    length = measurement.reading - measurement.offset
    return MeasuredLength(measurement.way, length, "reading less offset")


def measured_lengths(site: Site) -> tuple[MeasuredLength, ...]:
    """Every measurement of the lateral at the common zero, the survey's own footage included."""
    found = [
        to_zero(measurement)
        for measurement in site.lateral.lengths
        if measurement.way is not MeasuringWay.LISTED
    ]
    way = MeasuringWay.MAIN_CAMERA
    survey = site.survey
    if survey is not None and survey.method is SurveyMethod.CLEANOUT:
        way = MeasuringWay.CLEANOUT_CAMERA
    finished = [o.distance for _, o, _ in site.seen(ObservationKind.FINISH)]
    if finished and way not in {entry.way for entry in found}:
        found.append(MeasuredLength(way, max(finished), "survey's last footage"))
    return tuple(found)


def plan_length(site: Site) -> LengthPlan:
    """The length from independent measurements, and how much of it is lined.

    Raises `InputError` where nothing tells the length.
    """
    measured = measured_lengths(site)
    by_way = {entry.way: entry.length for entry in measured}
    listed = [m.reading for m in site.lateral.lengths if m.way is MeasuringWay.LISTED]
    values = list(by_way.values()) or listed or _known(site.lateral.cleanout_distance)
    if not values:
        raise InputError(Fault("length", "the lateral has no measured length and no survey"))
    length = sum(values) / len(values)
    spread = max(values) - min(values)
    allowed = max(
        site.specification.value("length_agreement_share") * length,
        site.specification.value("length_agreement_least"),
    )
    uncertainty = spread / 2 if len(by_way) > 1 else allowed
    wanted = site.lateral.lined_length
    lined = wanted if wanted is not None else length - site.specification.value("end_gap")
    if not 0 < lined <= length + uncertainty:
        raise InputError(
            Fault(
                "lined_length", f"{lined:.2f} m is not within the lateral's {length:.2f} m", lined
            )
        )
    gap = length - lined if site.lateral.far_access.value.startswith("cleanout") else None
    agreement = _agreement(by_way, spread, allowed)
    return LengthPlan(measured, length, uncertainty, lined, gap, agreement)


def listed_length(site: Site) -> float | None:
    """The length the owner's list gives [m]; None where nothing is listed."""
    listed = [m.reading for m in site.lateral.lengths if m.way is MeasuringWay.LISTED]
    return listed[0] if listed and listed[0] > 0 else None


def listed_difference(site: Site, length: float) -> float | None:
    """By what share the measured length is off the owner's list; None where nothing is listed."""
    listed = listed_length(site)
    return None if listed is None else abs(length / listed - 1)


def plan_cut(site: Site, lined: float, tube: Tube) -> CutPlan:
    """Cut length = (lined + connection + end form) × cutting factor / (1 + length change)."""
    specification = site.specification
    trimmed = site.lateral.end_form is EndForm.TRIMMED
    end = specification.value("trim_allowance") if trimmed else 0.0
    connection = specification.value("connection_allowance")
    cut = (lined + connection + end) * tube.cutting_factor / (1 + tube.length_change)
    return CutPlan(connection, end, tube.cutting_factor, tube.length_change, cut)


def _agreement(by_way: dict[MeasuringWay, float], spread: float, allowed: float) -> Check:
    source = cite("silver-lake", "6.20.410")
    name = "two length measurements agree"
    if len(by_way) < 2:
        return not_assessed(name, "length", source, "needs two independent ways of measuring")
    return at_most(name, spread, allowed, "length", source)


def _known(value: float | None) -> list[float]:
    return [] if value is None else [value]
