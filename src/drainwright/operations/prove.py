"""The proof that infiltration fell: a report from a file of storms (read)."""

from __future__ import annotations

import datetime as dt
import hashlib
import tempfile
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from drainwright.engineering.paired_basins import Proof, prove_reduction
from drainwright.engineering.rdii import annuity_factor
from drainwright.engineering.storms_needed import storms_needed
from drainwright.errors import InputError
from drainwright.operations.calculators.base import Inputs
from drainwright.operations.calculators.columns import header_parts, read_rows
from drainwright.operations.calculators.reduction import read_storms
from drainwright.papers.proof_report import ProofCase, Worth, proof_report_pdf
from drainwright.papers.sheet_head import Issue
from drainwright.records.project import Project

_COLUMNS = ("rain", "treated", "control")


@dataclass(frozen=True, slots=True)
class MoneyAsked:
    """The user's own figures: a year's volume before, a price for one unit, years and rate."""

    annual: float
    unit: str
    price: Decimal
    years: float = 0.0
    rate: float = 0.0


@dataclass(frozen=True, slots=True)
class ProofMade:
    """The report and what it says."""

    proof: Proof
    pdf: bytes


def prove(
    project: Project,
    storms: Path,
    *,
    by: str,
    at: dt.datetime,
    confidence: float = 0.95,
    money: MoneyAsked | None = None,
) -> ProofMade:
    """Compare the storms before and after the work and set the report.

    Raises `InputError` with every fault of the file.
    """
    inputs = Inputs({"storms": storms.name}, folder=storms.parent)
    periods = read_storms(inputs, "storms")
    inputs.close()
    before, after = periods
    proof = prove_reduction(before, after, confidence)
    best = next((one for one in proof.methods if one.method == proof.reported), None)
    needed = None
    if best is not None:
        try:
            needed = storms_needed(best.reduction, max(best.spread, 1e-6))
        except InputError:
            needed = None
    case = ProofCase(
        before, after, proof, confidence, _units(storms), storms.name,
        hashlib.sha256(storms.read_bytes()).hexdigest(), needed, _worth(project, money),
    )  # fmt: skip
    return ProofMade(proof, proof_report_pdf(project, case, Issue(0, at, by)))


def prove_file(
    project: Project,
    content: bytes,
    name: str,
    *,
    by: str,
    at: dt.datetime,
    confidence: float = 0.95,
    money: MoneyAsked | None = None,
) -> ProofMade:
    """As `prove`, from the content of a file that bears a name of its own, without a folder."""
    with tempfile.TemporaryDirectory() as folder:
        storms = Path(folder) / (Path(name).name or "storms.csv")
        storms.write_bytes(content)
        return prove(project, storms, by=by, at=at, confidence=confidence, money=money)


def _units(storms: Path) -> dict[str, str]:
    header, _ = read_rows(Inputs({"storms": storms.name}, folder=storms.parent), "storms")
    found: dict[str, str] = {}
    for cell in header:
        name, unit = header_parts(cell)
        for wanted in _COLUMNS:
            if wanted in name.split():
                found.setdefault(wanted, unit)
    return found


def _worth(project: Project, money: MoneyAsked | None) -> Worth | None:
    if money is None:
        return None
    factor = annuity_factor(money.rate, money.years) if money.years else 0.0
    return Worth(
        money.annual, money.unit, money.price, project.currency, money.years, money.rate, factor
    )
