from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from bs4 import BeautifulSoup

from wintersward.report.numbering import APPENDIX, number_captions
from wintersward.report.rendering import outline


def numbered(html: str) -> BeautifulSoup:
    soup = BeautifulSoup(html, "html.parser")
    number_captions(soup)
    return soup


def labels(soup: BeautifulSoup, name: str) -> list[str]:
    return [re.split(r"\. ?", one.get_text())[0] for one in soup.find_all(name)]


def test_every_figure_and_table_of_a_page_has_its_number(soup: BeautifulSoup) -> None:
    for element, caption, kind in (
        ("figure", "figcaption", "Figure"),
        ("table", "caption", "Table"),
    ):
        assert len(soup.find_all(element)) == len(soup.find_all(caption)) > 5
        said = labels(soup, caption)
        inside = soup.find_all("section", class_=APPENDIX)
        apart = [label for one in inside for label in labels(one, caption)]
        assert apart == [f"{kind} A{at}" for at in range(1, len(apart) + 1)]
        kept = [label for label in said if label not in apart]
        assert kept == [f"{kind} {at}" for at in range(1, len(kept) + 1)]
        assert kept
        assert apart


def test_the_number_is_text_before_the_caption() -> None:
    soup = numbered("<table><caption>Means <b>of</b> all</caption></table>")
    assert soup.caption.get_text() == "Table 1. Means of all"
    assert soup.caption.b is not None


def test_what_scrolls_is_named_by_its_number() -> None:
    soup = numbered(
        '<div role="region" aria-label="Means"><table><caption>Means</caption></table></div>'
        '<figure><div class="picture" aria-label="picture"></div>'
        "<figcaption>A</figcaption></figure>"
    )
    assert [one["aria-label"] for one in soup.find_all("div")] == ["Table 1. Means", "Figure 1"]


@pytest.mark.parametrize(
    ("html", "said"),
    [
        ("<figure><img alt='x'></figure>", "Figure 1."),
        ("<table><tr><td>1</td></tr></table>", "Table 1."),
    ],
)
def test_what_has_no_caption_gets_its_number(html: str, said: str) -> None:
    soup = numbered(html)
    caption = soup.find(["figcaption", "caption"])
    assert caption.get_text() == said
    # A caption stands first in a table, as HTML asks for it, and below a picture.
    assert (caption.find_next_sibling() is None) == (caption.name == "figcaption")


def test_the_appendix_counts_by_itself() -> None:
    table = "<table><caption>T</caption></table>"
    soup = numbered(f"{table}<section class='appendix'>{table}{table}</section>{table}")
    assert labels(soup, "caption") == ["Table 1", "Table A1", "Table A2", "Table 2"]


def test_what_stands_inside_another_is_not_counted_twice() -> None:
    soup = numbered("<figure><table><tr><td>1</td></tr></table><figcaption>A</figcaption></figure>")
    assert soup.get_text() == "1Figure 1. A"


def test_the_contents_of_a_page_are_numbered_at_rendering(make: Callable[..., str]) -> None:
    assert "Table 1." in outline(make("Means")).html


@pytest.fixture
def make() -> Callable[..., str]:
    return "<h1>T</h1><table><caption>{}</caption></table>".format
