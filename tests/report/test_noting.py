"""Notes of the analysis in plain words, the same thing once."""

from __future__ import annotations

import pandas as pd

from wintersward.report.noting import dated_notes, supporting_notes
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
ZERO = (
    "the variance of {} is estimated as zero: the data show no more variation between its levels "
    "than within them; the term stays in the model, so that the answer does not look surer than "
    "it is"
)


def noted(*rows: tuple[str, str, str]) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=["date", "code", "text"])
    return frame.assign(measure="green_cover", date=pd.to_datetime(frame["date"]))


def dated(notes: pd.DataFrame, tables: Tables, definition: Definition) -> list[str]:
    return dated_notes(notes, tables["plot_means"], definition, "green_cover")


def test_a_variance_of_zero_is_told_once_for_all(tables: Tables, definition: Definition) -> None:
    notes = noted(
        ("2026-03-24", "zero-variance", ZERO.format("block")),
        ("2026-04-04", "zero-variance", ZERO.format("block")),
        ("2026-04-17", "zero-variance", ZERO.format("whole_plot")),
        ("2026-04-17", "zero-variance", "dates together (cover): " + ZERO.format("block:date")),
        (
            "2026-04-17",
            "zero-variance",
            "dates together (cover:aeration): " + ZERO.format("block:date"),
        ),
        ("2026-04-17", "zero-variance", "season average (cover): " + ZERO.format("block")),
    )
    (said,) = dated(notes, tables, definition)
    assert said.startswith(
        "These data show no variation of blocks (24 March 2026, 4 April 2026, season averages), "
        "whole plots (17 April 2026) and blocks from date to date (all dates together) beyond"
    )
    assert supporting_notes(notes, definition, "dates together", "green_cover") == []
    assert supporting_notes(notes, definition, "season average", "green_cover") == []


def test_terms_of_two_factors_keep_plain_names(tables: Tables, definition: Definition) -> None:
    notes = noted(("2026-04-17", "zero-variance", ZERO.format("block:cover")))
    assert "variation of block by cover (17 April 2026)" in dated(notes, tables, definition)[0]


def test_plots_with_fewer_observations_are_named_once(
    tables: Tables, definition: Definition
) -> None:
    words = "on fewer observations than the other"
    notes = noted(
        (
            "2026-03-16",
            "unequal-units",
            f"1 unit rests {words} 17 (2B); each counts the same, though less certain",
        ),
        (
            "2026-03-24",
            "unequal-units",
            f"2 units rest {words} 16 (3A, 4B); each counts the same, though less certain",
        ),
    )
    assert dated(notes, tables, definition) == [
        "Whole plots with fewer observations than the others count the same, though they are less "
        "certain: 2B on 16 March 2026 and 3A, 4B on 24 March 2026."
    ]


def test_the_same_words_stand_once_with_their_days(tables: Tables, definition: Definition) -> None:
    notes = noted(
        ("2026-03-10", "raters", "whole_plot 2A lacks a rater"),
        ("2026-03-16", "raters", "whole_plot 2A lacks a rater"),
        ("2026-01-15", "baseline", "taken before the covers went on: shown, not compared"),
        ("2026-03-16", "days gained", "never seen: 3B"),
    )
    assert dated(notes, tables, definition) == [
        "10 and 16 March 2026: whole plot 2A lacks a rater."
    ]


def test_factors_and_days_are_named_for_a_reader(definition: Definition) -> None:
    notes = noted(
        (
            "2026-04-17",
            "dates together",
            "fewer than two dates to take together for cover, aeration",
        ),
        ("2026-04-17", "dates together", "dates together (cover): 2026-03-10 left out: too few"),
        ("2026-04-17", "dates together", "dates together (cover): 2026-03-10 left out: too few"),
    )
    assert supporting_notes(notes, definition, "dates together", "green_cover") == [
        "Fewer than two dates to take together for cover and aeration.",
        "Dates together (cover): 10 March 2026 left out: too few.",
    ]
    named = definition.treatments["cover"].model_copy(update={"label": "Winter cover"})
    treatments = definition.treatments | {"cover": named}
    labelled = definition.model_copy(update={"treatments": treatments})
    said = supporting_notes(notes, labelled, "dates together", "green_cover")
    assert said[0] == "Fewer than two dates to take together for winter cover and aeration."
    assert said[1].startswith("Dates together (winter cover): ")
    assert supporting_notes(notes, definition, "dates together", "pull_force") == []


def test_degrees_of_freedom_by_strata_are_told_once(definition: Definition) -> None:
    begin = (
        "dates together (cover): the Kenward-Roger approximation does not apply; degrees of "
        "freedom taken from the stratum for "
    )
    each = ("cover", "date=2026-03-10, cover=fleece minus date=2026-03-10, cover=open")
    notes = noted(*(("2026-04-17", "containment-df", begin + one) for one in each))
    assert supporting_notes(notes, definition, "dates together", "green_cover") == [
        "Dates together (cover): the Kenward-Roger approximation does not apply; degrees of "
        "freedom taken from the stratum, for what notes.csv names."
    ]
