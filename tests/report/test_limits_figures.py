from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

from wintersward.analysis.results import empty
from wintersward.report.limits_figures import limits, limits_alt
from wintersward.trial import Definition
from wintersward.trial.schema import SheetMeasure

PAIR = ("colour_rating", "green_cover")


def drawn(figure: Figure) -> Figure:
    """Draw a figure as a file would be; warnings are errors."""
    figure.canvas.draw()
    return figure


def words(figure: Figure) -> list[str]:
    return [t.get_text().replace("\n", " ") for axes in figure.axes for t in axes.texts]


def table(rows: list[tuple[str, str, float, float, float]]) -> pd.DataFrame:
    made = [(*PAIR, *row, 40, "in words") for row in rows]
    return pd.DataFrame(made, columns=list(empty("agreement").columns))


@pytest.fixture(scope="module")
def beside() -> pd.DataFrame:
    """Invent a rating and a cover, that rise together."""
    rows = [
        (*PAIR, day, f"p{plot:02d}", 3 + (at + plot) / 10, 35.0 + 10 * at + plot)
        for at, day in enumerate(pd.to_datetime(["2026-03-10", "2026-03-24"]))
        for plot in range(20)
    ]
    return pd.DataFrame(rows, columns=list(empty("eye_and_photo").columns))


@pytest.fixture(scope="module")
def by_eye(definition: Definition) -> Definition:
    """Let the eye estimate cover in percent."""
    measure = definition.measures["colour_rating"]
    held = measure.model_dump(by_alias=True) | {"scale": None, "unit": "%", "acceptable": None}
    estimate = SheetMeasure.model_validate(held | {"label": "Cover by eye"})
    measures = {**definition.measures, "colour_rating": estimate}
    return definition.model_copy(update={"measures": measures})


@pytest.fixture(scope="module")
def estimates(beside: pd.DataFrame) -> pd.DataFrame:
    noise = np.tile([-6.0, -2.0, 1.0, 5.0, 12.0], len(beside) // 5)
    return beside.assign(eye=beside["photo"] + noise)


@pytest.fixture(scope="module")
def ends() -> pd.DataFrame:
    return table(
        [
            ("bias", "eye less photo", 2.0, 0.7, 3.3),
            ("limits", "lower", -10.2, -12.6, -8.4),
            ("limits", "upper", 14.2, 12.4, 16.6),
        ]
    )


def test_limits_stand_where_the_table_says(
    estimates: pd.DataFrame, ends: pd.DataFrame, by_eye: Definition
) -> None:
    figure = drawn(limits(estimates, ends, by_eye, *PAIR))
    axes = figure.axes[0]
    level = [line.get_ydata()[0] for line in axes.lines if line.get_linewidth() == 1.3]
    assert level == pytest.approx([14.2, 2.0, -10.2])
    bands = sorted(patch.get_y() for patch in axes.patches)
    assert bands == pytest.approx([-12.6, 0.7, 12.4])
    points = next(line for line in axes.lines if line.get_marker() == "o")
    wanted = estimates["eye"] - estimates["photo"]
    assert list(points.get_ydata()) == pytest.approx(list(wanted))
    assert list(points.get_xdata()) == pytest.approx(
        list((estimates["eye"] + estimates["photo"]) / 2)
    )
    assert words(figure)[1] == "bias +2.0 (+0.7 to +3.3)"
    assert axes.get_title(loc="left") == "Cover by eye, eye less photo [points]"
    assert axes.get_xlabel() == "Mean of eye and photo [%]"


def test_limits_are_told_with_their_numbers(
    estimates: pd.DataFrame, ends: pd.DataFrame, by_eye: Definition
) -> None:
    said = limits_alt(estimates, ends, by_eye, *PAIR)
    assert "Upper limit +14.2 (+12.4 to +16.6). Bias +2.0" in said
    assert "Lower limit −10.2 (−12.6 to −8.4)." in said
    assert "40 of 40 lie between the limits" in said


def test_unlike_units_have_no_limits(beside: pd.DataFrame, definition: Definition) -> None:
    figure = drawn(limits(beside, empty("agreement"), definition, *PAIR))
    said = "Colour rating is in 1–9, green cover in %: no limits of agreement"
    assert figure.texts[0].get_text() == said
    assert limits_alt(beside, empty("agreement"), definition, *PAIR) == f"{said}."


def test_too_few_plots_are_said(beside: pd.DataFrame, by_eye: Definition) -> None:
    said = limits_alt(beside.iloc[:2], empty("agreement"), by_eye, *PAIR)
    assert "too few plots in common" in said
