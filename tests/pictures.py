"""Pictures of the real screens and papers for README and docs: `python -m tests.pictures`."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import pypdfium2
from playwright.sync_api import Page, sync_playwright

from tests.browser.conftest import open_browser, sign_in
from tests.demo_server import DemoServer
from tests.documents.papers import dealer_list, quote

PICTURES = Path(__file__).parents[1] / "docs" / "pictures"
DESK: dict[str, Any] = {
    "viewport": {"width": 1180, "height": 900},
    "device_scale_factor": 1,
    "is_mobile": False,
    "has_touch": False,
}
PHONE: dict[str, Any] = {"viewport": {"width": 390, "height": 844}, "device_scale_factor": 1.5}


def _shot(page: Page, name: str) -> None:
    page.wait_for_timeout(600)
    page.screenshot(path=PICTURES / f"{name}.jpg", type="jpeg", quality=80)
    print(name)


def screens(server: DemoServer, folder: Path) -> None:
    """The counter on a phone, light and dark, and pricing at a desk."""
    with sync_playwright() as started:
        counter = open_browser(started, folder / "counter", **PHONE)
        page = counter.new_page()
        sign_in(page, server.url)
        page.get_by_role("searchbox").fill("tan")
        _shot(page, "find")
        page.locator(".found", has_text="TK102").click()
        page.get_by_label("quantity of TK102").fill("6")
        page.get_by_label("quantity of TK102").press("Tab")
        _shot(page, "quote")
        counter.set_offline(True)
        page.get_by_role("button", name="Save quote").click()
        _shot(page, "saved-without-a-signal")
        counter.close()
        desk = open_browser(started, folder / "desk", **DESK)
        page = desk.new_page()
        sign_in(page, server.url, "owner")
        page.goto(f"{server.url}/costs/TK102/satin")
        page.locator("svg.bar").wait_for()
        _shot(page, "cost-sheet")
        desk.close()


def paper(pdf: bytes, page: int, name: str) -> None:
    """One page of a paper."""
    picture = pypdfium2.PdfDocument(pdf)[page].render(scale=1.25).to_pil()
    picture.convert("RGB").save(PICTURES / f"{name}.jpg", quality=82)
    print(name)


def main() -> None:
    """Makes every picture anew."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        server = DemoServer(f"sqlite:///{folder}/demo.db", folder / "log.txt")
        server.start()
        try:
            screens(server, folder)
        finally:
            server.stop()
    paper(dealer_list("en-GB"), 0, "list-cover")
    paper(dealer_list("en-GB"), 2, "list-page")
    paper(quote(), 0, "quote-paper")


if __name__ == "__main__":
    main()
