"""Pages in Chromium, driven by Playwright: what they show, say to the console and ask for."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

__all__ = [
    "AXE",
    "PAPERS",
    "PICTURES",
    "Seen",
    "chromium",
    "looked_at",
    "page_count",
    "printed",
    "violations",
]

_TOOLS = Path(__file__).resolve().parents[2] / "build" / "browser"
AXE = _TOOLS / "node_modules" / "axe-core" / "axe.min.js"
PICTURES = _TOOLS / "pictures"
"""Where screenshots and prints are left for a person to look at."""

PAPERS = ("A4", "Letter")
_PROGRAMS = ("chromium", "chromium-browser")
_NEEDED = "{} is needed: run make browser"


@dataclass(frozen=True)
class Seen:
    """A page that is open.

    Parameters
    ----------
    page : Page
        As Playwright has it.
    told : list of str
        Every message of the console and every error of a script, as they come.
    asked : list of str
        Every address that was asked for.
    """

    page: Page
    told: list[str]
    asked: list[str]


@contextmanager
def chromium() -> Iterator[Browser]:
    """Start the installed Chromium."""
    program = next((path for name in _PROGRAMS if (path := shutil.which(name))), None)
    if program is None:
        pytest.fail(_NEEDED.format("Chromium"), pytrace=False)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program)
        yield browser
        browser.close()


@contextmanager
def looked_at(
    browser: Browser, path: Path, width: int = 1280, scheme: str = "light"
) -> Iterator[Seen]:
    """Open a file in a window of a width [CSS px], in a light or a dark scheme."""
    context = browser.new_context(
        viewport={"width": width, "height": 900}, color_scheme=scheme, offline=True
    )
    page = context.new_page()
    page.set_default_timeout(300_000)
    seen = Seen(page, [], [])
    page.on("console", lambda message: seen.told.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: seen.told.append(f"error: {error}"))
    page.on("request", lambda request: seen.asked.append(request.url))
    page.goto(path.as_uri())
    yield seen
    context.close()


def violations(page: Page) -> list[str]:
    """Let axe-core look through a page, and list what it holds against it, a line an element."""
    if not AXE.is_file():
        pytest.fail(_NEEDED.format("axe-core"), pytrace=False)
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return [
        f"{one['id']} ({one['impact']}): {node['html'][:160]}"
        for one in found["violations"]
        for node in one["nodes"]
    ]


def printed(page: Page, paper: str) -> bytes:
    """Print a page, as a person does from the menu."""
    return page.pdf(format=paper, print_background=True, prefer_css_page_size=True)


def page_count(pdf: bytes) -> int:
    """Count the pages of a print: objects of the type Page (ISO 32000-1, 7.7.3.3)."""
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))
