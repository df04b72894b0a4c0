"""A brief prints on one page, whatever a study has to say and however long its names are."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from browser.chromium import PAPERS, PICTURES, looked_at, page_count, printed, violations

STATES = [
    "answered",
    "cannot tell",
    "not estimated",
    "planned",
    "demonstration",
    "demonstration, planned",
    "pins missing",
    "long, answered",
    "long, cannot tell",
    "long, a family",
    "long, pins missing",
    "long, not estimated",
    "long, planned",
    "long, demonstration",
]
# Room between the margins on letter paper [CSS px], and the share of it that may be taken: other
# systems have wider typefaces.
WIDE, TALL = 710, 965
SHARE = 0.94


@pytest.mark.parametrize("name", STATES)
def test_it_prints_on_one_page(browser: Browser, briefs: dict[str, Path], name: str) -> None:
    with looked_at(browser, briefs[name]) as seen:
        for paper in PAPERS:
            pdf = printed(seen.page, paper)
            (PICTURES / f"brief {name} {paper}.pdf").write_bytes(pdf)
            assert page_count(pdf) == 1, paper
        seen.page.emulate_media(media="print")
        seen.page.set_viewport_size({"width": WIDE, "height": TALL})
        tall = seen.page.evaluate("document.querySelector('main').getBoundingClientRect().height")
        assert tall < SHARE * TALL
        out = "document.documentElement.scrollWidth > document.documentElement.clientWidth"
        assert not seen.page.evaluate(out)


@pytest.mark.parametrize("name", [name for name in STATES if not name.startswith("long")])
def test_it_fits_in_a_wide_typeface_too(
    browser: Browser, briefs: dict[str, Path], name: str
) -> None:
    with looked_at(browser, briefs[name]) as seen:
        seen.page.add_style_tag(content="* { font-family: 'DejaVu Serif' !important; }")
        assert page_count(printed(seen.page, "Letter")) == 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", STATES)
def test_every_state_is_in_order(
    browser: Browser, briefs: dict[str, Path], name: str, scheme: str
) -> None:
    with looked_at(browser, briefs[name], 390, scheme) as seen:
        assert violations(seen.page) == []
        assert seen.told == []
        assert seen.page.evaluate("document.documentElement.scrollWidth") == 390
