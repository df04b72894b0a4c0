from __future__ import annotations

import re

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

from wintersward.analysis.results import empty
from wintersward.report.agreement_figures import (
    eye_against_photo,
    eye_against_photo_alt,
    severity,
    severity_alt,
)
from wintersward.report.drawing import days_apart
from wintersward.report.views import main_factor, marks_of
from wintersward.trial import Definition

DATES = pd.to_datetime(["2026-01-15", "2026-03-10", "2026-03-24", "2026-04-17"])
PAIR = ("colour_rating", "green_cover")


def drawn(figure: Figure) -> Figure:
    """Draw a figure as a file would be; warnings are errors."""
    figure.canvas.draw()
    return figure


def words(figure: Figure) -> list[str]:
    return [t.get_text().replace("\n", " ") for axes in figure.axes for t in axes.texts]


@pytest.fixture(scope="module")
def raters() -> pd.DataFrame:
    rows = [
        ("colour_rating", day, rater, sign * (0.2 + 0.1 * at), 36)
        for at, day in enumerate(DATES)
        for rater, sign in (("te", 1), ("rx", -1))
    ]
    return pd.DataFrame(rows, columns=list(empty("raters").columns))


@pytest.fixture(scope="module")
def beside() -> pd.DataFrame:
    """Invent ratings that rise by one for 20 points of cover, from plot to plot of a date."""
    rng = np.random.default_rng(9)
    rows = []
    for at, day in enumerate(DATES):
        for plot in range(20):
            cover = 35 + 10 * at + rng.normal(0, 6)
            rows.append((*PAIR, day, f"p{plot:02d}", cover / 20 + 0.2 * at + 2, cover))
    return pd.DataFrame(rows, columns=list(empty("eye_and_photo").columns))


@pytest.fixture(scope="module")
def agreement() -> pd.DataFrame:
    rows = [
        ("repeated-measures correlation", "over the dates, within plots", 0.91, 0.87, 0.94),
        ("repeated-measures correlation", "between plots, within dates", 0.62, 0.48, 0.73),
    ]
    return table(rows)


def table(rows: list[tuple[str, str, float, float, float]]) -> pd.DataFrame:
    made = [(*PAIR, *row, 80, "in words") for row in rows]
    return pd.DataFrame(made, columns=list(empty("agreement").columns))


def test_severity_stands_at_its_dates(raters: pd.DataFrame, definition: Definition) -> None:
    figure = drawn(severity(raters, definition, "colour_rating"))
    axes = figure.axes[0]
    lines = [line for line in axes.lines if len(line.get_xdata()) == len(DATES)]
    # Two raters mirror one another: one line tells all, the higher less the lower.
    (line,) = lines
    assert list(line.get_xdata()) == days_apart(list(DATES))
    assert list(line.get_ydata()) == pytest.approx([0.4, 0.6, 0.8, 1.0])
    # The title names the one line; a name at its end would only say it again.
    assert words(figure) == []
    assert axes.get_title(loc="left") == "Colour rating: T. Example less R. Example"
    three = pd.concat([raters, raters[raters["rater"] == "te"].assign(rater="vy", severity=0.0)])
    axes = drawn(severity(three, definition, "colour_rating")).axes[0]
    found = [line for line in axes.lines if len(line.get_xdata()) == len(DATES)]
    assert list(found[1].get_ydata()) == pytest.approx([-0.2, -0.3, -0.4, -0.5])
    assert len(found) == 3
    low, high = axes.get_ylim()
    assert low == pytest.approx(-high)
    # Of three, each line is named at its end; who is not among the people keeps the initials.
    ends = [t.get_text().replace("\n", " ") for t in axes.texts]
    assert sorted(ends) == ["R. Example", "T. Example", "vy"]


def test_raters_do_not_wear_the_colours_of_treatments(
    raters: pd.DataFrame, definition: Definition
) -> None:
    axes = severity(raters, definition, "colour_rating").axes[0]
    colours = {mark.colour for mark in marks_of(definition, main_factor(definition)).values()}
    shown = [line for line in axes.lines if len(line.get_xdata()) == len(DATES)]
    assert not {line.get_color() for line in shown} & colours
    looks = {(line.get_marker(), str(line.get_linestyle())) for line in shown}
    assert len(looks) == len(shown)


def test_severity_is_told_with_its_numbers(raters: pd.DataFrame, definition: Definition) -> None:
    said = severity_alt(raters, definition, "colour_rating")
    assert re.search(
        r"T\. Example less R\. Example: 15 January 2026 \+0\.40?, .*17 April 2026 \+1\.00?\.", said
    )
    assert "one rater less the other" in said


def test_many_raters_and_one_date_draw(raters: pd.DataFrame, definition: Definition) -> None:
    more = [raters.assign(rater=raters["rater"] + name) for name in "abc"]
    figure = drawn(severity(pd.concat(more), definition, "colour_rating"))
    assert len(words(figure)) == 6
    one = raters[raters["date"] == DATES[0]].assign(severity=0.0)
    axes = drawn(severity(one, definition, "colour_rating")).axes[0]
    assert axes.get_title(loc="left") == "Colour rating: R. Example less T. Example"


def test_each_date_has_a_panel_with_its_plots(beside: pd.DataFrame, definition: Definition) -> None:
    figure = drawn(eye_against_photo(beside, definition, *PAIR))
    titles = [axes.get_title(loc="left") for axes in figure.axes]
    assert titles == ["15 Jan 2026", "10 Mar", "24 Mar", "17 Apr"]
    for day, axes in zip(DATES, figure.axes, strict=True):
        own = beside[beside["date"] == day]
        shown = next(line for line in axes.lines if line.get_marker() == "o")
        assert list(shown.get_xdata()) == pytest.approx(list(own["photo"]))
        assert list(shown.get_ydata()) == pytest.approx(list(own["eye"]))
        other = next(line for line in axes.lines if line.get_marker() == ".")
        assert len(other.get_xdata()) == len(beside) - len(own)
        assert axes.get_xlim() == (0, 100)
        assert axes.get_ylim() == (1, 9)


def test_the_lines_have_the_slope_within_dates(
    beside: pd.DataFrame, definition: Definition
) -> None:
    figure = eye_against_photo(beside, definition, *PAIR)
    for axes in figure.axes:
        line = next(one for one in axes.lines if one.get_marker() == "None")
        (x0, x1), (y0, y1) = line.get_xdata(), line.get_ydata()
        # Over the dates the eye rises faster; within each it is one for 20 points.
        assert (y1 - y0) / (x1 - x0) == pytest.approx(1 / 20)


def test_scatter_is_told_with_its_correlations(
    beside: pd.DataFrame, agreement: pd.DataFrame, definition: Definition
) -> None:
    said = eye_against_photo_alt(beside, agreement, definition, *PAIR)
    assert "four dates, 80 pairs in all" in said
    assert "one date the correlation is 0.62 (0.48 to 0.73)" in said
    assert "within plots it is 0.91 (0.87 to 0.94)" in said


def test_photos_that_do_not_vary_have_no_line(beside: pd.DataFrame, definition: Definition) -> None:
    flat = beside.assign(photo=50.0)
    figure = drawn(eye_against_photo(flat, definition, *PAIR))
    assert not [line for axes in figure.axes for line in axes.lines if line.get_marker() == "None"]


def test_without_anything_the_pictures_say_so(definition: Definition) -> None:
    figure = drawn(severity(empty("raters"), definition, "colour_rating"))
    assert "no two raters" in figure.texts[0].get_text()
    assert "no two raters" in severity_alt(empty("raters"), definition, "colour_rating")
    nothing = empty("eye_and_photo")
    figure = drawn(eye_against_photo(nothing, definition, *PAIR))
    assert "no plots in common" in figure.texts[0].get_text()
    said = eye_against_photo_alt(nothing, empty("agreement"), definition, *PAIR)
    assert "no plots in common" in said
