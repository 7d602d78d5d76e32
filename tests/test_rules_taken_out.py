"""Each rule of the trade (TRADE.md 1 to 20 and 25) is taken out, and its tests must fail.

The table is ``rules_taken_out.toml``: item, rule, file, the text that is the rule, what stands
there without it, and the tests that must notice.
"""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from tests.take_out import ROOT, Rule, rules

RULES = rules()
NAMES = [f"{rule.item}-{rule.rule}" for rule in RULES]


@pytest.mark.parametrize("rule", RULES, ids=NAMES)
def test_each_edit_fits_its_source_and_stays_python(rule: Rule) -> None:
    compile(rule.edited(), rule.file, "exec")
    assert rule.tests


def test_every_item_has_rules_and_no_rule_stands_twice() -> None:
    assert {rule.item for rule in RULES} == {*range(1, 21), 25}
    assert len(set(NAMES)) == len(NAMES)


@pytest.fixture(scope="module")
def found() -> dict[int, dict[str, str]]:
    """All of them tried: by the number of the rule, and under -1 the tests as they are."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.take_out"],
        cwd=ROOT, capture_output=True, text=True, check=True, timeout=1200,
    )  # fmt: skip
    return dict(json.loads(line) for line in done.stdout.splitlines())


@pytest.mark.slow
def test_the_tests_pass_while_the_rules_are_there(found: dict[int, dict[str, str]]) -> None:
    every = {test for rule in RULES for test in rule.tests}
    assert found[-1] == dict.fromkeys(every, "passed")


@pytest.mark.slow
@pytest.mark.parametrize("number", range(len(RULES)), ids=NAMES)
def test_tests_fail_without_the_rule(number: int, found: dict[int, dict[str, str]]) -> None:
    rule, outcome = RULES[number], found[number]
    assert outcome == dict.fromkeys(rule.tests, "failed"), (
        f"item {rule.item}, {rule.rule}: with “{rule.new}” for “{rule.old}” in {rule.file}"
    )
