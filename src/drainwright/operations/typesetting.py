"""Set many papers in two processes: typst holds the interpreter's lock while it sets one (read).

The second process is this program again, by name, and not a copy of the caller's: no script of
a caller is run twice. Where it can't be had, all is set here, and the log tells why.
"""

from __future__ import annotations

import logging
import os
import pickle
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor

from drainwright.errors import PaperError

Make = Callable[[], bytes]
Made = bytes | str
"""A paper, or why there is none."""
FEW = 12
"""Fewer papers are set before a second process is up."""
_FAILURES = (OSError, subprocess.SubprocessError, pickle.PickleError, EOFError, TypeError,
             AttributeError)  # fmt: skip
_LOG = logging.getLogger("drainwright.typesetting")
_OTHERS = 0.45
"""Share of the papers for the other process, which has to begin first."""


def set_papers(makers: Sequence[Make]) -> Iterator[Made]:
    """Make each paper, in order; a `PaperError` comes as its words."""
    if len(makers) < FEW or (os.cpu_count() or 1) < 2:
        yield from map(made, makers)
        return
    first = round(len(makers) * (1 - _OTHERS))
    rest = makers[first:]
    with ThreadPoolExecutor(max_workers=1) as pool:
        waiting: Future[Sequence[Made]] = pool.submit(_elsewhere, rest)
        yield from map(made, makers[:first])
        done = waiting.result()
    yield from done
    yield from map(made, rest[len(done) :])


def made(make: Make) -> Made:
    """One paper, or why there is none."""
    try:
        return make()
    except PaperError as error:
        return str(error)


def _elsewhere(makers: Sequence[Make]) -> Sequence[Made]:
    """What the other process made; nothing where it failed."""
    try:
        asked = pickle.dumps(list(makers))
        command = [sys.executable, "-m", "drainwright.operations.typesetting"]
        done = subprocess.run(command, input=asked, capture_output=True, check=True)  # noqa: S603
        found: list[Made] = pickle.loads(done.stdout)  # noqa: S301  our own process wrote it
    except _FAILURES as error:
        said = (getattr(error, "stderr", b"") or b"").decode(errors="replace")
        _LOG.warning("no second process to set papers: %s %s", error, said)
        return ()
    return found


def main() -> None:
    """Make the papers that stand on the standard input, and write them out at the end."""
    makers: list[Make] = pickle.loads(sys.stdin.buffer.read())  # noqa: S301  ours, too
    found = [made(make) for make in makers]
    sys.stdout.buffer.write(pickle.dumps(found))


if __name__ == "__main__":
    main()
