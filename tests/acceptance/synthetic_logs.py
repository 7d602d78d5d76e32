"""Synthetic cure logs by general ODE solvers on the written equations; writes the demo's files.

Nothing of the program is used here: other grid, other saturation formula, its own march of
the steam along the pipe with a front inside a cell, sensors with noise, constant errors, lag
and a clock that is off. `python -m tests.acceptance.synthetic_logs` writes
examples/alder_ferry/logs/.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import math
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy import integrate

Array = NDArray[np.float64]
R_GAS = 8.314462618
NL, NH, NS = 12, 5, 15
LATENT = 2.235e6
PSI = 6894.757293168361


@dataclass(frozen=True)
class Truth:
    """One cure as it really was; SI."""

    length: float = 13.4
    diameter: float = 0.1016
    wall: float = 0.003
    coating: float = 0.0004
    liner_k: float = 0.2
    liner_rho_c: float = 1180.0 * 1400.0
    resin: float = 1180.0 * 0.85
    """Resin in a cubic meter of liner [kg]."""
    heat: float = 4.2e5
    host_wall: float = 0.015
    host_k: float = 1.4
    host_rho_c: float = 2500.0 * 840.0
    soil_k: float = 1.4
    soil_rho_c: float = 2.2e6
    soil: float = 288.15
    """Undisturbed ground [K]."""
    contact: float = 1e-3
    rate: float = 1.0
    condensate: float = 0.003
    supply: float = 0.02
    """Steam that flows in [kg/s]."""
    plug: float = 0.0
    """Share of the length with still air at a blind end."""
    bladder_k: float = 0.2
    collar_water: float = 1.0
    collar_wall: float = 0.003
    main_diameter: float = 0.2032
    gauge: float = 48_263.0
    barometer: float = 101_325.0
    steam_time: float = 10_200.0
    heat_up: float = 600.0
    cool_time: float = 0.0
    """Air after steam [s]."""
    air: float = 290.0
    """Cooling air [K]."""
    air_flow: float = 0.006
    """[kg/s]"""
    stops: tuple[tuple[float, float], ...] = ()
    """When the boiler stood still, since steam on [s]."""
    stations: int = 8


@dataclass
class Made:
    """What happened, at every `times` since steam on."""

    truth: Truth
    times: Array
    inlet: Array
    far: Array
    pressure: Array
    positions: Array
    face: dict[tuple[str, int], Array] = field(default_factory=dict)
    """Outer face of the liner, by line and station."""
    cure: dict[tuple[str, int], Array] = field(default_factory=dict)
    """Least conversion across the wall; the collar is ("collar", 0)."""

    def least(self, second: float) -> float:
        """Least cure of all places at a time."""
        return min(float(np.interp(second, self.times, v)) for v in self.cure.values())

    def wall(self, line: str, position: float) -> Array:
        """Outer face at a place along the pipe, straight between stations."""
        n = self.positions.size
        stack = np.stack([self.face[line, j] for j in range(n)])
        return np.array([np.interp(position, self.positions, row) for row in stack.T])


# ---------------------------------------------------------------- steam and gas


def saturation(T: Array | float) -> Any:
    """Saturation pressure by Wagner and Pruss (1993) [Pa]."""
    tau = 1 - np.asarray(T) / 647.096
    a = (-7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502)
    powers = (1.0, 1.5, 3.0, 3.5, 4.0, 7.5)
    total = sum(c * tau**p for c, p in zip(a, powers, strict=True))
    return 22.064e6 * np.exp(647.096 / np.asarray(T) * total)


_T = np.linspace(255.0, 430.0, 3000)
_P = np.log(saturation(_T))


def boiling(p: Array | float) -> Any:
    return np.interp(np.log(np.maximum(p, 130.0)), _P, _T)


def inlet_of(truth: Truth, t: Array) -> Array:
    """Gas in: a curved rise, a plateau that breathes, stops of the boiler, then air."""
    top = float(boiling(truth.gauge + truth.barometer))
    x = np.clip(t / truth.heat_up, 0.0, 1.0)
    rise = truth.soil + (top - truth.soil) * (1.6 * x - 0.6 * x**2)
    rise = rise + 0.3 * np.sin(t / 300.0) * (x >= 1.0)
    for start, end in truth.stops:
        fall = np.clip((t - start) / 240.0, 0.0, 1.0) * (t < end)
        back = np.clip(1 - (t - end) / 240.0, 0.0, 1.0) * (t >= end) * min((end - start) / 240, 1)
        rise = rise - (rise - 325.0) * np.maximum(fall * (t >= start), back)
    off = t > truth.steam_time
    air = truth.air + (top - truth.air) * np.exp(-(t - truth.steam_time) / 60.0)
    return np.asarray(np.where(off, air, rise), dtype=float)


# ---------------------------------------------------------------- one radial column


def _faces(truth: Truth, radius: float, wall: float) -> Array:
    outer = radius + truth.host_wall
    soil = outer + 0.93 * (np.expm1(np.linspace(0, 1, NS + 1) * 5.0) / math.expm1(5.0))
    return np.concatenate(
        [
            np.linspace(radius - wall, radius, NL + 1),
            np.linspace(radius, outer, NH + 1)[1:],
            soil[1:],
        ]
    )


class Column:
    """One place of the wall: state interleaved T1 a1 T2 a2 ..., then host and soil."""

    def __init__(self, truth: Truth, part: str) -> None:
        collar = part == "collar"
        radius = (truth.main_diameter if collar else truth.diameter) / 2
        wall = truth.collar_wall if collar else truth.wall
        f = _faces(truth, radius, wall)
        k = np.repeat((truth.liner_k, truth.host_k, truth.soil_k), (NL, NH, NS))
        rc = np.repeat((truth.liner_rho_c, truth.host_rho_c, truth.soil_rho_c), (NL, NH, NS))
        area = math.pi * (f[1:] ** 2 - f[:-1] ** 2)
        mid = np.sqrt(0.5 * (f[1:] ** 2 + f[:-1] ** 2))
        out = np.log(f[1:] / mid) / (2 * math.pi * k)
        into = np.log(mid / f[:-1]) / (2 * math.pi * k)
        r = out[:-1] + into[1:]
        r[NL - 1] += truth.contact / (2 * math.pi * radius)
        self.truth, self.cap, self.g = truth, area * rc, 1 / r
        self.to_soil = 1 / out[-1]
        self.half = out[NL - 1]
        self.q = area[:NL] * truth.resin * truth.heat
        girth = 2 * math.pi * (radius - wall)
        series = truth.coating / (0.25 * girth)
        if part == "invert":
            series += truth.condensate / (0.67 * girth)
        self.chill = 0.0
        if collar:
            series += 0.005 / (truth.bladder_k * girth)
            self.cap[0] += 0.5 * girth * 0.005 * 1150.0 * 1800.0
            self.chill = truth.collar_water * 2 * math.pi * (radius + truth.host_wall)
        dry = truth.coating / (0.25 * girth) + (0.005 / (truth.bladder_k * girth) if collar else 0)
        self.wet = 1 / (1 / (2000.0 * girth) + series + into[0])
        self.dry = 1 / (1 / (15.0 * girth) + dry + into[0])
        self.air = 1 / (1 / (20.0 * girth) + dry + into[0])

    def solve(self, t: Array, gas: Array, most: Array, off: float) -> tuple[Array, Array, Array]:
        """Heat from the gas, outer face, least cure at every time.

        `most` limits the heat that condensing steam can bring [W/m].
        """
        soil = self.truth.soil
        s0 = np.concatenate([np.array([soil, 0.0] * NL), np.full(NH + NS, soil)])
        films = np.array([self.wet, self.dry, self.air, self.chill, self.to_soil, soil, off])
        parts = (self.cap, self.g, self.q, films, self.truth.rate, t, gas, most)
        odeint: Any = integrate.odeint
        got = odeint(
            rhs, s0, t, args=parts, ml=2, mu=2, rtol=1e-5, atol=1e-6, mxstep=20_000, hmax=300.0,
            tcrit=[off] if t[0] < off < t[-1] else [],
        ).T  # fmt: skip
        inner, a = got[0 : 2 * NL : 2], got[1 : 2 * NL : 2]
        heat = np.array(
            [flux(now, x, films, t, gas, most) for now, x in zip(t, inner[0], strict=True)]
        )
        through = self.g[NL - 1] * (inner[-1] - got[2 * NL])
        return heat, inner[-1] - through * self.half, np.clip(a, 0.0, 1.0).min(axis=0)


def _flux(now: float, T1: float, films: Array, t: Array, gas: Array, most: Array) -> float:
    """Heat into the wall [W/m]: condensing steam as far as there is any, dry gas, or air."""
    x = np.interp(now, t, gas)
    if now > films[6]:
        return float(films[2] * (x - T1))
    if x <= T1:
        return float(films[1] * (x - T1))
    return float(min(films[0] * (x - T1), np.interp(now, t, most)))


flux: Any = njit(_flux)


def _rhs(
    s: Array, now: float, cap: Array, g: Array, q: Array, films: Array, factor: float, t: Array,
    gas: Array, most: Array,
) -> Array:  # fmt: skip
    """Heat balance and rate of cure of one column (set C of the reference values)."""
    n = NL + NH + NS
    T, net, out = np.empty(n), np.zeros(n), np.empty(NL + n)
    for i in range(n):
        T[i] = s[2 * i] if i < NL else s[NL + i]
    net[0] += flux(now, T[0], films, t, gas, most)
    for i in range(n - 1):
        flow = g[i] * (T[i] - T[i + 1])
        net[i] -= flow
        net[i + 1] += flow
    net[n - 1] -= films[4] * (T[n - 1] - films[5])
    net[NL + NH - 1] -= films[3] * (T[NL + NH - 1] - films[5])
    for i in range(NL):
        a = min(max(s[2 * i + 1], 0.0), 1.0)
        k1 = 1.02e5 * np.exp(-57e3 / (R_GAS * T[i]))
        k2 = 1.53e5 * np.exp(-50e3 / (R_GAS * T[i]))
        glass = 243.15 + 140.0 * 0.45 * a / (1 - 0.55 * a)
        slow = 1 / (1 + np.exp(min(max((glass - T[i]) / 6.0, -60.0), 60.0)))
        rate = factor * (k1 + k2 * a**0.9) * (1 - a) ** 1.8 * slow
        out[2 * i + 1] = rate
        out[2 * i] = (net[i] + q[i] * rate) / cap[i]
    for i in range(NL, n):
        out[NL + i] = net[i] / cap[i]
    return out


rhs: Any = njit(_rhs)


def make(truth: Truth, every: float = 20.0) -> Made:
    """Carry a cure through: station after station, as far as the steam reaches."""
    t = np.arange(0.0, truth.steam_time + truth.cool_time + 1e-6, every)
    cap = inlet_of(truth, t)
    steam = t <= truth.steam_time
    P = truth.gauge + truth.barometer
    dx = truth.length / truth.stations
    x: Array = (np.arange(truth.stations, dtype=float) + 0.5) * dx
    flat: Array = np.full(t.size, truth.gauge)
    made = Made(truth, t, cap, cap, flat, x)
    m = np.full(t.size, truth.supply)
    off = truth.steam_time
    collar = Column(truth, "collar").solve(t, cap, np.full(t.size, 1e9), off)
    made.face["collar", 0], made.cure["collar", 0] = collar[1], collar[2]
    shed, drawn, top = np.zeros(t.size), np.zeros(t.size), math.inf
    for j in range(truth.stations):
        gas = np.where(steam, cap, cap + shed)
        share = max(min((truth.length * (1 - truth.plug) - j * dx) / dx, 1.0), 0.02)
        most = m * LATENT / dx
        if j and share == 1.0 and most[steam].min() > 1.2 * top and not shed.any():
            for line in ("top", "invert"):  # as much steam as the station before: the same
                made.face[line, j], made.cure[line, j] = made.face[line, 0], made.cure[line, 0]
            m = np.where(steam, np.clip(m - drawn * dx / LATENT, 0.0, truth.supply), m)
            continue
        top, drawn = 0.0, np.zeros(t.size)
        for line, part in (("top", 0.75), ("invert", 0.25)):
            column = Column(truth, line)
            for name in ("wet", "dry", "air"):
                setattr(column, name, getattr(column, name) * share)
            q, face, least = column.solve(t, gas, most, off)
            made.face[line, j], made.cure[line, j] = face, least
            drawn += part * q
            top = max(top, float(q.max()))
        m = np.where(steam, np.clip(m - drawn * dx / LATENT, 0.0, truth.supply), m)
        # the cooling air warms by what the wall gives it
        warmed = shed - drawn * dx / (truth.air_flow * 1006.0)
        shed = np.where(steam, 0.0, np.clip(warmed, 0.0, 60.0))
    last = made.face["top", truth.stations - 1]
    y = m / (m + 0.62198 * 0.002 * truth.supply + 1e-12)
    wet = np.minimum(cap, boiling(np.maximum(y, 1e-3) * P))
    reached = np.clip(m / (0.02 * truth.supply), 0.0, 1.0)
    made.far = np.where(steam, last + (np.maximum(wet, last) - last) * reached, cap + shed)
    return made


# ---------------------------------------------------------------- sensors


@dataclass(frozen=True)
class Sensors:
    """How the readings differ from what was; one draw each of the constant errors."""

    noise: float = 0.2
    bias: float = 1.0
    lag: float = 15.0
    every: float = 10.0
    before: float = 240.0
    """Log before steam on [s]."""
    seed: int = 1
    near: float = 1.0
    """Place of the wall sensors from the tap [m]."""
    far: float = -1.0
    """Place of the others, from the far end where negative [m]."""


NAMES = (
    "Gas in",
    "Exhaust",
    "Top near",
    "Bottom near",
    "Top far",
    "Bottom far",
    "Collar",
    "P tube",
)


def readings(
    made: Made, sensors: Sensors, *, blind: bool = False
) -> tuple[Array, dict[str, Array]]:
    """Seconds since steam on, and what each sensor read [K, Pa]."""
    rng = np.random.default_rng(sensors.seed)
    truth = made.truth
    t = np.arange(-sensors.before, made.times[-1] + 1e-6, sensors.every)
    far = min(sensors.far, truth.length) if sensors.far > 0 else truth.length + sensors.far
    true = {
        "Gas in": made.inlet,
        "Exhaust": made.far,
        "Top near": made.wall("top", sensors.near),
        "Bottom near": made.wall("invert", sensors.near),
        "Top far": made.wall("top", far),
        "Bottom far": made.wall("invert", far),
        "Collar": made.face["collar", 0],
    }
    if blind:
        for name in ("Exhaust", "Top far", "Bottom far"):
            del true[name]
    found = {}
    for name, values in true.items():
        read = np.interp(t - sensors.lag, made.times, values)
        error = rng.normal(0.0, sensors.bias)
        found[name] = read + error + rng.normal(0.0, sensors.noise, t.size)
    gauge = np.interp(t, made.times, made.pressure)
    found["P tube"] = gauge + rng.normal(0.0, 300.0) + rng.normal(0.0, 150.0, t.size)
    return t, found


# ---------------------------------------------------------------- the demo's files

FOOT = 0.3048
ROW = Truth(
    soil_k=1.05, bladder_k=0.27, rate=1.06, contact=2e-3, gauge=7.05 * PSI, air=281.0, air_flow=0.03
)
LANTERN = Truth(
    soil_k=1.25,
    bladder_k=0.28,
    rate=1.08,
    contact=1.5e-3,
    gauge=7.05 * PSI,
    main_diameter=0.1942,
    air=281.0,
    air_flow=0.03,
)


@dataclass(frozen=True)
class Demo:
    """One demo cure: its truth, its local times as the crew has them, and its logger."""

    lateral: str
    day: str
    on: str
    steam: float
    """Minutes until steam was shut."""
    down: float
    """Minutes until pressure was let down."""
    truth: Truth
    seed: int


DEMO = (
    Demo("A-04", "2026-11-17", "10:42", 173, 304, replace(ROW, length=13.453), 4),
    Demo("A-05", "2026-11-17", "14:05", 174, 305, replace(ROW, length=12.324, soil_k=1.15), 5),
    Demo("B-02", "2026-11-19", "09:58", 175, 346,
         replace(LANTERN, length=14.072, diameter=0.1524, wall=0.0032, coating=0.0003), 6),
    Demo("B-04", "2026-11-19", "13:40", 175, 306, replace(LANTERN, length=9.164, soil_k=1.2), 7),
)  # fmt: skip
HEADS = {
    "Gas in": "Gas in (°F)", "Exhaust": "Exhaust (°F)", "Top near": "Wall top 10 ft (°F)",
    "Bottom near": "Wall bottom 10 ft (°F)", "Top far": "Wall top 30 ft (°F)",
    "Bottom far": "Wall bottom 30 ft (°F)", "Collar": "Collar (°F)", "P tube": "P tube (psi)",
}  # fmt: skip


def demo_csv(demo: Demo) -> str:
    """The logger's file of a demo cure, every 10 s, months first, 12 hours."""
    truth = replace(
        demo.truth, steam_time=demo.steam * 60.0, cool_time=(demo.down - demo.steam + 6) * 60.0
    )
    sensors = Sensors(seed=demo.seed, near=10 * FOOT, far=30 * FOOT)
    seconds, values = readings(make(truth, every=30.0), sensors)
    down = demo.down * 60.0
    gauge = values["P tube"]
    gauge = np.where(seconds > down, gauge * np.exp(-(seconds - down) / 60.0), gauge)
    dip = 0.9 * PSI * np.exp(-(((seconds - truth.steam_time - 20.0) / 20.0) ** 2))
    values["P tube"] = gauge - dip
    start = dt.datetime.fromisoformat(f"{demo.day}T{demo.on}")
    out = io.StringIO()
    out.write("Logger,TR-8\nInterval,10 s\n")
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(["Date", "Time", *HEADS.values()])
    for n, second in enumerate(seconds):
        at = start + dt.timedelta(seconds=float(second) + 30.0)  # the logger's clock is 30 s ahead
        kelvin = (values[name][n] for name in HEADS if name != "P tube")
        rows.writerow(
            [
                f"{at:%m/%d/%Y}",
                f"{at:%I:%M:%S %p}",
                *(f"{(v - 273.15) * 1.8 + 32:.1f}" for v in kelvin),
                f"{values['P tube'][n] / PSI:.2f}",
            ]
        )
    return out.getvalue()


def main() -> None:
    folder = Path(__file__).resolve().parents[2] / "examples" / "alder_ferry" / "logs"
    folder.mkdir(exist_ok=True)
    for demo in DEMO:
        (folder / f"{demo.lateral}.csv").write_text(demo_csv(demo), encoding="utf-8")


if __name__ == "__main__":
    main()
