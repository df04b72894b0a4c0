"""Who looks at which plot, in which order, and which plots are looked at twice."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from papers.trial_papers import sound
from wintersward.papers.looks import looks, second_looks, walks
from wintersward.trial import Definition
from wintersward.trial.schema import SheetMeasure

DAY = dt.date(2026, 3, 24)
WALK = [str(100 + number) for number in range(30)]


def sheet(definition: Definition, name: str) -> SheetMeasure:
    measure = definition.measures[name]
    assert isinstance(measure, SheetMeasure)
    return measure


def test_first_looks_follow_the_walk(definition: Definition, plots: pd.DataFrame) -> None:
    rows = looks(definition, plots, DAY, "te", {"c": sheet(definition, "colour_rating")})
    assert list(rows.columns) == ["plot", "sample", "repeat", "c"]
    first = rows[~rows["repeat"]]
    assert list(first["plot"]) == list(plots.sort_values("walk")["plot"])
    assert first["c"].all()


def test_a_tenth_is_looked_at_twice_after_the_walk_and_in_its_order(
    definition: Definition, plots: pd.DataFrame
) -> None:
    rows = looks(definition, plots, DAY, "te", {"c": sheet(definition, "colour_rating")})
    # 10 % of 36 plots is 3.6: four plots.
    assert list(rows["repeat"]) == [False] * 36 + [True] * 4
    walk = plots.set_index("plot")["walk"]
    again = walk[rows.loc[rows["repeat"], "plot"]]
    assert again.is_monotonic_increasing
    assert again.is_unique
    # At least a third of the walk lies between the two looks.
    later = [36 + step + 1 for step in range(4)]
    assert all(second - first >= 12 for first, second in zip(again, later, strict=True))


@given(
    st.integers(0, 2**63),
    st.integers(1, 60),
    st.floats(0, 50),
    st.sampled_from(["", "te", "é=1"]),
)
def test_whatever_the_share_there_is_always_enough_to_draw_from(
    seed: int, many: int, share: float, rater: str
) -> None:
    names = [str(number) for number in range(many)]
    (chosen,) = second_looks(seed, DAY, rater, [names], share)
    assert share - 1e-6 <= 100 * len(chosen) / many < share + 100 / many + 1e-6
    assert len(set(chosen)) == len(chosen)
    assert all(many - int(one) >= many / 3 for one in chosen)


def test_one_plot_at_least_is_looked_at_twice() -> None:
    assert [len(one) for one in second_looks(1, DAY, "te", [WALK[:3], WALK[3:5]], 1.0)] == [1, 1]
    assert second_looks(1, DAY, "te", [WALK], 0.0) == [[]]


def test_ten_percent_of_thirty_is_three() -> None:
    assert len(second_looks(1, DAY, "te", [WALK], 10.0)[0]) == 3


def test_each_rater_and_day_has_a_draw_of_its_own_that_is_made_again() -> None:
    def draw(seed: int, day: dt.date, rater: str) -> list[str]:
        return second_looks(seed, day, rater, [WALK], 20.0)[0]

    first = draw(7, DAY, "te")
    assert draw(7, DAY, "te") == first
    others = [draw(8, DAY, "te"), draw(7, dt.date(2026, 3, 25), "te"), draw(7, DAY, "rx")]
    assert first not in others
    # The numbers of a seed may not change with the version: sheets are printed again.
    assert first == ["105", "113", "101", "102", "110", "112"]


def test_every_plot_of_the_first_two_thirds_is_drawn_alike_often() -> None:
    days = [DAY + dt.timedelta(number) for number in range(2000)]
    chosen = [p for day in days for p in second_looks(1, day, "te", [WALK], 10.0)[0]]
    often = pd.Series(chosen).value_counts().reindex(WALK, fill_value=0)
    assert (often[20:] == 0).all()
    # 2000 draws of 3 out of 20: 300 each, standard deviation 16; five of them either way.
    assert often[:20].between(220, 380).all()


def test_a_measure_with_fewer_repeats_shares_them(
    definition: Definition, plots: pd.DataFrame
) -> None:
    colour = sheet(definition, "colour_rating")
    some = {"few": colour, "many": colour.model_copy(update={"repeats": 25.0})}
    rows = looks(definition, plots, DAY, "te", some)
    again = rows[rows["repeat"]]
    assert again[["few", "many"]].sum().tolist() == [4, 9]
    alone = looks(definition, plots, DAY, "te", {"few": colour})
    assert list(again.loc[again["few"], "plot"]) == list(alone.loc[alone["repeat"], "plot"])


def test_samples_beyond_a_measure_are_not_to_be_filled_in(
    definition: Definition, plots: pd.DataFrame
) -> None:
    colour, pull = sheet(definition, "colour_rating"), sheet(definition, "pull_force")
    rows = looks(definition, plots, DAY, "", {"colour": colour, "pull": pull})
    first = rows[~rows["repeat"]]
    assert len(first) == 36 * 3
    assert list(first.loc[first["colour"], "sample"].unique()) == [1]
    assert first["pull"].all()
    # The pulls have no second look, and so the second looks at colour have one row each.
    again = rows[rows["repeat"]][["sample", "colour", "pull"]].drop_duplicates()
    assert again.to_numpy().tolist() == [[1, True, False]]


def test_what_takes_turf_away_is_not_done_twice(definition: Definition) -> None:
    assert sheet(definition, "colour_rating").repeat_share == 10.0
    assert sheet(definition, "pull_force").repeat_share == 0.0
    told = sound("colour_rating", destructive=True)
    assert sheet(told, "colour_rating").repeat_share == 0.0


@pytest.fixture
def two_grounds(plots: pd.DataFrame) -> pd.DataFrame:
    """The blocks on two grounds, each with a walk that begins anew."""
    ground = plots["block"].map(lambda block: "upper" if int(block) <= 3 else "lower")
    return plots.assign(ground=ground, walk=(plots["walk"] - 1) % 18 + 1)


def test_each_ground_is_walked_to_its_end(
    definition: Definition, two_grounds: pd.DataFrame
) -> None:
    assert [len(walk) for walk in walks(two_grounds)] == [18, 18]
    rows = looks(definition, two_grounds, DAY, "te", {"c": sheet(definition, "colour_rating")})
    assert list(rows.columns) == ["plot", "ground", "sample", "repeat", "c"]
    # 10 % of 18 plots is two on each ground, before the other ground is gone to.
    assert list(rows["ground"]) == ["upper"] * 20 + ["lower"] * 20
    assert list(rows["repeat"]) == ([False] * 18 + [True] * 2) * 2
