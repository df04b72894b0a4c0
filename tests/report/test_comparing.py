from __future__ import annotations

import re

import pandas as pd
import pytest
from matplotlib.collections import PolyCollection

from wintersward.report.comparing import (
    difference_decimals,
    differences,
    differences_alt,
    shown_differences,
)
from wintersward.report.views import measure_view
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def test_the_primary_stands_in_for_its_adjusted_self(
    tables: Tables, definition: Definition
) -> None:
    shown = shown_differences(tables["differences"], definition, "green_cover")
    pair = shown[(shown["left"] == "fleece") & (shown["right"] == "open")]
    assert (pair["role"] == "primary").sum() == 1
    assert pair["date"].is_unique
    assert (shown["within"] == "").all()
    # The primary pair leads, then those with the control, then the rest.
    assert list(dict.fromkeys(zip(shown["left"], shown["right"], strict=True))) == [
        ("fleece", "open"),
        ("woven", "open"),
        ("fleece", "woven"),
        ("hollow", "solid"),
    ]


def test_too_many_pairs_are_cut_to_those_with_the_control(
    tables: Tables, definition: Definition
) -> None:
    base = tables["differences"]
    late = [base.assign(date=base["date"] + pd.Timedelta(days=30 * turn)) for turn in range(4)]
    shown = shown_differences(pd.concat(late, ignore_index=True), definition, "green_cover")
    assert set(shown["right"]) == {"open", "solid"}


@pytest.mark.parametrize("measure", ["green_cover", "colour_rating", "pull_force"])
def test_the_picture_draws_every_pair(tables: Tables, definition: Definition, measure: str) -> None:
    figure = differences(tables["differences"], tables["plot_means"], definition, measure)
    figure.canvas.draw()
    said = [t.get_text() for t in figure.axes[0].texts]
    assert "Spun-bond fleece minus no cover" in said
    label = "shaded: below 8 points, named for the primary question"
    assert (label in figure.axes[0].get_xlabel()) == (measure == "green_cover")
    # The band lies under the one line of the primary question.
    bands = [c for c in figure.axes[0].collections if isinstance(c, PolyCollection)]
    assert len(bands) == (measure == "green_cover")
    low, high = figure.axes[0].get_xlim()
    assert low < 0 < high


def test_every_blocks_own_difference_is_visible(tables: Tables, definition: Definition) -> None:
    figure = differences(tables["differences"], tables["plot_means"], definition, "green_cover")
    shown = shown_differences(tables["differences"], definition, "green_cover")
    circles = [line for line in figure.axes[0].lines if line.get_markerfacecolor() == "none"]
    assert sum(len(line.get_xdata()) for line in circles) == 6 * len(shown)


def test_missing_intervals_and_blocks_draw_without_a_warning(
    tables: Tables, definition: Definition
) -> None:
    held = tables["differences"].copy()
    held.loc[held["left"] == "woven", ["lower", "upper", "se"]] = float("nan")
    figure = differences(held, tables["plot_means"].iloc[:0], definition, "green_cover")
    figure.canvas.draw()
    assert any("not estimated" in t.get_text() for t in figure.axes[0].texts)


def test_without_differences_the_picture_says_so(early: Tables, definition: Definition) -> None:
    figure = differences(early["differences"], early["plot_means"], definition, "green_cover")
    assert "no differences yet" in figure.texts[0].get_text()
    assert "no differences yet" in differences_alt(early["differences"], definition, "green_cover")


def test_the_alternative_text_holds_the_numbers(tables: Tables, definition: Definition) -> None:
    said = differences_alt(tables["differences"], definition, "green_cover")
    row = tables["primary"].iloc[0]
    shown = re.search(
        r"24 March 2026 \+(\S+) \(\+(\S+) to \+(\S+)\) \(the primary question\)", said
    )
    assert shown is not None
    assert [float(n) for n in shown.groups()] == pytest.approx(
        [row["difference"], row["lower"], row["upper"]], abs=0.51
    )


def test_a_narrow_interval_gets_one_more_decimal(tables: Tables, definition: Definition) -> None:
    view = measure_view(definition, "green_cover")
    wide = pd.DataFrame({"se": [2.0, 2.0], "lower": [-14.0, -14.0], "upper": [-6.0, -6.0]})
    assert difference_decimals(view, wide) == 0
    narrow = wide.assign(lower=[-14.0, -11.4], upper=[-6.0, -8.6])
    assert difference_decimals(view, narrow) == 1
    near_zero = wide.assign(upper=[-6.0, -0.03])
    assert difference_decimals(view, near_zero) == 2


def test_differences_of_differences_stay_out(tables: Tables, definition: Definition) -> None:
    held = tables["differences"]
    extra = held.iloc[[0]].assign(
        effect="cover:aeration", left="fleece:hollow-solid", right="open:hollow-solid"
    )
    more = pd.concat([held, extra], ignore_index=True)
    pd.testing.assert_frame_equal(
        shown_differences(more, definition, "green_cover"),
        shown_differences(held, definition, "green_cover"),
    )
