from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable

import pandas as pd
import pytest
from matplotlib.figure import Figure

from wintersward.report.drawing import days_apart
from wintersward.report.progress import (
    crossed,
    crossed_alt,
    crossed_effect,
    progress,
    progress_alt,
    unit_lines,
)
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def drawn(figure: Figure) -> Figure:
    """Draw a figure as a file would be; warnings are errors."""
    figure.canvas.draw()
    return figure


def words(figure: Figure) -> list[str]:
    return [t.get_text().replace("\n", " ") for axes in figure.axes for t in axes.texts]


def test_every_whole_plot_is_a_line(tables: Tables, definition: Definition) -> None:
    lines = unit_lines(tables["plot_means"], definition, "green_cover")
    assert lines["unit"].nunique() == 18
    assert lines.groupby("unit").size().eq(6).all()
    assert lines.groupby("unit")["level"].nunique().eq(1).all()


def test_every_plot_of_plain_blocks_is_a_line(
    blocks_tables: Tables, blocks_only: Definition
) -> None:
    lines = unit_lines(blocks_tables["plot_means"], blocks_only, "green_cover")
    assert lines["unit"].nunique() == 18
    figure = progress(
        blocks_tables["means"], blocks_tables["plot_means"], blocks_only, "green_cover"
    )
    assert "first event" in words(drawn(figure))
    assert "aeration" not in words(figure)


def test_subplots_are_averaged_onto_their_whole_plot(
    tables: Tables, definition: Definition
) -> None:
    lines = unit_lines(tables["plot_means"], definition, "green_cover")
    held = tables["plot_means"]
    day = pd.Timestamp("2026-04-17")
    here = held[(held["measure"] == "green_cover") & (held["date"] == day)]
    wanted = here[here["whole_plot"] == "3B"]["value"].mean()
    found = lines[(lines["unit"] == "3B") & (lines["date"] == day)]["value"]
    assert found.item() == pytest.approx(wanted)


@pytest.mark.parametrize("measure", ["green_cover", "colour_rating", "pull_force"])
def test_the_picture_names_its_treatments_and_days(
    tables: Tables, definition: Definition, measure: str
) -> None:
    figure = drawn(progress(tables["means"], tables["plot_means"], definition, measure))
    said = words(figure)
    for name in ("No cover", "Spun-bond fleece", "Woven permeable cover"):
        assert said.count(name) == 1
    assert {"covered", "aeration", "first event"} <= set(said)


def test_the_covered_time_follows_the_diary(tables: Tables, definition: Definition) -> None:
    spells = [
        (dt.date(2026, 1, 20), dt.date(2026, 2, 20)),
        (dt.date(2026, 2, 22), dt.date(2026, 3, 7)),
    ]
    figure = progress(tables["means"], tables["plot_means"], definition, "green_cover", spells)
    bands = [p for p in figure.axes[0].patches if p.get_facecolor()[:3] != (1.0, 1.0, 1.0)]
    assert [band.get_x() for band in bands] == days_apart([on for on, _ in spells])


def test_means_and_intervals_stand_where_the_table_says(
    tables: Tables, definition: Definition
) -> None:
    figure = progress(tables["means"], tables["plot_means"], definition, "pull_force")
    means = tables["means"]
    kept = means[(means["measure"] == "pull_force") & (means["effect"] == "cover")]
    drawn_lines = [line for line in figure.axes[0].lines if line.get_linewidth() == 1.9]
    found = sorted(float(y) for line in drawn_lines for y in line.get_ydata())
    # 4.4482216152605 N are one pound-force, NIST SP 811, appendix B.8.
    assert found == pytest.approx(sorted(kept["mean"] / 4.4482216152605))


def test_a_missing_date_breaks_the_line(tables: Tables, definition: Definition) -> None:
    means = tables["means"]
    gone = (means["level"] == "woven") & (means["date"] == pd.Timestamp("2026-03-24"))
    figure = drawn(progress(means[~gone], tables["plot_means"], definition, "green_cover"))
    broken = [
        line
        for line in figure.axes[0].lines
        if line.get_linewidth() == 1.9 and pd.isna(line.get_ydata()).any()
    ]
    assert len(broken) == 1


def test_blank_groups_and_intervals_draw_without_a_warning(
    tables: Tables, definition: Definition
) -> None:
    means = tables["means"].copy()
    means.loc[means["level"] == "fleece", ["mean", "lower", "upper", "se"]] = float("nan")
    kept = tables["plot_means"]
    plot_means = kept[kept["cover"] != "fleece"]
    said = words(drawn(progress(means, plot_means, definition, "green_cover")))
    assert "Spun-bond fleece" not in said
    assert "No cover" in said


def test_without_anything_the_picture_says_so(tables: Tables, definition: Definition) -> None:
    nothing = progress(
        tables["means"].iloc[:0], tables["plot_means"].iloc[:0], definition, "green_cover"
    )
    assert "no observations yet" in nothing.texts[0].get_text()
    drawn(nothing)


def test_before_means_only_the_units_are_drawn(early: Tables, definition: Definition) -> None:
    figure = drawn(progress(early["means"], early["plot_means"], definition, "green_cover"))
    assert "Spun-bond fleece" not in words(figure)
    assert "no treatment means yet" in progress_alt(early["means"], definition, "green_cover")


def test_the_alternative_text_holds_the_numbers(tables: Tables, definition: Definition) -> None:
    said = progress_alt(tables["means"], definition, "green_cover")
    means = tables["means"]
    on = means["date"] == pd.Timestamp("2026-03-24")
    row = means[on & (means["measure"] == "green_cover") & (means["level"] == "fleece")].iloc[0]
    shown = re.search(r"24 March 2026: .*?fleece (\S+) \((\S+) to (\S+)\)", said)
    assert shown is not None
    assert [float(n) for n in shown.groups()] == pytest.approx(
        [row["mean"], row["lower"], row["upper"]], abs=0.51
    )


def test_combinations_have_a_panel_for_each_treatment_of_the_other_factor(
    tables: Tables, definition: Definition
) -> None:
    figure = drawn(crossed(tables["means"], definition, "green_cover"))
    assert len(figure.axes) == 2
    assert [axes.get_title(loc="left") for axes in figure.axes] == [
        "Solid tine 3/8 in",
        "Hollow tine 3/4 in",
    ]
    # Both panels start with the same means, from before the tines.
    firsts = [
        sorted(
            (line.get_xdata()[0], line.get_ydata()[0])
            for line in axes.lines
            if line.get_linestyle() == "-" and len(line.get_xdata()) == 3
        )
        for axes in figure.axes
    ]
    assert firsts[0] == firsts[1]
    assert len(firsts[0]) == 3
    assert figure.axes[0].get_ylim() == figure.axes[1].get_ylim() == (0.0, 100.0)
    said = crossed_alt(tables["means"], definition, "green_cover")
    assert "no cover with hollow tine 3/4 in" in said
    assert re.search(r"\d", said)


def test_without_combinations_the_picture_says_so(tables: Tables, definition: Definition) -> None:
    means = tables["means"][tables["means"]["effect"] == "cover"]
    assert crossed_effect(means, definition, "green_cover") == ""
    assert "no combinations" in crossed(means, definition, "green_cover").texts[0].get_text()
    assert "no combinations" in crossed_alt(means, definition, "green_cover")


def test_plots_are_averaged_onto_their_strip(
    tables: Tables, laid_out: Callable[..., Definition]
) -> None:
    strips = laid_out("strip plot", True, blocks=6, row_strips="cover", column_strips="aeration")
    lines = unit_lines(tables["plot_means"], strips, "green_cover")
    assert lines["unit"].nunique() == 18
    held = tables["plot_means"]
    late = held["date"] == pd.Timestamp("2026-04-17")
    own = (held["measure"] == "green_cover") & late & (held["block"] == "2")
    own &= held["cover"] == "woven"
    found = lines[(lines["unit"] == "2:woven") & (lines["date"] == pd.Timestamp("2026-04-17"))]
    assert found["value"].item() == pytest.approx(held.loc[own, "value"].mean())
