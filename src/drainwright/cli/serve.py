"""`drainwright serve`: the project on a screen."""

from __future__ import annotations

import logging
import threading
from contextlib import ExitStack
from typing import Annotated

import typer

from drainwright.cli.faces import fail, tell
from drainwright.cli.projects import ProjectKey, Store, now
from drainwright.errors import DrainwrightError
from drainwright.units import UnitSystem

_HERE = ("127.0.0.1", "localhost", "::1")
_ANYWHERE = ("0.0.0.0", "::")  # noqa: S104  compared with, not listened on


def serve(
    store: Store,
    project: ProjectKey = "",
    host: Annotated[str, typer.Option(help="Address to listen on.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(help="Port to listen on.", min=1, max=65535)] = 8417,
    logger: Annotated[
        str,
        typer.Option(help="File that the truck's logger writes, or mqtt://HOST/TOPIC: live cure."),
    ] = "",
) -> None:
    """Show a project in the browser, until stopped with Ctrl-C."""
    import uvicorn

    from drainwright.operations.stores import existing
    from drainwright.operations.warm_up import warm_up
    from drainwright.operations.watch_cure import open_logger
    from drainwright.web.app import make_app
    from drainwright.web.desk import load_templates

    try:
        with existing(store, project) as (opened, chosen), ExitStack() as stack:
            source = stack.enter_context(open_logger(logger, now)) if logger else None
            hosts = () if host in _ANYWHERE else {host.lower(), *_HERE}
            app = make_app(opened, chosen, now=now, hosts=hosts, logger=source)
            threading.Thread(target=load_templates, daemon=True).start()
            threading.Thread(
                target=warm_up, args=(opened, chosen, now().date()), daemon=True
            ).start()
            shown = f"[{host}]" if ":" in host else host
            print(f"{chosen.name}: http://{shown}:{port}/  (Ctrl-C stops)", flush=True)
            if host not in _HERE:
                print("Anyone who reaches this address can read the project.", flush=True)
            logging.basicConfig(level=logging.WARNING)
            uvicorn.run(app, host=host, port=port, log_level="warning", server_header=False)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    except OSError as error:
        fail([f"{host}:{port} can't be used: {error.strerror or error}"], 1)
