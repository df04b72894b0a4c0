"""All dates in one model: the tests, the differences, what does not enter."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from analysis.dated import BLOCKS, COVER, SPLIT, TINE, dated_trial
from analysis.seasonal import DAYS, scope_of, simulated
from wintersward.analysis.results import TABLES
from wintersward.analysis.together import above_design, dates_together
from wintersward.study import Trial


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    return dated_trial(tmp_path_factory.mktemp("plain") / "a", simulated(4), DAYS)


@pytest.fixture(scope="module")
def split(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    folder = tmp_path_factory.mktemp("split") / "a"
    return dated_trial(folder, simulated(8), DAYS, SPLIT, COVER + TINE)


def test_tables_have_the_columns_that_they_promise(split: Trial) -> None:
    for name, frame in dates_together(split).items():
        assert list(frame.columns) == [column.name for column in TABLES[name].columns]
        assert not frame.duplicated(list(TABLES[name].key)).any()


def sums_of_squares(data: pd.DataFrame) -> dict[str, tuple[float, int]]:
    """Analysis of variance of plots in blocks, split by dates; sums and degrees of freedom."""
    b, t, d = (data[name].astype(str) for name in ("block", "cover", "date"))
    y = data["value"]
    grand = y.mean()

    def between(*factors: pd.Series) -> float:
        key = pd.concat(factors, axis=1).agg("/".join, axis=1)
        return float(((y.groupby(key).transform("mean") - grand) ** 2).sum())

    one = {name: between(f) for name, f in (("b", b), ("t", t), ("d", d))}
    bt, bd, td = (between(*two) for two in ((b, t), (b, d), (t, d)))
    total = float(((y - grand) ** 2).sum())
    nb, nt, nd = b.nunique(), t.nunique(), d.nunique()
    return {
        "cover": (one["t"], nt - 1),
        "plots": (bt - one["b"] - one["t"], (nb - 1) * (nt - 1)),
        "date": (one["d"], nd - 1),
        "block dates": (bd - one["b"] - one["d"], (nb - 1) * (nd - 1)),
        "cover:date": (td - one["t"] - one["d"], (nt - 1) * (nd - 1)),
        "rest": (
            total - bt - bd - td + one["b"] + one["t"] + one["d"],
            (nb - 1) * (nt - 1) * (nd - 1),
        ),
    }


def test_compound_symmetry_gives_the_classical_split_in_time(plain: Trial) -> None:
    scope, data = scope_of(plain)
    chosen = dates_together(plain)
    structures = chosen["structures"].set_index(["structure", "by_date"])
    assert structures.loc[("cs", "no"), "verdict"] == "chosen"
    squares = sums_of_squares(data)
    mean = {name: total / df for name, (total, df) in squares.items()}
    tests = chosen["joint_tests"].set_index("term")
    errors = {"cover": "plots", "date": "block dates", "cover:date": "rest"}
    for term, error in errors.items():
        assert tests.loc[term, "f"] == pytest.approx(mean[term] / mean[error], rel=1e-6)
        assert tests.loc[term, "df_num"] == squares[term][1]
        assert tests.loc[term, "df_den"] == pytest.approx(squares[error][1], rel=1e-6)
        assert tests.loc[term, "df_design"] == squares[error][1]
    assert tests.loc["cover", "unit_kind"] == "plot"
    assert tests.loc["date", "unit_kind"] == "block on each date"
    assert set(tests["method"]) == {"Kenward-Roger, expected information"}
    rows = chosen["joint_differences"]
    overall = rows[rows["date"] == "all"].set_index(["left", "right"]).loc[("fleece", "open")]
    means = data.groupby("cover", observed=True)["value"].mean()
    assert overall["difference"] == pytest.approx(means["fleece"] - means["open"])
    assert overall["se"] == pytest.approx(np.sqrt(2 * mean["plots"] / (6 * 4)))
    assert overall["df"] == pytest.approx(10)
    on = rows[rows["date"] == "2026-03-23"].set_index(["left", "right"]).loc[("woven", "open")]
    there = data[data["date"] == "2026-03-23"].groupby("cover", observed=True)["value"].mean()
    assert on["difference"] == pytest.approx(there["woven"] - there["open"])
    # Standard error within a date: both errors, weighed (Gomez and Gomez 1984, split plots).
    assert on["se"] == pytest.approx(np.sqrt(2 * (mean["plots"] + 3 * mean["rest"]) / (6 * 4)))
    assert len(rows) == 3 * (len(scope.dates) + 1)
    assert on["p"] == pytest.approx(2 * stats.t.sf(abs(on["t"]), on["df"]))


def test_a_split_plot_has_both_scopes_with_their_units(split: Trial) -> None:
    found = dates_together(split)
    tests = found["joint_tests"].set_index(["scope", "term"])
    expected = {
        ("cover", "cover"): ("whole plot", 10),
        ("cover", "date"): ("block on each date", 15),
        ("cover", "cover:date"): ("whole plot on each date", 30),
        ("cover:tine", "cover"): ("whole plot", 10),
        ("cover:tine", "tine"): ("subplot", 15),
        ("cover:tine", "cover:tine"): ("subplot", 15),
        ("cover:tine", "date"): ("block on each date", 5),
        ("cover:tine", "cover:date"): ("whole plot on each date", 10),
        ("cover:tine", "tine:date"): ("subplot on each date", 15),
        ("cover:tine", "cover:tine:date"): ("subplot on each date", 15),
    }
    for key, (unit, df) in expected.items():
        assert tests.loc[key, ["unit_kind", "df_design"]].tolist() == [unit, df]
        assert tests.loc[key, "df_den"] == pytest.approx(df, rel=1e-3)
    assert len(tests) == len(expected)
    rows = found["joint_differences"]
    within = rows[(rows["scope"] == "cover:tine") & (rows["date"] == "2026-04-10")]
    inside = {"", *(f"cover={c}" for c in ("open", "fleece", "woven")), "tine=solid", "tine=hollow"}
    assert set(within["within"]) == inside
    tine = within[within["effect"] == "tine"]
    assert set(zip(tine["left"], tine["right"], strict=True)) == {("hollow", "solid")}
    assert tine["difference"].mean() == pytest.approx(-4, abs=1.5)


LAYOUTS = {
    # Design degrees of freedom over four dates; with two factors over the last two.
    "completely random": (
        "kind: completely random\n  replicates: 6",
        COVER,
        {
            ("cover", "cover"): ("plot", 15),
            ("cover", "date"): ("plot on each date", 45),
            ("cover", "cover:date"): ("plot on each date", 45),
        },
    ),
    "latin square": (
        "kind: latin square",
        COVER.replace("woven}", "woven}, foam: {label: foam}"),
        {
            ("cover", "cover"): ("plot", 6),
            ("cover", "date"): ("row on each date", 9),
            ("cover", "cover:date"): ("plot on each date", 18),
        },
    ),
    "strip plot": (
        "kind: strip plot\n  row_strips: cover\n  column_strips: tine\n  blocks: 5",
        COVER + TINE,
        {
            ("cover", "cover"): ("row strip", 8),
            ("cover", "date"): ("block on each date", 12),
            ("cover", "cover:date"): ("row strip on each date", 24),
            ("cover:tine", "cover"): ("row strip", 8),
            ("cover:tine", "tine"): ("column strip", 4),
            ("cover:tine", "cover:tine"): ("plot", 8),
            ("cover:tine", "date"): ("block on each date", 4),
            ("cover:tine", "cover:date"): ("row strip on each date", 8),
            ("cover:tine", "tine:date"): ("column strip on each date", 4),
            ("cover:tine", "cover:tine:date"): ("plot on each date", 8),
        },
    ),
}


@pytest.mark.parametrize("kind", list(LAYOUTS))
def test_every_layout_has_its_units_and_degrees_of_freedom(kind: str, tmp_path: Path) -> None:
    layout, treatments, expected = LAYOUTS[kind]
    trial = dated_trial(tmp_path / "a", simulated(6), DAYS, layout, treatments)
    tests = dates_together(trial)["joint_tests"].set_index(["scope", "term"])
    assert len(tests) == len(expected)
    for key, told in expected.items():
        assert tuple(tests.loc[key, ["unit_kind", "df_design"]]) == told
        assert tests.loc[key, "df_den"] > 0


def test_empty_cells_leave_differences_and_no_tests(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "draw", simulated(4), DAYS)
    gone = set(trial.plots.loc[trial.plots["cover"] == "woven", "plot"])
    value = simulated(4, lost=tuple((plot, 8) for plot in gone))
    found = dates_together(dated_trial(tmp_path / "a", value, DAYS))
    assert found["joint_tests"].empty
    assert "no tests" in set(found["notes"]["code"])
    rows = found["joint_differences"]
    on = rows[rows["date"] == "2026-03-09"]
    assert list(zip(on["left"], on["right"], strict=True)) == [("fleece", "open")]
    overall = rows[rows["date"] == "all"]
    assert list(zip(overall["left"], overall["right"], strict=True)) == [("fleece", "open")]


def test_more_degrees_than_the_layout_has_are_told(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", simulated(1, plot_sd=0.5, sd={1: 0.2, 40: 4.0}), DAYS)
    found = dates_together(trial)
    tests = found["joint_tests"]
    above = tests[tests["df_den"] > tests["df_design"] * 1.000001].set_index("term")
    assert list(above.index) == ["cover"]
    told = found["notes"].loc[found["notes"]["code"] == "df-above-design", "text"]
    assert told.iloc[0].endswith(f"cover with {above.loc['cover', 'df_den']:.1f} of 10")


def test_values_that_do_not_vary_are_told(tmp_path: Path) -> None:
    found = dates_together(dated_trial(tmp_path / "a", lambda plot, day: 40.0 + day, DAYS))
    assert set(found["structures"]["verdict"]) == {"refused"}
    assert found["joint_differences"].empty
    assert "not analysed" in found["notes"]["text"].iloc[0]


def full_at_the_end(plot: Any, day: int) -> float:
    """Cover that has closed everywhere by the last visit, not quite to the same share."""
    return 99.4 + int(plot.block) / 20 if day == 40 else SIMULATED(plot, day)


SIMULATED = simulated(4)


def test_a_date_at_the_end_of_the_scale_is_left_out_of_the_model(tmp_path: Path) -> None:
    found = dates_together(dated_trial(tmp_path / "a", full_at_the_end, DAYS, primary=22))
    rows = found["joint_differences"]
    assert set(rows["date"]) == {"2026-03-02", "2026-03-09", "2026-03-23", "all"}
    told = found["notes"]["text"].str.cat(sep=" | ")
    assert "2026-04-10 does not enter: every plot is at 99 % or more" in told
    # As if the last visit had not been paid.
    short = dates_together(dated_trial(tmp_path / "b", simulated(4), DAYS[:3], primary=22))
    pd.testing.assert_frame_equal(rows, short["joint_differences"])


def test_one_date_that_can_be_compared_is_no_joint_model(tmp_path: Path) -> None:
    found = dates_together(dated_trial(tmp_path / "a", full_at_the_end, (8, 40), primary=8))
    assert found["structures"].empty
    assert "fewer than two dates can be compared" in found["notes"]["text"].str.cat()


@pytest.mark.parametrize(
    ("found", "design", "told"),
    [
        (6.00001, 6.0, ""),
        (6.04, 6.0, ""),
        (1.03, 1.0, ""),  # 3 % above, and still "1.0 of 1"
        (60.9, 60.0, ""),
        (6.3, 6.0, "cover with 6.3 of 6"),
        (62.0, 60.0, "cover with 62.0 of 60"),
        (5.0, 6.0, ""),
    ],
)
def test_rounding_is_not_more_than_the_layout_has(found: float, design: float, told: str) -> None:
    tests = pd.DataFrame({"term": ["cover"], "df_den": [found], "df_design": [design]})
    notes = above_design(tests)
    assert [text.rsplit(": ", 1)[1] for _, text in notes] == ([told] if told else [])


def test_one_pooled_variance_is_told_once(tmp_path: Path, plain: Trial) -> None:
    four = dated_trial(tmp_path / "a", simulated(4), DAYS, BLOCKS.replace("6", "4"))
    told = dates_together(four)["notes"]
    told = told[told["code"] == "pooled-variance"]
    assert len(told) == 1
    assert "share one pooled variance" in told["text"].iloc[0]
    assert "pooled-variance" not in set(dates_together(plain)["notes"]["code"])
