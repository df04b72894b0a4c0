from __future__ import annotations

import datetime as dt
import re

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from climate.logged import logged, through
from wintersward.climate.covers import came_off_within, lay
from wintersward.climate.disease import dollar_spot
from wintersward.climate.risk import (
    NO_SOURCE,
    RISK_COLUMNS,
    RISKS,
    Risk,
    hours_at_risk,
    uncounted,
)
from wintersward.errors import WinterswardError
from wintersward.trial.climate import RISK_LIMITS, RISK_NAMES

D = dt.date
# Clocks do not change there.
MARCH = through("2026-03-01", "2026-03-21", zone="Etc/GMT+5")
COVERED = {"101": [(D(2026, 2, 1), D(2026, 3, 6))]}


def counted(readings: pd.DataFrame, risk: str, **kept: object) -> pd.DataFrame:
    found = hours_at_risk(readings, COVERED, {risk: RISKS[risk]})
    for name, value in kept.items():
        found = found[found[name] == value]
    return found


class TestLimits:
    def test_the_five_are_there(self) -> None:
        assert list(RISKS) == [
            "canopy_heat",
            "pink_snow_mould",
            "grey_snow_mould",
            "frost_after_uncovering",
            "dehardening",
        ]
        assert all(name == risk.name for name, risk in RISKS.items())

    def test_a_definition_names_them_and_their_limits_alike(self) -> None:
        assert tuple(RISKS) == RISK_NAMES
        assert {name: risk.limits for name, risk in RISKS.items()} == RISK_LIMITS

    def test_hours_that_mark_a_day_are_told(self) -> None:
        wet = RISKS["pink_snow_mould"].replaced("mine", hours=10)
        assert "marked" not in RISKS["pink_snow_mould"].sentence()
        assert ", days with 10 such hours or more being marked; a count" in wet.sentence()

    @pytest.mark.parametrize("risk", RISKS.values(), ids=list(RISKS))
    @pytest.mark.parametrize("units", ["us", "metric"])
    def test_each_says_in_one_sentence_what_is_counted(self, risk: Risk, units: str) -> None:
        said = risk.sentence(units)
        assert said.startswith("Counted: ")
        assert said.endswith("; a count is not a diagnosis.")
        assert said.count(".") == 1 + len(re.findall(r"\d\.\d", said))
        # A limit that was set in degC is rounded for a reader of degF, and then stands behind it.
        named = re.findall(r"°[FC]", re.sub(r" \([^)]* °C\)", "", said))
        assert set(named) == {"°F" if units == "us" else "°C"}
        assert not re.search(r"\b(safe|safely|danger|harmless|significant|prove)", said)
        assert "{" not in said

    @pytest.mark.parametrize("risk", RISKS.values(), ids=list(RISKS))
    def test_each_limit_has_a_source_or_says_that_it_has_none(self, risk: Risk) -> None:
        assert re.search(r"\b(19|20)\d\d\b", risk.source) or risk.source.startswith(NO_SOURCE)

    def test_words_follow_the_limits(self) -> None:
        mine = RISKS["canopy_heat"].replaced("head of the grounds", above=27.0, hours=2.0)
        assert "27 °C or above" in mine.sentence()
        assert "2 such hours" in mine.sentence()
        assert mine.source == "head of the grounds"
        assert "81 °F (27 °C) or above" in mine.sentence("us")
        assert RISKS["canopy_heat"].above == 24.0
        # 45 degF, as somebody wrote it down, is no rounded number.
        assert "at 45 °F or above" in mine.replaced("mine", above=65 / 9).sentence("us")

    def test_a_reader_of_degf_finds_whole_degrees_and_the_own_unit_first(self) -> None:
        said = {name: risk.sentence("us") for name, risk in RISKS.items()}
        assert "at 75 °F (24 °C) or above" in said["canopy_heat"]
        # As Rutgers prints them, and as the caution has them.
        assert "from 35 °F (2 °C) to 55 °F (13 °C)" in said["pink_snow_mould"]
        own = RISKS["pink_snow_mould"].replaced("mine", below=10.0)
        assert "from 36 °F (2 °C) to 50 °F" in own.sentence("us")
        assert "from 32 °F to 45 °F (7 °C)" in said["grey_snow_mould"]
        heat = RISKS["canopy_heat"]
        assert ": 75 °F (24 °C) lies just above 60 to 75 °F (15.6 to 23.9 °C), in" in (
            heat.source_for("us")
        )
        assert heat.source_for("metric") == heat.source
        assert "; read each hour, so that a shorter peak is missed; a" in heat.sentence(
            "us", "each hour"
        )
        assert "missed" not in RISKS["pink_snow_mould"].sentence("us", "each hour")

    def test_grey_snow_mould_needs_long_snow_by_whom(self) -> None:
        # NC State Extension, content.ces.ncsu.edu/gray-snow-mold-in-turf: at least 60 days.
        said = RISKS["grey_snow_mould"].sentence("us")
        assert "it needs long snow cover, at least 60 days by NC State Extension;" in said
        assert "length of snow cover: NC State Extension" in RISKS["grey_snow_mould"].source

    def test_what_holds_of_the_usual_limits_is_not_said_of_others(self) -> None:
        usual = RISKS["dehardening"]
        assert "as long and as warm as one of the spells" in usual.sentence()
        assert "as long and as warm" in usual.replaced("mine", above=8.0).sentence()
        assert "as long" not in usual.replaced("mine", above=5.0).sentence()

    @pytest.mark.parametrize(
        ("limits", "said"),
        [
            ({"source": " "}, "found no source"),
            ({"above": None}, "found no limit"),
            ({"below": 3.0}, "found 24 to 3; the lower one first"),
            ({"counted": "hours at {limit}"}, "found {limit} in its words; allowed: above, below"),
        ],
    )
    def test_limits_that_are_none(self, limits: dict[str, object], said: str) -> None:
        with pytest.raises(WinterswardError) as caught:
            RISKS["canopy_heat"].replaced(**{"source": "mine", **limits})
        assert said in str(caught.value)


class TestCounting:
    def test_columns_and_order(self) -> None:
        both = [logged(MARCH, 5.0, plot) for plot in ("102", "101")]
        found = hours_at_risk(pd.concat(both, ignore_index=True), COVERED)
        assert list(found.columns) == RISK_COLUMNS
        first = found[found["date"] == "2026-03-01"]
        assert first[["plot", "risk"]].values.tolist() == [
            ["101", "canopy_heat"],
            ["101", "pink_snow_mould"],
            ["101", "grey_snow_mould"],
            ["101", "dehardening"],
            ["102", "pink_snow_mould"],
            ["102", "grey_snow_mould"],
            ["102", "dehardening"],
        ]

    def test_heat_counts_under_cover_alone(self) -> None:
        hot = logged(MARCH, np.where(MARCH.hour < 5, 24.0, 23.9))
        found = counted(hot, "canopy_heat")
        assert found["date"].dt.day.tolist() == [1, 2, 3, 4, 5]
        assert found["counted"].tolist() == pytest.approx([5] * 5)
        assert set(found["unit"]) == {"h"}
        assert found["covered"].all()
        assert found["marked"].all()
        cooler = logged(MARCH, np.where(MARCH.hour < 3, 24.0, 23.9))
        assert not counted(cooler, "canopy_heat")["marked"].any()
        assert hours_at_risk(hot.assign(plot="open"), COVERED, {"h": RISKS["canopy_heat"]}).empty

    @pytest.mark.parametrize(
        ("risk", "inside", "outside"),
        [
            ("pink_snow_mould", (2.0, 13.0), (1.9, 13.1)),
            ("grey_snow_mould", (0.0, 7.0), (-0.1, 7.1)),
        ],
    )
    def test_bands_count_on_all_days(
        self, risk: str, inside: tuple[float, float], outside: tuple[float, float]
    ) -> None:
        for values, hours in ((inside, 24), (outside, 0)):
            read = np.where(MARCH.hour < 12, *values)
            found = counted(logged(MARCH, read), risk)
            assert found["counted"].tolist() == pytest.approx([hours] * 20)
            assert found["covered"].tolist() == [True] * 5 + [False] * 15

    def test_frost_counts_for_two_weeks_after_a_cover_came_off(self) -> None:
        cold = logged(MARCH, np.where(MARCH.hour < 6, 0.0, 0.1))
        found = counted(cold, "frost_after_uncovering")
        assert found["date"].dt.day.tolist() == list(range(6, 20))
        assert found["counted"].tolist() == pytest.approx([6] * 14)

    def test_frost_counts_from_the_last_time_that_a_cover_came_off(self) -> None:
        again = {"101": [(D(2026, 2, 1), D(2026, 3, 6)), (D(2026, 3, 8), D(2026, 3, 11))]}
        frost = {"frost": RISKS["frost_after_uncovering"]}
        found = hours_at_risk(logged(MARCH, -1.0), again, frost)
        assert found["date"].dt.day.tolist() == list(range(11, 21))
        still = {"101": [*again["101"][:1], (D(2026, 3, 8), D.max)]}
        assert hours_at_risk(logged(MARCH, -1.0), still, frost).empty

    def test_frost_counts_on_open_plots_on_the_same_days(self) -> None:
        cold = np.where(MARCH.hour < 6, 0.0, 0.1)
        both = pd.concat([logged(MARCH, cold), logged(MARCH, cold, "103")], ignore_index=True)
        days = counted(both, "frost_after_uncovering").groupby("plot")["date"].apply(list)
        assert days["103"] == days["101"]
        assert len(days["103"]) == 14
        frost = {"frost": RISKS["frost_after_uncovering"]}
        # Without any cover no day is one after it came off.
        assert hours_at_risk(both, {}, frost).empty
        # Covers that came off on two days: an open plot counts the days of both.
        two = {**COVERED, "102": [(D(2026, 2, 1), D(2026, 3, 4))]}
        found = hours_at_risk(logged(MARCH, cold, "103"), two, frost)
        assert found["date"].dt.day.tolist() == list(range(4, 20))

    def test_a_spell_needs_its_days_in_a_row(self) -> None:
        day = np.asarray(MARCH.day)
        warm = np.isin(day, [1, 2, 3, 4, 6, 7, 8, 9, 10, 11])
        found = counted(logged(MARCH, np.where(warm, 8.0, 7.9)), "dehardening")
        assert found[found["marked"]]["date"].dt.day.tolist() == [6, 7, 8, 9, 10, 11]
        assert found["counted"].sum() == 6
        assert set(found["unit"]) == {"d"}

    def test_a_day_that_was_hardly_seen_ends_a_spell(self) -> None:
        gone = (MARCH.day == 5) & (MARCH.hour >= 6)
        found = counted(logged(MARCH[~gone], 9.0), "dehardening").set_index("date")
        assert np.isnan(found.loc["2026-03-05", "counted"])
        assert found.loc["2026-03-01":"2026-03-04", "counted"].tolist() == [0.0] * 4
        assert found.loc["2026-03-06":, "counted"].tolist() == [1.0] * 15
        assert found.loc["2026-03-05", "hours_seen"] == pytest.approx(7)

    def test_what_was_not_seen_is_not_counted(self) -> None:
        gone = (MARCH.day == 2) & (MARCH.hour >= 1) & (MARCH.hour <= 12)
        found = counted(logged(MARCH[~gone], 25.0), "canopy_heat").set_index("date")
        row = found.loc["2026-03-02"]
        assert (row["counted"], row["hours_seen"]) == pytest.approx((13, 13))

    def test_other_measures_are_not_counted_and_that_is_told(self) -> None:
        soil = logged(MARCH, 25.0, measure="soil_temperature")
        assert list(hours_at_risk(soil, COVERED).columns) == RISK_COLUMNS
        assert hours_at_risk(soil, COVERED).empty
        said = uncounted(soil)
        assert len(said) == len(RISKS)
        assert said[0] == (
            "Not counted: heat under cover, since no logger measured canopy_temperature."
        )
        assert uncounted(logged(MARCH, 1.0)) == []
        heat = RISKS["canopy_heat"].replaced("mine", measures=("soil_temperature",))
        assert len(hours_at_risk(soil, COVERED, {"heat": heat})) == 5

    @settings(max_examples=30, deadline=None)
    @given(st.lists(st.floats(-20, 40), min_size=48, max_size=48), st.floats(-10, 30))
    def test_a_narrower_band_never_counts_more(self, values: list[float], low: float) -> None:
        wide = Risk("wide", "wide band", "hours from {above}", "invented", above=low)
        narrow = wide.replaced("invented", above=low + 2)
        readings = logged(through("2026-03-01", "2026-03-03"), values)
        found = hours_at_risk(readings, {}, {"wide": wide, "narrow": narrow})
        sums = found.groupby("risk")["counted"].sum()
        assert sums["narrow"] <= sums["wide"] <= 48


class TestCovers:
    days = pd.Series(pd.date_range("2026-03-01", periods=10))

    def test_the_day_it_was_laid_is_covered_and_the_day_it_came_off_is_open(self) -> None:
        spans = [(D(2026, 3, 2), D(2026, 3, 4)), (D(2026, 3, 4), D(2026, 3, 5))]
        assert np.flatnonzero(lay(self.days, spans)).tolist() == [1, 2, 3]
        assert np.flatnonzero(came_off_within(self.days, spans, 3)).tolist() == [4, 5, 6]
        assert not lay(self.days, []).any()
        assert not came_off_within(self.days, [], 3).any()


class TestDollarSpot:
    def test_outside_its_range_there_is_none(self) -> None:
        given = {"intercept": 0.0, "per_humidity": 0.0, "per_degree": 0.0}
        assert dollar_spot(80, 9.99, **given) is None
        assert dollar_spot(80, 35.01, **given) is None
        assert dollar_spot(80, 10, **given) == dollar_spot(80, 35, **given) == 50
        assert dollar_spot(float("nan"), 20, **given) is None
        assert dollar_spot(80, float("nan"), **given) is None

    def test_no_coefficient_is_built_in(self) -> None:
        with pytest.raises(TypeError):
            dollar_spot(80, 20)

    def test_a_humidity_that_is_none(self) -> None:
        with pytest.raises(WinterswardError, match="humidity: found 101; allowed: 0 to 100 %"):
            dollar_spot(101, 20, 0.0, 0.0, 0.0)
