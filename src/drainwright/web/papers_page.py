"""Papers: choose laterals and papers, take them as one file."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Annotated, ClassVar
from urllib.parse import quote

from fastapi import APIRouter, Query, Response

from drainwright.errors import Fault, InputError, PaperError
from drainwright.operations.list_laterals import LateralPage, list_laterals
from drainwright.operations.list_project import MARKS
from drainwright.operations.print_papers import OF_A_LATERAL, PAPERS, MadePaper, make_papers
from drainwright.web.desk import Desk
from drainwright.web.project_page import PageNumber

READER = "reader of the pages"
MOST = 50
"""Laterals whose papers are made at once."""


@dataclass(frozen=True, slots=True)
class PapersPage:
    """What the page of the papers shows."""

    template: ClassVar[str] = "papers.html"
    found: LateralPage
    papers: tuple[str, ...]
    chosen: frozenset[str]
    words: str
    marks: dict[str, str]


def routes(desk: Desk) -> APIRouter:
    """The choice, one PDF, and many in a ZIP."""
    router = APIRouter(include_in_schema=False)

    @router.get("/papers")
    def choice(
        q: str = "", page: PageNumber = 1, lateral: Annotated[list[str] | None, Query()] = None
    ) -> Response:
        found = list_laterals(desk.store, desk.project.key, words=q.strip(), page=page)
        return desk.page(PapersPage(found, PAPERS, frozenset(lateral or ()), q.strip(), MARKS))

    @router.get("/papers/pdf")
    def one(lateral: str, paper: str) -> Response:
        if paper not in OF_A_LATERAL:
            raise InputError(Fault("paper", f"“{paper}” is no paper of a lateral", paper))
        made = next(_made(desk, [lateral], [paper]))
        if made.why_not:
            raise PaperError(f"{made.name}: {made.why_not}")
        return download(made.content, "application/pdf", f"{made.name}.pdf")

    @router.get("/papers/zip")
    def several(
        lateral: Annotated[list[str] | None, Query()] = None,
        paper: Annotated[list[str] | None, Query()] = None,
    ) -> Response:
        keys, papers = lateral or [], paper or []
        if not keys or not papers:
            missing = "laterals" if not keys else "papers"
            raise InputError(Fault(missing, "choose at least one"))
        if len(keys) > MOST:
            raise InputError(Fault("laterals", f"choose {MOST} at most", len(keys)))
        content, left_out = _packed(_made(desk, keys, papers))
        if not content:
            raise PaperError("; ".join(left_out))
        name = f"{desk.project.key} papers {desk.today.isoformat()}.zip"
        return download(content, "application/zip", name)

    return router


def _made(desk: Desk, keys: list[str], papers: list[str]) -> Iterator[MadePaper]:
    return make_papers(desk.store, desk.project.key, keys, papers, by=READER, at=desk.now())


def _packed(made: Iterable[MadePaper]) -> tuple[bytes, list[str]]:
    """The papers in a ZIP, with a list of what was left out; nothing if none could be made."""
    left_out: list[str] = []
    count = 0
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as packed:  # PDFs are packed already
        for paper in made:
            if paper.why_not:
                left_out.append(f"{paper.name}: {paper.why_not}")
            else:
                packed.writestr(f"{paper.name}.pdf", paper.content)
                count += 1
        if left_out:
            packed.writestr("left out.txt", "\n".join(["Left out:", *left_out, ""]))
    return (target.getvalue() if count else b""), left_out


def download(content: bytes, media: str, name: str) -> Response:
    """A file to be kept under a name, which need not be plain letters."""
    plain = name.encode("ascii", "replace").decode().replace('"', "_")
    told = f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}"
    return Response(content, media_type=media, headers={"Content-Disposition": told})
