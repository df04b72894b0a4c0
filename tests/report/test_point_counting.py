"""Counted photos on the page: words with their numbers, tables, the picture, nothing too early."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.report.page import Page
from wintersward.report.point_counting import (
    agreed_words,
    calibration_words,
    photos_table,
    point_count_context,
    points_table,
)
from wintersward.report.point_figures import (
    count_pictures,
    counts_against_scores,
    counts_against_scores_alt,
)
from wintersward.trial import Definition

MEASURE = "green_cover"
Tables = dict[str, pd.DataFrame]


@pytest.fixture
def counts() -> pd.DataFrame:
    """Twelve photos, two raters, a rater's unsure crosses, one photo set aside."""
    rows = []
    for photo in range(1, 13):
        scored = 8.0 * photo
        for rater, ahead in (("rx", 0), ("te", 2)):
            green = 7 * photo + ahead
            rows.append((photo, rater, 100, green, 2, 100 * green / 98, scored))
    columns = ["photo", "rater", "points", "green", "unsure", "counted", "scored"]
    frame = pd.DataFrame(rows, columns=columns)
    aside = np.where(frame["photo"] == 12, "in shadow", "")
    day = pd.Timestamp("2026-03-24")
    return frame.assign(measure=MEASURE, date=day, plot="101", sample=1, excluded=aside)


@pytest.fixture
def agreed() -> pd.DataFrame:
    apart, alone = "score less count", "crosses alone"
    rows = [
        ("photos", "counted", 11.0, np.nan, np.nan, "of 24 photos drawn, 11 are used"),
        ("bias", apart, 5.24, 3.1, 7.4, "on average the score reads higher; of these photos"),
        ("sd", apart, 6.0, np.nan, np.nan, "spread"),
        ("limits", "lower", -6.5, -9.0, -4.0, "limits"),
        ("limits", "upper", 17.0, 14.0, 20.0, "limits"),
        ("sd", alone, 4.5, np.nan, np.nan, "alone"),
        ("share", alone, 56.25, np.nan, np.nan, "share"),
        ("bias", "rx less te", -2.04, -2.1, -1.9, "raters"),
        ("sd", "rx less te", 0.3, np.nan, np.nan, "raters"),
        ("ICC", "single rating, absolute agreement", 0.981, 0.95, 0.99, "icc"),
    ]
    columns = ["what", "form", "value", "lower", "upper", "text"]
    return pd.DataFrame(rows, columns=columns).assign(measure=MEASURE, n=11, points=1078)


@pytest.fixture
def lines() -> pd.DataFrame:
    row = {"measure": MEASURE, "done": "yes", "photos": 24, "points": 2400, "intercept": -1.2}
    row |= {"slope": 0.914, "slope_se": 0.02, "low": 8.0, "high": 88.0, "error_before": 7.9}
    return pd.DataFrame([row | {"error_after": 4.41, "text": "calibrated as a supporting look"}])


@pytest.fixture
def beside() -> pd.DataFrame:
    row = {"analysis": "calibrated", "measure": MEASURE, "left": "fleece", "right": "open"}
    return pd.DataFrame([row | {"difference": 10.05, "lower": 4.0, "upper": 16.1}])


def plain(parts: list[object]) -> list[str]:
    return [str(part) for part in parts]


def test_the_words_hold_every_number_with_its_place(
    agreed: pd.DataFrame, counts: pd.DataFrame, definition: Definition
) -> None:
    said = agreed_words(agreed, counts, definition, MEASURE)
    assert plain(said) == [
        "Of 24 photos drawn, 11 are used (counted by R. Example and T. Example).",
        "On average the score reads higher: +5.2 points, score less count (+3.1 to +7.4).",
        "From photo to photo, score less count spreads by 6.0 points (standard deviation); so few "
        "crosses would give up to 4.5 points of it by chance alone.",
        "About 95 of 100 photos lie between −6.5 and +17.0 points, score less count.",
        "On the same crosses T. Example counted 2.0 points more green than R. Example, with a "
        "standard deviation of 0.3 points between photos.",
    ]
    tied = BeautifulSoup(str(said[1].__html__()), "html.parser").find_all("data")
    assert [(one["title"], one["value"]) for one in tied] == [
        ("point_agreement.csv:3", "5.24"),
        ("point_agreement.csv:3", "3.1"),
        ("point_agreement.csv:3", "7.4"),
    ]


def test_a_demonstration_has_no_ends(
    agreed: pd.DataFrame, counts: pd.DataFrame, laid_out: Callable[..., Definition]
) -> None:
    shown = laid_out("demonstration")
    kept = agreed[
        agreed["what"].isin(["photos", "bias", "sd"]) & (agreed["form"] != "crosses alone")
    ]
    kept = kept.drop(columns=["lower", "upper"]).reset_index(drop=True)
    said = plain(agreed_words(kept, counts, shown, MEASURE))
    assert said[1] == "On average the score reads higher: +5.2 points, score less count."
    assert said[2].endswith("(standard deviation).")
    table = points_table(kept, shown, MEASURE)
    assert "interval" not in table
    figure = counts_against_scores(counts, pd.DataFrame(), shown, MEASURE)
    assert not figure.axes[0].collections
    (picture,) = count_pictures(counts, kept, pd.DataFrame(), shown, MEASURE)
    assert "95" not in picture.caption
    assert picture.alt.endswith("On average score less count is +5.2 points.")


def test_what_a_calibration_gives(
    lines: pd.DataFrame, beside: pd.DataFrame, definition: Definition
) -> None:
    assert plain(calibration_words(lines, beside, definition, MEASURE)) == [
        "Calibrated as a supporting look; its error is 4.41 points with the line, 7.90 without.",
        "The line is: count = −1.2 % + 0.91 × score, from scores of 8 to 88 %. The answer is not "
        "touched by it.",
        "On the scale of the count spun-bond fleece minus no cover would be +10.1 points (+4.0 to "
        "+16.1).",
    ]
    assert calibration_words(lines.iloc[:0], beside, definition, MEASURE) == []


def test_why_there_is_no_calibration(
    lines: pd.DataFrame, beside: pd.DataFrame, definition: Definition
) -> None:
    few = lines.assign(done="no", text="not calibrated: too few", error_after=np.nan)
    said = plain(calibration_words(few, beside, definition, MEASURE))
    assert said == ["Not calibrated: too few."]
    worse = lines.assign(done="no", text="not calibrated: no better", error_after=7.95)
    (one,) = plain(calibration_words(worse, beside, definition, MEASURE))
    assert one == "Not calibrated: no better; its error is 7.95 points with the line, 7.90 without."


def test_the_tables(agreed: pd.DataFrame, counts: pd.DataFrame, definition: Definition) -> None:
    rows = BeautifulSoup(points_table(agreed, definition, MEASURE), "html.parser").find_all("tr")
    assert [cell.get_text() for cell in rows[1].find_all(["th", "td"])] == [
        "bias",
        "score less count",
        "+5.2",
        "+3.1 to +7.4",
        "11",
    ]
    assert len(rows) == 10
    listed = BeautifulSoup(photos_table(counts, definition, MEASURE), "html.parser")
    assert len(listed.find_all("tr")) == 25
    assert "in shadow" in listed.get_text()


def test_the_picture(counts: pd.DataFrame, lines: pd.DataFrame, definition: Definition) -> None:
    (axes,) = counts_against_scores(counts, lines, definition, MEASURE).axes
    equal, line, marks = axes.lines
    assert [list(equal.get_xdata()), list(equal.get_ydata())] == [[0, 100], [0, 100]]
    assert list(line.get_ydata()) == pytest.approx([-1.2 + 0.914 * 8, -1.2 + 0.914 * 88])
    # Raters are averaged, and what is set aside is not drawn.
    assert list(marks.get_xdata()) == [8.0 * photo for photo in range(1, 12)]
    assert list(marks.get_ydata()) == pytest.approx(
        [100 * (7 * photo + 1) / 98 for photo in range(1, 12)]
    )
    bars = axes.collections[0].get_segments()
    for (_, low), (_, high) in bars:
        assert 0 <= low < high <= 100


def test_bars_are_binomial_intervals(counts: pd.DataFrame, definition: Definition) -> None:
    """Wilson's interval of 50 in 100: 40.4 to 59.6 (scipy 1.14, binomtest, method wilson)."""
    one = counts.iloc[[0]].assign(points=102, unsure=2, green=50, counted=50.0)
    none = pd.DataFrame(columns=["measure", "done"])
    (axes,) = counts_against_scores(one, none, definition, MEASURE).axes
    ((_, low), (_, high)) = axes.collections[0].get_segments()[0]
    assert (low, high) == pytest.approx((40.383, 59.617), abs=1e-3)


def test_its_words_for_those_who_do_not_see_it(
    counts: pd.DataFrame, agreed: pd.DataFrame, definition: Definition
) -> None:
    said = counts_against_scores_alt(counts, agreed, definition, MEASURE)
    assert "11 photos" in said.replace("eleven", "11")
    assert "scores from 8 to 88, counts from 8 to 80" in said
    assert "+5.2 (+3.1 to +7.4) points" in said
    none = counts.iloc[:0]
    assert counts_against_scores_alt(none, agreed, definition, MEASURE).endswith("counted yet.")
    figure = counts_against_scores(none, pd.DataFrame(), definition, MEASURE)
    assert "no photo counted yet" in figure.texts[0].get_text()
    assert count_pictures(none, agreed, pd.DataFrame(), definition, MEASURE) == []


class TestSection:
    @pytest.fixture
    def filled(
        self,
        tables: Tables,
        counts: pd.DataFrame,
        agreed: pd.DataFrame,
        lines: pd.DataFrame,
        make_page: Callable[..., Page],
        definition: Definition,
    ) -> Page:
        more = {"point_counts": counts, "point_agreement": agreed, "calibration": lines}
        return make_page(tables | more, definition)

    def test_it_shows_words_picture_and_tables(self, filled: Page) -> None:
        soup = BeautifulSoup(filled.section("point_count").html, "html.parser")
        assert soup.h2.get_text() == "Photos checked by people"
        assert len(soup.find_all("img")) == 1
        assert len(soup.find_all("table")) == 2
        text = " ".join(soup.get_text().split())
        assert "neither the date nor the plot nor its treatment; a picture may show" in text
        assert "The answer is not touched by it." in text

    def test_values_of_plots_wait(
        self,
        early: Tables,
        counts: pd.DataFrame,
        agreed: pd.DataFrame,
        make_page: Callable[..., Page],
        definition: Definition,
    ) -> None:
        page = make_page(early | {"point_counts": counts, "point_agreement": agreed}, definition)
        assert page.waiting
        soup = BeautifulSoup(page.section("point_count").html, "html.parser")
        assert len(soup.find_all("table")) == 1
        assert "the values of single photos are left out" in soup.get_text()
        names = [one["name"] for one in page_tables(page)]
        assert "point_agreement" in names
        assert "point_counts" not in names

    def test_nobody_has_counted(
        self, tables: Tables, make_page: Callable[..., Page], definition: Definition
    ) -> None:
        html = make_page(tables, definition).section("point_count").html
        text = " ".join(BeautifulSoup(html, "html.parser").get_text().split())
        assert "cannot tell how far the scores lie from what a person sees" in text

    def test_without_green_cover_it_says_nothing(
        self, tables: Tables, make_page: Callable[..., Page], definition: Definition
    ) -> None:
        kept = {n: m for n, m in definition.measures.items() if m.from_ != "photos"}
        page = make_page(tables, definition)
        other = Page(tables, {}, definition.model_copy(update={"measures": kept}))
        assert not point_count_context(other)["uses"]
        assert point_count_context(page)["uses"]
        assert other.section("point_count").html.strip() == ""


def page_tables(page: Page) -> list[dict[str, object]]:
    from wintersward.report.sections import CONTEXTS

    return list(CONTEXTS["appendix"](page)["tables"])
