"""The table of flags: its columns, order and words, and what it is made from."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from records.flag_fields import definition, field, lines, plots, pulls, row, table
from wintersward.records.flag_parts import medians, medians_of, spread
from wintersward.records.flags import FLAG_COLUMNS, FLAG_KINDS, flag_words
from wintersward.records.observations import REPEAT, observation_frame

PLOTS = list(plots()["plot"])
DIARY = {
    "covers": [
        {"on": "2026-01-19", "off": "2026-03-12"},
        {"on": "2026-01-20", "off": "2026-01-22", "plots": ["1B"]},
    ]
}
OF_VALUES = FLAG_KINDS[FLAG_KINDS.index("jump") :]
KEY = ["kind", "measure", "date", "plot", "rater", "sample"]


@cache
def season() -> pd.DataFrame:
    """A season in which something of every kind is odd."""
    rng = np.random.default_rng(11)
    true = field(rng, shade=40)
    read = true + rng.normal(0, 2, true.shape)
    read.loc["2026-03-16", "204"] += 40
    read.loc["2026-03-24", ["101", "601"]] = read.loc["2026-03-24", ["601", "101"]].to_numpy()
    rows: list[tuple[Any, ...]] = []
    for at, plot in enumerate(PLOTS):
        rows.append(row("2026-03-16", plot, "weeds", 5 + 5 * (at % 9), rater="te"))
        rows.append(row("2026-03-24", plot, "colour_rating", 4 + at % 3, rater="te"))
        if plot != "303":
            rows.append(row("2026-03-24", plot, "colour_rating", 5 + at % 3, rater="rx"))
        for number in (1, 2, 3) if plot != "402" else (1, 2):
            twist = round(rng.normal(20, 1), 1) * (10 if (plot, number) == ("203", 2) else 1)
            rows.append(row("2026-03-24", plot, "torque", twist, sample=number))
    rows.append(row("2026-03-24", "101", "colour_rating", 8, rater="te", flags=REPEAT))
    return pd.concat([pulls(read), observation_frame(rows)], ignore_index=True)


@cache
def season_flags() -> pd.DataFrame:
    return table(season(), DIARY)


def test_a_season_with_one_of_each_shows_every_kind_in_order() -> None:
    found = table(season(), DIARY)
    assert tuple(found["kind"].drop_duplicates()) == FLAG_KINDS
    assert tuple(found.columns) == FLAG_COLUMNS
    assert list(found.index) == list(range(len(found)))
    assert not found.duplicated(KEY).any()
    for _, some in found.groupby("kind"):
        pd.testing.assert_frame_equal(some, some.sort_values(["date", "plot", "rater"]))


def test_nothing_observed_is_an_empty_table_with_its_types() -> None:
    empty, full = table([]), table(season(), DIARY)
    assert empty.empty
    pd.testing.assert_series_equal(empty.dtypes, full.dtypes)
    types = empty.dtypes.astype(str)
    assert (types["date"], types["value"]) == ("datetime64[ns]", "float64")


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.integers(0, 2**32 - 1))
def test_the_order_of_the_rows_means_nothing(seed: int) -> None:
    shuffled = season().sample(frac=1, random_state=seed)
    pd.testing.assert_frame_equal(table(shuffled, DIARY), season_flags())


def test_the_observations_are_left_as_they_are() -> None:
    before = season().copy()
    table(season(), DIARY)
    pd.testing.assert_frame_equal(season(), before)


def test_no_treatment_and_no_test_is_told() -> None:
    said = " ".join(table(season(), DIARY)[["found", "rule"]].to_numpy().ravel()).casefold()
    words = set(said.replace(",", " ").replace(";", " ").split())
    for factor in definition().treatments.values():
        for name, level in factor.levels.items():
            assert name not in words
            assert level.label.casefold() not in said
    assert words.isdisjoint({"p", "f", "t", "df", "p-value", "interval", "significant"})


def test_values_of_measures_that_are_not_named_are_not_looked_at() -> None:
    of_values = OF_VALUES
    every, none = table(season(), DIARY), table(season(), DIARY, [])
    pd.testing.assert_frame_equal(none, every[~every["kind"].isin(of_values)])
    some = table(season(), DIARY, ["weeds"])
    assert set(some[some["kind"].isin(of_values)]["measure"]) == {"weeds"}


def test_every_flag_is_one_line_with_place_kind_rule_and_advice() -> None:
    found = table(season(), DIARY)
    for flag, (_, series) in zip(found.itertuples(), found.iterrows(), strict=True):
        said = flag_words(flag)
        assert flag_words(series) == said
        assert "\n" not in said
        place, rest = said.split(f": flag {flag.kind}: ")
        assert rest.startswith(f"{flag.found}; rule: {flag.rule}; ")
        assert flag.measure in place


@pytest.mark.parametrize(
    ("sources", "place"),
    [
        (("sheets/a.csv:3", "sheets/a.csv:8"), "sheets/a.csv, rows 3 and 8, column pull_force"),
        (
            ("sheets/a.xlsx[Pulls]:3", "sheets/b.csv:8"),
            "sheets/a.xlsx[Pulls], row 3 and sheets/b.csv, row 8, column pull_force",
        ),
        (
            ("photos/2026-03-24/101.jpg", "photos/2026-03-24/601.jpg"),
            "photos/2026-03-24/101.jpg and photos/2026-03-24/601.jpg, pull_force",
        ),
    ],
)
def test_two_places_are_both_told(sources: tuple[str, str], place: str) -> None:
    seen = season()
    pair = ["101", "601"]
    for plot, source in zip(pair, sources, strict=True):
        there = (seen["plot"] == plot) & (seen["date"] == "2026-03-24")
        seen = seen.assign(source=seen["source"].where(~there, source))
    (said,) = lines(seen, DIARY, ["pull_force"], kind="two plots swapped")
    assert said.startswith(f"{place}: flag two plots swapped: ")


def test_a_demonstration_of_one_plot_each_has_no_course_to_leave() -> None:
    few = plots()["block"] == "1"
    read = field(np.random.default_rng(1))[list(plots().loc[few, "plot"])]
    read.loc["2026-03-16", "101"] += 500
    assert set(table(pulls(read))["kind"]).isdisjoint(OF_VALUES)


@given(
    hnp.arrays(
        float,
        hnp.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=8),
        elements=st.one_of(st.floats(-1e6, 1e6), st.just(np.nan)),
    )
)
def test_medians_are_those_of_what_is_there(values: np.ndarray[Any, Any]) -> None:
    wanted = pd.DataFrame(values).median(axis=1).to_numpy()
    np.testing.assert_allclose(medians(values), wanted)
    group = np.repeat(np.arange(len(values)), values.shape[1])
    np.testing.assert_allclose(medians_of(values.ravel(), group, len(values)), wanted)


def test_the_spread_of_normal_values_is_their_standard_deviation() -> None:
    drawn = np.random.default_rng(5).normal(0, 3, 20_000)
    assert spread(drawn) == pytest.approx(3, rel=0.02)
    assert spread(drawn, coarse=True) == pytest.approx(3, rel=0.02)
    drawn[:1000] = 1e6
    assert spread(drawn) == pytest.approx(3, rel=0.1)
    assert spread([], 0.5) == 0
    assert spread([0.0, 0.0, 0.0, 4.0]) == pytest.approx(1.2533)
    assert spread([0.0, 0.1, 0.1], 0.5) == 0.5
