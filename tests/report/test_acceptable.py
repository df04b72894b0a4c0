"""The lowest acceptable mark of a rating: a line in its pictures, and what lay below it."""

from __future__ import annotations

import pandas as pd
import pytest

from wintersward.report.acceptable import acceptable_words, with_acceptable
from wintersward.report.figures import pictures
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
RATING = "colour_rating"


@pytest.fixture(scope="module")
def marked(definition: Definition) -> Definition:
    rating = definition.measures[RATING].model_copy(update={"acceptable": 6.0})
    return definition.model_copy(update={"measures": {**definition.measures, RATING: rating}})


def means(*rows: tuple[str, str, float]) -> pd.DataFrame:
    made = pd.DataFrame(rows, columns=["date", "level", "mean"])
    return made.assign(measure=RATING, effect="cover", date=pd.to_datetime(made["date"]))


def test_pictures_of_the_rating_have_the_line(tables: Tables, marked: Definition) -> None:
    made = {picture.name: picture for picture in pictures(tables, marked)}
    for name in (f"progress_{RATING}", f"crossed_{RATING}"):
        axes = made[name].figure.axes[0]
        flat = [line for line in axes.lines if list(line.get_ydata()) == [6.0, 6.0]]
        assert len(flat) == 1
        assert "The dashed line is 6, the lowest acceptable mark." in made[name].caption
        assert "The dashed line is 6" in made[name].alt
    for name in ("progress_green_cover", "progress_pull_force", f"differences_{RATING}"):
        assert "acceptable" not in made[name].caption


def test_without_such_a_mark_nothing_changes(tables: Tables, definition: Definition) -> None:
    (first, *_) = pictures(tables, definition, RATING)
    assert with_acceptable(first, definition, RATING, "more") is first
    assert "acceptable" not in first.caption
    assert acceptable_words(tables["means"], definition, RATING) == ""


def test_the_last_date_with_a_mean_below_is_told_with_every_treatment(marked: Definition) -> None:
    found = means(
        ("2026-03-24", "open", 4.8),
        ("2026-04-04", "open", 5.4),
        ("2026-04-04", "fleece", 6.3),
        ("2026-04-17", "open", 6.4),
        ("2026-04-17", "fleece", 6.0),
    )
    said = acceptable_words(found, marked, RATING)
    assert said.startswith(
        "4 April 2026 is the last date with a mean below it: no cover 5.4 and spun-bond fleece 6.3."
    )
    assert "no mark decides" in said
    above = found[found["date"] == pd.Timestamp("2026-04-17")]
    assert acceptable_words(above, marked, RATING) == "No mean lies below it."
    assert acceptable_words(found.iloc[:0], marked, RATING) == ""


def test_a_mean_is_not_rounded_onto_the_mark(marked: Definition) -> None:
    said = acceptable_words(means(("2026-04-04", "open", 5.97)), marked, RATING)
    assert "no cover 5.97." in said
