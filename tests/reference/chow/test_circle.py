"""Part-full circle: Chow, Open-Channel Hydraulics, 1959, Table 2-2 (S), and its extremes."""

from __future__ import annotations

import pytest
from scipy.optimize import minimize_scalar

from drainwright.engineering.gravity_flow import (
    area_ratio,
    depth_of_greatest_flow,
    flow_ratio,
    hydraulic_radius_ratio,
    velocity_ratio,
)
from tests.check_rows import record

pytestmark = pytest.mark.published

TABLE = "Chow 1959, Table 2-2"


@pytest.mark.parametrize(
    ("depth", "area", "radius"),
    [
        (0.55, "0.442616", "0.264886"),
        (0.65, "0.540418", "0.288148"),
        (0.75, "0.631852", "0.301687"),
    ],
)
def test_geometry(depth: float, area: str, radius: str) -> None:
    record("flow", f"A/D² at y/D {depth}", area, float(area_ratio(depth)), "1", None, TABLE, "S")
    record("flow", f"R/D at y/D {depth}", radius, float(hydraulic_radius_ratio(depth)), "1",
           None, TABLE, "S")  # fmt: skip


def test_greatest_flow() -> None:
    most = depth_of_greatest_flow()
    record("flow", "greatest flow over full flow", "1.0757", float(flow_ratio(most)), "1", None,
           "Chow 1959 (about 94 % depth), recomputed", "S")  # fmt: skip
    record("flow", "depth of greatest flow", "0.938", most, "1", None,
           "Chow 1959 (about 94 % depth), recomputed", "S")  # fmt: skip


def test_greatest_velocity() -> None:
    found = minimize_scalar(lambda y: -float(velocity_ratio(y)), bounds=(0.5, 1), method="bounded")
    record("flow", "depth of greatest velocity", "0.81", float(found.x), "1", None,
           "Chow 1959, recomputed", "S")  # fmt: skip
    record("flow", "greatest velocity over full velocity", "1.140", -float(found.fun), "1", None,
           "Chow 1959, recomputed", "S")  # fmt: skip


@pytest.mark.parametrize(("depth", "printed"), [(0.2, "0.088"), (0.5, "0.500"), (0.8, "0.977")])
def test_flow_ratio(depth: float, printed: str) -> None:
    record("flow", f"Q/Q_full at y/D {depth}", printed, float(flow_ratio(depth)), "1", None,
           "handbook values, from memory, recomputed", "M")  # fmt: skip
