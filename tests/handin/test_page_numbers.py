from __future__ import annotations

import pytest

from handin.made_bundle import PAGE
from wintersward.handin.page_numbers import (
    Number,
    numbers_apart,
    numbers_of,
    shown_otherwise,
    untied,
    words_apart,
)

TABLE = (
    "which,left,difference,lower,upper\n"
    'as planned,"fleece, thin",11.04,4.2,17.9\n'
    "with excluded observations,fleece,10.91,4.1,17.72\n"
)
TABLES = {"primary": TABLE}


def test_numbers_with_their_places() -> None:
    assert numbers_of(PAGE) == [
        Number(3, "11.04", "primary.csv:2", "11"),
        Number(4, "4.2", "primary.csv:2", "4"),
        Number(5, "17.9", "primary.csv:2", "18"),
    ]


def test_escaped_and_nested_text() -> None:
    html = '<data title="a.csv:2" value="&lt; 1"><b>&minus;</b>&nbsp;1\n <i>x</i></data>'
    assert numbers_of(html) == [Number(1, "< 1", "a.csv:2", "\N{MINUS SIGN} 1 x")]


def test_every_number_stands_in_its_line() -> None:
    assert untied(numbers_of(PAGE), TABLES) == []


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        (
            'value="11.04"',
            'value="19.04"',
            "line 3: '19.04', shown as '11', does not stand in primary.csv:2, which holds "
            "as planned, fleece, thin, 11.04, 4.2, 17.9",
        ),
        (
            'primary.csv:2" value="11.04',
            'primary.csv:3" value="11.04',
            "line 3: '11.04', shown as '11', does not stand in primary.csv:3, which holds "
            "with excluded observations, fleece, 10.91, 4.1, 17.72",
        ),
        (
            'primary.csv:2" value="11.04',
            'primary.csv:4" value="11.04',
            "line 3: '11.04', shown as '11', names primary.csv:4; the table ends with line 3",
        ),
        (
            'primary.csv:2" value="11.04',
            'primary.csv:1" value="11.04',
            "line 3: '11.04', shown as '11', names primary.csv:1; the numbers of a table begin "
            "with line 2",
        ),
        (
            'primary.csv:2" value="11.04',
            'secondary.csv:2" value="11.04',
            "line 3: '11.04', shown as '11', names secondary.csv:2; there is no such table",
        ),
        (
            'title="primary.csv:2" value="11.04"',
            'value="11.04"',
            "line 3: '11.04', shown as '11', names no file and line: ''",
        ),
    ],
)
def test_a_number_that_does_not(before: str, after: str, told: str) -> None:
    assert PAGE.count(before) == 1
    found = untied(numbers_of(PAGE.replace(before, after)), TABLES)
    assert found == [told]


def test_a_shown_number_that_was_edited() -> None:
    edited = PAGE.replace(">11<", ">17<")
    told = ["line 3: primary.csv:2 is shown as '17'; made anew, as '11'"]
    assert numbers_apart(numbers_of(edited), numbers_of(PAGE)) == told
    assert shown_otherwise(numbers_of(edited), numbers_of(PAGE)) == told
    assert numbers_apart(numbers_of(PAGE), numbers_of(PAGE)) == []
    assert shown_otherwise(numbers_of(PAGE), numbers_of(PAGE)) == []


def test_a_number_put_in_the_place_of_another() -> None:
    # The upper limit of the same line, tied as it should be, in the place of the difference.
    edited = PAGE.replace('value="11.04">11<', 'value="17.9">18<')
    assert untied(numbers_of(edited), TABLES) == []
    assert numbers_apart(numbers_of(edited), numbers_of(PAGE)) == [
        "line 3: primary.csv:2 is shown as '18'; made anew, as '11'"
    ]
    other = PAGE.replace('title="primary.csv:2" value="11.04">11<', 'title="a.csv:2" value="1">1<')
    assert numbers_apart(numbers_of(other), numbers_of(PAGE)) == [
        "line 3: a.csv:2, '1', stands where, made anew, primary.csv:2, '11' stands"
    ]
    more = PAGE + '<data title="primary.csv:2" value="4.2">4</data>'
    assert numbers_apart(numbers_of(more), numbers_of(PAGE)) == ["4 of them; made anew, 3"]


@pytest.mark.parametrize(
    ("shown", "told"),
    [("11.0", 0), ("12", 0), ("11.04", 0), ("13", 1), ("11.2", 0), ("-11", 1), ("eleven", 1)],
)
def test_another_wintersward_may_round_otherwise(shown: str, told: int) -> None:
    edited = PAGE.replace(">11<", f">{shown}<")
    assert len(shown_otherwise(numbers_of(edited), numbers_of(PAGE))) == told


def test_a_number_that_another_wintersward_does_not_show_is_left_to_the_tables() -> None:
    edited = PAGE.replace('"11.04"', '"11.05"').replace(">11<", ">12<")
    assert shown_otherwise(numbers_of(edited), numbers_of(PAGE)) == []


def test_words_beside_raw_values_and_pictures() -> None:
    edited = PAGE.replace('"11.04"', '"11.040001"').replace("PHN2Zy8+", "Qg==")
    assert words_apart(edited, PAGE) == ""
    kind = PAGE.replace("data:image/svg+xml", "data:text/plain")
    assert kind != PAGE
    assert "text/plain" in words_apart(kind, PAGE)
    edited = PAGE.replace("points more", "points less")
    assert words_apart(edited, PAGE).startswith("line 3: ")
    assert "less" in words_apart(edited, PAGE)
    assert words_apart(PAGE + "<p>more</p>", PAGE) == "line 8: '<p>more</p>'; made anew: ''"
