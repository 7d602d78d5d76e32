"""What a project remembers of lists it was given: the meaning of a header, and the rows read."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class ColumnRule:
    """What one header means; an empty field leaves the column out."""

    field: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class ListMapping:
    """How to read lists with one header."""

    kind: str = ""
    """What the rows are, such as laterals."""
    header: str = ""
    """Mark of the header this mapping was made for."""
    columns: dict[str, ColumnRule] = field(default_factory=dict)
    """By header as it stands in the file."""
    words: dict[str, str] = field(default_factory=dict)
    """Words of cells, folded, each with the word to read instead."""
    decimal: str = ""
    dates: str = ""
    """mdy or dmy."""
    sheet: str = ""

    @property
    def key(self) -> str:
        """Kind and header; one mapping each."""
        return f"{self.kind} {self.header}".strip()


@dataclass(frozen=True, slots=True)
class ReadFile:
    """A file as it was read last: which rows it had, so that changes can be told."""

    file: str
    kind: str
    sha256: str
    """Of the file's bytes."""
    rows: dict[str, str] = field(default_factory=dict)
    """Key of each record, with a mark of what its row said."""

    @property
    def key(self) -> str:
        """Kind and file name."""
        return f"{self.kind} {self.file}"
