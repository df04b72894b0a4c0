from __future__ import annotations

import pandas as pd

from wintersward.report.adjusting import (
    adjust_note,
    adjust_words,
    counted_words,
    letters_note,
    over_dates_words,
)
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def test_the_family_is_counted(tables: Tables, early: Tables) -> None:
    said = counted_words(tables["tests"], tables["differences"], 0.05)
    differences = tables["differences"]
    secondary = differences["role"] == "secondary"
    crossed = differences["effect"] == "cover:aeration"
    # The secondary copy of the primary contrast asks nothing new.
    pairs = int((secondary & ~crossed).sum()) - 1
    assert (
        f"{len(tables['tests'])} F tests, {pairs} comparisons and {crossed.sum()} differences of "
        "differences besides the primary one"
    ) in said
    assert said.startswith("Of single dates this report holds ")
    assert "one in 20" in said
    ranked = counted_words(tables["tests"], tables["differences"], 0.05, 17)
    assert "and 17 comparisons by ranks besides the primary one" in ranked
    assert counted_words(early["tests"], early["differences"], 0.05) == ""


def test_what_is_taken_over_dates_is_counted_from_its_tables() -> None:
    held = {
        "joint_tests": pd.DataFrame({"p": [0.1, 0.2, float("nan")]}),
        "joint_differences": pd.DataFrame({"p": [0.5] * 5}),
        "season_differences": pd.DataFrame({"p": [0.5] * 4}),
        "tests": pd.DataFrame({"p": [0.5] * 9}),
    }
    assert over_dates_words(held) == (
        "Season averages and models of all dates hold two more F tests and nine more differences, "
        "none adjusted."
    )
    apart = {"season_differences": held["season_differences"]}
    assert "hold four more differences, none" in over_dates_words(apart)
    assert over_dates_words({}) == ""


def test_adjustment_is_named(
    definition: Definition, blocks_only: Definition, declared: Definition
) -> None:
    said = adjust_words(definition)
    assert "Holm's method and intervals by Bonferroni's" in said
    assert "The primary question, as the definition names it, stands alone" in said
    assert "one family, on every planned date, whether it has been visited yet or not" in said
    assert "within each of its treatments" in said
    assert "second family" not in said
    assert "every pair of treatments. In a family" in adjust_words(blocks_only)
    assert "The two comparisons of the primary question are one question" in adjust_words(declared)
    assert "adjusted together by Dunnett's method" in adjust_words(declared, "dunnett")


def test_a_note_names_the_family_of_its_rows(
    tables: Tables, definition: Definition, declared: Definition
) -> None:
    differences = tables["differences"]
    rows = differences[differences["measure"] == "green_cover"]
    note = adjust_note(rows[rows["within"] == ""], definition)
    # Comparisons over the other factor and within its treatments are one family.
    count = int((rows["role"] == "secondary").sum())
    assert note == (
        f"p by Holm, intervals by Bonferroni, over the family of {count} (green cover, "
        f"every comparison on every planned date). The interval guards against all {count} "
        "comparisons at once more strictly than p does; where they differ, take it as not "
        "settled. The primary question stands alone and is not adjusted. All "
        "other comparisons are secondary."
    )
    inside = adjust_note(rows[rows["within"] != ""], definition)
    assert f"the family of {count} (green cover, every comparison on every planned date)" in inside
    assert inside.endswith("All are secondary.")
    assert "are a family by themselves" in adjust_note(rows, declared)


def test_letters_name_their_family(tables: Tables) -> None:
    said = letters_note(tables["differences"], "pull_force")
    assert "(pull force, every comparison on every planned date)" in said
    assert "No letters" not in said
    told = letters_note(tables["differences"], "pull_force", "No letters stand on 4 April.")
    assert told.endswith("take it as not settled. No letters stand on 4 April.")
    # What reconciles letters with the wider intervals of the figure stands with the letters.
    assert "share no letter and the interval of their difference still holds zero" in told
    assert "does not say that they are alike" in said
