from __future__ import annotations

import math

import pandas as pd

from wintersward.report.interactions import asked_crossing
from wintersward.report.second_question import second_words
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def test_each_date_is_told_within_the_treatments_and_with_the_holes(
    tables: Tables, definition: Definition
) -> None:
    first, last, holes, _ = map(str, second_words(tables["differences"], definition))
    start = "Green cover with ‘Hollow tine 3/4 in’ minus that with ‘Solid tine 3/8 in’ on "
    assert first.startswith(start + "4 April 2026, in points: ")
    assert last.startswith(start + "17 April 2026, in points: ")
    for label in ("no cover", "spun-bond fleece", "woven permeable cover"):
        assert f") with {label}" in last
    # Circles of 3/4 and of 3/8 in, each in a square of 2 in: 11.0 less 2.8 % of the surface.
    assert holes == (
        "Up to about 8 points of these differences may be open holes, which are not green, and no "
        "turf that was lost."
    )


def test_holes_are_not_told_of_what_no_photo_saw(tables: Tables, definition: Definition) -> None:
    primary = definition.analysis.primary.model_copy(update={"measure": "colour_rating"})
    analysis = definition.analysis.model_copy(update={"primary": primary})
    rated = definition.model_copy(update={"analysis": analysis})
    said = list(map(str, second_words(tables["differences"], rated)))
    assert said[0].startswith("Colour rating with ")
    assert not any("holes" in words for words in said)


def test_the_question_of_one_factor_changing_the_other_is_asked_and_answered(
    tables: Tables, definition: Definition
) -> None:
    rows = tables["differences"].copy()
    at = asked_crossing(rows, definition, "green_cover")
    numbers = ["difference", "lower", "upper", "se"]
    rows.loc[at, numbers] = [5.6, -3.7, 15.1, 3.0]
    crossed = second_words(rows, definition)[-1]
    start = (
        "Did the cover change what the aeration did? On 17 April 2026 the difference in green "
        "cover (‘hollow tine 3/4 in’ minus ‘solid tine 3/8 in’) was "
    )
    open_end = "from these two treatments these data cannot tell whether the cover changed it."
    assert str(crossed) == (
        f"{start}6 points higher with spun-bond fleece than with no cover (95 % interval from 4 "
        f"points lower to 15 points higher): {open_end}"
    )
    assert f"differences.csv:{at + 2}" in str(crossed.__html__())
    tests = tables["tests"].copy()
    for p, hint in ((0.025, True), (0.2, False)):
        tests.loc[tests["term"] == "cover:aeration", "p"] = p
        said = str(second_words(rows, definition, tests)[-1])
        assert said.endswith(
            " Three cover treatments together hint that it did (F test, p = 0.025; secondary, not "
            "adjusted)."
            if hint
            else open_end
        )
    rows.loc[at, numbers] = [-9.0, -14.0, -4.0, 2.0]
    clear = str(second_words(rows, definition, tests)[-1])
    assert clear == (
        f"{start}9 points lower with spun-bond fleece than with no cover (95 % interval 4 to 14 "
        "points lower): the whole interval is on one side of zero."
    )


def test_without_another_factor_or_an_estimate_nothing_is_said(
    tables: Tables, definition: Definition
) -> None:
    rows = tables["differences"]
    assert second_words(rows[rows["effect"] == "cover"], definition) == []
    assert second_words(rows.assign(difference=math.nan), definition) == []
