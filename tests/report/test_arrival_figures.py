from __future__ import annotations

import pandas as pd
from matplotlib.backends.backend_agg import FigureCanvasAgg

from wintersward.report.arrival_figures import arrivals, arrivals_alt
from wintersward.report.drawing import days_apart
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def test_every_unit_is_a_mark_on_its_day(tables: Tables, definition: Definition) -> None:
    figure = arrivals(tables["arrivals"], definition)
    FigureCanvasAgg(figure).draw()
    axes = figure.axes[0]
    assert [t.get_text() for t in axes.get_yticklabels()] == [
        "No cover",
        "Spun-bond fleece",
        "Woven permeable\ncover",
    ]
    marks = [line for line in axes.lines if line.get_marker() not in ("None", "", None)]
    assert len(marks) == len(tables["arrivals"]) == 18
    drawn = sorted(float(line.get_xdata()[0]) for line in marks)
    assert drawn == sorted(days_apart(list(tables["arrivals"]["day"])))


def test_a_bound_is_open_and_has_an_arrow(tables: Tables, definition: Definition) -> None:
    def arrows(frame: pd.DataFrame) -> list[float]:
        axes = arrivals(frame, definition).axes[0]
        return [a.xyann[0] - a.xy[0] for a in axes.texts if hasattr(a, "xyann")]

    # The arrow leads from the mark to the side on which the day lies.
    assert [way < 0 for way in arrows(tables["arrivals"])] == [True]
    before = tables["arrivals"].assign(censored="on or before")
    assert len(arrows(before)) == 18
    assert all(way > 0 for way in arrows(before))


def test_without_arrivals_the_picture_says_so(tables: Tables, definition: Definition) -> None:
    none = tables["arrivals"].iloc[:0]
    assert "No days of arrival yet" in arrivals(none, definition).texts[0].get_text()
    assert "No days of arrival yet" in arrivals_alt(none, definition)


def test_the_alternative_text_counts_units_and_bounds(
    tables: Tables, definition: Definition
) -> None:
    said = arrivals_alt(tables["arrivals"], definition)
    assert said.startswith(
        "The day on which each whole plot reached 60 % green cover. No cover: five"
    )
    assert "one whole plot not there at the last visit" in said
    assert said.count("six whole plots from") == 2
