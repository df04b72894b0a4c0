"""Ways to aerate as a reader meets them: arithmetic with its sources, and who decides."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from numbers import Number
from types import SimpleNamespace
from typing import Any, cast

import jinja2
import pandas as pd
import pytest
from bs4 import BeautifulSoup

from wintersward.analysis.decision_columns_aeration import AERATION
from wintersward.decisions.planner import aeration_options
from wintersward.decisions.rows import framed
from wintersward.handin.page_numbers import numbers_of
from wintersward.paths import template
from wintersward.report.aerating import aerating_context
from wintersward.report.aerating_cautions import aerating_cautions
from wintersward.report.aerating_days import day_words
from wintersward.report.aerating_spare import days_table, spare_words
from wintersward.report.frozen import freeze_of
from wintersward.report.page import Page
from wintersward.report.said import raw_text
from wintersward.study import Trial
from wintersward.trial import Definition
from wintersward.trial.decided import Decisions

PLACE = "study/sections/decisions/aeration.html.j2"
ANSWERED = pd.DataFrame({"difference": [1.0]})
TINE: dict[str, Any] = {"kind": "hollow", "spacing": ["2 in", "2 in"], "depth": "3 in"}
NONE = framed(AERATION["aeration_days"])
PLANNED: dict[str, Any] = {
    "topdressing": "0.125 in",
    "area_each_year": "15 %",
    "sand_each_year": "0.25 in",
    "options": {
        "half_inch": {
            "label": "Half inch <b>",
            "tine": TINE | {"outside": "0.5 in", "inside": "0.375 in"},
        },
        "twice": {
            "label": "Three eighths, twice",
            "tine": TINE | {"outside": "0.375 in", "inside": "0.25 in"},
            "passes": 2,
        },
    },
}


def with_plans(definition: Definition, **more: object) -> Definition:
    decisions = Decisions.model_validate({"aeration": PLANNED | more})
    return definition.model_copy(update={"decisions": decisions})


def table(definition: Definition, lengthening: float = 1.0) -> pd.DataFrame:
    """Make the table as a run would, with another warmth of the soil put in."""
    trial = cast("Trial", SimpleNamespace(definition=definition, ready=True))
    found = aeration_options(trial, {})
    if lengthening != 1:
        known = found["days_low"].notna()
        for name in ("days_low", "days_high"):
            found[name] *= lengthening
        found["spare_low"] = found["days_available"] - found["days_high"]
        found["spare_high"] = found["days_available"] - found["days_low"]
        found.loc[known, "days_basis"] = (
            "published, scaled by diameter, lengthened for the warmth of the soil"
        )
        found.loc[known, ["warmth", "good_warmth", "lengthening"]] = (8.5, 15.5, lengthening)
        found.loc[known, "warmth_from"] = pd.Timestamp("2026-03-25")
        found.loc[known, "warmth_to"] = pd.Timestamp("2026-04-17")
    return found


def html(definition: Definition, found: pd.DataFrame, **tables: pd.DataFrame) -> str:
    page = Page({"aeration_options": found, "primary": ANSWERED} | tables, {}, definition)
    text = template("reports", PLACE).read_text(encoding="utf-8")
    made = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    ).from_string(text)
    return made.render(freeze=freeze_of(page), **aerating_context(page))


@pytest.fixture(scope="module")
def plans(definition: Definition) -> Definition:
    return with_plans(definition)


@pytest.fixture(scope="module")
def made(plans: Definition) -> str:
    return html(plans, table(plans, 1.82))


def test_every_number_is_that_of_its_row(plans: Definition, made: str) -> None:
    found, numbers = table(plans, 1.82), numbers_of(made)
    assert len(numbers) > 50
    for number in numbers:
        file, _, line = number.source.partition(":")
        assert file == "aeration_options.csv"
        row = found.loc[int(line) - 2]
        assert number.value in {raw_text(value) for value in row if isinstance(value, Number)}


def test_areas_days_and_sand_stand_in_their_rows(made: str) -> None:
    days, first, second = BeautifulSoup(made, "html.parser").find_all("table")
    rows = [row.get_text("|", strip=True) for row in first.find_all("tr")]
    # 11.04 % and 7.07 % of the ground, 15 to 21 days times 1.82, of 24.
    assert any("3/4 in|1|36|11.0|7.1" in row for row in rows)
    waits = [row.get_text("|", strip=True) for row in days.find_all("tr")]
    assert any("3/4 in|27|to|38|−14|to|−3|published, lengthened" in row for row in waits)
    assert any("3/8 in|–|–|no figure known" in row for row in waits)
    assert "95 % of their area, a mark of this report (common practice, no source)" in made
    sand = [row.get_text("|", strip=True) for row in second.find_all("tr")]
    # 36.8 ft3 of sand at about 100 lb: two digits; two passes of 11.04 % to 15 %.
    assert any("23.6|36.8|3700|28|2|2" in row for row in sand)
    assert "A solid hole closes from its sides: take far less (common practice, no source)" in made


def test_metric_readers_have_metric_numbers(plans: Definition) -> None:
    metric = plans.model_copy(update={"units": "metric"})
    words = BeautifulSoup(html(metric, table(metric, 1.82)), "html.parser").get_text(" ")
    assert "1/m²" in words
    assert "for 100 m²" in words
    assert "13 to 18 °C (Owen 2013)" in words
    assert "°F" not in words
    assert "yd³" not in words
    assert "1000 ft²" not in words.replace("(40 to 50 ft³ per 1000 ft²)", "")


def test_labels_are_escaped(made: str) -> None:
    assert "Half inch &lt;b&gt;" in made
    assert "<b>" not in made


def test_what_is_left_over_is_said_of_each_with_who_decides(plans: Definition, made: str) -> None:
    said = [str(one) for one in spare_words(table(plans, 1.82), NONE, plans)]
    assert "no figure is known for solid tines" in said[0]
    assert said[1].endswith("its holes are open 3 to 14 days longer than there are.")
    assert said[2].endswith("it may be either, from 1 day too few to 6 to spare.")
    assert said[3].endswith("its holes have closed with 5 to 10 days to spare.")
    assert "Whoever answers for it looks at the turf itself, and decides." in made


def test_holes_that_were_open_at_the_end_leave_it_open(plans: Definition) -> None:
    found = table(plans)
    found[["days_high", "spare_low", "known_high"]] = math.nan
    said = [str(one) for one in spare_words(found, NONE, plans)]
    assert said[1].endswith(
        "at best 9 days to spare; some holes were still open when they were last seen."
    )
    assert "15 or more" in html(plans, found).replace("</data>", "").replace("\n", "").replace(
        '">15', "15"
    )


def test_without_a_first_use_nothing_is_left_over(plans: Definition) -> None:
    dates = {name: day for name, day in plans.dates.items() if name != "first_event"}
    bare = plans.model_copy(update={"dates": dates})
    found = table(bare)
    assert "without a day of first use" in str(spare_words(found, NONE, bare)[1])
    assert "names no day of first use" in html(bare, found)


def test_days_carry_their_source_and_their_assumptions(plans: Definition) -> None:
    said = " ".join(map(str, day_words(table(plans, 1.82), plans)))
    assert said.count("Published are 10 to 14 days for holes of 0.5 in (note of a golf course") == 1
    assert "15.3 degree days [°F] a day" in said
    assert "in the middle of 55 to 64 °F (Owen 2013), it would have 27.9" in said
    assert "1.8 times as many; that holes close in proportion is assumed." in said
    assert "Landreth et al. 2007–08" in said
    assert "at any spacing" in said


def test_without_degree_days_it_is_said_that_nothing_was_made_longer(plans: Definition) -> None:
    said = " ".join(map(str, day_words(table(plans), plans)))
    assert (
        "so nothing was made longer; in cold soil holes stay open far longer (from memory)" in said
    )


def test_what_the_definition_states_is_named_as_such(plans: Definition) -> None:
    stated = {"diameter": "0.5 in", "days": [14, 21], "source": "our field"}
    own = with_plans(plans, recovery=stated)
    said = str(day_words(table(own), own)[0])
    assert said == (
        "The definition states 14 to 21 days for holes of 0.5 in (our field). They are taken as "
        "written, whatever the warmth of the soil."
    )


def test_the_sand_of_a_topdressing_and_of_a_year(made: str) -> None:
    words = " ".join(BeautifulSoup(made, "html.parser").get_text("").split())
    # 1/8 in on 1000 ft2: 10.417 ft3 and 0.386 yd3.
    said = "A topdressing of 0.125 in is 10.4 ft³ (0.39 yd³) or about 1000 lb of dry sand for"
    assert said in words
    assert "Of these 2 come to the 0.25 in that the definition wants in a year." in words
    assert "The definition wants 15 % of the ground hit in a year." in words
    assert "Daniels 2018: one cubic foot of dry sand weighs about 100 pounds" in words


@pytest.mark.parametrize("units", ["us", "metric"])
def test_cautions_are_there_with_their_sources(plans: Definition, units: str) -> None:
    said = html(plans.model_copy(update={"units": units}), table(plans))
    cautions = aerating_cautions(units)
    words = BeautifulSoup(said, "html.parser").get_text(" ")
    for caution in cautions:
        assert caution.source
        assert caution.text in words
    for wanted in ("golf greens, not of sports fields", "whether the roots bear", "turf grows"):
        assert any(wanted in caution.text for caution in cautions)
    said = " ".join(words.split())
    assert "Before the machine goes out Not before every pin and staple is counted out of " in said
    assert "frozen or saturated turf: see Cautions" in said
    assert "Where the sources are to be found stands under References" in said
    assert 'href="#cautions"' in html(plans, table(plans))


def test_before_the_question_has_its_data_only_that_is_said(plans: Definition) -> None:
    said = html(plans, table(plans), primary=ANSWERED.iloc[:0])
    words = " ".join(BeautifulSoup(said, "html.parser").get_text(" ").split())
    assert words == (
        "Ways to aerate What each way to aerate takes is shown once the primary question has its "
        "data."
    )


def test_without_tines_and_plans_there_is_no_part(
    definition: Definition, laid_out: Callable[..., Definition]
) -> None:
    covers = laid_out("randomised blocks", blocks=6)
    assert html(covers, table(definition).iloc[:0]).strip() == ""


def test_without_decisions_treatments_with_a_tine_are_shown(definition: Definition) -> None:
    said = html(definition, table(definition))
    assert "A topdressing of" not in said
    assert "Passes to the year" not in said
    assert said.count("<tr") == 2 + 2 + 2 + 2 + 1 + 2


def test_what_was_seen_is_told_of_each_tine(definition: Definition) -> None:
    found = table(definition)
    found["days_basis"] = "observed on this trial's plots"
    found["days_source"] = "18 units of this trial"
    found[["known_low", "known_high"]] = (12.0, 19.0)
    said = [str(one) for one in day_words(found, definition)]
    assert said == [
        f"{label}: the holes of single units closed in 12 to 19 days (18 units of this trial)."
        for label in ("Solid tine 3/8 in", "Hollow tine 3/4 in")
    ]


def waits(**by: Mapping[str, tuple[float, float, float, float]]) -> pd.DataFrame:
    """Make the table ``aeration_days`` of one option a name: cover to days and to visits."""
    rows = []
    for option, covers in by.items():
        for cover, (low, high, first, last) in covers.items():
            row: dict[str, Any] = {"option": option, "within": f"cover={cover}", "units": 6}
            row |= {"days_low": low, "days_high": high, "visits_low": first, "visits_high": last}
            row |= {"apart": 7.0, "days_available": 24.0}
            row |= {"spare_low": 24 - high, "spare_high": 24 - low}
            row["says"] = "closed" if last <= 24 else "open" if first >= 24 else "either"
            row |= {"seen_on": pd.NaT, "seen_plots": 0, "seen_closed": 0}
            rows.append(row | {"seen_low": math.nan, "seen_high": math.nan})
    return framed(AERATION["aeration_days"], rows)


# Days of 3/4 in on the trial's plots times two thirds, and the visits that they lie between.
SCALED = {
    "open": (23.1, 23.8, 20.0, 24.7),
    "fleece": (18.9, 19.3, 15.3, 20.0),
    "woven": (19.0, 19.5, 15.3, 20.0),
}


def of_option(plans: Definition, days: pd.DataFrame, at: int) -> str:
    return str(spare_words(table(plans), days, plans)[at])


def test_covers_that_changed_the_days_have_answers_of_their_own(plans: Definition) -> None:
    days = waits(half_inch=SCALED)
    assert of_option(plans, days, 2) == (
        "Half inch <b>: by these figures with spun-bond fleece or woven permeable cover 95 % of "
        "the hole area has closed with about 4 to 5 days to spare; with no cover it may be either "
        "(23 to 24 of 24 days, read off visits up to 7 days apart)."
    )
    alike = waits(half_inch=dict.fromkeys(SCALED, (10.0, 12.0, 9.0, 14.0)))
    assert of_option(plans, alike, 2).endswith(
        "by these figures 95 % of the hole area has closed with about 12 to 14 days to spare."
    )


SCALED_BASIS = "observed on this trial's plots, scaled by diameter"


def test_a_tine_that_was_not_run_would_have_closed(plans: Definition) -> None:
    found = table(plans)
    found.loc[found["option"] == "half_inch", "days_basis"] = SCALED_BASIS
    assert str(spare_words(found, waits(half_inch=SCALED), plans)[2]) == (
        "Half inch <b>: by days scaled by diameter from holes of this trial, not seen, with "
        "spun-bond fleece or woven permeable cover 95 % of the hole area would have closed with "
        "about 4 to 5 days to spare; with no cover it may be either (23 to 24 of 24 days, read off "
        "visits up to 7 days apart)."
    )
    late = waits(half_inch=dict.fromkeys(SCALED, (30.0, 32.0, 29.0, 34.0)))
    assert "would be closed only about 6 to 8 days after the" in str(
        spare_words(found, late, plans)[2]
    )


def test_the_note_tells_only_of_days_that_are_there(plans: Definition) -> None:
    found, days = table(plans), waits(half_inch=SCALED)
    assert "; of others, what their source calls closed." in days_table(found, days, plans)
    found["days_basis"] = SCALED_BASIS
    own = days_table(found, days, plans)
    assert "of others" not in own
    assert "Closed: of holes seen here, and of tines scaled from them, 95 % of their area" in own


@pytest.mark.parametrize("care", [[], ["mowing"], ["mowing", "topdressing"]])
def test_that_no_topdressing_was_given_is_said(plans: Definition, care: list[str]) -> None:
    days = pd.to_datetime(["2026-04-08"] * len(care))
    told = pd.DataFrame({"date": days, "what": care}).assign(plots="all plots", amount="", note="")
    said = "By the diary no topdressing was given in this trial."
    assert (said in html(plans, table(plans), management=told)) == ("topdressing" not in care)


@pytest.mark.parametrize(
    ("closed", "seen", "said"),
    [
        (0, (58.0, 79.0), "none of 18 plots was 95 % closed (58 to 79 %)."),
        (6, (95.0, 100.0), "all 18 plots were 95 % closed or more."),
        (3, (88.0, 99.0), "9 of 18 plots were 95 % closed (88 to 99 %)."),
    ],
)
def test_what_was_seen_last_before_the_first_use_comes_first(
    plans: Definition, closed: int, seen: tuple[float, float], said: str
) -> None:
    own = {"open": (34.7, 35.7, 30.0, 37.0), "fleece": (28.3, 29.0, 23.0, 30.0)}
    days = waits(hollow=own | {"woven": (28.5, 29.3, 23.0, 30.0)})
    days["seen_on"] = pd.Timestamp("2026-04-17")
    days = days.assign(seen_plots=6, seen_closed=closed, seen_low=seen[0], seen_high=seen[1])
    told = of_option(plans, days, 1)
    label = "Hollow tine 3/4 in"
    assert told.startswith(
        f"{label}: on 17 April 2026, the last visit before the first use, {said} By days read off "
    )
    # Where none was closed a day before, the days that are read off are believed; else not.
    late = "closed only about 4 to 5 days after the first use; with no cover only about 11 to 12"
    assert (late in told) == (closed == 0)
    assert ("may be either" in told) == (closed > 0)


def test_less_than_a_day_is_no_spare_day(plans: Definition) -> None:
    found = table(plans)
    found.loc[found["option"] == "hollow", ["spare_low", "spare_high"]] = (0.18, 5.0)
    assert (
        of_option_of(found, plans) == "by these figures it may be either, 5 days to spare at most."
    )
    found.loc[found["option"] == "hollow", ["spare_low", "spare_high"]] = (-5.0, -0.2)
    assert (
        of_option_of(found, plans) == "by these figures it may be either, 5 days too few at most."
    )


def of_option_of(found: pd.DataFrame, plans: Definition) -> str:
    return str(spare_words(found, NONE, plans)[1]).partition(": ")[2]


def test_days_stand_by_cover_beside_what_the_visits_allow(plans: Definition) -> None:
    shown = days_table(table(plans), waits(half_inch=SCALED), plans)
    rows = [row.get_text("|", strip=True) for row in BeautifulSoup(shown, "html.parser")("tr")]
    assert any("No cover|23|to|24|20|to|25|0|to|+1|" in row for row in rows)
    assert any("fleece|19|15|to|20|+5|" in row for row in rows)
    assert sum("–|15|to|21|–|" in row for row in rows) == 1
