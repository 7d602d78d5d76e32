"""Fit a resin of the project to its calorimeter runs and keep the law with it (write)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from drainwright.drawing.resin_pictures import RunPicture, resin_picture
from drainwright.engineering.resin_fit import ResinFit, predicted_gel_times
from drainwright.errors import Fault, InputError
from drainwright.operations.calculators.base import Answer, Inputs
from drainwright.operations.calculators.resin_fit import PREDICTED, read_fit
from drainwright.records.material import GelTime, Resin
from drainwright.records.project import Project
from drainwright.records.standing import Knowledge, Standing
from drainwright.storage.protocol import RecordStore, Saved
from drainwright.units import UnitSystem

_GLASS = ("Tg0", "Tg_full", "Tg_lambda", "vitrification_width")


@dataclass(frozen=True, slots=True)
class FittedResin:
    """What was kept, the picture of the fit, and what to look at."""

    saved: Saved
    picture: str
    notes: tuple[str, ...]


def fit_project_resin(
    store: RecordStore,
    project: str,
    key: str,
    data: Mapping[str, Any],
    folder: Path,
    *,
    by: str,
    at: dt.datetime,
    reason: str,
) -> FittedResin:
    """Fit by the inputs of `calc resin-fit` and store law, heat and gel times with the resin.

    The resin clock and the cure engine then stand on the same law: gel times within the data
    are taken from it unless the resin has its own. `InputError` for faults of the inputs, gel
    times alone, or one hold, which tells no energy.
    """
    inputs = Inputs(data, folder=folder)
    fit = read_fit(inputs)
    if isinstance(fit, Answer) or "r" in fit.names:
        raise InputError(Fault("dsc", "a law for all temperatures needs two runs at least"))
    with store.write(by=by, at=at, origin="resin fit", reason=reason) as session:
        system = session.get(project, Project, project).record.units
        stored = session.get(project, Resin, key)
        known = Standing(Knowledge.MEASURED, by, at.date(), f"fit of {len(fit.runs)} runs")
        resin = _with_law(stored.record, fit, known)
        saved = session.put(project, resin, expected=stored.revision.number)
    notes = [f"{one.reacted.run.name}: {one.suspicious}" for one in fit.runs if one.suspicious]
    if resin.gel_times and resin.gel_times == stored.record.gel_times and fit.gel_residuals == ():
        notes.append("The resin's own gel times are kept; they were not part of the fit.")
    return FittedResin(saved, fit_picture(fit, system), tuple(notes))


def _with_law(resin: Resin, fit: ResinFit, known: Standing) -> Resin:
    law = fit.kinetics
    constants = {
        "A1": law.A[0], "E1": law.E[0], "A2": law.A[1], "E2": law.E[1], "m": law.m, "n": law.n,
    }  # fmt: skip
    if law.glass is not None:
        constants |= {name: getattr(law.glass, name) for name in _GLASS}
    gel_times = resin.gel_times
    if not gel_times and fit.settings.gel_conversion is not None:
        gel_times = tuple(
            GelTime(one.temperature, one.time, criterion="by the fitted law")
            for one in predicted_gel_times(fit, PREDICTED)
            if one.time is not None
        )
    standing = resin.standing | {"kinetics": known, "heat_of_reaction": known}
    return replace(
        resin, kinetics=constants, kinetics_model="kamal",
        heat_of_reaction=fit.heat_of_reaction, gel_times=gel_times, standing=standing,
    )  # fmt: skip


def fit_picture(fit: ResinFit, system: UnitSystem) -> str:
    """Each run with baseline, law and residual, as SVG."""
    runs = [
        RunPicture(
            one.reacted.run.name,
            one.reacted.run.time - one.reacted.run.time[0],
            one.reacted.run.heat_flow,
            one.reacted.baseline,
            one.reacted.baseline + one.fitted_rate * fit.heat_of_reaction * one.reacted.run.mass,
            one.suspicious,
        )
        for one in fit.runs
    ]
    return resin_picture(runs, system)
