"""What planning knows of one lateral: the records that meet at it, and plain questions to them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from drainwright.records.lateral import Lateral
from drainwright.records.premises import Premises
from drainwright.records.project import MainSegment, Project
from drainwright.records.rig import Rig
from drainwright.records.specification import Specification
from drainwright.records.standing import Knowledge
from drainwright.records.survey import Observation, ObservationKind, Survey, SurveyMethod


@dataclass(frozen=True, slots=True)
class Site:
    """One lateral with everything that bears on it."""

    project: Project
    segment: MainSegment
    lateral: Lateral
    specification: Specification
    survey: Survey | None = None
    neighbors: tuple[Lateral, ...] = ()
    """Other laterals on the same main segment."""
    premises: tuple[Premises, ...] = ()
    rig: Rig | None = None
    today: dt.date | None = None

    @property
    def diameter(self) -> float | None:
        """Inside diameter of the lateral [m]: its own, else the survey's."""
        if self.lateral.inside_diameter is not None:
            return self.lateral.inside_diameter
        height = self.survey.header.get("ACB", "") if self.survey else ""
        try:
            return float(height) / 1000 or None
        except ValueError:
            return None

    def knowledge(self, name: str) -> Knowledge | None:
        """How a field of the lateral is known, None where nobody said."""
        standing = self.lateral.standing.get(name)
        return standing.knowledge if standing else None

    def seen(self, *kinds: ObservationKind) -> Iterator[tuple[int, Observation, float]]:
        """Observations of these kinds: index, observation, distance from the tap [m]."""
        if self.survey is None:
            return
        for index, observation in enumerate(self.survey.observations):
            if not kinds or observation.kind in kinds:
                yield index, observation, self.from_tap(observation.distance)

    def from_tap(self, distance: float) -> float:
        """A distance of the survey [m] from the inside face of the main."""
        return distance if self.survey is None else distance_from_tap(self.survey, distance)


def distance_from_tap(survey: Survey, distance: float) -> float:
    """A distance of a survey [m] from the inside face of the main.

    A camera from the cleanout counts from its own end: turned around at the inspected length.
    """
    if survey.method is not SurveyMethod.CLEANOUT:
        return distance
    return distance if survey.length is None else max(survey.length - distance, 0.0)
