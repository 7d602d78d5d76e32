"""Gather what planning needs to know of one lateral (read)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from drainwright.errors import NotFoundError
from drainwright.planning.choice import with_choice
from drainwright.planning.site import Site
from drainwright.records.design_choice import DesignChoice
from drainwright.records.lateral import Lateral
from drainwright.records.material import Collar, Resin, Tube
from drainwright.records.premises import Premises
from drainwright.records.project import MainSegment, Project
from drainwright.records.rig import Rig
from drainwright.records.specification import Specification, default_specification
from drainwright.records.survey import Survey, SurveyMethod, SurveyPurpose
from drainwright.records.work_sheet import DocumentRef
from drainwright.storage.protocol import Filters, ReadSession, Record, Stored

_FOR_PLANNING = (SurveyPurpose.PLANNING, SurveyPurpose.PRE_LINING, SurveyPurpose.OTHER)


@dataclass(frozen=True, slots=True)
class Gathered:
    """A site, the materials at hand, and the revisions they came from."""

    site: Site
    tubes: tuple[Tube, ...]
    resins: tuple[Resin, ...]
    collars: tuple[Collar, ...]
    revisions: tuple[DocumentRef, ...]


class Gatherer:
    """Reads what all laterals of a project share once, then each lateral's own."""

    def __init__(self, session: ReadSession, project: str, today: dt.date) -> None:
        self._session = session
        self._today = today
        self._project = session.get(project, Project, project)
        self._specification = self._one(Specification)
        self._tubes = tuple(session.every(project, Tube))
        self._resins = tuple(session.every(project, Resin))
        self._collars = tuple(session.every(project, Collar))
        self._rigs = tuple(session.every(project, Rig))
        self._neighbors: dict[str, tuple[Lateral, ...]] = {}

    def _one(self, kind: type[Specification]) -> Stored[Specification] | None:
        return next(iter(self._session.every(self._project.key, kind)), None)

    def gather(self, key: str) -> Gathered:
        """Everything about the lateral `key`, with its design choice laid over the records.

        `NotFoundError` where the lateral or its segment lacks; `InputError` for a choice of
        something that is not on record.
        """
        plain, choice = self.recorded(key), self.choice(key)
        if choice is None:
            return plain
        chosen = with_choice(choice.record, plain.site, plain.tubes, plain.resins)
        revisions = (*plain.revisions, _reference(choice))
        return Gathered(chosen.site, chosen.tubes, chosen.resins, plain.collars, revisions)

    def choice(self, key: str) -> Stored[DesignChoice] | None:
        """The design choice of a lateral; None where there is none."""
        try:
            return self._session.get(self._project.key, DesignChoice, key)
        except NotFoundError:
            return None

    def recorded(self, key: str) -> Gathered:
        """Everything about the lateral `key` as recorded, without its design choice."""
        name = self._project.key
        lateral = self._session.get(name, Lateral, key)
        try:
            segment = self._session.get(name, MainSegment, lateral.record.segment)
        except NotFoundError as error:
            message = f"main segment “{lateral.record.segment}” of lateral “{key}” is not listed"
            raise NotFoundError(message) from error
        surveys = self._surveys(key)
        rig = self._rig(lateral.record)
        site = Site(
            project=self._project.record,
            segment=segment.record,
            lateral=lateral.record,
            specification=(
                self._specification.record if self._specification else default_specification()
            ),
            survey=surveys[-1].record if surveys else None,
            neighbors=tuple(
                other for other in self._beside(segment.key) if other.key != lateral.record.key
            ),
            premises=tuple(self._premises(lateral.record)),
            rig=rig.record if rig else None,
            today=self._today,
        )
        used: list[Stored[Record] | None] = [self._project, self._specification, segment, lateral]
        used += [*surveys[-1:], rig]
        revisions = tuple(_reference(stored) for stored in used if stored is not None)
        return Gathered(
            site,
            tuple(stored.record for stored in self._tubes),
            tuple(stored.record for stored in self._resins),
            tuple(stored.record for stored in self._collars),
            revisions,
        )

    def material_revisions(self, tube: Tube | None, resin: Resin | None) -> Iterator[DocumentRef]:
        """The revisions of the chosen tube and resin."""
        materials: tuple[Stored[Record], ...] = (*self._tubes, *self._resins)
        for stored in materials:
            if stored.record in (tube, resin):
                yield _reference(stored)

    def _surveys(self, key: str) -> list[Stored[Survey]]:
        name = self._project.key
        return _usable(self._session.every(name, Survey, Filters(lateral=key)))

    def _beside(self, segment: str) -> tuple[Lateral, ...]:
        if segment not in self._neighbors:
            found = self._session.every(self._project.key, Lateral, Filters(segment=segment))
            self._neighbors[segment] = tuple(stored.record for stored in found)
        return self._neighbors[segment]

    def _premises(self, lateral: Lateral) -> Iterator[Premises]:
        for key in lateral.premises:
            try:
                yield self._session.get(self._project.key, Premises, key).record
            except NotFoundError:
                continue

    def _rig(self, lateral: Lateral) -> Stored[Rig] | None:
        for stored in self._rigs:
            if stored.record.key == lateral.rig:
                return stored
        return self._rigs[0] if len(self._rigs) == 1 and not lateral.rig else None


def newest_survey(surveys: Iterable[Stored[Survey]]) -> Survey | None:
    """The one of a lateral's surveys that planning would use; None where there is none."""
    found = _usable(surveys)
    return found[-1].record if found else None


def _usable(surveys: Iterable[Stored[Survey]]) -> list[Stored[Survey]]:
    """The surveys that planning may use, the newest last."""
    usable = [
        stored
        for stored in surveys
        if stored.record.purpose in _FOR_PLANNING
        and stored.record.method is not SurveyMethod.ALONG_MAIN
    ]
    return sorted(usable, key=lambda stored: (stored.record.date, stored.record.time or dt.time()))


def _reference(stored: Stored[Record]) -> DocumentRef:
    return DocumentRef(type(stored.record).__name__, stored.key, stored.revision.number)
