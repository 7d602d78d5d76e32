"""Planning and papers of the demo's laterals, and one lateral planned anew.

Bare typst sets the very documents again, template and data made up before, so that the ratio
tells what gathering, wording, drawing and checking cost beside the setting. For the planning
no general-purpose peer is known; its engine stands against general solvers in cure.md.
Run: python benchmarks/planning.py
"""

from __future__ import annotations

import datetime as dt
import os
import platform
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NamedTuple

MOST_ALL, MOST_ONE = 10.0, 50.0
AT = dt.datetime(2026, 11, 25, 18, tzinfo=dt.UTC)
PAGE = Path(__file__).resolve().parent.parent / "docs" / "benchmarks" / "planning.md"
ABOUT = (
    "The demo town, planned and printed by the operations that the command and the pages call. "
    "“New” is a cure case never computed before, “remembered” one that planning has seen. Bare "
    "typst sets the same templates with the same data; no peer is known for the planning, and its "
    "cure engine is measured against general solvers in [cure.md](cure.md)."
)


class Taken(NamedTuple):
    """Seconds by the clock and of the processor, this process and those it started."""

    wall: float
    cpu: float


class Recorder:
    """A compiler that keeps what it is asked, to ask it again."""

    def __init__(self, real: Any) -> None:
        self.real = real
        self.calls: list[tuple[tuple[Any, ...], dict[str, Any]]] = []

    def compile(self, *asked: Any, **given: Any) -> Any:
        """Compile as asked."""
        self.calls.append((asked, given))
        return self.real.compile(*asked, **given)

    def again(self) -> None:
        """All of it once more, nothing around it."""
        for asked, given in self.calls:
            self.real.compile(*asked, **given)


def timed(work: Callable[[], object]) -> Taken:
    """What `work` takes."""
    start, before = time.perf_counter(), os.times()
    work()
    after = os.times()
    return Taken(time.perf_counter() - start, sum(after[:4]) - sum(before[:4]))


class Found(NamedTuple):
    """What was measured; the papers by name, then in one process, then bare typst."""

    laterals: int
    new: Taken
    remembered: Taken
    one_new: list[float]
    one_remembered: list[float]
    papers: list[tuple[str, int, Taken, Taken, Taken]]


def measured() -> Found:
    """Plan and print."""
    from drainwright.operations.plan_laterals import plan_laterals
    from drainwright.operations.print_papers import PAPERS, WORK_SHEET
    from drainwright.operations.run_demo import run_demo
    from drainwright.operations.stores import existing
    from drainwright.planning import steam_plan
    from drainwright.records.lateral import Lateral
    from drainwright.units import UnitSystem

    forget = steam_plan._cure_plan.cache_clear  # noqa: SLF001
    with tempfile.TemporaryDirectory() as folder:
        place = run_demo(Path(folder), UnitSystem.US, by="bench", papers=False).store
        with existing(str(place)) as (store, project):
            with store.read() as session:
                keys = [one.record.key for one in session.every(project.key, Lateral)]

            def plan(chosen: Sequence[str] = ()) -> Callable[[], object]:
                return lambda: plan_laterals(store, project.key, chosen, by="bench", at=AT)

            news, olds = [], []
            for _ in range(3):
                forget()
                news.append(timed(plan()))
                olds.append(timed(plan()))
            one_new, one_old = [], []
            for key in keys:
                forget()
                one_new.append(timed(plan([key])).cpu * 1000)
                one_old.append(min(timed(plan([key])).cpu * 1000 for _ in range(2)))
            papers = [
                ("work sheets", *printed(store, project.key, (WORK_SHEET,))),
                ("all papers", *printed(store, project.key, PAPERS)),
            ]
    return Found(len(keys), min(news), min(olds), one_new, one_old, papers)


def printed(store: Any, project: str, papers: Sequence[str]) -> tuple[int, Taken, Taken, Taken]:
    """How many papers, and what they take: as printed, in one process, set by bare typst."""
    from drainwright.operations import typesetting
    from drainwright.operations.print_papers import make_papers
    from drainwright.papers import paper

    def make() -> object:
        return list(make_papers(store, project, (), papers, by="bench", at=AT))

    usual = timed(make)
    few, compiler = typesetting.FEW, paper._compiler  # noqa: SLF001
    recorder = Recorder(compiler())
    typesetting.FEW = 1 << 30
    paper._compiler = lambda: recorder  # type: ignore[assignment]  # noqa: SLF001
    try:
        alone = timed(make)
    finally:
        typesetting.FEW, paper._compiler = few, compiler  # noqa: SLF001
    return len(recorder.calls), usual, alone, timed(recorder.again)


def page(found: Found, load: float) -> str:
    """The page; a missed target is said, not hidden."""
    rows = [
        f"| planning {found.laterals} laterals, {how} | {taken.wall:.1f} | {taken.cpu:.1f} | | |"
        for how, taken in (("new", found.new), ("remembered", found.remembered))
    ]
    for name, count, usual, alone, bare in found.papers:
        rows.append(
            f"| {name}, {count} | {usual.wall:.1f} | {usual.cpu:.1f} | {bare.cpu:.1f} | "
            f"{alone.cpu / bare.cpu:.2f} in one process |"
        )
    ones = [
        f"| {name} | {statistics.median(values):.0f} | {max(values):.0f} | {MOST_ONE:.0f} |"
        for name, values in (("remembered", found.one_remembered), ("new", found.one_new))
    ]
    wall = [found.new.wall + usual.wall for _, _, usual, _, _ in found.papers]
    said = [
        f"{'met' if taken < MOST_ALL else 'missed'} with {name} ({taken:.1f} s)"
        for taken, (name, *_) in zip(wall, found.papers, strict=True)
    ]
    machine = (
        f"Machine: {platform.machine()}, {os.cpu_count()} cores, Python "
        f"{platform.python_version()}, {dt.datetime.now(tz=dt.UTC):%Y-%m-%d}. Load average "
        f"{load:.1f} before: above 1, other work ran beside, and processor time means more than "
        "the clock, though it is longer too."
    )
    return "\n\n".join(
        [
            "# Planning and papers",
            ABOUT,
            machine,
            "\n".join(
                ["| what | wall s | processor s | bare typst, processor s | ratio |",
                 "|---|---|---|---|---|", *rows]
            ),
            f"Target, by the clock: new and printed in {MOST_ALL:.0f} s, {', '.join(said)}.",
            "One lateral planned anew, without papers, ms of the processor:",
            "\n".join(
                ["| its cure case is | median | worst | target |", "|---|---|---|---|", *ones]
            ),
            "",
        ]
    )  # fmt: skip


def main() -> None:
    """Measure and write the page."""
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    text = page(measured(), load)
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text(text, encoding="utf-8")
    sys.stdout.write(text)


if __name__ == "__main__":
    main()
