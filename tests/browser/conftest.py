"""Headless Chromium for pages: the browser, pages of a given width, what went wrong in them, what axe-core says.

    def test_it_fits(page_at, axe):
        page = page_at(360)
        page.goto("http://127.0.0.1:8000/")          # or a file: URL
        assert not serious(axe(page))

A test fails at its end if a page that ``page_at`` made wrote an error to its console, threw one, or asked another
machine for something; ``complaints(page)`` takes those that a test expects.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest

ARGUMENTS = ["--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]

HEIGHTS = {360: 740, 768: 1024, 1440: 900}
"""A telephone, a tablet, a screen: pixels."""


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """One headless Chromium for all tests of a run."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if program is None:
        pytest.skip("no Chromium on this machine: install the package chromium")
    with api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def console() -> dict[Any, list[str]]:
    """What each page complained of: errors of its console, exceptions, requests to other machines."""
    return {}


@pytest.fixture
def complaints(console: dict[Any, list[str]]) -> Callable[[Any], list[str]]:
    """Takes what a page has complained of so far, so that the test does not fail for it."""

    def take(page: Any) -> list[str]:
        taken, console[page] = console.get(page, []), []
        return taken

    return take


@pytest.fixture
def page_at(chromium: Any, console: dict[Any, list[str]]) -> Iterator[Callable[..., Any]]:
    """``page_at(width, **options of a browser context)``: a page of its own context, so of its own device."""
    contexts = []

    def make(width: int = 1440, **options: Any) -> Any:
        options.setdefault("viewport", {"width": width, "height": HEIGHTS.get(width, 900)})
        context = chromium.new_context(**options)
        context.set_default_timeout(10_000)
        contexts.append(context)
        page = context.new_page()
        said = console.setdefault(page, [])
        page.on("console", lambda message: _tell(console, page, message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: _tell(console, page, str(error)))
        page.on("request", lambda request: _tell(console, page, f"asked {request.url}") if _away(request.url) else None)
        assert not said
        return page

    yield make
    for context in contexts:
        context.close()
    wrong = [line for lines in console.values() for line in lines]
    assert not wrong, f"the page complained: {wrong}"


def _tell(console: dict[Any, list[str]], page: Any, text: str) -> None:
    console.setdefault(page, []).append(text)


def _away(url: str) -> bool:
    return not url.startswith(("http://127.0.0.1", "http://localhost", "file:", "data:", "blob:", "about:"))


@pytest.fixture
def axe() -> Callable[..., list[dict[str, Any]]]:
    """``axe(page)``: the violations that axe-core finds, each with ``id``, ``impact``, ``help`` and ``nodes``."""
    module = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-core is not installed")

    def run(page: Any, **options: Any) -> list[dict[str, Any]]:
        violations: list[dict[str, Any]] = module.Axe().run(page, **options).response["violations"]
        return violations

    return run


def serious(violations: list[dict[str, Any]]) -> list[str]:
    """Those of the impact moderate, serious or critical, as lines to read."""
    return [
        f"{one['impact']}: {one['id']}: {one['help']} at {node['target']}"
        for one in violations
        if one["impact"] in ("moderate", "serious", "critical")
        for node in one["nodes"]
    ]


def wider_than_the_screen(page: Any) -> list[str]:
    """The elements that reach beyond the right edge, and so make the page scroll sideways."""
    found: list[str] = page.evaluate(
        """() => {
            const width = document.documentElement.clientWidth;
            if (document.documentElement.scrollWidth <= width) return [];
            return [...document.body.querySelectorAll('*')]
                .filter(one => one.getBoundingClientRect().right > width + 1)
                .map(one => one.tagName + '.' + one.className).slice(0, 10);
        }"""
    )
    return found
