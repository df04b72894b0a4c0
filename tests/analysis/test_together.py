"""All dates in one model: the structure, the tests, the differences."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from analysis.dated import BLOCKS, COVER, SPLIT, TINE, dated_trial
from wintersward.analysis.results import TABLES
from wintersward.analysis.scopes import Scope, control_last, scopes_of
from wintersward.analysis.together import (
    Candidate,
    candidates,
    dates_together,
    joint_terms,
    judged,
    random_terms,
)
from wintersward.study import Trial

DAYS = (1, 8, 22, 40)
COVERS = {"open": 0.0, "fleece": 6.0, "woven": 3.0, "foam": 1.0}


def simulated(
    seed: int,
    plot_sd: float = 2.0,
    phi: float = 0.0,
    sd: dict[int, float] | None = None,
    lost: tuple[tuple[str, int], ...] = (),
) -> Any:
    """Blocks, plots and residuals of known size; residuals may fade and spread by date."""
    rng = np.random.default_rng(seed)
    known: dict[str, float] = {}
    state: dict[str, tuple[int, float]] = {}

    def value(plot: Any, day: int) -> float | None:
        block = known.setdefault(f"b{plot.block}", rng.normal(0, 3))
        own = known.setdefault(f"p{plot.plot}", rng.normal(0, plot_sd))
        whole = known.setdefault(f"w{plot.whole_plot}", rng.normal(0, plot_sd))
        before = state.get(plot.plot)
        fades = 0.0 if before is None or phi == 0 else phi ** (day - before[0])
        fresh = rng.normal(0, np.sqrt(1 - fades**2))
        now = fresh if before is None else fades * before[1] + fresh
        state[plot.plot] = (day, now)
        tine = -4.0 * (getattr(plot, "tine", "") == "hollow") * (day > 15)
        seen = 50 + day / 2 + COVERS[plot.cover] + tine + block + own + whole
        seen += 2.0 * now * (sd or {}).get(day, 1.0)
        return None if (plot.plot, day) in lost else round(float(np.clip(seen, 0, 100)), 4)

    return value


def scope_of(trial: Trial, which: int = 0) -> tuple[Scope, pd.DataFrame]:
    scope = scopes_of(trial, "cover_share")[0][which]
    return scope, control_last(trial, scope.data, scope.skeleton.factors)


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


def dense_loglik(data: pd.DataFrame, candidate: Candidate, terms: list[str]) -> float:
    """Restricted log-likelihood from the whole covariance matrix, sum-to-zero coded."""
    assert candidate.fit is not None
    variances, n = candidate.fit.variances, len(data)
    covariance = np.zeros((n, n))
    for term in terms:
        key = data[term.split(":")].astype(str).agg(":".join, axis=1).to_numpy()
        covariance += variances[term] * (key[:, None] == key[None, :])
    own = [
        variances.get(f"residual[{date}]", variances.get("residual"))
        for date in data["date"].astype(str)
    ]
    unit = data["unit_name"].to_numpy()
    if candidate.structure == "car1":
        day = data["day"].to_numpy()
        phi = candidate.fit.correlation
        alike = phi ** np.abs(day[:, None] - day[None, :]) * (unit[:, None] == unit[None, :])
    else:
        alike = np.eye(n)
    covariance += np.sqrt(np.outer(own, own)) * alike
    one = np.ones((n, 1))
    coded = [sum_coded(data[name]) for name in ("cover", "date")]
    crossed = np.einsum("ni,nj->nij", *coded).reshape(n, -1)
    x = np.column_stack([one, *coded, crossed])
    inverse = np.linalg.inv(covariance)
    information = x.T @ inverse @ x
    left = data["value"].to_numpy() - x @ np.linalg.solve(
        information, x.T @ inverse @ data["value"].to_numpy()
    )
    logs = np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(information)[1]
    return -0.5 * float(logs + left @ inverse @ left + (n - x.shape[1]) * np.log(2 * np.pi))


def sum_coded(column: pd.Series) -> np.ndarray:
    codes, size = column.cat.codes.to_numpy(), len(column.cat.categories)
    return np.vstack([np.eye(size - 1), -np.ones(size - 1)])[codes]


def test_every_structure_has_the_loglik_of_its_dense_covariance(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", simulated(1, phi=0.9), DAYS)
    scope, data = scope_of(trial)
    tried = candidates(data, scope.skeleton)
    terms = random_terms(scope.skeleton)
    assert terms == ["block", "block:date", "plot"]
    kinds = [("cs", False), ("car1", False), ("cs", True), ("car1", True)]
    assert [(c.structure, c.by_date) for c in tried] == kinds
    assert [c.parameters for c in tried] == [4, 5, 7, 8]
    for candidate in tried:
        assert candidate.fit is not None
        assert set(terms) <= set(candidate.fit.variances)  # the plot term always stays
        found = dense_loglik(data, candidate, terms)
        assert candidate.fit.loglik == pytest.approx(found, abs=1e-6)
        k, m = candidate.parameters, 72 - 12
        aicc = -2 * found + 2 * k * m / (m - k - 1)
        assert candidate.aicc == pytest.approx(aicc, abs=1e-5)
        row = candidate.row()
        assert (row["m"], row["parameters"]) == (m, k)
        assert np.isnan(row["correlation"]) == (candidate.structure == "cs")


def made(values: list[float | None]) -> list[Candidate]:
    """Make candidates that have an AICc and nothing else."""
    kinds = [("cs", False), ("car1", False), ("cs", True), ("car1", True)]
    return [
        Candidate(s, d, 4, None if aicc is None else SimpleNamespace(aicc=aicc))  # type: ignore
        for (s, d), aicc in zip(kinds, values, strict=True)
    ]


@pytest.mark.parametrize(
    ("values", "verdicts"),
    [
        ([100, 98.1, 99, 98.2], ["chosen", "runner-up", "considered", "considered"]),
        ([100, 98, 99, 99], ["chosen", "runner-up", "considered", "considered"]),  # 2 is not more
        ([100, 97.9, 99, 96], ["considered", "chosen", "considered", "runner-up"]),
        ([100, 98.5, 97, 99], ["considered", "runner-up", "chosen", "considered"]),
        ([100, 95, 90, 80], ["considered", "considered", "runner-up", "chosen"]),
        ([100, None, None, None], ["chosen", "refused", "refused", "refused"]),
        ([None, 90, 95, None], ["refused", "chosen", "runner-up", "refused"]),
        ([None, None, None, None], ["refused"] * 4),
    ],
)
def test_the_simpler_wins_unless_aicc_falls_by_more_than_two(
    values: list[float | None], verdicts: list[str]
) -> None:
    found = judged(made(values))
    assert [candidate.verdict for candidate in found] == verdicts
    assert all(c.reason for c in found if c.verdict != "refused")


def test_what_fades_and_what_spreads_is_found(tmp_path: Path) -> None:
    days = (1, 4, 8, 13, 19, 26, 34, 43)
    layout = BLOCKS.replace("6", "8")
    # A correlation of 0.93 over one day: half of it is gone after ten.
    fading = dated_trial(tmp_path / "a", simulated(1, 2.0, 0.93), days, layout)
    rows = dates_together(fading)["structures"].set_index("verdict")
    assert rows.loc["chosen", ["structure", "by_date"]].tolist() == ["car1", "no"]
    assert rows.loc["chosen", "correlation"] == pytest.approx(0.93, abs=0.05)
    spread = dated_trial(tmp_path / "b", simulated(1, 2.0, 0.0, {1: 0.3, 43: 3.0}), days, layout)
    rows = dates_together(spread)["structures"].set_index("verdict")
    assert rows.loc["chosen", ["structure", "by_date"]].tolist() == ["cs", "yes"]
    assert "lower by" in rows.loc["chosen", "reason"]


def test_few_residual_degrees_refuse_a_variance_for_each_date(tmp_path: Path) -> None:
    # Four blocks of three: six residual degrees of freedom on a date.
    trial = dated_trial(tmp_path / "a", simulated(4), DAYS, BLOCKS.replace("6", "4"))
    rows = dates_together(trial)["structures"].set_index(["structure", "by_date"])
    for structure in ("cs", "car1"):
        row = rows.loc[(structure, "yes")]
        assert row["verdict"] == "refused"
        assert "2026-03-02 has 6" in row["reason"]
        assert np.isnan(row["aicc"])
    assert rows.loc[("cs", "no"), "verdict"] in ("chosen", "runner-up")
    assert rows["m"].nunique() == 1


def test_five_blocks_have_just_enough(tmp_path: Path) -> None:
    # (5 - 1)(3 - 1) = 8 on every date, and 7 where a plot is lost.
    enough = dated_trial(tmp_path / "a", simulated(4), DAYS, BLOCKS.replace("6", "5"))
    verdicts = dates_together(enough)["structures"].set_index(["structure", "by_date"])["verdict"]
    assert verdicts[("cs", "yes")] != "refused"
    lost = simulated(4, lost=(("101", 8),))
    short = dated_trial(tmp_path / "b", lost, DAYS, BLOCKS.replace("6", "5"))
    rows = dates_together(short)["structures"].set_index(["structure", "by_date"])
    assert rows.loc[("cs", "yes"), "reason"].endswith("on a date: 2026-03-09 has 7")


def test_two_dates_cannot_tell_fading(tmp_path: Path) -> None:
    trial = dated_trial(tmp_path / "a", simulated(4), (1, 22))
    rows = dates_together(trial)["structures"].set_index(["structure", "by_date"])
    assert rows.loc[("car1", "no"), "verdict"] == "refused"
    assert "two dates cannot tell" in rows.loc[("car1", "no"), "reason"]
    assert rows.loc[("cs", "no"), "verdict"] == "chosen"


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


def test_random_terms_of_a_split_plot(split: Trial) -> None:
    scope, data = scope_of(split, 1)
    terms = ["block", "whole_plot", "block:date", "whole_plot:date", "plot"]
    assert random_terms(scope.skeleton) == terms
    assert joint_terms(scope.skeleton, data)["date"] == ("block on each date", 5.0)


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
