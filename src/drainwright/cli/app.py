"""The command line's entry point and its list of commands."""

from __future__ import annotations

import typer

from drainwright.cli.calc import calc

app = typer.Typer(
    name="drainwright",
    help="Plan, record and prove the relining of sewer laterals.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
app.command("calc")(calc)


@app.callback()
def _root() -> None:
    """Plan, record and prove the relining of sewer laterals."""


def main() -> None:
    """Run the command line."""
    app()
