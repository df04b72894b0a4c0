"""Recovery on the page: what closed when, what covers gained, and what that does not tell."""

from __future__ import annotations

import datetime as dt
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
from wintersward.report.recovering_words import contrast_words, green_words
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
    inner = {"effect": "tine", "left": "hollow", "right": "solid"}
    gaps = [
        row | inner | {"within": f"cover={cover}", "difference": gap}
        for cover, gap in (("fleece", -23.0), ("open", -35.0))
    ]
    return {"degree_day_sums": sums, "differences": pd.DataFrame([row, *gaps])}


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
    # Holes of either cover were seen to close from one visit to the next, seven days later.
    start = f"With hollow tine, holes were 95 % closed about {hollow:.1f} days sooner with fleece "
    start += "than with no cover, read off straight lines between visits up to 7 days apart. By "
    start += "the visits themselves they got there between 8 and 15 April 2026 with fleece and "
    start += "between 15 and 22 April 2026 with no cover: the lead may be anything up to 14 days. "
    # The spread between plots that share their visits says nothing of these days.
    assert start.rstrip() in said
    assert not any("spread between plots alone" in one for one in said)
    crossed = gained.loc[("fleece:hollow-solid", ""), "days"]
    lead = (
        f"Read off the same lines, the lead of fleece over no cover was about {crossed:.1f} days "
    )
    lead += "longer with hollow tine than with solid tine; by the visits themselves it may be "
    lead += "anything from 7 days shorter to 21 longer: these data cannot tell whether it was."
    assert any(one.startswith(lead) for one in said)
    assert "Did it depend on the cover what the tine left behind?" in words(soup)
    assert any("The two differ by 12 points (95 % interval 6 to 18 points)." in one for one in said)


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
    assert "may have been so some days before it" in said
    assert "left out where the visits lie further apart than it is wide" in said
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
            "at least 6.7 days sooner with fleece than with no cover (two of five plots with no "
            "cover not there at the last visit); no interval can be given.",
        ),
        (
            {**BARE, "says": "at least", "days": -6.71, "left_before": 1},
            "at most 6.8 days later with fleece than with no cover (one of five plots with "
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
        (
            {"days": -2.0, "lower": -3.5, "upper": -0.5, "apart": 1.0},
            "2.0 days later with fleece than with no cover (95 % interval 0.5 to 3.5)",
        ),
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
    found = changed(tables, "fleece:hollow-solid", "", days=0.8, lower=-1.0, upper=2.6, apart=1.0)
    text = words(shown(page_of(trial, found)))
    assert (
        "was 0.8 days longer with hollow tine than with solid tine (95 % interval −1.0 to " in text
    )
    assert "these data cannot tell whether it was." in text
    lost = changed(tables, "fleece:hollow-solid", "", days=NAN, **BARE)
    assert "too many days are bounds" in words(shown(page_of(trial, lost)))


def test_where_visits_lie_closer_than_the_interval_is_wide_it_is_given(
    trial: Trial, tables: Tables
) -> None:
    near = changed(tables, "fleece", "tine=hollow", days=6.0, lower=4.0, upper=8.0, apart=3.0)
    said = words(shown(page_of(trial, near)))
    assert "sooner with fleece than with no cover (95 % interval 4.0 to 8.0)." in said
    far = changed(
        tables, "fleece", "tine=hollow", days=-6.0, lower=-6.2, upper=-5.8, apart=7.0,
        visits_low=-13.5, visits_high=1.2,
    )  # fmt: skip
    said = words(shown(page_of(trial, far)))
    assert "about 6.0 days later with fleece" in said
    assert "the lead may be anything from 2 days sooner to 14 later." in said


def test_rows_of_the_table_say_how_days_are_known(trial: Trial, tables: Tables) -> None:
    tables_shown = shown(page_of(trial, tables)).find_all("table")
    gained = next(one for one in tables_shown if "closed sooner" in one.caption.get_text())
    heads = [" ".join(head.get_text(" ").split()) for head in gained.find("tr").find_all("th")]
    assert "as" in heads
    assert not any("of the plots alone" in head for head in heads)
    cells = [[" ".join(td.get_text().split()) for td in row("td")] for row in gained("tr")[1:]]
    assert {row[0] for row in cells} == {"read off"}
    hollow = next(row for row in cells if row[2] == "0 to +14")
    assert hollow[4] == "–"


def test_an_interval_of_the_plots_stands_where_visits_lie_closer(
    trial: Trial, tables: Tables
) -> None:
    near = changed(tables, "fleece", "tine=hollow", lower=4.0, upper=8.0, apart=3.0, p=0.01)
    tables_shown = shown(page_of(trial, near)).find_all("table")
    gained = next(one for one in tables_shown if "closed sooner" in one.caption.get_text())
    heads = [" ".join(head.get_text(" ").split()) for head in gained.find("tr").find_all("th")]
    assert any(head.startswith("95 % interval, of the plots alone") for head in heads)
    cells = [[" ".join(td.get_text().split()) for td in row("td")] for row in gained("tr")[1:]]
    given = [row[2] for row in cells]
    assert given.count("–") == len(given) - 1
    assert "+4.0 to +8.0" in given


def test_both_gaps_are_told_on_the_last_visit_up_to_the_first_use(
    trial: Trial, tables: Tables
) -> None:
    row = tables["closure_contrast"].iloc[0]
    assert row["gap_left"] == -23.0
    rows = [row, row.copy()]
    rows[1]["date"] = pd.Timestamp("2026-04-22")
    found = {**tables, "closure_contrast": pd.DataFrame(rows).reset_index(drop=True)}
    first_use = {"dates": {**trial.definition.dates, "first_event": AERATED + dt.timedelta(24)}}
    definition = trial.definition.model_copy(update=first_use)
    said = [str(one) for one in contrast_words(found["closure_contrast"], definition)]
    assert said == [
        "On 15 April 2026 hollow tine lagged behind solid tine in holes by 35 points with no cover "
        "and by 23 points with fleece. The two differ by 12 points (95 % interval 6 to 18 points)."
    ]
    full = found["closure_contrast"].assign(full="solid")
    assert str(contrast_words(full, definition)[0]) == (
        "On 15 April 2026 all plots with solid tine stood at 100 %, with fleece and with no cover "
        "alike; with hollow tine, holes was 12 points higher with fleece than with no cover (95 % "
        "interval 6 to 18 points)."
    )
    mixed = found["closure_contrast"].assign(gap_left=5.0, gap_right=-7.0, lower=-1.0)
    assert str(contrast_words(mixed, definition)[0]) == (
        "On 15 April 2026 holes with hollow tine less that with solid tine was −7 points with no "
        "cover and +5 points with fleece. The two differ by 12 points (95 % interval from 1 point "
        "lower to 18 points higher): these data cannot tell whether it depends on the cover."
    )


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
    assert "interval" not in said
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
        "plot: at the first visit, 1 April 2026 (one plot), 9 to 13 days after it (two plots)"
        " and not yet at the last visit (one plot). One plot had no value before it. Leaves "
        "grow in spring whether holes close or not, so that this says nothing of the holes."
    )
    assert green_words(times, closure.iloc[:1], definition) == ""


def test_in_blocks_of_all_combinations_plots_are_called_plots(tmp_path: Path) -> None:
    text = TEXT.replace("    applied: aeration\n", "")
    trial = closing_trial(tmp_path / "study", holes, layout=BLOCKS, text=text)
    said = words(shown(page_of(trial, recovery_tables(trial, {}))))
    assert "subplot" not in said
    assert "Single plots, described" in said
