"""Take one rule of the trade out of the program and see which tests notice.

``python -m tests.take_out`` tries every rule of ``rules_taken_out.toml``, each in a process of
its own and two at a time, and prints one line of JSON a rule; ``python -m tests.take_out 9 13``
those of items 9 and 13. Nothing on disk is changed: the one module is compiled from its edited
text as it is imported, all others are imported as they are. A process is a fork of one that has
imported pytest and the large libraries, but nothing of drainwright, so that it starts at once.
"""

from __future__ import annotations

import importlib
import json
import os
import sys
import tempfile
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, PathFinder, SourceFileLoader
from importlib.util import spec_from_file_location
from pathlib import Path
from types import CodeType, ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "src/drainwright"
TABLE = Path(__file__).with_name("rules_taken_out.toml")
AT_ONCE = 2
BY_ASSERTION = (AssertionError, pytest.fail.Exception)
_LARGE = ("numpy", "numba", "scipy.integrate", "scipy.optimize", "hypothesis.strategies",
          "sqlalchemy", "typer.testing")  # fmt: skip


@dataclass(frozen=True)
class Rule:
    """One rule, the edit that takes it out, and the tests that must notice; paths are short."""

    item: int
    rule: str
    file: str
    """Below ``src/drainwright``."""
    old: str
    new: str
    tests: tuple[str, ...]
    """Below ``tests``, without parameters: one case of each must fail."""

    @property
    def module(self) -> str:
        """Name of the edited module."""
        return "drainwright." + self.file.removesuffix(".py").replace("/", ".")

    def edited(self) -> str:
        """The module's text without the rule; `ValueError` unless the old text is there once."""
        text = (PACKAGE / self.file).read_text("utf-8")
        count = text.count(self.old)
        if count != 1 or self.old == self.new:
            raise ValueError(f"{self.file} holds {count} times, not once: {self.old!r}")
        return text.replace(self.old, self.new)


def rules() -> list[Rule]:
    """The table."""
    rows = tomllib.loads(TABLE.read_text("utf-8"))["rule"]
    return [Rule(**row | {"tests": tuple(row["tests"])}) for row in rows]


class _Loader(SourceFileLoader):
    """Compiles the edited text under the module's own path."""

    text = ""

    def get_code(self, fullname: str) -> CodeType:
        code: CodeType = compile(self.text, self.path, "exec", dont_inherit=True)
        return code


class _Finder(MetaPathFinder):
    """Finds the one edited module."""

    def __init__(self, rule: Rule) -> None:
        self.rule, self.text = rule, rule.edited()

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        if fullname != self.rule.module:
            return None
        plain = PathFinder.find_spec(fullname, path)
        if plain is None or plain.origin != str(PACKAGE / self.rule.file):
            raise ImportError(f"{fullname} is imported from elsewhere: {plain}")
        loader = _Loader(fullname, plain.origin)
        loader.text = self.text
        return spec_from_file_location(fullname, plain.origin, loader=loader)


class _Seen:
    """What became of each test: “passed”, “failed” by assertion, or the error's own name."""

    def __init__(self) -> None:
        self.found: dict[str, str] = {}

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_makereport(self, item: pytest.Item, call: pytest.CallInfo[Any]) -> Any:
        report = yield
        name = item.nodeid.partition("[")[0].removeprefix("tests/")
        if call.excinfo is not None:
            asserted = call.when == "call" and issubclass(call.excinfo.type, BY_ASSERTION)
            if asserted or self.found.get(name) != "failed":
                self.found[name] = "failed" if asserted else call.excinfo.exconly()[:300]
        else:
            self.found.setdefault(name, "passed")
        return report


def run(tests: Sequence[str], rule: Rule | None) -> dict[str, str]:
    """Run tests in this process, without the rule."""
    if rule is not None:
        sys.meta_path.insert(0, _Finder(rule))
    seen = _Seen()
    paths = [f"tests/{name}" for name in tests]
    pytest.main([*paths, "-q", "--tb=no", "-p", "no:cacheprovider"], plugins=[seen])
    return seen.found


def _fork(tests: Sequence[str], rule: Rule | None, answer: Path) -> int:
    child = os.fork()
    if child:
        return child
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        found = run(tests, rule)
    except BaseException as error:  # noqa: BLE001 the parent must learn of it, whatever it is
        found = {"": f"{type(error).__name__}: {error}"}
    answer.write_text(json.dumps(found), encoding="utf-8")
    os._exit(0)


def try_all(given: Sequence[Rule]) -> Iterator[tuple[int, dict[str, str]]]:
    """What became of the tests of each rule by its number; -1 is all of them without an edit."""
    for name in _LARGE:
        importlib.import_module(name)
    every = tuple(dict.fromkeys(test for rule in given for test in rule.tests))
    jobs: list[tuple[int, Sequence[str], Rule | None]] = [(-1, every, None)]
    jobs += [(number, rule.tests, rule) for number, rule in enumerate(given)]
    running: dict[int, int] = {}
    with tempfile.TemporaryDirectory() as folder:
        while jobs or running:
            if jobs and len(running) < AT_ONCE:
                number, tests, rule = jobs.pop(0)
                running[_fork(tests, rule, Path(folder) / str(number))] = number
            else:
                number = running.pop(os.wait()[0])
                yield number, json.loads((Path(folder) / str(number)).read_text("utf-8"))


if __name__ == "__main__":
    os.environ |= {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1", "PYTEST_ADDOPTS": ""}
    items = {int(word) for word in sys.argv[1:]}
    for line in try_all([rule for rule in rules() if not items or rule.item in items]):
        sys.stdout.write(json.dumps(line) + "\n")
        sys.stdout.flush()
