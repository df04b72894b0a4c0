from __future__ import annotations

import datetime as dt
from types import SimpleNamespace

import pandas as pd
import pytest

import wintersward.report
from wintersward.report.drawing import days_apart
from wintersward.report.plotting import (
    plot_answer,
    plot_arrivals,
    plot_combinations,
    plot_differences,
    plot_means,
    plot_residuals,
    study_pictures,
)
from wintersward.trial import Definition
from wintersward.trial.schema import CoverSpell, Diary

Tables = dict[str, pd.DataFrame]


@pytest.fixture
def trial(definition: Definition) -> SimpleNamespace:
    diary = Diary(covers=[CoverSpell(on="2026-01-21", off="2026-03-05")])
    return SimpleNamespace(definition=definition, diary=diary)


def test_notebooks_get_a_named_picture(trial: SimpleNamespace, tables: Tables) -> None:
    assert plot_answer(trial, tables).name == "answer"
    assert plot_arrivals(trial, tables).name == "arrivals"
    for plot, name in (
        (plot_residuals, "residuals_green_cover"),
        (plot_means, "progress_green_cover"),
        (plot_combinations, "crossed_green_cover"),
        (plot_differences, "differences_green_cover"),
    ):
        assert plot(trial, tables, "green_cover").name == name


def test_the_covered_time_is_that_of_the_diary(trial: SimpleNamespace, tables: Tables) -> None:
    figure = plot_means(trial, tables, "green_cover").figure
    starts = [patch.get_x() for patch in figure.axes[0].patches]
    assert days_apart([dt.date(2026, 1, 21)])[0] in starts


def test_all_pictures_at_once(trial: SimpleNamespace, tables: Tables, early: Tables) -> None:
    assert len(study_pictures(trial, tables)) == 15
    assert len(study_pictures(trial, tables, "pull_force")) == 3
    assert study_pictures(trial, early) == []


def test_the_public_names_are_there() -> None:
    for name in wintersward.report.__all__:
        assert getattr(wintersward.report, name) is not None
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = wintersward.report.nothing
