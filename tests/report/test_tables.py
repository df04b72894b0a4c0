from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.said import Said
from wintersward.report.tables import Head, Row, frame_table, html_table

HEADS = [
    Head("Pair"),
    Head("Date"),
    Head("mean", "%", True, "No cover"),
    Head("interval", "", True, "No cover"),
    Head("note"),
]
ROWS = [
    Row(("a", "1 May"), (Said("46", "46.25", "means.csv:2"), "41 to 51", "<i>x</i>")),
    Row(("a", "2 May"), ("47", "42 to 52", "")),
    Row(("b", "1 May"), ("48", "43 to 53", ""), strong=True),
]


def parsed(html: str) -> BeautifulSoup:
    return BeautifulSoup(html, "html.parser")


def test_heads_tell_their_scope_and_unit() -> None:
    soup = parsed(html_table("Means & more", HEADS, ROWS, "A remark."))
    assert soup.caption.get_text() == "Means & more"
    assert {th["scope"] for th in soup.find_all("th")} == {"col", "colgroup", "row", "rowgroup"}
    group = soup.find("th", scope="colgroup")
    assert (group.get_text(), group["colspan"]) == ("No cover", "2")
    assert soup.find("span", class_="unit").get_text() == "[%]"
    assert soup.find("p", class_="note").get_text() == "A remark."
    assert sum(int(c["span"]) for c in soup.find_all("colgroup")) == len(HEADS)


def test_equal_heads_are_joined_in_a_body_of_their_own() -> None:
    bodies = parsed(html_table("t", HEADS, ROWS)).find_all("tbody")
    assert [len(body.find_all("tr")) for body in bodies] == [2, 1]
    assert [body.find("th", scope="rowgroup")["rowspan"] for body in bodies] == ["2", "1"]
    assert "strong" in bodies[1].tr["class"]


def test_words_are_escaped_and_numbers_tied_to_their_source() -> None:
    html = str(html_table("t", HEADS, ROWS))
    assert "&lt;i&gt;x&lt;/i&gt;" in html
    assert '<data value="46.25" title="means.csv:2">46</data>' in html


def test_every_row_fills_the_table() -> None:
    soup = parsed(html_table("t", HEADS, ROWS))
    widths = []
    carried = 0
    for line in soup.tbody.find_all("tr"):
        widths.append(carried + len(line.find_all(["td", "th"])))
        carried = 1
    assert widths == [5, 5]


def test_a_wide_table_scrolls_by_itself_and_can_be_reached() -> None:
    region = parsed(html_table("t", HEADS, ROWS)).find("div", class_="wide")
    assert (region["tabindex"], region["role"], region["aria-label"]) == ("0", "region", "t")


def test_a_frame_shows_five_digits_and_carries_ten() -> None:
    frame = pd.DataFrame(
        {
            "measure": ["cover", "cover"],
            "date": pd.to_datetime(["2026-03-10", "2026-03-24"]),
            "value": [46.2512345678, float("nan")],
            "n": [2, 3],
        }
    )
    html = str(frame_table("plot_means", frame, "Means", {"value": "%"}))
    assert '<data value="46.25123457" title="plot_means.csv:2">46.251</data>' in html
    assert '<data value="3" title="plot_means.csv:3">3</data>' in html
    assert "2026-03-24" in html
    assert "nan" not in html


def test_rows_left_out_are_told() -> None:
    frame = pd.DataFrame({"plot": ["1", "2", "3"], "value": [1.0, 2.0, 3.0]})
    html = str(frame_table("t", frame, "T", most=1))
    assert "2 more rows are in results/t.csv." in html
    assert str(frame_table("", frame, "T", most=1)).count("<data") == 0
