"""What changed limits would do to the plans, worked out on a thread while the page waits."""

from __future__ import annotations

import logging
import threading
from collections.abc import Iterator
from dataclasses import dataclass

from drainwright.errors import DrainwrightError, Fault, InputError
from drainwright.operations.list_laterals import keys_of_segment, lateral_count
from drainwright.operations.list_project import MARKS
from drainwright.operations.show_columns import shown_value
from drainwright.operations.would_change import PlanChange, would_change
from drainwright.records.specification import Specification
from drainwright.units import UnitSystem
from drainwright.web.desk import Desk
from drainwright.web.kept import Kept

MOST_AT_ONCE = 400
"""Laterals that are planned again without being asked for by segment."""
MOST_FIGURES = 4
_LOG = logging.getLogger("drainwright.web")


@dataclass(frozen=True, slots=True)
class Effect:
    """What would change for one lateral, in words."""

    lateral: str
    before: str
    before_mark: str
    after: str
    after_mark: str
    outcome_changes: bool
    lines: tuple[str, ...]


@dataclass(slots=True)
class EffectJob:
    """How far it is; waiting, making, ready or failed."""

    state: str = "waiting"
    done: int = 0
    total: int = 0
    told: str = ""
    looked_at: int = 0
    effects: tuple[Effect, ...] = ()


class EffectJobs:
    """They take turns: one uses all cores."""

    def __init__(self) -> None:
        self._kept: Kept[EffectJob] = Kept("what was worked out", room=20)
        self._turn = threading.Semaphore()

    def get(self, name: str) -> EffectJob:
        """A job by its name; `NotFoundError` where it is gone."""
        return self._kept.get(name)

    def start(self, desk: Desk, changed: Specification, segment: str) -> str:
        """Start planning with the changed specification; return the job's name.

        Raises `InputError` where that is too much, or nothing.
        """
        count = lateral_count(desk.store, desk.project.key, segment)
        if not count or count > MOST_AT_ONCE:
            words = "has no laterals" if not count else f"choose one with {MOST_AT_ONCE} at most"
            raise InputError(Fault("segment", words, segment or count))
        keys = keys_of_segment(desk.store, desk.project.key, segment)
        job = EffectJob(total=len(keys))
        name = self._kept.keep(job, 1)
        args = (desk, changed, keys, job)
        threading.Thread(target=self._run, args=args, daemon=True).start()
        return name

    def _run(
        self, desk: Desk, changed: Specification, keys: tuple[str, ...], job: EffectJob
    ) -> None:
        def progress(_: str, done: int, total: int) -> None:
            job.done, job.total = done, total

        with self._turn:
            job.state = "making"
            try:
                found = would_change(
                    desk.store, desk.project.key, [changed], at=desk.now(), keys=keys,
                    progress=progress,
                )  # fmt: skip
                job.looked_at = found.looked_at
                changes = sorted(found.laterals, key=lambda one: not one.outcome_changes)
                job.effects = tuple(_effect(one, desk.system) for one in changes)
                job.state = "ready"
            except DrainwrightError as error:
                job.state, job.told = "failed", str(error)
            except Exception:  # noqa: BLE001  the last line of a thread; the log has it
                _LOG.exception("the effects of a change could not be worked out")
                job.state, job.told = "failed", "A fault in the program; the log has more."


def _effect(one: PlanChange, system: UnitSystem) -> Effect:
    before = one.before.value if one.before else "not planned"
    after = one.after.value if one.after else "can’t be planned"
    return Effect(
        one.lateral, before, MARKS.get(before, "open"), after, MARKS.get(after, "open"),
        one.outcome_changes, tuple(_lines(one, system)),
    )  # fmt: skip


def _lines(one: PlanChange, system: UnitSystem) -> Iterator[str]:
    yield from one.faults
    yield from (f"new: {words}" for words in one.new_reasons)
    yield from (f"no longer: {words}" for words in one.gone_reasons)
    for figure in one.figures[:MOST_FIGURES]:
        was = shown_value(figure.before, figure.kind, system)
        then = shown_value(figure.after, figure.kind, system)
        yield f"{figure.label}: {was} → {then}"
    if len(one.figures) > MOST_FIGURES:
        yield f"and {len(one.figures) - MOST_FIGURES} more numbers"
