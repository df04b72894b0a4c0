"""Numbers of the figures and tables of a page, written where a reader and a program find them."""

from __future__ import annotations

from collections import Counter

from bs4 import BeautifulSoup, Tag

__all__ = ["APPENDIX", "number_captions"]

APPENDIX = "appendix"
"""Class of the sections whose figures and tables are counted apart: A1, A2, ..."""

_CAPTIONS = {"figure": "figcaption", "table": "caption"}


def number_captions(soup: BeautifulSoup) -> None:
    """Number every figure and table in its order on the page, before its caption.

    Parameters
    ----------
    soup : BeautifulSoup
        The content of a page; it is changed. What has no caption, as a picture of a cell that
        somebody added, gets one with the number alone.

    Notes
    -----
    The numbers are text, not counters of a style sheet: they are copied, searched and read out.
    The region in which a wide table or a picture scrolls takes the number into its name.

    Examples
    --------
    >>> soup = BeautifulSoup("<table><caption>Means</caption></table>", "html.parser")
    >>> number_captions(soup)
    >>> soup.caption.get_text()
    'Table 1. Means'
    """
    seen: Counter[str] = Counter()
    for element in soup.find_all(list(_CAPTIONS)):
        # A layout in the words of others may nest them; what is inside belongs to the outer one.
        if element.find_parent(list(_CAPTIONS)) is not None:
            continue
        apart = "A" if element.find_parent("section", class_=APPENDIX) is not None else ""
        kind = f"{element.name.capitalize()} {apart}"
        seen[kind] += 1
        _label(soup, element, f"{kind}{seen[kind]}")


def _label(soup: BeautifulSoup, element: Tag, label: str) -> None:
    name = _CAPTIONS[element.name]
    caption = element.find(name, recursive=False)
    if not isinstance(caption, Tag):
        caption = soup.new_tag(name)
        element.insert(0 if name == "caption" else len(element.contents), caption)
    words = " ".join(caption.get_text().split())
    number = soup.new_tag("span", attrs={"class": "number"})
    number.string = f"{label}."
    caption.insert(0, number)
    if words:
        number.insert_after(" ")
    region = element.parent if name == "caption" else element.find(class_="picture")
    if isinstance(region, Tag) and region.get("aria-label"):
        # A picture is named by its number, a table by its number and caption.
        region["aria-label"] = f"{label}. {words}" if name == "caption" and words else label
