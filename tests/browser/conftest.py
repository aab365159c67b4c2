"""A real browser on a live workshop: three people, three widths, and no error in the console."""

import os
import re
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from production.site import demo
from tests import needs

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # Playwright's loop runs in the test's thread

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
WIDTHS = {"desk": (1280, 860), "tablet": (820, 1100), "phone": (390, 844)}
# What htmx writes to the console when a later request takes the place of one that is under way.
REPLACED = re.compile(r"htmx:(afterRequest|sendAbort), ")
# Bounds against waiting for ever, wide enough for a machine that does much else.
PAGE_MS = 180_000
LOOK_MS = 30_000
SHOTS = os.environ.get("WORKSHOP_SHOTS", "")


@pytest.fixture(scope="session")
def chrome() -> Iterator[Browser]:
    path = needs.chromium()
    with sync_playwright() as playwright:
        expect.set_options(timeout=LOOK_MS)
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


class Person:
    """Someone at a browser."""

    def __init__(self, page: Page, address: str) -> None:
        self.page = page
        self.address = address
        self.errors: list[str] = []
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on(
            "console", lambda message: self.errors.append(message.text) if message.type == "error" else None
        )

    def sign_in(self, name: str) -> "Person":
        self.page.goto(f"{self.address}/sign-in/")
        self.page.get_by_label("Name").fill(name)
        self.page.get_by_label("Password").fill(demo.PASSWORD)
        self.page.get_by_role("button", name="Sign in").click()
        self.page.wait_for_selector("nav.way")
        return self

    def open(self, path: str) -> "Person":
        response = self.page.goto(f"{self.address}{path}")
        assert response is not None
        assert response.ok, f"{path}: {response.status}"
        return self

    def shot(self, name: str) -> None:
        """Nothing may stick out to the side at any width; a picture of each where somebody wants to look at them."""
        for width_name, (width, height) in WIDTHS.items():
            self.page.set_viewport_size({"width": width, "height": height})
            if SHOTS:
                self.page.screenshot(path=Path(SHOTS) / f"{name}-{width_name}.png", full_page=True)
            beyond = self.page.evaluate(
                "document.documentElement.scrollWidth - document.documentElement.clientWidth"
            )
            assert beyond <= 1, f"{name} at {width_name} is {beyond} px too wide"
        self.page.set_viewport_size({"width": 1280, "height": 860})

    def check_access(self) -> None:
        """No violation that axe can find (automated rules only)."""
        results = Axe().run(self.page, options={"resultTypes": ["violations"]})
        assert results.violations_count == 0, results.generate_report()


def wait_until(page: Page, holds: Callable[[], bool]) -> None:
    """An entry is sent from the page's own queue: it is in the database a little later."""
    for _ in range(LOOK_MS // 100):
        if holds():
            return
        page.wait_for_timeout(100)
    raise AssertionError(page.locator("main").inner_text())


def at_a_desk(chrome: Browser) -> BrowserContext:
    context = chrome.new_context(
        viewport={"width": 1280, "height": 860}, locale="en-GB", timezone_id="Europe/London"
    )
    context.set_default_timeout(PAGE_MS)
    return context


@pytest.fixture
def person(chrome: Browser, live_server, planned) -> Iterator[Person]:
    context = at_a_desk(chrome)
    someone = Person(context.new_page(), live_server.url)
    yield someone
    context.close()
    let_the_server_finish()
    assert [error for error in someone.errors if not REPLACED.match(error)] == []


def let_the_server_finish() -> None:
    """What a page asked for is answered before the tables are emptied under it."""
    for thread in threading.enumerate():
        if "process_request_thread" in thread.name:
            thread.join(timeout=PAGE_MS / 1000)
            assert not thread.is_alive(), "the server still works on a page that was closed"
