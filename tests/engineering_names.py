"""The public names of ``drainwright.engineering`` and what their docstrings say."""

from __future__ import annotations

import ast
import dataclasses
import importlib
import inspect
import pkgutil
import re
import textwrap
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from types import ModuleType
from typing import Any

import drainwright.engineering

PACKAGE = "drainwright.engineering"
UNIT = re.compile(r"\[([^\[\]]+)\]")
SECTION = re.compile(r"^(?P<title>[A-Z][A-Za-z ]+)\n-{3,}$", re.MULTILINE)
# words that a docstring or the CSV may use for a number without dimension
PURE = {"-", "1"}


@dataclass(frozen=True)
class Entry:
    """One parameter, field or result as its docstring tells it."""

    name: str
    kind: str
    text: str

    @property
    def unit(self) -> str | None:
        """The first text in brackets that looks like a unit; ``1`` without dimension."""
        for found in UNIT.findall(f"{self.kind} {self.text}"):
            if not re.fullmatch(r"\d{1,2}", found) or found in PURE:
                return "1" if found in PURE else str(found)
        return None


def modules() -> Iterator[ModuleType]:
    """Every public module of the engineering floor."""
    for info in pkgutil.walk_packages(drainwright.engineering.__path__, f"{PACKAGE}."):
        if not info.name.rpartition(".")[2].startswith("_"):
            yield importlib.import_module(info.name)


def own(module: ModuleType) -> Iterator[tuple[str, Any]]:
    """Public names that the module defines itself, a compiled kernel as its Python function."""
    for name, value in vars(module).items():
        plain = getattr(value, "py_func", value)
        if not name.startswith("_") and getattr(plain, "__module__", None) == module.__name__:
            yield name, plain


def functions() -> list[Callable[..., Any]]:
    """Every public function of the floor."""
    return [value for m in modules() for _, value in own(m) if inspect.isfunction(value)]


def results() -> list[type]:
    """Every public dataclass and NamedTuple of the floor."""
    found = [value for m in modules() for _, value in own(m) if inspect.isclass(value)]
    return [kind for kind in found if fields(kind)]


def fields(kind: type) -> list[str]:
    """Public field names of a dataclass or NamedTuple, else nothing."""
    if dataclasses.is_dataclass(kind):
        names = [field.name for field in dataclasses.fields(kind)]
    else:
        names = list(getattr(kind, "_fields", ()))
    return [name for name in names if not name.startswith("_")]


def sections(documented: Any) -> dict[str, str]:
    """The numpydoc sections by title; what stands before the first is under ``""``."""
    text = inspect.getdoc(documented) or ""
    marks = list(SECTION.finditer(text))
    ends = [mark.start() for mark in marks[1:]] + [len(text)]
    found = {"": text[: marks[0].start()] if marks else text}
    for mark, end in zip(marks, ends, strict=True):
        found[mark["title"]] = text[mark.end() : end].strip("\n")
    return found


def entries(section: str) -> list[Entry]:
    """The ``name : type`` entries of a section; ``a, b : type`` gives two."""
    found: list[Entry] = []
    for block in re.split(r"\n(?=\S)", textwrap.dedent(section)):
        head, _, body = block.partition("\n")
        names, _, kind = head.partition(" : ")
        found += [Entry(name.strip(), kind, body) for name in names.split(",") if name.strip()]
    return found


def is_number(annotation: object) -> bool:
    """Whether an annotation speaks of real numbers or arrays of them."""
    text = str(annotation)
    if re.search(r"\bfloat|Float|ArrayLike", text):
        return True
    return "NDArray" in text and not re.search(r"bool|int|str", text)


def raises(function: Callable[..., Any]) -> bool:
    """Whether the body raises, or calls a check that does."""
    tree = ast.parse(textwrap.dedent(inspect.getsource(function)))
    checks = {
        name
        for name, value in vars(inspect.getmodule(function)).items()
        if getattr(value, "__module__", None) == "drainwright.checks"
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Raise):
            return True
        if isinstance(node, ast.Call):
            called = ast.unparse(node.func)
            if called in checks or called.startswith("checks."):
                return True
    return False
