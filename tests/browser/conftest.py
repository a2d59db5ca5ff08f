"""A real Chromium against the real server: Debian's browser, headless, as a phone or a desk."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, sync_playwright

from tests.demo_server import DemoServer

CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844}, "device_scale_factor": 2, "is_mobile": True, "has_touch": True,
}  # fmt: skip
PASSWORDS = {
    "counter": "spun satin tankard",
    "pricing": "tin by the tonne today",
    "owner": "marlpit row keeps its word",
}


@pytest.fixture(scope="session")
def playwright_started() -> Iterator[Any]:
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DemoServer]:
    folder = tmp_path_factory.mktemp("demo")
    server = DemoServer(f"sqlite:///{folder}/demo.db", folder / "log.txt")
    server.start()
    yield server
    server.stop()


def open_browser(started: Any, profile: Path, **options: Any) -> BrowserContext:
    """A browser on a profile of its own, which outlives it."""
    return started.chromium.launch_persistent_context(
        str(profile), executable_path=CHROMIUM, args=ARGUMENTS, headless=True, **{**PHONE, **options}
    )


def sign_in(page: Page, url: str, name: str = "counter") -> None:
    """Signs in and waits for the first screen with its list."""
    page.goto(url)
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(PASSWORDS[name])
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("searchbox").wait_for()
