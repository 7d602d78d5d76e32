"""The truck's laptop for tests: the app on a real port, which can be killed and come back."""

from __future__ import annotations

import datetime as dt
import os
import signal
import socket
import sys
import threading
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

import uvicorn

from drainwright.operations.stores import OpenStore, existing
from drainwright.operations.watch_cure import open_logger
from drainwright.web.app import make_app


def real_time() -> dt.datetime:
    """Now."""
    return dt.datetime.now(dt.UTC)


class Laptop:
    """Serves a store at one address whenever it runs."""

    def __init__(self, path: Path, logger: str = "") -> None:
        self.path, self._logger = path, logger
        self.now: Callable[[], dt.datetime] = real_time
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.address = f"http://localhost:{self.port}"
        self._stack: ExitStack | None = None
        self.store: OpenStore | None = None

    def _time(self) -> dt.datetime:
        return self.now()

    def start(self) -> Laptop:
        """Come up; returns when it answers."""
        stack = ExitStack()
        store, project = stack.enter_context(existing(str(self.path)))
        source = (
            stack.enter_context(open_logger(self._logger, self._time)) if self._logger else None
        )
        app = make_app(store, project, now=self._time, logger=source)
        config = uvicorn.Config(
            app, host="127.0.0.1", port=self.port, log_level="critical", timeout_graceful_shutdown=0
        )
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        while not server.started:
            thread.join(0.02)

        def stop() -> None:
            server.should_exit = server.force_exit = True
            thread.join(10)

        stack.callback(stop)
        self._stack, self.store = stack, store
        return self

    def kill(self) -> None:
        """Go down at once."""
        if self._stack is not None:
            self._stack.close()
        self._stack = self.store = None


def main(path: str, port: str) -> None:
    """For each line on standard input a child that serves until killed; it says its number.

    Everything is imported once, so that a killed server is back at once.
    """
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    for _ in sys.stdin:
        if os.fork() == 0:
            laptop = Laptop(Path(path))
            laptop.port = int(port)
            laptop.start()
            sys.stdout.write(f"{os.getpid()}\n")
            sys.stdout.flush()
            threading.Event().wait()


if __name__ == "__main__":
    main(*sys.argv[1:])
