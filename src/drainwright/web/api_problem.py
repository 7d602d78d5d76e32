"""The one shape of every error of the API (RFC 9457)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class ProblemBody:
    """An error; `errors` has a row for each thing that is wrong."""

    type: str
    title: str
    status: int
    detail: str
    errors: list[dict[str, Any]]


def _told(words: str) -> dict[str, Any]:
    content = {"application/problem+json": {"schema": {"$ref": "#/components/schemas/ProblemBody"}}}
    return {"model": ProblemBody, "description": words, "content": content}


ERRORS: dict[int | str, dict[str, Any]] = {
    400: _told("A request that can't be understood"),
    403: _told("Only pages of this program and programs may write"),
    404: _told("Not there"),
    409: _told("Somebody else changed it meanwhile"),
    422: _told("Input that can't be used"),
    503: _told("The store can't be read"),
}
