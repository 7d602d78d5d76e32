"""What holds for every test."""

from __future__ import annotations

import os
import shutil

import pytest
from hypothesis import Phase, settings

# the same examples at every run, no fault for a slow machine, no minutes spent on explaining
PHASES = (Phase.explicit, Phase.generate, Phase.target, Phase.shrink)
settings.register_profile(
    "drainwright", derandomize=True, deadline=None, database=None, phases=PHASES
)
settings.load_profile("drainwright")


def pytest_runtest_setup(item: pytest.Item) -> None:
    """A test marked browser is skipped without Chromium, or fails where REQUIRE_BROWSER is set."""
    if item.get_closest_marker("browser") is None or shutil.which("chromium"):
        return
    if os.environ.get("REQUIRE_BROWSER"):
        pytest.fail("REQUIRE_BROWSER is set and there is no chromium", pytrace=False)
    pytest.skip("no chromium")
