"""Rows of a survey as a face hands them on (the words for what was typed)."""

from __future__ import annotations

from drainwright.planning.survey_entry import COLUMNS, TypedRow

__all__ = ["COLUMNS", "TypedRow"]
