"""A quote at the counter without a signal, kept over a closed browser, settled when the server is back."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pypdf
import pytest
from playwright.sync_api import Page, expect

from tests.demo_server import DemoServer

from .conftest import open_browser, sign_in


def make_quote(page: Page) -> None:
    """Finds a tankard by three letters and a tap, satin, six of them, and saves."""
    page.get_by_role("searchbox").fill("pin")
    page.locator(".found", has_text="TK102").click()
    page.get_by_text("satin", exact=True).click()
    page.get_by_label("quantity of TK102").fill("6")
    page.get_by_label("quantity of TK102").press("Tab")
    expect(page.locator(".grand dd")).to_have_text("£582.00")
    page.get_by_role("button", name="Save quote").click()
    page.wait_for_url("**/quotes/*")


@pytest.mark.parametrize("without", ["signal", "server"])
def test_a_quote_made_offline_outlives_the_browser_and_is_settled(
    playwright_started: Any, tmp_path: Path, without: str
) -> None:
    server = DemoServer(f"sqlite:///{tmp_path}/demo.db", tmp_path / "log.txt")
    server.start()
    profile = tmp_path / "profile"
    context = open_browser(playwright_started, profile)
    page = context.new_page()
    sign_in(page, server.url)
    page.wait_for_function("navigator.serviceWorker.controller !== null || navigator.serviceWorker.ready")
    page.wait_for_function("caches.keys().then(k => k.length > 0)")
    if without == "signal":
        context.set_offline(True)
    else:
        server.stop()
    make_quote(page)
    expect(page.locator("h1")).to_contain_text("waiting to send")
    deep_link = page.url
    context.close()

    context = open_browser(playwright_started, profile, offline=without == "signal")
    page = context.new_page()
    page.goto(deep_link)
    expect(page.locator("h1")).to_contain_text("waiting to send")
    expect(page.locator(".grand dd")).to_have_text("£582.00")
    if without == "signal":
        context.set_offline(False)
    else:
        server.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("h1")).to_contain_text("Q00001", timeout=20_000)
    expect(page.locator("h1")).to_contain_text("sent")
    link = page.get_by_role("link", name="Open the PDF").get_attribute("href")
    pdf = context.request.get(f"{server.url}{link}")
    assert pdf.status == 200
    text = "".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(pdf.body())).pages)
    assert "Q00001" in text
    assert "582.00" in text
    assert "TK102" in text
    context.close()
    server.stop()


def test_a_quantity_that_is_none_is_said_and_keeps_the_quote_from_being_saved(
    playwright_started: Any, served: DemoServer, tmp_path: Path
) -> None:
    context = open_browser(playwright_started, tmp_path / "profile")
    page = context.new_page()
    sign_in(page, served.url)
    page.get_by_role("searchbox").fill("pin")
    page.locator(".found", has_text="TK102").click()
    field = page.get_by_label("quantity of TK102")
    save = page.get_by_role("button", name="Save quote")
    for typed in ("2.5", "0", "-3", "abc", "99999", "1e3", ""):
        field.fill(typed)
        expect(page.get_by_role("alert")).to_contain_text("a whole number from 1 to 9999")
        expect(field).to_have_value(typed)
        expect(save).to_be_disabled()
        expect(page.locator(".grand")).to_have_count(0)
    field.fill("3")
    expect(page.locator(".grand dd")).to_have_text("£291.00")
    expect(save).to_be_enabled()
    page.get_by_label("one more").click()
    expect(field).to_have_value("4")
    expect(page.locator(".grand dd")).to_have_text("£388.00")
    context.close()


def test_the_status_says_no_signal_as_soon_as_there_is_none(
    playwright_started: Any, served: DemoServer, tmp_path: Path
) -> None:
    context = open_browser(playwright_started, tmp_path / "profile")
    page = context.new_page()
    sign_in(page, served.url)
    expect(page.get_by_role("status").first).to_contain_text("on line")
    context.set_offline(True)
    expect(page.get_by_role("status").first).to_contain_text("no signal")
    context.set_offline(False)
    expect(page.get_by_role("status").first).to_contain_text("on line")
    context.close()
