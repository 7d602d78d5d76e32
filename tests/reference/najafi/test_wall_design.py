"""Worked design of a 48 in sewer, fully deteriorated: Najafi, p. 109-117, second-hand.

The book works to ASTM F1216-09. Its page text garbles two constants; see the notes.
"""

from __future__ import annotations

import numpy as np
import pytest

from drainwright.engineering.groundwater import height_above_invert, water_pressure
from drainwright.engineering.soil_load import (
    buoyancy_factor,
    elastic_support,
    external_pressure,
    wheel_pressure,
)
from drainwright.engineering.wall import Liner, ovality_factor
from drainwright.engineering.wall_soil import SoilLoad, wall_soil_buckling, wall_stiffness
from drainwright.units import to_si
from tests.check_rows import record

pytestmark = pytest.mark.published

BOOK = "Najafi, Trenchless Technology Piping, p. "
D = to_si(48, "in")
H = to_si(16, "ft")
H_W = to_si(8, "ft")
SOIL = to_si(120, "lbf/ft^3")
PSI = to_si(1, "psi")
LINER = Liner(250_000 * PSI, 0.5, 2250 * PSI, 0.3)
OVALITY = 0.02


def load() -> SoilLoad:
    """The book's load, with the live load as printed."""
    return SoilLoad(
        external_pressure(H, H_W, SOIL, 0.35 * PSI),
        buoyancy_factor(H, H_W),
        elastic_support(H),
        1000 * PSI,
    )


def test_factors() -> None:
    record("wall", "R_w, 48 in sewer", "0.835", float(buoyancy_factor(H, H_W)), "1", None,
           BOOK + "111", "S2")  # fmt: skip
    record("wall", "B', 48 in sewer", "0.414", float(elastic_support(H)), "1", None,
           BOOK + "111", "S2",
           "the page's text layer reads 0.65 and 2.178; only 0.065 and e give 0.414")  # fmt: skip
    record("wall", "B' recomputed, 48 in sewer", "0.41428", float(elastic_support(H)), "1", None,
           "recomputed", "C")  # fmt: skip
    record("wall", "C at 2 %, 48 in sewer", "0.836", float(ovality_factor(OVALITY)), "1", None,
           BOOK + "111", "S2")  # fmt: skip
    record("wall", "C recomputed, 48 in sewer", "0.83575", float(ovality_factor(OVALITY)), "1",
           None, "recomputed", "C")  # fmt: skip


@pytest.mark.parametrize(("percent", "printed"), [(0, "1.00"), (2, "0.84"), (5, "0.64"),
                                                  (8, "0.49")])  # fmt: skip
def test_table_of_ovality_factors(percent: int, printed: str) -> None:
    record("wall", f"C at {percent} %", printed, float(ovality_factor(percent / 100)), "1", None,
           "Najafi, Trenchless Technology Piping, Table 2.9", "S2")  # fmt: skip


def test_live_load() -> None:
    ours = float(wheel_pressure(to_si(16_000, "lbf"), 0.03826, 1.0, D)) / PSI
    record("wall", "W_s of a 16,000 lb wheel", "0.35", ours, "psi", None, BOOK + "110", "S2")
    record("wall", "W_s recomputed", "0.3507", ours, "psi", None, "recomputed", "C")


def test_external_pressure() -> None:
    ours = float(np.asarray(load().external_pressure)) / PSI
    record("wall", "q_t, 48 in sewer", "14.90", ours, "psi", None, BOOK + "111", "S2",
           "a slip in print: the book's own terms add up to 14.947, and its later results fit that",
           reproduces=False)  # fmt: skip
    record("wall", "q_t recomputed, 48 in sewer", "14.947", ours, "psi", None, "recomputed", "C")


def test_wall_by_soil_buckling() -> None:
    new = float(wall_soil_buckling(D, load(), OVALITY, LINER, 2.0, "ASTM F1216-09")) / 0.0254
    old = float(wall_soil_buckling(D, load(), OVALITY, LINER, 2.0, "ASTM F1216-05")) / 0.0254
    record("wall", "t by X1.3, 48 in sewer", "1.01", new, "in", None, BOOK + "111", "S2")
    record("wall", "t by X1.3 recomputed, 48 in sewer", "1.008", new, "in", None,
           "recomputed", "C")  # fmt: skip
    record("wall", "t by X1.3 before 07b, 48 in sewer", "1.07", old, "in", None, "recomputed", "C")
    record("wall", "t by X1.3 before 07b against the book", "1.01", old, "in", None,
           BOOK + "111", "S2", "the book works to F1216-09, so the older form must not fit it",
           reproduces=False)  # fmt: skip


def test_wall_by_stiffness() -> None:
    ours = float(wall_stiffness(D, LINER.modulus, 0.093 * PSI)) / 0.0254
    record("wall", "t by X1.4, 48 in sewer", "0.790", ours, "in", None, BOOK + "111", "S2")
    record("wall", "t by X1.4 recomputed, 48 in sewer", "0.7903", ours, "in", None,
           "recomputed", "C")  # fmt: skip


def test_water_pressure() -> None:
    head = height_above_invert(H_W, D)
    record("wall", "water above the invert, 48 in sewer", "12", float(head) / 0.3048, "ft",
           1e-9, BOOK + "114", "S2")  # fmt: skip
    ours = float(water_pressure(head)) / PSI
    record("wall", "P, 48 in sewer", "5.20", ours, "psi", None, BOOK + "114", "S2",
           "the book takes 62.4/144 psi/ft here and 0.433 in X1.3; ours is 0.433")  # fmt: skip
    record("wall", "P recomputed with 62.4/144, 48 in sewer", "5.200", ours, "psi", None,
           "recomputed", "C", "62.4/144 = 0.43333 psi/ft; ours is 0.433 psi/ft, 0.08 % less",
           reproduces=False)  # fmt: skip
