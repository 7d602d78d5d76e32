"""Papers being made: one job at a time, told how far it is, kept for an hour when done."""

from __future__ import annotations

import io
import logging
import threading
import zipfile
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from drainwright.errors import DrainwrightError, NotFoundError
from drainwright.operations.print_papers import OF_A_LATERAL, TUBE_ORDER, MadePaper
from drainwright.web.kept import Kept

Maker = Callable[[], Iterable[MadePaper]]
MOST_JOBS = 20
_LOG = logging.getLogger("drainwright.web")


@dataclass(slots=True)
class PaperJob:
    """What is asked for, how far it is, and what came of it."""

    laterals: tuple[str, ...]
    papers: tuple[str, ...]
    name: str
    """Of the ZIP, without ending."""
    total: int = 0
    done: int = 0
    now: str = ""
    """The paper that was made last."""
    state: str = "waiting"
    """waiting, making, ready, stopped or failed."""
    told: str = ""
    made: list[MadePaper] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)
    stop: threading.Event = field(default_factory=threading.Event)

    @property
    def over(self) -> bool:
        """Whether nothing more comes."""
        return self.state not in ("waiting", "making")

    def paper(self, name: str) -> bytes:
        """The PDF of that name; `NotFoundError` where it was not made."""
        for one in self.made:
            if one.name == name:
                return one.content
        raise NotFoundError(f"{name} was not made")

    def packed(self) -> bytes:
        """All of them in a ZIP, with a list of what was left out."""
        target = io.BytesIO()
        with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as packed:  # PDFs are packed
            for one in self.made:
                packed.writestr(f"{one.name}.pdf", one.content)
            if self.left_out:
                packed.writestr("left out.txt", "\n".join(["Left out:", *self.left_out, ""]))
        return target.getvalue()


class PaperJobs:
    """The jobs of this program; they take turns, since one uses a core."""

    def __init__(self) -> None:
        self._kept: Kept[PaperJob] = Kept("what was made", room=MOST_JOBS)
        self._turn = threading.Semaphore()

    def get(self, name: str) -> PaperJob:
        """A job by its name; `NotFoundError` where it is gone."""
        return self._kept.get(name)

    def start(self, job: PaperJob, maker: Maker) -> str:
        """Start a job on a thread of its own; return the name to ask for it by."""
        job.total = count(len(job.laterals), job.papers)
        name = self._kept.keep(job, 1)
        threading.Thread(target=self._run, args=(job, maker), daemon=True).start()
        return name

    def _run(self, job: PaperJob, maker: Maker) -> None:
        with self._turn:
            try:
                job.state = "making"
                _make(job, maker)
            except DrainwrightError as error:
                job.state, job.told = "failed", str(error)
            except Exception:  # noqa: BLE001  the last line of a thread; the log has it
                _LOG.exception("papers could not be made")
                job.state, job.told = "failed", "A fault in the program; the log has more."


def _make(job: PaperJob, maker: Maker) -> None:
    for one in maker():
        if job.stop.is_set():
            job.state = "stopped"
            return
        if one.why_not:
            job.left_out.append(f"{one.name}: {one.why_not}")
        else:
            job.made.append(one)
        job.done += 1
        job.now = one.name
    job.state = "ready" if job.made else "failed"
    if not job.made:
        job.told = "None of these papers can be made."


def count(laterals: int, papers: Sequence[str]) -> int:
    """How many papers that is."""
    each = sum(paper in OF_A_LATERAL for paper in set(papers))
    return laterals * each + (TUBE_ORDER in papers)
