"""A computing function's docstring and its signature say the same."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Any

import pytest

from tests.engineering_names import (
    entries,
    fields,
    functions,
    is_number,
    raises,
    results,
    sections,
)


def faults(function: Callable[..., Any]) -> list[str]:
    """What a docstring lacks, in sentences."""
    told = sections(function)
    parameters = inspect.signature(function).parameters
    needed = ["Returns", "References"]
    needed += ["Parameters"] if parameters else []
    needed += ["Raises"] if raises(function) else []
    found = [f"no section {title}" for title in needed if title not in told]
    if ">>>" not in (function.__doc__ or ""):
        found.append("no doctest")
    if not told[""].strip().partition("\n")[0].endswith("."):
        found.append("the first line is not one sentence")
    documented = entries(told.get("Parameters", ""))
    names = [entry.name.lstrip("*") for entry in documented]
    if names != list(parameters):
        found.append(f"the signature has {list(parameters)}, the docstring {names}")
    for entry in documented:
        parameter = parameters.get(entry.name)
        if parameter and is_number(parameter.annotation) and entry.unit is None:
            found.append(f"no [unit] for {entry.name}")
    returned = inspect.signature(function).return_annotation
    if is_number(returned) and all(
        entry.unit is None for entry in entries(told.get("Returns", ""))
    ):
        found.append("no [unit] for what is returned")
    return found


def field_faults(kind: type) -> list[str]:
    """What the docstring of a result lacks, in sentences."""
    told = sections(kind)
    documented = entries(told.get("Attributes", told.get("Parameters", "")))
    names = [entry.name for entry in documented]
    if names != fields(kind):
        return [f"the class has {fields(kind)}, its section Attributes {names}"]
    annotations = inspect.get_annotations(kind)
    return [
        f"no [unit] for {entry.name}"
        for entry in documented
        if is_number(annotations.get(entry.name, "")) and entry.unit is None
    ]


@pytest.mark.parametrize("function", functions(), ids=lambda f: f"{f.__module__}.{f.__name__}")
def test_docstring_and_signature_agree(function: Callable[..., Any]) -> None:
    assert faults(function) == []


@pytest.mark.parametrize("kind", results(), ids=lambda k: f"{k.__module__}.{k.__name__}")
def test_every_field_of_a_result_has_its_line_and_unit(kind: type) -> None:
    assert field_faults(kind) == []


def well_told(diameter: float, *, count: int) -> float:
    """Area of a number of circles.

    Parameters
    ----------
    diameter : float
        Diameter [m].
    count : int
        How many.

    Returns
    -------
    float
        Area [m^2].

    Raises
    ------
    ValueError
        If there is none.

    Examples
    --------
    >>> round(well_told(2.0, count=1), 3)
    3.142

    References
    ----------
    Euclid, Elements, XII.2
    """
    if count < 1:
        raise ValueError(count)
    return 3.141592653589793 * diameter**2 / 4.0 * count


def test_a_good_docstring_passes() -> None:
    assert faults(well_told) == []


@pytest.mark.parametrize(
    ("cut", "fault"),
    [
        ("Diameter [m].", "no [unit] for diameter"),
        ("Area [m^2].", "no [unit] for what is returned"),
        (">>> ", "no doctest"),
        ("Raises\n    ------", "no section Raises"),
        ("References\n    ----------", "no section References"),
        ("count : int", "the signature has"),
        ("circles.", "the first line is not one sentence"),
    ],
)
def test_each_fault_is_seen(cut: str, fault: str, monkeypatch: pytest.MonkeyPatch) -> None:
    text = inspect.getdoc(well_told) or ""
    kept = text.replace(cut.replace("\n    ", "\n"), "x")
    monkeypatch.setattr(well_told, "__doc__", kept)
    assert any(told.startswith(fault) for told in faults(well_told))
