"""`drainwright calc`: one engineering number without a project."""

from __future__ import annotations

import json
import sys
import tomllib
from pathlib import Path
from typing import Annotated, Any

import typer

from drainwright.cli.faces import fail
from drainwright.errors import Fault, InputError, NotFoundError
from drainwright.units import UnitSystem, fault_text


def calc(
    topic: Annotated[str, typer.Argument(help="What to compute; see docs/guide/calculators.md.")],
    file: Annotated[str, typer.Argument(help="TOML file with the inputs, or - for stdin.")],
    units: Annotated[UnitSystem, typer.Option(help="Units of the answer.")] = UnitSystem.US,
    as_json: Annotated[bool, typer.Option("--json", help="Answer as JSON.")] = False,
) -> None:
    """Compute one subject from a TOML file of named inputs."""
    from drainwright.operations.calculate import CalculatorError, calculate
    from drainwright.operations.calculators.base import answer_json

    try:
        data, folder = _read(file)
        answer, _ = calculate(topic, data, folder)
    except NotFoundError as error:
        _refuse([Fault("topic", str(error), topic)], {}, units, as_json=as_json)
    except InputError as error:
        kinds = error.kinds if isinstance(error, CalculatorError) else {}
        _refuse(list(error.faults), kinds, units, as_json=as_json)
    else:
        if as_json:
            print(json.dumps(answer_json(answer, units), ensure_ascii=False, allow_nan=False))
        else:
            _print_table(answer, units)


def _read(file: str) -> tuple[dict[str, Any], Path]:
    try:
        if file == "-":
            return tomllib.loads(sys.stdin.buffer.read().decode("utf-8")), Path.cwd()
        path = Path(file)
        return tomllib.loads(path.read_bytes().decode("utf-8-sig")), path.parent
    except OSError as error:
        told = f"“{file}”: {error.strerror or error}"
        raise InputError(Fault("file", told, file)) from error
    except UnicodeDecodeError as error:
        raise InputError(Fault("file", "is not UTF-8 text", file)) from error
    except (ValueError, RecursionError) as error:  # tomllib lets int()'s own errors through
        raise InputError(Fault("file", f"is not TOML: {error}", file)) from error


def _refuse(
    faults: list[Fault], kinds: dict[str, str], units: UnitSystem, *, as_json: bool
) -> None:
    if as_json:
        rows = [_fault_json(fault, kinds, units) for fault in faults]
        print(json.dumps({"errors": rows}, ensure_ascii=False, allow_nan=False, default=str))
        raise typer.Exit(2)
    fail(fault_text(fault, units, kinds) for fault in faults)


def _fault_json(fault: Fault, kinds: dict[str, str], units: UnitSystem) -> dict[str, Any]:
    text = fault_text(fault, units, kinds)
    message = text.removeprefix(f"{fault.name}: ")
    row: dict[str, Any] = {"key": fault.name, "value": _plain(fault.value), "message": message}
    if fault.unit is not None:
        row |= {"unit": fault.unit, "low": fault.low, "high": fault.high}
    return row


def _plain(value: object) -> object:
    if isinstance(value, float) and value - value != 0:  # infinite or not a number
        return str(value)
    return value


def _print_table(answer: Any, units: UnitSystem) -> None:
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table

    from drainwright.operations.calculators.base import answer_rows

    console = Console()
    console.print(f"[bold]{answer.topic}[/bold], {escape(answer.method)}", highlight=False)
    table = Table(box=None, pad_edge=False, header_style="bold")
    for title, side in (("result", "left"), ("value", "right"), ("unit", "left"), ("how", "left")):
        table.add_column(title, justify="right" if side == "right" else "left")
    for row in answer_rows(answer, units):
        table.add_row(*(escape(text) for text in (row.name, row.value, row.unit, row.how)))
    console.print(table, highlight=False)
    for check in answer.checks:
        ratio = "" if check.ratio is None else f", ratio {check.ratio:.2f}"
        line = f"check: {check.name}: {check.outcome.value}{ratio}"
        console.print(line, highlight=False, markup=False)
    for caution in answer.cautions:
        console.print(f"caution: {caution}", highlight=False, markup=False)
    for source in answer.sources:
        console.print(f"source: {source}", highlight=False, markup=False)
