"""Recovery on the page: what closed when, what covers gained, and what that does not tell."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from bs4 import BeautifulSoup

from decisions.closing import AERATED, BLOCKS, SHOWN, TEXT, closing_trial, steady
from wintersward.analysis.results import empty
from wintersward.decisions.recovery import recovery_tables
from wintersward.report.frozen import freeze_of
from wintersward.report.page import Drawn, Page
from wintersward.report.recovering import recovering_context
from wintersward.report.recovering_figures import closure_picture
from wintersward.report.recovering_words import green_words
from wintersward.study import Trial
from wintersward.trial.schema import PhotoMeasure

Tables = dict[str, pd.DataFrame]
_DAYS = {("open", "hollow"): 26.0, ("fleece", "hollow"): 20.0}


def days_of(plot: Any) -> float:
    own = _DAYS.get((plot.cover, plot.tine), 10.0 if plot.cover == "fleece" else 12.0)
    return own + 0.3 * (int(plot.plot) % 4)


def holes(plot: Any, day: int) -> float:
    return steady(days_of(plot), day)


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    return closing_trial(tmp_path_factory.mktemp("page") / "study", holes)


@pytest.fixture(scope="module")
def run(trial: Trial) -> Tables:
    """Give what the stages before wrote, as far as recovery reads it."""
    days = pd.date_range(AERATED, periods=20, freq="D")
    sums = pd.DataFrame({"date": days, "plot": "", "sum": 6.0 * np.arange(20)})
    row = {"measure": "holes", "date": pd.Timestamp("2026-04-15"), "effect": "cover:tine"}
    row |= {"within": "", "left": "fleece:hollow-solid", "right": "open:hollow-solid"}
    row |= {"difference": 12.0, "se": 2.0, "df": 8.0, "lower": 6.0, "upper": 18.0, "p": 0.002}
    row |= {"role": "secondary", "comparisons": 28}
    return {"degree_day_sums": sums, "differences": pd.DataFrame([row])}


@pytest.fixture(scope="module")
def tables(trial: Trial, run: Tables) -> Tables:
    return run | recovery_tables(trial, run)


def page_of(trial: Trial, tables: Tables) -> Page:
    picture = closure_picture(tables, trial.definition)
    stream = io.BytesIO()
    picture.figure.savefig(stream, format="svg")
    drawn = Drawn(stream.getvalue(), "image/svg+xml", picture.alt, picture.caption)
    answered = empty("primary").reindex([0])
    means = pd.DataFrame([{"measure": "living"}])
    held = {"primary": answered, "means": means} | tables
    return Page(held, {"closure": drawn}, trial.definition, plots=trial.plots)


def shown(page: Page) -> BeautifulSoup:
    part = page._templates.get_template("sections/decisions/recovery.html.j2")
    made = part.render(freeze=freeze_of(page), **recovering_context(page))
    return BeautifulSoup(made, "html.parser")


def words(soup: BeautifulSoup) -> str:
    return " ".join(soup.get_text(" ").split()).replace(" )", ")")


@pytest.fixture(scope="module")
def soup(trial: Trial, tables: Tables) -> BeautifulSoup:
    return shown(page_of(trial, tables))


def test_the_lead_is_said_within_each_tine_and_between_them(
    soup: BeautifulSoup, tables: Tables
) -> None:
    said = [" ".join(p.get_text().split()) for p in soup.find_all("p")]
    gained = tables["closure_gained"].set_index(["left", "within"])
    hollow = gained.loc[("fleece", "tine=hollow"), "days"]
    start = f"With hollow tine, holes were 95 % closed {hollow:.1f} days sooner with fleece than "
    assert any(one.startswith(f"{start}with no cover (95 % interval ") for one in said)
    crossed = gained.loc[("fleece:hollow-solid", ""), "days"]
    lead = f"The lead of fleece over no cover was {crossed:.1f} days longer with hollow tine than "
    assert any(one.startswith(f"{lead}with solid tine (95 % interval ") for one in said)
    assert any("higher with fleece than with no cover (95 % interval" in one for one in said)


def test_every_number_is_that_of_its_line(soup: BeautifulSoup, tables: Tables) -> None:
    told = soup.find_all("data")
    assert {one["title"].partition(".")[0] for one in told} == {
        "closure_times",
        "closure_gained",
        "closure_contrast",
    }
    for one in told:
        name, line = one["title"].split(".csv:")
        row = tables[name].iloc[int(line) - 2]
        held = [value for value in row if isinstance(value, float)]
        assert np.isclose(held, float(one["value"]), rtol=1e-8, atol=0).any()


def test_limits_and_who_decides_are_said(soup: BeautifulSoup) -> None:
    said = words(soup)
    assert "straight lines between visits 7 days apart" in said
    assert "no interval takes in" in said
    assert "Closed holes do not mean that the turf bears play" in said
    assert "whoever answers for the field decides" in said
    assert "not adjusted for their number" in said
    assert "does not tell that it is the cause" in said
    assert "safe" not in said


def changed(tables: Tables, left: str, within: str, **other: object) -> Tables:
    gained = tables["closure_gained"].copy()
    at = (gained["left"] == left) & (gained["within"] == within)
    assert at.sum() == 1
    for name, value in other.items():
        gained.loc[at, name] = value
    return {**tables, "closure_gained": gained}


NAN = float("nan")
BARE = {"se": NAN, "lower": NAN, "upper": NAN, "p": NAN}


@pytest.mark.parametrize(
    ("other", "said"),
    [
        (
            {**BARE, "says": "at least", "days": 6.78, "right_after": 2},
            "at least 6.7 days sooner with fleece than with no cover (two of five subplots with no "
            "cover not there at the last visit); no interval can be given.",
        ),
        (
            {**BARE, "says": "at least", "days": -6.71, "left_before": 1},
            "at most 6.8 days later with fleece than with no cover (one of five subplots with "
            "fleece there at the first visit after the aeration); no interval can be given.",
        ),
        (
            {**BARE, "says": "at most", "days": 3.01, "left_after": 1},
            "at most 3.1 days sooner with fleece",
        ),
        (
            {**BARE, "says": "cannot be told", "days": NAN, "left_before": 5, "right_before": 5},
            "at times with fleece and with no cover that these data cannot tell apart",
        ),
        ({"days": -2.0, "lower": -3.5, "upper": -0.5}, "2.0 days later with fleece than with no "
         "cover (95 % interval 0.5 to 3.5)"),
    ],
)  # fmt: skip
def test_bounds_are_said_on_the_side_on_which_they_hold(
    trial: Trial, tables: Tables, other: dict[str, object], said: str
) -> None:
    found = changed(tables, "fleece", "tine=hollow", **other)
    text = words(shown(page_of(trial, found)))
    assert said in text


def test_a_lead_that_may_be_the_same_with_both_tines_is_not_told_apart(
    trial: Trial, tables: Tables
) -> None:
    found = changed(tables, "fleece:hollow-solid", "", days=0.8, lower=-1.0, upper=2.6)
    text = words(shown(page_of(trial, found)))
    assert (
        "was 0.8 days longer with hollow tine than with solid tine (95 % interval −1.0 to " in text
    )
    assert "these data cannot tell whether it was." in text
    lost = changed(tables, "fleece:hollow-solid", "", days=NAN, **BARE)
    assert "too many days are bounds" in words(shown(page_of(trial, lost)))


def test_nothing_is_shown_before_the_primary_question_has_its_data(
    trial: Trial, tables: Tables
) -> None:
    page = page_of(trial, {**tables, "primary": empty("primary")})
    soup = shown(page)
    assert soup.find("table") is None
    assert soup.find("img") is None
    assert "once the primary question has its data" in words(soup)


def test_a_trial_without_a_measure_of_holes_says_so(trial: Trial, tables: Tables) -> None:
    measures = {"living": trial.definition.measures["living"]}
    definition = trial.definition.model_copy(update={"measures": measures})
    nothing = {name: frame[frame["measure"] != "holes"] for name, frame in tables.items()
               if name.startswith("closure")}  # fmt: skip
    page = Page({"primary": empty("primary").reindex([0]), **nothing}, {}, definition)
    assert "No measure of this trial tells how far aeration holes had closed" in words(shown(page))
    alone = {"treatments": {"cover": definition.treatments["cover"]}}
    dates = {name: day for name, day in definition.dates.items() if name != "aeration"}
    never = definition.model_copy(update={**alone, "dates": dates})
    assert recovering_context(Page({}, {}, never)) == {"recovery": {}}


def test_a_demonstration_is_described_without_a_verdict(tmp_path: Path) -> None:
    text = TEXT.replace("    applied: aeration\n", "")
    trial = closing_trial(tmp_path / "study", holes, layout=SHOWN, text=text)
    soup = shown(page_of(trial, recovery_tables(trial, {})))
    said = words(soup)
    assert "One area of each treatment: described, no verdict." in said
    assert "interval" not in said.replace("which no interval takes in", "")
    assert soup.find("img") is not None
    assert len(soup.find_all("table")) == 1


class TestPicture:
    def test_its_words_hold_its_numbers(self, trial: Trial, tables: Tables) -> None:
        picture = closure_picture(tables, trial.definition)
        closure = tables["closure"]
        own = closure[(closure["cover"] == "open") & (closure["tine"] == "hollow")]
        means = own[own["measure"] == "holes"].groupby("days")["value"].mean()
        assert f"no cover {', '.join(f'{value:.0f}' for value in means)}" in picture.alt
        assert "means 7, 14, 21, 28 days after the aeration" in picture.alt
        assert "described and not compared" in picture.caption
        assert "as far as every day was seen" in picture.caption

    def test_there_is_a_panel_a_tine_and_one_of_warmth_beside_it(
        self, trial: Trial, tables: Tables
    ) -> None:
        figure = closure_picture(tables, trial.definition).figure
        assert len(figure.axes) == 4
        cold = {**tables, "closure": tables["closure"].assign(degree_days=NAN)}
        assert len(closure_picture(cold, trial.definition).figure.axes) == 2

    def test_warmth_is_in_the_unit_of_the_reader(self, trial: Trial, tables: Tables) -> None:
        us = trial.definition.model_copy(update={"units": "us"})
        ends = []
        for definition in (trial.definition, us):
            axes = closure_picture(tables, definition).figure.axes[-1]
            ends.append(axes.get_xlim()[1])
        assert ends[1] == pytest.approx(1.8 * ends[0])

    def test_without_holes_it_says_so(self, trial: Trial, tables: Tables) -> None:
        nothing = {"closure": tables["closure"].iloc[:0]}
        picture = closure_picture(nothing, trial.definition)
        assert picture.alt == "No aeration holes were looked at yet."


def test_green_cover_that_is_back_is_told_apart_from_holes(trial: Trial) -> None:
    photos = {"from": "photos", "dates": ["2026-03-24", "2026-04-01", "2026-04-08"]}
    held = {"green": PhotoMeasure.model_validate(photos)}
    definition = trial.definition.model_copy(update={"measures": held})
    censored = ["on or before", "", "", "after", "not known"]
    times = pd.DataFrame({"measure": "green", "censored": censored, "level": 95.0})
    times["days"] = [7.0, 9.2, 12.9, 14.0, NAN]
    dates = pd.to_datetime(["2026-03-24", "2026-04-01", "2026-04-08"])
    closure = pd.DataFrame({"measure": "green", "date": dates, "days": [-1, 7, 14]})
    said = green_words(times, closure, definition)
    assert said == (
        "After the aeration green was back at 95 % of what it had been on 24 March 2026, plot by "
        "plot: at the first visit, 1 April 2026 (one subplot), 9 to 13 days after it (two subplots)"
        " and not yet at the last visit (one subplot). One subplot had no value before it. Leaves "
        "grow in spring whether holes close or not, so that this says nothing of the holes."
    )
    assert green_words(times, closure.iloc[:1], definition) == ""


def test_in_blocks_of_all_combinations_plots_are_called_plots(tmp_path: Path) -> None:
    text = TEXT.replace("    applied: aeration\n", "")
    trial = closing_trial(tmp_path / "study", holes, layout=BLOCKS, text=text)
    said = words(shown(page_of(trial, recovery_tables(trial, {}))))
    assert "subplot" not in said
    assert "Single plots, described" in said
