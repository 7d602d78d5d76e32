"""Shift plans of 24 and 200 laterals: time, what is proven, and a list scheduler beside it.

The peer is the program's own first plan (`first_fit`), a list scheduler as one would write it
without a solver: it is what the solver begins from. Times are CPU seconds of this process.
"""

from __future__ import annotations

import os
import platform
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from drainwright.planning.crew_times import working_days  # noqa: E402
from drainwright.planning.shift import ShiftOrder, plan_shifts, portions  # noqa: E402
from drainwright.planning.shift_jobs import CrewDay, Job, Yard, job_of, minute  # noqa: E402
from drainwright.planning.shift_start import Run, first_fit  # noqa: E402
from tests.planning.shift_checker import broken  # noqa: E402
from tests.planning.shifts import candidate, crew, order, premises  # noqa: E402

PAGE = ROOT / "docs" / "benchmarks" / "shift_plan.md"


def asked(number: int) -> ShiftOrder:
    """An order of so many laterals, six to a segment, with houses that share premises."""
    some = [
        candidate(
            f"L-{at:03}", f"S{at // 6}", steam=80 + 7 * (at % 5), cool=30 + 5 * (at % 3),
            places=(premises(f"P{at // 2 if at % 6 == 0 else 1000 + at}"),),
            lateral={"tap_distance": 3.0 * (at % 6)},
        )
        for at in range(number)
    ]  # fmt: skip
    return order(some, (crew(), crew("south")), days=max(20, number))


def peer(given: ShiftOrder) -> tuple[int, int]:
    """Days and set-ups of the list scheduler."""
    days = tuple(
        sorted(
            (
                CrewDay(one, day, minute(one.start), minute(one.end) - 30)
                for one in given.crews
                for day in working_days(one, given.calendar, given.first_day, given.until)
            ),
            key=lambda one: (one.day, one.crew.key),
        )
    )
    yard = Yard(tuple(given.crews), given.rigs, given.calendar, days)
    jobs = [job for one in given.candidates if isinstance(job := job_of(one, yard), Job)]
    runs: list[Run] = []
    for portion in portions(jobs):
        runs += first_fit(portion, days, runs)
    return len({run.where.day for run in runs}), len(runs)


def main() -> None:
    """Write the page."""
    plan_shifts(asked(2))  # load the solver
    rows = []
    for number in (24, 200):
        given = asked(number)
        began = time.process_time()
        plan = plan_shifts(given)
        spent = time.process_time() - began
        began = time.process_time()
        days, stays = peer(given)
        listed = time.process_time() - began
        wrong = broken(plan, given)
        proof = plan.proof
        rows.append(
            f"| {number} | {spent:.1f} s | {proof.days} ({proof.days_least}) | "
            f"{proof.set_ups} ({proof.set_ups_least}) | {proof.portions} | {listed:.1f} s | "
            f"{days}, {stays} | {len(plan.left_out)} | {len(wrong)} |"
        )
        print(rows[-1], flush=True)
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    PAGE.write_text(
        "# Shift plans\n\n"
        f"{time.strftime('%Y-%m-%d')}, {platform.machine()}, {os.cpu_count()} cores, "
        f"load {load:.1f}; CPU seconds of one process. Two crews, six laterals to a segment. "
        "In brackets the proven lower bound. The peer is the list scheduler the solver begins "
        "from.\n\n"
        "| laterals | time | days | set-ups | portions | peer's time | peer's days, set-ups | "
        "left out | rules broken |\n|---|---|---|---|---|---|---|---|---|\n"
        + "\n".join(rows)
        + "\n",
        "utf-8",
    )


if __name__ == "__main__":
    main()
