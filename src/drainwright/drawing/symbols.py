"""The observation symbols: line figures drawn for this project, in a cell of 20 by 20 units.

Each is path data around (0, 0), y downwards, kept within ±9; a lead comes from below. They are
stroked 1.7 wide with round ends. A lying line stands for the pipe's wall or its floor.
"""

from __future__ import annotations

CELL = 20.0
STROKE = 1.7
UNKNOWN = "unknown"

SYMBOLS: dict[str, str] = {
    # what comes in, what goes out
    "roots": "M0 9V-3M0 5L-6 0M0 2L6 -3M0 -3L-4 -8M0 -3L3 -9",
    "infiltration": "M0 -8C4 -2 5.5 1 5.5 3A5.5 5.5 0 0 1 -5.5 3C-5.5 1 -4 -2 0 -8Z",
    "exfiltration": "M-9 -6H-3M3 -6H9M0 -6V7M-4 3L0 7L4 3",
    "vermin": "M-8 5A7 6 0 0 1 5 5ZM5 5Q9 5 8 -1M-4 5V8M2 5V8",
    "soil_visible": "M-9 -4H-4M4 -4H9M-3 0h.01M3 0h.01M0 3h.01M-6 3h.01M6 3h.01M-3 6h.01M3 6h.01",
    "void": "M-9 8H9M-6 3A4.5 4.5 0 0 1 -4 -5A5 5 0 0 1 5 -5A4.5 4.5 0 0 1 6 3Z",
    # the pipe's wall
    "crack": "M-9 3L-4 -3L0 3L4 -4L9 2",
    "break": "M-9 4H-4L0 -4M1 5L5 -3H9M-3 8L-1 6",
    "hole": "M-9 -3H-5M5 -3H9M-5 -3L-3 3L0 1L3 4L5 -3",
    "corrosion": "M-9 -2A3 3 0 0 0 -3 -2A3 3 0 0 0 3 -2A3 3 0 0 0 9 -2M-9 6H9",
    "deformation": "M-9 2A9 5 0 0 1 9 2A9 5 0 0 1 -9 2ZM0 -9V-4M-3 -6.5L0 -3.5L3 -6.5",
    "lining_defect": "M-9 6H9M-9 1H-6Q-1 1 -1 -4Q-1 -8 2 -8Q5 -8 5 -4Q5 1 7 1H9",
    # joints
    "offset": "M-9 5H0V-4H9",
    "joint_defect": "M-9 -5H-3V5H-9M9 -5H3V5H9",
    "sealing": "M-9 -6H9M-5 -6V-1A5 6 0 0 0 5 -1V-6",
    # what lies in the way
    "deposit": "M-9 6H9M-8 6Q-5 -1 -2 2Q1 -6 8 6",
    "obstacle": "M-9 7H9M-4 7V-3H4V7",
    "intruding_tap": "M-9 -4H-3V5H3V-4H9",
    "foreign_pipe": "M5.5 0A5.5 5.5 0 1 1 -5.5 0A5.5 5.5 0 1 1 5.5 0ZM-9 -7L9 7M-9 7L9 -7",
    # the pipe's way
    "branch": "M-9 6H9M-9 -1H-4L2 -9M9 -1H4L9 -8",
    "bend": "M-9 6H-4Q4 6 6 -8",
    "size_change": "M-9 -7H-3L2 -3H9M-9 7H-3L2 3H9",
    "material_change": "M-9 -5H9M-9 5H9M0 -8V8M2 4L5 -4M6 4L9 -4",
    "riser": "M-9 7H0V-8M-4 -4L0 -8L4 -4",
    "belly": "M-9 -5Q0 13 9 -5M-5 1.5H5",
    "water_level": "M-9 -2Q-6.7 -5 -4.5 -2T0 -2T4.5 -2T9 -2M-5 3H5M-2 7H2",
    "repair": "M-9 -3H-5M5 -3H9M-9 3H-5M5 3H9M-5 -7H5V7H-5Z",
    # the inspection itself
    "start": "M-6 -8V8M-6 0H7M3 -4L7 0L3 4",
    "finish": "M6 -8V8M-7 0H6M2 -4L6 0L2 4",
    "inspection_abandoned": "M-9 0H0M2 -4L9 4M9 -4L2 4",
    "remark": "M-8 -7H8V3H0L-4 8V3H-8Z",
    UNKNOWN: "M-4 -4A4.2 4.2 0 1 1 0 1V4M0 8h.01",
}


def symbol(kind: str) -> str:
    """Path data of an observation's symbol; that of `unknown` for a kind not drawn here."""
    return SYMBOLS.get(kind, SYMBOLS[UNKNOWN])
