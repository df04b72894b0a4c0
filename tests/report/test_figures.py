from __future__ import annotations

import re

import pandas as pd
import pytest
from matplotlib.figure import Figure

from wintersward.report.figures import Picture, crossed_picture, pictures
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


@pytest.fixture(scope="module")
def made(tables: Tables, definition: Definition) -> list[Picture]:
    """The pictures of the study."""
    return pictures(tables, definition)


def test_a_study_has_its_pictures(made: list[Picture], definition: Definition) -> None:
    assert [picture.name for picture in made] == ["answer"] + [
        f"{kind}_{measure}"
        for measure in definition.measures
        for kind in ("progress", "crossed", "differences")
    ] + [
        "arrivals",
        "residuals_green_cover",
        "raters_colour_rating",
        "agreement_colour_rating_green_cover",
        "variance_shares",
    ]
    for picture in made:
        assert isinstance(picture.figure, Figure)
        assert re.search(r"\d", picture.alt), picture.name
        assert picture.caption.endswith(".")


def test_one_measure_alone(tables: Tables, definition: Definition) -> None:
    names = [picture.name for picture in pictures(tables, definition, "pull_force")]
    assert names == ["progress_pull_force", "crossed_pull_force", "differences_pull_force"]


def test_no_picture_compares_before_the_primary_date(early: Tables, definition: Definition) -> None:
    assert pictures(early, definition) == []


def test_no_answer_no_picture_of_it(unanswered: Tables, definition: Definition) -> None:
    names = [picture.name for picture in pictures(unanswered, definition)]
    assert "answer" not in names
    assert "progress_green_cover" in names


def test_captions_tell_what_is_averaged_and_left_out(
    tables: Tables, definition: Definition, made: list[Picture]
) -> None:
    held = tables["plot_means"]
    gone = (held["block"] == "3") & (held["cover"] == "fleece") & (held["aeration"] == "solid")
    kept = tables | {"plot_means": held[~(gone & (held["date"] == pd.Timestamp("2026-04-17")))]}
    found = {picture.name: picture.caption for picture in pictures(kept, definition, "green_cover")}
    words = "From 4 April 2026 on, each factor is averaged over the other."
    assert words in found["differences_green_cover"]
    assert "On 17 April 2026 some blocks have no circle" in found["differences_green_cover"]
    assert "A line is broken" in found["progress_green_cover"]
    whole = {picture.name: picture.caption for picture in made}
    assert "no circle" not in whole["differences_green_cover"]
    assert "broken" not in whole["progress_green_cover"]


def test_captions_say_whether_intervals_are_adjusted(made: list[Picture]) -> None:
    found = {picture.name: picture.caption for picture in made}
    assert "adjusted for their family" in found["differences_pull_force"]


def test_a_declared_family_has_one_picture_of_its_answer(
    declared_tables: Tables, declared: Definition
) -> None:
    made = pictures(declared_tables, declared)
    assert [picture.name for picture in made].count("answer") == 1
    assert made[0].caption.startswith("Lines join the treatments of one block")


def test_panels_start_at_an_earlier_date_only_where_there_is_one(
    tables: Tables, definition: Definition
) -> None:
    caption = crossed_picture(tables, definition, "green_cover").caption
    assert caption.endswith(
        "All panels start at the means of the last date before, when aeration had not begun."
    )
    means = tables["means"]
    later = means["date"] >= means.loc[means["effect"] == "cover:aeration", "date"].min()
    short = crossed_picture(tables | {"means": means[later]}, definition, "green_cover").caption
    assert short.endswith("estimated means with 95 % intervals.")
