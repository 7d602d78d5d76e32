"""One check against a source: asserted in the test, written by ``make checks``.

A test calls :func:`record` with the value as printed and ours; the same call is
the assertion and the row of ``docs/checks/``, so the page cannot say more than the
tests do. Marks are those of the reference values: **S** read in the named source,
**S2** read in a second-hand copy, **M** from memory, **C** computed from a stated
formula (regression, not validation), **P** common practice.
"""

from __future__ import annotations

import json
import os
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

Mark = Literal["S", "S2", "M", "C", "P"]
FOLDER = "DRAINWRIGHT_WRITE_CHECKS"


@dataclass(frozen=True)
class Row:
    """One line of a page of checks."""

    subject: str
    name: str
    published: str
    ours: float
    unit: str
    tolerance: float
    source: str
    mark: Mark
    note: str

    @property
    def difference(self) -> float:
        """Ours less the published value."""
        return self.ours - float(self.published)

    @property
    def agrees(self) -> bool:
        """Whether ours lies within the tolerance, but for the noise of the subtraction."""
        return abs(self.difference) <= self.tolerance + 1e-12 * abs(float(self.published))


def last_digit(printed: str) -> float:
    """Half a unit of the last printed digit: what rounding alone may explain."""
    mantissa, _, exponent = printed.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return 0.5 * 10.0 ** (int(exponent or 0) - decimals)


def record(
    subject: str,
    name: str,
    published: str | float,
    ours: float,
    unit: str,
    tolerance: float | None,
    source: str,
    mark: Mark,
    note: str = "",
    *,
    reproduces: bool = True,
) -> None:
    """Assert that ours equals the published value and keep the row.

    Parameters
    ----------
    subject
        Page of ``docs/checks/``, such as ``"wall"``.
    name
        What is compared, in words: ``"wall by X1.3, 48 in sewer"``.
    published
        The value; best as text exactly as printed, such as ``"1.01"``.
    ours
        Our value in the same unit.
    unit
        Unit of both, ``"1"`` without dimension.
    tolerance
        Absolute, in that unit; ``None`` takes half of the last printed digit, and
        then ``published`` must be text.
    source, mark
        Source with its place, and its mark.
    note
        The reason for a wider tolerance, or for a value that does not reproduce.
    reproduces
        ``False`` keeps a printed value that is known not to reproduce: ``note``
        must tell why, and the test fails when the two do agree.
    """
    if tolerance is None:
        assert isinstance(published, str), "without a tolerance the value is given as printed"
        tolerance = last_digit(published)
    assert tolerance > 0, "a tolerance is above nothing: numbers are floats"
    printed = published if isinstance(published, str) else f"{published:.10g}"
    row = Row(subject, name, printed, float(ours), unit, tolerance, source, mark, note)
    folder = os.environ.get(FOLDER)
    if folder:
        _keep(row, Path(folder))
    told = f"{name}: {source} ({mark}) prints {printed} {unit}, ours is {ours:.8g}"
    if reproduces:
        assert row.agrees, f"{told}, tolerance {tolerance:.3g}"
    else:
        assert note, f"{told}: say in the note why it does not reproduce"
        assert not row.agrees, f"{told}: it does reproduce, so drop reproduces=False"


def _keep(row: Row, folder: Path) -> None:
    line = json.dumps(asdict(row), ensure_ascii=False)
    with (folder / "rows.jsonl").open("a", encoding="utf-8") as rows:
        rows.write(line + "\n")
