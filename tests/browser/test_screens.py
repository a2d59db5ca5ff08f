"""Every screen, light and dark: no fault that axe finds, no sideways scrolling at 320 px, targets large enough."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.demo_server import DemoServer

from .conftest import open_browser, sign_in

SCREENS = ("/", "/quotes", "/costs", "/costs/TK102/satin", "/lists")


@pytest.fixture(scope="module", params=["light", "dark"])
def page(
    request: pytest.FixtureRequest,
    playwright_started: Any,
    served: DemoServer,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Page]:
    profile: Path = tmp_path_factory.mktemp("profile")
    context = open_browser(playwright_started, profile, color_scheme=request.param)
    page = context.new_page()
    page.set_default_timeout(20_000)
    sign_in(page, served.url, "owner")
    yield page
    context.close()


def show(page: Page, served: DemoServer, path: str) -> None:
    page.goto(f"{served.url}{path}")
    page.locator("main").wait_for()
    if path.startswith("/costs"):
        page.locator("table").first.wait_for()
    if path == "/lists":
        page.get_by_text("List 20").first.wait_for()
    if path == "/":
        page.get_by_role("searchbox").fill("tan")
        page.locator(".found").first.click()
        page.locator(".grand").wait_for()


@pytest.mark.parametrize("path", SCREENS)
def test_axe_finds_nothing(page: Page, served: DemoServer, path: str) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    show(page, served, path)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


@pytest.mark.parametrize("path", SCREENS)
def test_nothing_scrolls_sideways_at_320(page: Page, served: DemoServer, path: str) -> None:
    page.set_viewport_size({"width": 320, "height": 700})
    show(page, served, path)
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


@pytest.mark.parametrize("path", SCREENS)
def test_targets_are_large_enough_for_a_thumb(page: Page, served: DemoServer, path: str) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    show(page, served, path)
    small = page.evaluate(
        """() => [...document.querySelectorAll("button, nav a, .main, summary")]
            .map((e) => [e.textContent, e.getBoundingClientRect()])
            .filter(([, box]) => box.height && (box.height < 44 || box.width < 44)).map(([text]) => text)"""
    )
    assert small == []


def test_the_cost_sheet_shows_its_figures_and_a_bar(page: Page, served: DemoServer) -> None:
    show(page, served, "/costs/TK102/satin")
    expect(page.locator(".figure-large")).to_contain_text("31.00")
    expect(page.locator("svg.bar rect")).to_have_count(5)
    expect(page.get_by_text("To the last digit")).to_contain_text("= 31.0011")


def test_the_pages_own_parts_stay_within_their_budgets() -> None:
    """Compressed: JS at most 60 KiB, CSS at most 15 KiB, the whole kept page at most 400 KiB."""
    dist = Path(__file__).parents[2] / "pwa" / "dist"
    script = sum(path.stat().st_size for path in dist.rglob("*.js.br"))
    style = sum(path.stat().st_size for path in dist.rglob("*.css.br"))
    whole = sum(path.stat().st_size for path in dist.rglob("*") if path.is_file() and path.suffix != ".br")
    assert 0 < script <= 60 * 1024
    assert 0 < style <= 15 * 1024
    assert whole <= 400 * 1024
