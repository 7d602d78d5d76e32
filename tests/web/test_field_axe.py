"""The field pages by axe: sign-in, a step with its clocks, cards, list of laterals, paper."""

from __future__ import annotations

import pytest
from playwright.sync_api import BrowserContext

from tests.web.field_laptop import Laptop
from tests.web.test_browser import axe
from tests.web.test_field_browser import browser, context, laptop, mixed, opened

pytestmark = pytest.mark.browser
__all__ = ["browser", "context", "laptop"]  # fixtures


@pytest.mark.parametrize("night", [False, True], ids=["day", "night"])
def test_axe_finds_nothing_on_the_field_pages(
    context: BrowserContext,
    laptop: Laptop,
    night: bool,
) -> None:
    page = opened(context, laptop, signed=False)
    wrong = {"sign-in": axe(page)}
    page.fill("#entered", "Ada Lund")
    page.fill("#read", "Bo Ek")
    page.click("text=this is us")
    if night:
        page.click("text=night")
    mixed(page)
    wrong["step"] = axe(page)
    for name in ("trouble cards", "all steps", "entries", "reading", "end attempt"):
        page.click(f"text={name}")
        wrong[name] = axe(page)
    page.goto(f"{laptop.address}/field")
    wrong["list"] = axe(page)
    page.goto(f"{laptop.address}/field/A-07/paper")
    wrong["paper"] = axe(page)
    assert {name: found for name, found in wrong.items() if found} == {}
