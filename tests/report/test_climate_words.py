"""What the section on temperature and light says, against small tables made by hand."""

from __future__ import annotations

import re

import pandas as pd
import pytest
from bs4 import BeautifulSoup
from markupsafe import Markup

from report.climate_made import by_hand, definition_for, plots
from wintersward.analysis.results import empty
from wintersward.report.climate_gained import arrived_table, gained_table, gained_words
from wintersward.report.climate_light import (
    basis_words,
    factor_words,
    light_table,
    lost_words,
    turf_light_table,
)
from wintersward.report.climate_read import flag_words, read_words, removed_words
from wintersward.report.climate_removal import removal_words, rule_words
from wintersward.report.climate_risks import (
    counted_by_plot,
    dollar_spot_words,
    limit_words,
    risks_table,
)
from wintersward.report.climate_sums import (
    air_words,
    counting_words,
    degree_days_table,
    growth_table,
)
from wintersward.report.climate_words import under_cover_table, under_cover_words
from wintersward.trial import Definition

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


def cells(table: Markup) -> list[list[str]]:
    """Give the cells of the rows of a table, heads of rows first."""
    soup = BeautifulSoup(str(table), "html.parser")
    body = [row for part in soup.find_all("tbody") for row in part.find_all("tr")]
    return [[cell.get_text() for cell in row.find_all(["th", "td"])] for row in body]


class TestUnderCover:
    def test_how_much_warmer_in_the_units_of_the_reader(self, us: Made, metric: Made) -> None:
        # 1.5 degC are a difference of 2.7 degF: without the 32.
        said = [str(one) for one in under_cover_words(us[1]["under_cover_means"], us[0])]
        assert said[0].startswith(
            "Over 40 days under cover, soil under spun-bond fleece was on average 2.7 °F warmer "
            "than with no cover (at its lowest of the day 2.7 °F warmer, at its highest 2.7 °F"
        )
        assert said[0].endswith("the means differed by +0.9 to +4.5 °F.")
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

    def test_nothing_measured_gives_no_words(self, us: Made) -> None:
        none = empty("under_cover_means")
        assert under_cover_words(none, us[0]) == []
        assert not under_cover_table(none, us[0])


class TestDegreeDays:
    def test_how_they_are_counted(self, us: Made, metric: Made) -> None:
        assert counting_words(us[0]).startswith(
            "Degree days of soil above 32 °F, from every reading, for as long as it held, summed "
            "from 19 January 2026"
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

    def test_air_has_one_sum_for_all_plots(self, us: Made) -> None:
        sums = us[1]["degree_day_sums"]
        assert str(air_words(sums, us[0])) == ""
        said = str(air_words(sums.assign(plot=""), us[0]))
        assert re.fullmatch(r"To the end of 10 March 2026 the air had \d+ °F d, .*", said)

    def test_growth_describes_and_explains_nothing(self, us: Made) -> None:
        table = growth_table(us[1]["growth"], us[0])
        assert cells(table) == [["10 March 2026", "180", "216", "39", "41"]]
        assert "one of the things that a cover changes" in table
        assert "explain" not in table
        assert not growth_table(empty("growth"), us[0])


class TestThermometer:
    def test_an_interval_where_it_was_tested(self, us: Made) -> None:
        said = [str(one) for one in gained_words(us[1]["thermometer_gained"], us[0])]
        assert said[0] == (
            "For 100 degree days (°F d): plots with spun-bond fleece were there 3.2 days earlier "
            "than plots with no cover (95 % interval +1.0 to +5.5 days earlier)."
        )
        assert said[1].endswith(
            "2.0 days later than plots with no cover (one logger a treatment: described, not "
            "tested)."
        )

    def test_what_cannot_be_told_is_said_with_its_reason(self, us: Made) -> None:
        gained = us[1]["thermometer_gained"].assign(days=float("nan"), note="a reason")
        said = str(gained_words(gained, us[0])[0])
        assert said.endswith("were there than plots with no cover cannot be told: a reason.")
        bound = us[1]["thermometer_gained"].assign(note="at least")
        assert "3.2 days or more earlier" in str(gained_words(bound, us[0])[0])

    def test_the_table_has_a_dash_for_what_was_not_tested(self, us: Made) -> None:
        rows = cells(gained_table(us[1]["thermometer_gained"], us[0]))
        assert rows[0][2:] == ["+3.2", "+1.0 to +5.5", "1.00", "10", "0.010", ""]
        assert rows[1][1:6] == ["−2.0", "–", "–", "–", "–"]
        assert not gained_table(empty("thermometer_gained"), us[0])

    def test_a_list_of_plots(self, us: Made) -> None:
        rows = cells(arrived_table(us[1]["thermometer"]))
        assert rows[0][-3:] == ["1A", "20 March 2026", ""]
        assert rows[1] == ["1B", "–", "not reached while it was watched"]


class TestLight:
    def test_what_the_surroundings_take(self, us: Made) -> None:
        said = str(lost_words(us[1]["sun_hours"], us[0]))
        assert said == (
            "What stands around (stand) takes most in February 2026: an estimated 10 % of the "
            "light of plot 101, and 0 % of that of plot 103."
        )
        assert str(lost_words(empty("sun_hours"), us[0])) == ""

    def test_month_by_month(self, us: Made) -> None:
        rows = cells(light_table(us[1]["sun_hours"]))
        assert rows[0] == [
            "February 2026", "8.0", "10.0", "10.0", "18.0", "20.0", "20.0", "0", "10",
        ]  # fmt: skip

    def test_light_on_the_turf_by_treatment(self, us: Made) -> None:
        rows = cells(turf_light_table(us[1]["sun_hours"], plots(), us[0]))
        assert rows[0] == ["February 2026", "No cover", "18.0", "18.0", "0", "28"]
        assert rows[1] == ["Spun-bond fleece", "15.2", "15.2", "28", "28"]
        assert not turf_light_table(us[1]["sun_hours"], None, us[0])

    def test_light_that_was_measured_is_told_from_that_of_a_clear_sky(self, us: Made) -> None:
        hours = us[1]["sun_hours"]
        assert basis_words(hours).endswith("what stands around: no measurement of a day.")
        march = hours["light_from"].where(
            hours["month"] < "2026-03-01", "radiation of the weather file"
        )
        said = basis_words(hours.assign(light_from=march))
        assert "The light of March 2026 is that of the radiation in the weather file" in said

    def test_the_number_that_turns_energy_into_light_is_named(self, us: Made) -> None:
        said = factor_words(us[1]["sun_hours"])
        assert "0.5 of the energy of the sun times 4.6 µmol J⁻¹ (in use with flux towers" in said
        assert factor_words(empty("sun_hours")) == ""


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
        cold = days.assign(probability=float("nan"))
        assert "nothing can be told" in str(dollar_spot_words(cold, us[0]))
        assert str(dollar_spot_words(empty("dollar_spot"), us[0])) == ""


class TestRemoval:
    def test_the_rule_and_the_day_on_which_it_was_met(self, us: Made, metric: Made) -> None:
        assert rule_words(us[0]) == (
            "The definition asks for covers off when the soil has had a mean of 41 °F or more on "
            "three days in a row, and on 9 March 2026 at the latest."
        )
        said = [str(one) for one in removal_words(us[1]["removal"], us[0])]
        assert said == [
            "By the record of the soil under the covers the rule was first met on 9 March 2026 "
            "(mean 43.7 °F).",
            "The covers came off on 9 March 2026.",
        ]
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


class TestReadings:
    def test_what_was_left_out_is_counted_by_reason(self, us: Made) -> None:
        sums, flags = us[1]["logger_sums"], us[1]["logger_flags"]
        assert read_words(sums, flags) == (
            "Loggers were read: two columns of one file, with 2,002 readings that were used; one "
            "flag of what looks odd."
        )
        said = removed_words(sums)
        assert said == "Readings left out: 4 marked missing and 2 taken for spikes."
        assert removed_words(sums.assign(spike=0, declared_missing=0)) == "No reading was left out."
        none = empty("logger_sums")
        assert removed_words(none) == read_words(none, flags) == ""

    def test_flags_are_told_up_to_a_few(self, us: Made) -> None:
        flags = us[1]["logger_flags"]
        told = "Gap: loggers/a.csv, plot 1A, soil, 1 February 2026 to 3 February 2026."
        assert flag_words(flags) == [told]
        said = flag_words(pd.concat([flags] * 9, ignore_index=True))
        assert (len(said), said[-1]) == (7, "three more in the appendix.")
