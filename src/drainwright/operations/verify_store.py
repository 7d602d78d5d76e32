"""Recompute every hash of a store (read)."""

from __future__ import annotations

from dataclasses import dataclass

from drainwright.storage.protocol import Finding, RecordStore


@dataclass(frozen=True, slots=True)
class Verified:
    """What was checked, what does not match, and each device's newest hash to compare."""

    projects: tuple[str, ...]
    findings: tuple[Finding, ...]
    heads: tuple[tuple[str, str, int, str], ...]
    """Project, device, number and hash of its newest field entry."""


def verify_store(store: RecordStore, project: str = "") -> Verified:
    """Every project of the store, or one of them."""
    findings: list[Finding] = []
    heads: list[tuple[str, str, int, str]] = []
    with store.read() as session:
        projects = (project,) if project else session.project_keys()
        for key in projects:
            findings += session.verify(key)
            heads += [
                (key, one.device, one.number, one.sha256) for one in session.journal.heads(key)
            ]
    return Verified(projects, tuple(findings), tuple(heads))
