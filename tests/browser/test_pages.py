"""Report, brief and protocol on a phone, on a laptop and on paper, light and dark."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from browser.chromium import PAPERS, PICTURES, looked_at, page_count, printed, violations

NAMES = ("report", "brief", "protocol")
PHONE, LAPTOP = 390, 1280
SIZES = {"phone": PHONE, "laptop": LAPTOP}
# CSS pixels of the width that a page has between its margins on A4, the narrower paper.
BETWEEN_MARGINS = 680
MOST_BYTES = 6_000_000
# A picture of a whole report would be tens of thousands of pixels high.
MOST_PIXELS = 12_000
# What reaches beyond the window, and is inside nothing that can be scrolled by itself.
STICKING_OUT = """() => [...document.querySelectorAll('body *')].filter(one => {
  const box = one.getBoundingClientRect();
  if (box.width === 0 || box.right <= document.documentElement.clientWidth + 1) return false;
  for (let held = one; held; held = held.parentElement)
    if (['auto', 'scroll', 'hidden'].includes(getComputedStyle(held).overflowX)) return false;
  return true;
}).map(one => one.outerHTML.slice(0, 120))"""
# The tables as the files hold them are hundreds of rows long and all alike: the short ones do.
OPENED = """() => document.querySelectorAll('details').forEach(one => {
  if (one.querySelectorAll('*').length < 1200) one.open = true;
})"""
SCROLLED = """() => [...document.querySelectorAll('.wide')].filter(
  one => one.scrollWidth > one.clientWidth).map(
  one => [getComputedStyle(one).overflowX, one.tabIndex])"""


def picture(page: Page, name: str) -> None:
    high = min(page.evaluate("document.documentElement.scrollHeight"), MOST_PIXELS)
    width = page.viewport_size["width"]
    clip = {"x": 0, "y": 0, "width": width, "height": high}
    page.screenshot(path=PICTURES / f"{name}.png", clip=clip, full_page=True)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", NAMES)
def test_a_page_is_in_order_and_keeps_to_itself(
    browser: Browser, pages: dict[str, Path], name: str, size: str, scheme: str
) -> None:
    with looked_at(browser, pages[name], SIZES[size], scheme) as seen:
        picture(seen.page, f"{name}-{size}-{scheme}")
        if (size, scheme) == ("laptop", "light"):
            held = seen.page.add_style_tag(content="html { filter: grayscale(1); }")
            picture(seen.page, f"{name}-grey")
            held.evaluate("one => one.remove()")
        assert seen.told == []
        asked = [one for one in seen.asked if not one.startswith("data:image/")]
        assert asked == [pages[name].as_uri()]
        seen.page.evaluate(OPENED)
        assert violations(seen.page) == []


@pytest.mark.parametrize("name", NAMES)
def test_on_a_phone_only_what_is_wide_scrolls(
    browser: Browser, pages: dict[str, Path], name: str
) -> None:
    with looked_at(browser, pages[name], PHONE) as seen:
        seen.page.evaluate(OPENED)
        assert seen.page.evaluate("document.documentElement.scrollWidth") == PHONE
        assert seen.page.evaluate(STICKING_OUT) == []
        scrolled = seen.page.evaluate(SCROLLED)
        # A keyboard reaches them too.
        assert all(one == ["auto", 0] for one in scrolled)
        assert bool(scrolled) == (name != "brief")


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", NAMES)
def test_on_paper(browser: Browser, pages: dict[str, Path], name: str, paper: str) -> None:
    with looked_at(browser, pages[name], scheme="dark") as seen:
        pdf = printed(seen.page, paper)
        (PICTURES / f"{name}-{paper}.pdf").write_bytes(pdf)
        count = page_count(pdf)
        assert count == 1 if name == "brief" else 5 < count < 60
        # Dark schemes are for screens.
        seen.page.emulate_media(media="print", color_scheme="dark")
        look = "getComputedStyle(document.body)"
        ground, ink = (seen.page.evaluate(f"{look}.{one}") for one in ("backgroundColor", "color"))
        assert (ground, ink) == ("rgb(255, 255, 255)", "rgb(0, 0, 0)")
        seen.page.set_viewport_size({"width": BETWEEN_MARGINS, "height": 900})
        assert seen.page.evaluate(STICKING_OUT) == []


def test_a_report_is_light_enough_to_send(pages: dict[str, Path]) -> None:
    assert pages["report"].stat().st_size < MOST_BYTES
    assert pages["brief"].stat().st_size < MOST_BYTES / 20
