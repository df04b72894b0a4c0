"""What the section on temperature and light says, against small tables made by hand."""

from __future__ import annotations

import re

import pandas as pd
import pytest

from report.climate_made import by_hand, cells, definition_for
from wintersward.analysis.results import empty
from wintersward.report.climate_growth import growth_by_plot, growth_table
from wintersward.report.climate_removal import removal_words, rule_words
from wintersward.report.climate_risks import (
    counted_by_plot,
    dollar_spot_words,
    limit_words,
    risks_table,
    snow_days,
    unseen_words,
)
from wintersward.report.climate_sums import air_words, counting_words, degree_days_table
from wintersward.report.climate_words import left_out_words, under_cover_table, under_cover_words
from wintersward.trial import Definition
from wintersward.trial.climate import Climate

Tables = dict[str, pd.DataFrame]
Made = tuple[Definition, Tables]


@pytest.fixture(scope="module")
def us(tmp_path_factory: pytest.TempPathFactory) -> Made:
    definition = definition_for(tmp_path_factory.mktemp("us"))
    return definition, by_hand(definition)


@pytest.fixture(scope="module")
def metric(tmp_path_factory: pytest.TempPathFactory) -> Made:
    definition = definition_for(tmp_path_factory.mktemp("metric"), "metric")
    return definition, by_hand(definition)


class TestUnderCover:
    def test_how_much_warmer_in_the_units_of_the_reader(self, us: Made, metric: Made) -> None:
        # 1.5 degC are a difference of 2.7 degF: without the 32.
        said = [str(one) for one in under_cover_words(us[1]["under_cover_means"], us[0])]
        assert said[0].startswith(
            "Over 40 days under cover, soil under spun-bond fleece was on average 2.7 °F warmer "
            "than with no cover (at its lowest of the day 2.7 °F warmer, at its highest 2.7 °F"
        )
        assert said[0].endswith(
            "In the six blocks the means of these days differed by +1.8 to +3.6 °F; on the middle "
            "half of the days, over all blocks, by +0.9 to +4.5 °F."
        )
        alone = us[1]["under_cover_means"].assign(blocks=0)
        assert str(under_cover_words(alone, us[0])[0]).endswith(
            ". On the middle half of these days the means differed by +0.9 to +4.5 °F."
        )
        assert "under woven permeable cover was on average 0.9 °F colder than with no" in said[1]
        said = [str(one) for one in under_cover_words(metric[1]["under_cover_means"], metric[0])]
        assert "on average 1.5 °C warmer than with no cover" in said[0]

    def test_the_table_holds_control_and_difference(self, us: Made, metric: Made) -> None:
        rows = cells(under_cover_table(us[1]["under_cover_means"], us[0]))
        assert rows[0] == [
            "Soil", "Spun-bond fleece", "40", "30.2", "+2.7", "32.0", "+2.7", "33.8", "+2.7",
        ]  # fmt: skip
        rows = cells(under_cover_table(metric[1]["under_cover_means"], metric[0]))
        assert rows[1][1:4] == ["40", "−1.0", "−0.5"]

    def test_days_that_are_left_out_and_days_that_were_tested(self, us: Made) -> None:
        daily = us[1]["under_cover"].assign(covered=0, plots=6)
        laid = "The day on which the covers were laid is left out"
        assert left_out_words(daily, us[0]) == f"{laid}."
        blown = (daily["level"] == "fleece") & (daily["date"] == "2026-02-11")
        said = left_out_words(daily.assign(covered=daily["covered"].mask(blown, 5)), us[0])
        assert said == (
            f"{laid}; spun-bond fleece is without 11 February 2026, when not all its plots lay "
            "under one."
        )
        table = under_cover_table(us[1]["under_cover_means"], us[0], said, {"soil": 3})
        assert said in table
        assert "no test was made of them. Under Results, soil on three days was tested." in table

    def test_nothing_measured_gives_no_words(self, us: Made) -> None:
        none = empty("under_cover_means")
        assert under_cover_words(none, us[0]) == []
        assert not under_cover_table(none, us[0])


class TestDegreeDays:
    def test_how_they_are_counted(self, us: Made, metric: Made) -> None:
        assert counting_words(us[0]).startswith(
            "Degree days (growing degree days, GDD) of soil above 32 °F, in °F d, from straight "
            "lines between one reading and the next, summed from 19 January 2026"
        )
        assert "above 0 °C" in counting_words(metric[0])

    def test_sums_on_the_days_that_matter(self, us: Made, metric: Made) -> None:
        # By 9 March there are 49 days: 0.1 x 48 x 49 / 2 = 117.6, and 1.5 a day more.
        rows = cells(degree_days_table(metric[1]["degree_days_by_level"], metric[0]))
        assert rows[0][0] == "9 March 2026 (covers off)"
        assert rows[0][1:6] == ["117.6", "1", "191.1", "+73.5", "1"]
        assert [row[0].partition(" (")[2] for row in rows][1:] == ["primary date)", "last day)"]
        us_rows = cells(degree_days_table(us[1]["degree_days_by_level"], us[0]))
        # Times 1.8, without the 32: 211.68, 343.98, 132.3.
        assert [float(one) for one in us_rows[0][1:5:2]] == pytest.approx([211.7, 344.0], abs=0.06)
        assert us_rows[0][4].startswith("+132")

    def test_the_day_on_which_covers_came_off_may_be_another(self, us: Made) -> None:
        off = pd.Timestamp("2026-03-03").date()
        rows = cells(degree_days_table(us[1]["degree_days_by_level"], us[0], off))
        assert rows[0][0] == "3 March 2026 (covers off)"

    def test_means_that_end_with_a_sum_say_so(self, us: Made) -> None:
        by_level = us[1]["degree_days_by_level"]
        day = pd.Timestamp("2026-04-17").date()
        rows = cells(degree_days_table(by_level, us[0], None, day))
        assert rows[-1][0] == "17 April 2026 (last day)"
        cut = by_level[by_level["date"] <= "2026-04-06"]
        rows = cells(degree_days_table(cut, us[0], None, day))
        assert rows[-1][0] == "6 April 2026 (last day on which all have a sum)"
        assert rows[1][0] == "10 March 2026 (primary date)"

    def test_air_has_one_sum_for_all_plots(self, us: Made) -> None:
        sums = us[1]["degree_day_sums"]
        assert str(air_words(sums, us[0])) == ""
        said = str(air_words(sums.assign(plot=""), us[0]))
        assert re.fullmatch(r"To the end of 10 March 2026 the air had \d+ °F d, .*", said)

    def test_growth_describes_and_explains_nothing(self, us: Made) -> None:
        table = growth_table(us[1]["growth_by_level"], us[0])
        assert cells(table) == [["10 March 2026", "180", "39", "216", "41", "6"]]
        assert "does not tell what made the turf green" in table
        assert "explain" not in table
        assert not growth_table(empty("growth_by_level"), us[0])
        rows = cells(growth_by_plot(us[1]["growth"], us[0]))
        assert rows == [["10 March 2026", "101", "180", "39"], ["102", "216", "41"]]


class TestRisks:
    def test_counts_by_treatment(self, us: Made) -> None:
        rows = cells(risks_table(us[1]["risks_by_level"], us[0]))
        assert rows[0] == [
            "Pink snow mould band [hours]", "No cover", "5", "0", "5 to 5", "2", "1",
        ]  # fmt: skip
        assert rows[1] == ["Spun-bond fleece", "16", "14", "12 to 20", "4", "2"]

    def test_each_limit_is_said_once_with_its_source(self, us: Made) -> None:
        assert limit_words(us[1]["risks"]) == [
            (
                "Pink snow mould band",
                "Counted: hours with the canopy from 35.6 °F to 55.4 °F.",
                "an invented source",
            )
        ]

    def test_what_the_counts_cannot_tell(self, us: Made) -> None:
        events = pd.DataFrame({"date": ["2026-01-12", "2026-02-01", "2026-02-11"]})
        events["what"] = ["snow", "snow", "blown off"]
        spell = [(pd.Timestamp("2026-01-19").date(), pd.Timestamp("2026-03-09").date())]
        assert snow_days(events, spell) == ["1 February 2026"]
        pink = us[1]["risks"]
        (said,) = unseen_words(pink, us[0], [])
        assert said.startswith("Disease was not a measure of this trial")
        grey = pink.assign(risk="grey_snow_mould")
        assert "snow came on 1 February 2026" in unseen_words(grey, us[0], ["1 February 2026"])[0]
        assert unseen_words(grey, us[0], [])[0].startswith("The diary tells of no snow")
        assert unseen_words(pink.assign(risk="canopy_heat"), us[0], []) == []

    def test_open_plots_that_count_other_days_of_frost_are_told(self, us: Made) -> None:
        frost = us[1]["risks_by_level"].assign(risk="frost_after_uncovering", days=14.0)
        assert "several days" not in risks_table(frost, us[0])
        late = frost.assign(days=[21.0, 14.0, 14.0])
        assert "Covers came off on several days" in risks_table(late, us[0])

    def test_plot_by_plot(self, us: Made) -> None:
        rows = cells(counted_by_plot(us[1]["risks"], us[0]))
        assert len(rows) == 7
        assert rows[1][-5:] == ["1B", "Spun-bond fleece", "under a cover", "10", "2"]
        assert not counted_by_plot(us[1]["risks"].assign(level=""), us[0])


class TestDollarSpot:
    def test_the_likeliest_day_is_told(self, us: Made, metric: Made) -> None:
        days = pd.DataFrame(
            {
                "date": pd.to_datetime(["2026-04-10", "2026-04-11"]),
                "humidity": [80.0, 90.0],
                "temperature": [15.0, 20.0],
                "probability": [12.0, 31.0],
            }
        )
        said = str(dollar_spot_words(days, us[0]))
        assert "highest on 11 April 2026, with 31 % (humidity 90 %, air 68.0 °F)" in said
        assert said.endswith("Pesticides: by their label, and by licensed applicators.")
        assert "air 20.0 °C" in str(dollar_spot_words(days, metric[0]))
        spot = {"intercept": -1, "per_humidity": 0, "per_degree": 0, "act_at": "12 %"}
        climate = Climate.model_validate({"dollar_spot": spot})
        marked = us[0].model_copy(update={"climate": climate})
        assert "12 % or more, the mark of the definition, on two days." in str(
            dollar_spot_words(days, marked)
        )
        assert "the mark" not in said
        cold = days.assign(probability=float("nan"))
        assert "nothing can be told" in str(dollar_spot_words(cold, us[0]))
        assert str(dollar_spot_words(empty("dollar_spot"), us[0])) == ""


class TestRemoval:
    def test_the_rule_and_the_day_on_which_it_was_met(self, us: Made, metric: Made) -> None:
        assert rule_words(us[0]) == (
            "The definition asks for covers off when the soil has had a mean of 41 °F or more on "
            "three days in a row, and on 9 March 2026 at the latest (set by this study, no source "
            "given)."
        )
        said = [str(one) for one in removal_words(us[1]["removal"], us[0])]
        assert said == [
            "By the record of the soil under the covers the rule was first met on 9 March 2026 "
            "(mean 43.7 °F).",
            "The covers came off on 9 March 2026.",
        ]
        # The warmest of the days was 9 March: 4.9 degC, and 1.5 more or 0.5 less.
        each = removal_words(us[1]["removal"], us[0], us[1]["under_cover"])
        assert str(each[1]) == (
            "Its means are over all covers; on 9 March 2026 the soil had 43.3 °F under spun-bond "
            "fleece and 39.7 °F under woven permeable cover."
        )
        assert "(mean 6.5 °C)" in str(removal_words(metric[1]["removal"], metric[0])[0])

    def test_a_rule_that_only_its_last_day_calls_for(self, us: Made) -> None:
        cold = us[1]["removal"].assign(in_a_row=[0, 1, 2, 0], why=["", "", "", "last day"])
        said = str(removal_words(cold, us[0])[0])
        assert "it was not met by warmth: 2 of 3 days in a row were warm enough" in said
        assert said.endswith("so that its last day, 9 March 2026, called for it.")
        none = str(removal_words(cold.assign(in_a_row=0), us[0])[0])
        assert "no day was warm enough" in none

    def test_a_forecast_of_air_says_that_it_is_no_soil(self, us: Made) -> None:
        said = [
            str(one) for one in removal_words(us[1]["removal"].assign(source="forecast"), us[0])
        ]
        assert said[0].startswith("By the forecast of the air that the diary holds")
        assert "Soil follows air later" in said[1]
        assert removal_words(empty("removal"), us[0]) == []
