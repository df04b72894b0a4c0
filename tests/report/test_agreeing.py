from __future__ import annotations

import pandas as pd
from bs4 import BeautifulSoup

from wintersward.report.agreeing import (
    agreement_table,
    agreement_words,
    eye_words,
    rater_gaps,
    rater_words,
    raters_table,
)
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]


def rows_of(html: str) -> list[list[str]]:
    soup = BeautifulSoup(html, "html.parser")
    return [
        [" ".join(c.get_text().split()) for c in line.find_all(["th", "td"])]
        for line in soup.select("tbody tr")
    ]


def test_raters_and_photo_have_a_table_each(tables: Tables, definition: Definition) -> None:
    found = tables["agreement"]
    raters = rows_of(agreement_table(found, definition, "colour_rating", "raters"))
    assert raters[0] == ["ICC", "single rating", "0.70", "0.60 to 0.75", "36"]
    photo = agreement_table(found, definition, "colour_rating", "green_cover")
    assert "Colour rating and green cover: agreement" in photo
    assert rows_of(photo)[0][0] == "Repeated-measures correlation"
    assert agreement_table(found, definition, "green_cover", "raters") == ""


def test_limits_are_in_the_readers_unit(tables: Tables, definition: Definition) -> None:
    # 44.482 N are 10 lbf: 0.45359237 kg times 9.80665 m/s2, NIST SP 811.
    one = tables["agreement"].iloc[[0]].assign(
        measure="pull_force", statistic="bias", form="eye less photo", value=44.482,
        lower=22.241, upper=66.723,
    )  # fmt: skip
    html = agreement_table(one, definition, "pull_force", "raters")
    assert rows_of(html)[0][2:4] == ["+10", "+5 to +15"]
    assert "Bias and limits are in lbf." in html


def test_the_same_words_are_said_once(tables: Tables) -> None:
    said = agreement_words(tables["agreement"], "colour_rating", "raters")
    assert [names for names, _ in said] == ["ICC, single rating", "ICC, mean of the raters"]
    alike = tables["agreement"].assign(text="the same.")
    assert agreement_words(alike, "colour_rating", "raters") == [
        ("ICC, single rating and ICC, mean of the raters", "the same")
    ]


def test_drift_is_shown_date_by_date(tables: Tables, definition: Definition) -> None:
    html = raters_table(tables["raters"], definition, "colour_rating")
    assert rows_of(html)[0] == ["10 March 2026", "+0.20", "−0.20", "36"]
    assert len(rows_of(html)) == 3
    gone = tables["raters"].drop(index=0)
    assert rows_of(raters_table(gone, definition, "colour_rating"))[0][1:3] == ["+0.20", "–"]
    assert raters_table(tables["raters"], definition, "green_cover") == ""


def test_two_raters_are_told_apart_in_one_sentence(tables: Tables, definition: Definition) -> None:
    found = tables["raters"]
    said = rater_words(found, definition, "colour_rating")
    assert said == "T. Example marked 0.4 higher than R. Example on every date (0.4 to 0.4)."
    first = found["date"] == found["date"].min()
    crossing = found.assign(severity=found["severity"].where(~first, -found["severity"] / 2))
    said = rater_words(crossing, definition, "colour_rating")
    assert said == "T. Example marked 0.2 higher than R. Example on average (−0.2 to +0.4)."
    one = rater_words(found[first], definition, "colour_rating")
    assert one == "T. Example marked 0.4 higher than R. Example on the one date with both."
    assert rater_words(found, definition, "green_cover") == ""
    three = pd.concat([found, found.iloc[[0]].assign(rater="vy")])
    assert rater_gaps(three).empty


def test_the_eye_is_held_against_the_photo_on_one_date(
    tables: Tables, definition: Definition
) -> None:
    one = tables["agreement"].iloc[[0]].assign(
        against="green_cover", statistic="repeated-measures correlation", value=0.609,
        form="between plots, within dates", lower=0.516, upper=0.688,
    )  # fmt: skip
    (said,) = eye_words(one, definition, "colour_rating")
    assert str(said) == (
        "From plot to plot on one date the eye and green cover from photos went together with "
        "r = 0.61 (95 % interval 0.52 to 0.69)."
    )
    assert 'title="agreement.csv:2"' in str(said.__html__())
    over = one.assign(form="over the dates, within plots")
    assert eye_words(over, definition, "colour_rating") == []
    assert eye_words(one.assign(value=float("nan")), definition, "colour_rating") == []


def test_few_words_keep_absolute_agreement_on_one_date(tables: Tables) -> None:
    forms = [
        f"single rating, {kind}, {over}"
        for kind in ("absolute agreement", "consistency")
        for over in ("all dates", "within dates")
    ]
    row = tables["agreement"].iloc[[0]]
    held = pd.concat([row.assign(form=form, text=form) for form in forms], ignore_index=True)
    assert [words for _, words in agreement_words(held, "colour_rating", "raters", few=True)] == [
        "single rating, absolute agreement, within dates"
    ]
    assert len(agreement_words(held, "colour_rating", "raters")) == 4
