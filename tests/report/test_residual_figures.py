from __future__ import annotations

import re

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

from wintersward.analysis.results import empty
from wintersward.report.residual_figures import residuals, residuals_alt
from wintersward.report.views import main_factor, marks_of
from wintersward.trial import Definition
from wintersward.units import from_si

DATES = ["2026-03-10", "2026-03-24", "2026-04-17"]
Tables = dict[str, pd.DataFrame]


def drawn(figure: Figure) -> Figure:
    """Draw a figure as a file would be; warnings are errors."""
    figure.canvas.draw()
    return figure


def words(figure: Figure) -> list[str]:
    return [t.get_text().replace("\n", " ") for axes in figure.axes for t in axes.texts]


@pytest.fixture(scope="module")
def frame() -> pd.DataFrame:
    """Invent residuals of the pull force: six blocks, three covers, two tines after aeration."""
    rng = np.random.default_rng(12)
    rows = []
    for day in DATES:
        tines = ["solid", "hollow"] if day > "2026-03-25" else [""]
        for block in "123456":
            for at, cover in enumerate(("open", "fleece", "woven")):
                for tine in tines:
                    level = f"{cover}:{tine}" if tine else cover
                    name = f"{block}0{at}{tine[:1]}"
                    own = rng.normal(0, 8)
                    rows.append((day, name, block, level, 220 + 10 * at, own, own / 7.5))
    columns = ["date", "unit_name", "block", "level", "fitted", "residual", "studentised"]
    made = pd.DataFrame(rows, columns=columns).assign(measure="pull_force")
    made["date"] = pd.to_datetime(made["date"])
    far = (made["unit_name"] == "301") & (made["date"] == DATES[0])
    made.loc[far, ["residual", "studentised"]] = [30.0, 4.0]
    return made[list(empty("residuals").columns)]


def test_every_residual_stands_in_three_panels_in_the_readers_unit(
    frame: pd.DataFrame, definition: Definition
) -> None:
    figure = drawn(residuals(frame, definition, "pull_force"))
    upper, left, right, _ = figure.axes
    for axes in (upper, left):
        found = [
            y for line in axes.lines if line.get_linestyle() == "None" for y in line.get_ydata()
        ]
        wanted = [from_si(value, "lbf", difference=True) for value in frame["residual"]]
        assert sorted(found) == pytest.approx(sorted(wanted))
    fitted = [x for line in left.lines if line.get_linestyle() == "None" for x in line.get_xdata()]
    assert set(np.round(fitted, 6)) == {round(from_si(v, "lbf"), 6) for v in (220, 230, 240)}
    found = [y for line in right.lines if line.get_linestyle() == "None" for y in line.get_ydata()]
    assert sorted(found) == pytest.approx(sorted(frame["studentised"]))
    assert upper.get_title(loc="left").startswith("Pull force: residual [lbf] by date")


def test_quantiles_are_those_of_a_normal_distribution(
    frame: pd.DataFrame, definition: Definition
) -> None:
    right = drawn(residuals(frame, definition, "pull_force")).axes[2]
    points = np.array(
        [xy for line in right.lines if line.get_linestyle() == "None" for xy in line.get_xydata()]
    )
    points = points[np.argsort(points[:, 1])]
    assert np.all(np.diff(points[:, 0]) > 0)
    assert points[:, 0] == pytest.approx(-points[::-1, 0])
    # Blom (1958): the largest of 72 stands at the quantile of (72 - 3/8) / (72 + 1/4): 2.38.
    assert points[-1, 0] == pytest.approx(2.38, abs=0.01)


def test_dates_and_blocks_have_their_places(frame: pd.DataFrame, definition: Definition) -> None:
    figure = drawn(residuals(frame, definition, "pull_force"))
    upper = figure.axes[0]
    ticks = [tick.get_text() for tick in upper.get_xticklabels()]
    assert ticks == ["10 Mar\n2026", "24 Mar", "17 Apr"]
    assert [t.get_text() for t in upper.texts] == list("123456") * 3
    x = np.concatenate([line.get_xdata() for line in upper.lines if line.get_linestyle() == "None"])
    first = frame[frame["date"] == DATES[0]]
    assert (np.floor(x) == 0).sum() == len(first)
    assert len(set(np.round(x % 1, 9))) == 6


def test_treatments_keep_their_marks(frame: pd.DataFrame, definition: Definition) -> None:
    figure = drawn(residuals(frame, definition, "pull_force"))
    marks = marks_of(definition, main_factor(definition))
    for axes in figure.axes[:3]:
        shown = {
            (line.get_color(), line.get_marker())
            for line in axes.lines
            if line.get_linestyle() == "None" and len(line.get_xdata())
        }
        assert shown == {(mark.colour, mark.marker) for mark in marks.values()}
    key = [t.get_text() for t in figure.axes[3].texts]
    assert key == ["No cover", "Spun-bond fleece", "Woven permeable cover"]


def test_what_lies_far_off_is_named(frame: pd.DataFrame, definition: Definition) -> None:
    figure = drawn(residuals(frame, definition, "pull_force"))
    assert [t.get_text() for t in figure.axes[2].texts] == ["301, 10 Mar"]
    said = residuals_alt(frame, definition, "pull_force")
    assert "unit 301 (spun-bond fleece) on 10 March 2026, +4.0 standard deviations" in said
    assert "one value beyond 3" in said
    assert "72 values" in said


def test_the_alternative_text_holds_the_spread(frame: pd.DataFrame, definition: Definition) -> None:
    said = residuals_alt(frame, definition, "pull_force")
    found = re.search(r"in lbf: .*?24 March 2026 (\S+);", said)
    assert found is not None
    spread = frame[frame["date"] == DATES[1]]["residual"].std()
    assert float(found.group(1)) == pytest.approx(from_si(spread, "lbf", difference=True), abs=0.06)


def test_many_dates_and_blocks_leave_out_their_names(definition: Definition) -> None:
    rng = np.random.default_rng(1)
    days = pd.date_range("2026-01-05", periods=12, freq="9D")
    rows = [
        (day, f"{block}{cover}", f"b{block}", cover, 50.0, rng.normal(), rng.normal())
        for day in days
        for block in range(1, 13)
        for cover in ("open", "fleece", "woven")
    ]
    columns = ["date", "unit_name", "block", "level", "fitted", "residual", "studentised"]
    made = pd.DataFrame(rows, columns=columns).assign(measure="green_cover")
    figure = drawn(residuals(made, definition, "green_cover"))
    assert not figure.axes[0].texts
    assert "[points]" in figure.axes[0].get_title(loc="left")


def test_without_blocks_and_without_spread_it_draws(
    frame: pd.DataFrame, definition: Definition
) -> None:
    bare = frame.assign(block="", residual=0.0, studentised=float("nan"))
    figure = drawn(residuals(bare, definition, "pull_force"))
    assert not figure.axes[0].texts
    assert "blocks" not in figure.axes[0].get_title(loc="left")
    assert "Against normal quantiles" not in residuals_alt(bare, definition, "pull_force")


def test_units_without_the_main_factor_are_drawn_too(
    frame: pd.DataFrame, definition: Definition
) -> None:
    bare = frame.assign(level="solid")
    upper = drawn(residuals(bare, definition, "pull_force")).axes[0]
    found = [y for line in upper.lines if line.get_linestyle() == "None" for y in line.get_ydata()]
    assert len(found) == len(bare)


def test_without_anything_the_picture_says_so(definition: Definition) -> None:
    nothing = empty("residuals")
    figure = drawn(residuals(nothing, definition, "pull_force"))
    assert "no residuals yet" in figure.texts[0].get_text()
    assert "no residuals yet" in residuals_alt(nothing, definition, "pull_force")
