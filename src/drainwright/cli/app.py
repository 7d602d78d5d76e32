"""The command line's entry point and its list of commands."""

from __future__ import annotations

import typer

from drainwright.cli import accept, field, pay, projects, read, record, shift, warranty
from drainwright.cli.batch import batch
from drainwright.cli.calc import calc
from drainwright.cli.estimate import estimate
from drainwright.cli.log import log
from drainwright.cli.resin import fit_resin
from drainwright.cli.serve import serve
from drainwright.cli.would_change import would_change

app = typer.Typer(
    name="drainwright",
    help="Plan, record and prove the relining of sewer laterals.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # plain help comes up in half the time
)
app.command("new")(projects.new)
app.command("list")(projects.list_)
app.command("show")(projects.show)
app.command("plan")(projects.plan)
app.command("print")(projects.print_)
app.command("batch")(batch)
app.command("estimate")(estimate)
app.command("calc")(calc)
app.command("fit-resin")(fit_resin)
app.command("read")(read.read)
app.command("write")(read.write)
app.command("template")(read.template)
app.command("would-change")(would_change)
app.command("demo")(projects.demo)
app.command("serve")(serve)
record.register(app)
field.register(app)
app.add_typer(log)
app.add_typer(accept.app, name="accept")
app.add_typer(pay.app, name="pay")
app.add_typer(shift.app, name="shift")
app.add_typer(warranty.app, name="warranty")


@app.callback()
def _root() -> None:
    """Plan, record and prove the relining of sewer laterals."""


def main() -> None:
    """Run the command line."""
    app()
