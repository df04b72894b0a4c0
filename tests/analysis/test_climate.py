"""Tables of temperature, light and risk: what they hold, and what they hold back."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analysis.planned import SPLIT
from logged_study import COVERS, SHADE, WARMER, changed, drawn_with, opened_with
from wintersward.analysis import TABLES, climate_tables
from wintersward.analysis.climate_columns import CLIMATE
from wintersward.analysis.degree_day_sums import growth_by_level
from wintersward.analysis.demonstration_tables import DEMONSTRATION_TABLES
from wintersward.analysis.logged_plots import LoggedPlots
from wintersward.runs.tables import from_csv, to_csv
from wintersward.scored import PHOTO_COLUMNS, window_of
from wintersward.study import Trial
from wintersward.trial.schema import PhotoMeasure

Tables = dict[str, pd.DataFrame]
OFF = pd.Timestamp("2026-03-09")
# Tables that set treatments against one another and nothing else.
COMPARED = ("thermometer_gained", "under_cover_means", "growth_by_level", "risks_by_level")


def test_every_table_has_its_columns_and_can_be_written(logged_tables: Tables) -> None:
    assert list(logged_tables) == list(CLIMATE)
    for name, frame in logged_tables.items():
        assert list(frame.columns) == [column.name for column in TABLES[name].columns]
        text = to_csv(name, TABLES[name], frame)
        assert len(from_csv(name, TABLES[name], text)) == len(frame)
    filled = {name for name, frame in logged_tables.items() if len(frame)}
    assert set(CLIMATE) - filled == {"logger_flags", "growth", "growth_by_level", "dollar_spot"}


def test_a_day_and_a_row_of_every_logger(logged_trial: Trial, logged_tables: Tables) -> None:
    sums = logged_tables["logger_sums"]
    assert (len(sums), set(sums["rows"]), set(sums["used"])) == (36, {1117}, {1116})
    days = logged_tables["daily_facts"]
    assert len(days) == len(logged_trial.logged.facts) == 36 * 93
    assert days["completeness"].max() == 100
    assert set(days["excluded"]) == {""}
    soil, canopy = (days[days["measure"] == name] for name in ("soil", "canopy"))
    assert canopy["band_hours"].isna().all()
    # A whole day within the band of 0 to 5 degC is 24 hours of it, one beyond it none.
    inside = soil[(soil["minimum"] >= 0) & (soil["maximum"] <= 5) & (soil["completeness"] == 100)]
    beyond = soil[(soil["maximum"] < 0) | (soil["minimum"] > 5)]
    assert len(inside) > 100
    assert len(beyond) > 100
    assert set(inside["band_hours"].round(6)) <= {23.0, 24.0}
    assert set(beyond["band_hours"]) == {0.0}
    one = soil.merge(inside[["date", "plot"]], how="left", indicator=True)
    rest = one[(one["_merge"] == "left_only") & ~one.index.isin(beyond.index)]
    assert rest["band_hours"].between(0, 25).all()


class TestUnderCover:
    def test_the_difference_is_that_of_the_covers(self, logged_tables: Tables) -> None:
        days = logged_tables["under_cover"]
        soil = days[days["measure"] == "soil"]
        under, after = soil[soil["date"] < OFF], soil[soil["date"] > OFF]
        assert soil["date"].min() == pd.Timestamp("2026-01-20")
        for level, more in WARMER.items():
            own = under[under["level"] == level]
            assert set(own["plots"]) == {6}
            assert set(own["covered"]) == {0 if level == "open" else 6}
            if level == "open":
                assert own["more_mean"].isna().all()
            else:
                assert own[["more_mean", "more_minimum"]].to_numpy() == pytest.approx(
                    more, abs=0.15
                )
        assert after["more_mean"].dropna().to_numpy() == pytest.approx(0, abs=0.15)
        assert set(after["covered"]) == {0}

    def test_means_over_the_days_on_which_all_covers_lay(self, logged_tables: Tables) -> None:
        means = logged_tables["under_cover_means"].set_index(["measure", "level", "fact"])
        assert set(means["days"]) == {48}
        assert set(means.index.get_level_values("level")) == {"fleece", "woven"}
        for level in ("fleece", "woven"):
            own = means.loc[("soil", level)]
            assert own["more"].to_numpy() == pytest.approx(WARMER[level], abs=0.05)
            assert own["more"].to_numpy() == pytest.approx(
                (own["value"] - own["control"]).to_numpy()
            )
            assert (own["lower"] <= own["upper"]).all()
        # Block by block, the same cover adds alike.
        assert set(means["blocks"]) == {6}
        for end in ("least", "most"):
            for level in ("fleece", "woven"):
                assert means.loc[("soil", level), end].to_numpy() == pytest.approx(
                    WARMER[level], abs=0.05
                )
        assert (means["least"] < means["more"]).all()
        assert (means["more"] < means["most"]).all()
        # By hand, from the days themselves.
        days = logged_tables["under_cover"]
        here = days[
            (days["measure"] == "soil") & (days["level"] == "fleece") & (days["date"] < OFF)
        ]
        found = means.loc[("soil", "fleece", "maximum")]
        assert found["value"] == pytest.approx(here["maximum"].mean())
        assert found["upper"] == pytest.approx(np.quantile(here["more_maximum"], 0.75))

    def test_an_hour_of_the_day_under_covers(self, logged_tables: Tables) -> None:
        hours = logged_tables["diurnal"]
        soil = hours[hours["measure"] == "soil"].set_index(["level", "hour"])
        # Read every two hours; those of the one day after the clocks changed are left out.
        assert sorted(set(hours["hour"])) == list(range(0, 24, 2))
        assert set(soil["days"]) <= {47, 48}
        more = soil.loc["fleece", "mean"] - soil.loc["open", "mean"]
        assert more.to_numpy() == pytest.approx(1.5, abs=0.05)
        assert (soil["lower"] < soil["mean"]).all()
        assert (soil["mean"] < soil["upper"]).all()
        # The middle of the sine that the loggers were drawn from.
        assert soil.loc["open", "mean"].idxmax() in (14, 16)


class TestDegreeDays:
    def test_above_the_base_they_are_the_means(self, logged_tables: Tables) -> None:
        sums = logged_tables["degree_day_sums"].set_index(["plot", "date"])
        days = logged_tables["daily_facts"]
        # The day on which clocks were put forward has 23 hours, and as much less to give.
        short = days["date"] == "2026-03-08"
        days = days[(days["measure"] == "soil") & (days["minimum"] > 0) & ~short]
        own = days.set_index(["plot", "date"])["mean"]
        shared = own.index.intersection(sums.index)
        assert len(shared) > 500
        gap = sums.loc[shared, "degree_days"] - own[shared]
        # A mean weighs readings by how long they held, the sum by straight lines between them.
        assert gap.abs().max() < 0.1
        one = sums.loc["1A"]
        assert one["sum"].tolist() == pytest.approx(one["degree_days"].cumsum().tolist())

    def test_by_level_they_are_averaged(self, logged_trial: Trial, logged_tables: Tables) -> None:
        level = logged_trial.plots.drop_duplicates("whole_plot").set_index("whole_plot")["cover"]
        sums = logged_tables["degree_day_sums"]
        day = sums[sums["date"] == OFF].assign(level=lambda d: d["plot"].map(level.astype(str)))
        expected = day.groupby("level")["sum"].mean()
        found = logged_tables["degree_days_by_level"]
        found = found[found["date"] == OFF].set_index("level")
        assert found["sum"].to_dict() == pytest.approx(expected.to_dict())
        assert found.loc["woven", "more"] == pytest.approx(expected["woven"] - expected["open"])
        assert np.isnan(found.loc["open", "more"])

    def test_from_a_day_that_is_set_aside_on_there_is_no_sum(
        self, logged_plan: dict[str, bytes], tmp_path: Path
    ) -> None:
        out = "exclusions: [{plot: 1A, measure: soil, date: 2026-02-01, reason: wire cut}]\n"
        trial = opened_with(logged_plan, tmp_path, diary=COVERS + out)
        tables = climate_tables(trial)
        sums = tables["degree_day_sums"].set_index(["plot", "date"])["sum"]
        assert sums["1A"].last_valid_index() == pd.Timestamp("2026-01-31")
        assert sums["1B"].notna().all()
        days = tables["daily_facts"]
        assert days.loc[days["excluded"] != "", ["plot", "excluded"]].values.tolist() == [
            ["1A", "wire cut"]
        ]
        # Its block is left out of every treatment and day, so that no mean steps where it ends.
        found = tables["degree_days_by_level"]
        assert set(found["plots"]) == {5}
        assert found["date"].max() == tables["degree_day_sums"]["date"].max()
        wholes = trial.plots[trial.plots["block"].astype(str) != "1"]
        level = wholes.drop_duplicates("whole_plot").set_index("whole_plot")["cover"].astype(str)
        day = tables["degree_day_sums"].query("date == @OFF").set_index("plot")["sum"]
        expected = day[level.index].groupby(level).mean()
        found = found[found["date"] == OFF].set_index("level")
        assert found["sum"].to_dict() == pytest.approx(expected.to_dict())
        assert found.loc["woven", "more"] == pytest.approx(expected["woven"] - expected["open"])

    def test_a_sum_that_ends_after_the_primary_date_ends_the_means(
        self, logged_plan: dict[str, bytes], tmp_path: Path
    ) -> None:
        out = "exclusions: [{plot: 1A, measure: soil, date: 2026-03-24, reason: wire cut}]\n"
        tables = climate_tables(opened_with(logged_plan, tmp_path, diary=COVERS + out))
        found = tables["degree_days_by_level"]
        assert set(found["plots"]) == {6}
        assert found["date"].max() == pd.Timestamp("2026-03-23")


class TestLight:
    def test_a_cover_takes_its_share_while_it_lay(
        self, logged_trial: Trial, logged_tables: Tables
    ) -> None:
        sun = logged_tables["sun_hours"]
        own = sun[sun["month"] == "2026-02-01"].set_index("plot")
        level = logged_trial.plots.set_index("plot")["cover"].astype(str)
        share = (own["turf_light"] / own["light"]).groupby(level).agg(["min", "max"])
        assert share.loc["fleece"].tolist() == pytest.approx([0.8, 0.8])
        assert share.loc["woven"].tolist() == pytest.approx([0.6, 0.6])
        assert share.loc["open"].tolist() == pytest.approx([1, 1])
        assert own["covered_days"].groupby(level).max().to_dict() == {
            "fleece": 28,
            "open": 0,
            "woven": 28,
        }
        assert (sun["sun_hours"] < sun["open_sun_hours"]).all()
        left = (100 - sun["lost"]) / 100 * sun["open_light"]
        assert left.to_numpy() == pytest.approx(sun["light"].to_numpy())
        assert (sun["lost"] > 0).all()
        assert (sun["light"] < sun["open_light"]).all()

    def test_what_a_cover_lets_through_must_be_told(self, tmp_path: Path) -> None:
        text = changed((", light: 80 %", ""))
        trial = opened_with(drawn_with(tmp_path / "a", text), tmp_path / "a")
        sun = climate_tables(trial)["sun_hours"]
        level = trial.plots.set_index("plot")["cover"].astype(str)
        gone = sun[sun["turf_light"].isna()]
        assert set(gone["plot"].map(level)) == {"fleece"}
        assert gone["month"].dt.month.unique().tolist() == [1, 2, 3]

    def test_without_shade_and_shares_nothing_is_estimated(self, tmp_path: Path) -> None:
        zone = SHADE.splitlines()[0] + "\n"
        text = changed((SHADE, zone), (", light: 80 %", ""), (", light: 60 %", ""))
        trial = opened_with(drawn_with(tmp_path / "a", text), tmp_path / "a")
        assert climate_tables(trial)["sun_hours"].empty


class TestRisks:
    def test_heat_is_counted_under_covers_alone(
        self, logged_trial: Trial, logged_tables: Tables
    ) -> None:
        risks = logged_tables["risks"]
        heat = risks[risks["risk"] == "canopy_heat"].set_index("plot")
        assert set(heat["level"]) == {"fleece", "woven"}
        assert set(heat["covered"]) == {"yes"}
        assert set(heat["days"]) == {49}
        readings = logged_trial.logged.readings
        own = readings[(readings["plot"] == "1A") & (readings["measure"] == "canopy")]
        local = own["time"].dt.tz_localize(None)
        under = (local >= "2026-01-19") & (local < "2026-03-09")
        hot = own[under & (own["value"] >= 15)]
        assert heat.loc["1A", "counted"] == pytest.approx(2 * len(hot))
        assert heat.loc["1A", "source"] == "limits of this trial, no source named"
        assert "59 °F or above" in heat.loc["1A", "limit"]

    def test_they_end_two_weeks_after_the_covers(self, logged_tables: Tables) -> None:
        risks = logged_tables["risks"].set_index(["risk", "plot", "covered"])
        assert not risks.index.duplicated().any()
        assert risks.loc[("pink_snow_mould", "1A", "yes"), "days"] == 49
        assert risks.loc[("pink_snow_mould", "1A", "no"), "days"] == 14
        assert risks.loc[("frost_after_uncovering", "1A", "no"), "days"] == 14
        assert set(risks.loc["dehardening", "unit"]) == {"d"}

    def test_by_treatment_covered_and_open_days_of_a_plot_are_added(
        self, logged_tables: Tables
    ) -> None:
        plots, found = logged_tables["risks"], logged_tables["risks_by_level"]
        found = found.set_index(["risk", "level"])
        own = plots[(plots["risk"] == "pink_snow_mould") & (plots["level"] == "fleece")]
        by_plot = own.groupby("plot")["counted"].sum()
        row = found.loc[("pink_snow_mould", "fleece")]
        assert (row["plots"], row["days"]) == (6, 63)
        assert row["counted"] == pytest.approx(by_plot.mean())
        assert (row["fewest"], row["most"]) == pytest.approx((by_plot.min(), by_plot.max()))
        covered = own.loc[own["covered"] == "yes", "counted"].sum() / 6
        assert row["under"] == pytest.approx(covered)
        # No cover lay on the control: there is nothing of these to count.
        assert ("canopy_heat", "open") not in found.index

    def test_the_rule_is_met_where_the_record_met_it(self, logged_tables: Tables) -> None:
        rule = logged_tables["removal"]
        record = rule[rule["source"] == "record"].reset_index(drop=True)
        assert (record["date"].min(), record["date"].max()) == (pd.Timestamp("2026-01-19"), OFF)
        warm = (record["value"] >= 5).rolling(3).sum() == 3
        assert (record["why"] == "held").tolist() == warm.tolist()
        assert 0 < warm.sum() < len(record)
        assert set(rule["came_off"]) == {OFF}
        ahead = rule[rule["source"] == "forecast"]
        # The middle of 30 and 52 degF.
        assert ahead["value"].tolist() == pytest.approx([5.0])


def test_until_the_question_has_its_data_nothing_tells_treatments_apart(
    logged_plan: dict[str, bytes], tmp_path: Path
) -> None:
    trial = opened_with(logged_plan, tmp_path, last="2026-03-09")
    tables = climate_tables(trial)
    for name in (*COMPARED, "under_cover", "diurnal", "degree_days_by_level"):
        assert tables[name].empty
    assert len(tables["thermometer"]) == 36
    assert set(tables["risks"]["level"]) == {""}
    named = re.compile("|".join(trial.factors["cover"].levels))
    for name, frame in tables.items():
        text = to_csv(name, TABLES[name], frame).partition("\n")[2]
        assert not named.search(text), name


def test_a_demonstration_holds_what_compares_nothing(tmp_path: Path) -> None:
    text = changed(("    applied: aeration\n", ""), (SPLIT, "  kind: demonstration\n"))
    trial = opened_with(drawn_with(tmp_path / "a", text), tmp_path / "a")
    tables = climate_tables(trial)
    assert trial.ready
    assert set(tables).isdisjoint(COMPARED)
    assert set(CLIMATE) - set(tables) <= {*COMPARED, "dollar_spot"}
    for name, frame in tables.items():
        assert list(frame.columns) == [c.name for c in DEMONSTRATION_TABLES[name].columns]
        assert not {"p", "se", "df", "lower", "upper", "more", "more_mean"} & set(frame.columns)
        to_csv(name, DEMONSTRATION_TABLES[name], frame)
    assert set(tables["under_cover"]["level"]) == {"open", "fleece", "woven"}
    assert len(tables["thermometer"]) == 12


def test_growth_stands_beside_the_sum_of_its_plot(tmp_path: Path) -> None:
    photos = "measures:\n  green: {from: photos, dates: [visits]}\n"
    text = changed(("measures:\n", photos))
    trial = opened_with(drawn_with(tmp_path / "a", text), tmp_path / "a")
    measure = trial.definition.measures["green"]
    assert isinstance(measure, PhotoMeasure)
    window = window_of(measure).hash()
    plots = trial.plots["plot"]
    scores = pd.DataFrame(index=plots.index, columns=list(PHOTO_COLUMNS)).assign(
        window=window, plot=plots, date=pd.Timestamp("2026-03-10"), sample=1, flags="", path="p.jpg"
    )
    scores["cover"] = np.arange(36.0)
    trial.__dict__["_photo_scores"] = scores
    made = climate_tables(trial)
    found, sums = made["growth"], made["degree_day_sums"].set_index(["plot", "date"])["sum"]
    assert found["value"].tolist() == list(range(36))
    whole = trial.plots.set_index("plot")["whole_plot"]
    expected = [sums[whole[plot], pd.Timestamp("2026-03-10")] for plot in found["plot"]]
    assert found["degree_days"].tolist() == pytest.approx(expected)
    levels = trial.plots.set_index("plot")["cover"].astype(str)
    told = made["growth_by_level"].set_index("level")
    assert set(told["plots"]) == {6}
    by_hand = found.set_index("plot").groupby(levels)[["value", "degree_days"]].mean()
    for name in by_hand:
        assert told[name].to_dict() == pytest.approx(by_hand[name].to_dict())
    # A plot without a photo leaves its whole plot with the other one; without both of them the
    # block is left out of every treatment.
    lost = trial.plots.loc[trial.plots["whole_plot"] == "1A", "plot"]
    fewer = growth_by_level(trial, LoggedPlots(trial), found[~found["plot"].isin(lost[:1])])
    assert set(fewer["plots"]) == {6}
    fewer = growth_by_level(trial, LoggedPlots(trial), found[~found["plot"].isin(lost)])
    rest = found[found["plot"].map(trial.plots.set_index("plot")["block"]).astype(str) != "1"]
    assert set(fewer["plots"]) == {5}
    by_hand = rest.set_index("plot").groupby(levels)["value"].mean()
    assert fewer.set_index("level")["value"].to_dict() == pytest.approx(by_hand.to_dict())


def test_a_trial_without_loggers_has_empty_tables(rated_trial: Trial) -> None:
    tables = climate_tables(rated_trial)
    assert {name for name, frame in tables.items() if len(frame)} <= {"sun_hours"}
