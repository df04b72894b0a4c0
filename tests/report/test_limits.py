"""Limits that follow from the plots, the play and the age of the turf."""

from __future__ import annotations

import pandas as pd
import pytest

from wintersward.report.limits import limits_words
from wintersward.report.page import Page
from wintersward.trial import Definition


def care(*what: str) -> pd.DataFrame:
    return pd.DataFrame({"date": pd.Timestamp("2026-04-11"), "what": what})


def said(definition: Definition, *what: str) -> str:
    return " ".join(limits_words(Page({"management": care(*what)}, {}, definition)))


def established(definition: Definition, words: str | None) -> Definition:
    turf = definition.site.turf.model_copy(update={"established": words})
    site = definition.site.model_copy(update={"turf": turf})
    return definition.model_copy(update={"site": site})


def test_small_plots_are_no_field(definition: Definition) -> None:
    assert "Plots of 10 ft by 6 ft: a cover over a whole field may lie" in said(definition)
    metric = definition.model_copy(update={"units": "metric"})
    assert "Plots of 3.048 m by 1.829 m:" in said(metric)


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ((), "tells of no play on the plots"),
        (("mowing",), "tells of no play on the plots"),
        (("traffic",), "play or traffic on the plots once"),
        (("traffic", "mowing", "traffic"), "play or traffic on the plots twice"),
        (("traffic",) * 5, "play or traffic on the plots 5 times"),
    ],
)
def test_play_is_told_as_the_diary_has_it(
    definition: Definition, what: tuple[str, ...], words: str
) -> None:
    assert words in said(definition, *what)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("sod, laid 2025-10-06", "Sod in its first winter (sod, laid 6 October 2025) may"),
        ("seeded 2025-09-01", "Turf in its first winter (seeded 1 September 2025) may"),
        ("sod, laid 2023-10-06", ""),
        ("sod, laid 2026-13-45", ""),
        ("ten years old", ""),
        (None, ""),
    ],
)
def test_turf_in_its_first_winter(definition: Definition, words: str | None, told: str) -> None:
    held = said(established(definition, words))
    assert (told in held) if told else ("first winter" not in held)
