"""Randomisation test: Fisher's own example, another library, refits, and the layouts."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from analysis.conftest import RATED, Rated
from analysis.dated import BLOCKS, COVER, SPLIT, TINE, dated_trial
from wintersward.analysis import model_for
from wintersward.analysis.arrangements import Exchange, Square
from wintersward.analysis.primary import primary
from wintersward.analysis.randomisation import DRAWS, randomisation_test, randomised, t_values
from wintersward.analysis.results import empty
from wintersward.analysis.strata import stratum
from wintersward.errors import WinterswardError
from wintersward.models import fit_mixed
from wintersward.study import Trial, open_study

# Crossed less self-fertilised height of 15 pairs of Zea mays, eighths of an inch. Darwin C. (1876)
# The Effects of Cross and Self Fertilisation, table XCVII, as in Fisher R. A. (1935) The Design
# of Experiments, table 3.
MAIZE = [49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48]
LEFT_LESS_RIGHT = np.array([[1.0, -1.0]])


def in_pairs(differences: list[float]) -> tuple[np.ndarray, np.ndarray, np.ndarray, Exchange]:
    pairs = len(differences)
    values = np.concatenate([np.array(differences, dtype=float), np.zeros(pairs)])
    labels = np.repeat([0, 1], pairs)
    fixed = np.column_stack([np.ones(2 * pairs), np.tile(np.eye(pairs), (2, 1))])
    return values, labels, fixed, Exchange(labels, list(range(pairs)) * 2)


def test_fishers_test_of_darwins_maize() -> None:
    values, labels, fixed, exchange = in_pairs(MAIZE)
    found = randomised(values, fixed, exchange, labels, LEFT_LESS_RIGHT, 1, alike=2)
    # Fisher (1935), section 21: 863 of 32,768 arrangements with a total of 314 or more, so
    # 1,726 / 32,768 = 5.267 % counting both sides; Student's t 2.148.
    assert found.exact
    assert found.arrangements == found.draws == 32_768
    assert found.p[0] * 32_768 == pytest.approx(1726)
    assert found.statistics[0] == pytest.approx(2.148, abs=5e-4)
    assert found.smallest_p == 2 / 32_768


def test_two_free_groups_against_scipy() -> None:
    one, two = np.array([4.1, 5.0, 6.2, 5.5, 7.0]), np.array([3.9, 4.4, 4.0, 5.2])
    values, labels = np.concatenate([one, two]), np.repeat([0, 1], [5, 4])
    exchange = Exchange(labels, [()] * 9)
    found = randomised(values, np.ones((9, 1)), exchange, labels, LEFT_LESS_RIGHT, 1)

    def statistic(a: np.ndarray, b: np.ndarray, axis: int) -> np.ndarray:
        return np.abs(stats.ttest_ind(a, b, axis=axis).statistic)

    theirs = stats.permutation_test(
        (one, two), statistic, n_resamples=np.inf, alternative="greater"
    )
    assert found.arrangements == math.comb(9, 4)
    assert found.p[0] == pytest.approx(theirs.pvalue, abs=1e-12)
    assert found.statistics[0] == pytest.approx(stats.ttest_ind(one, two).statistic)


@pytest.mark.parametrize(("pairs", "smallest"), [(5, 0.0625), (6, 0.03125)])
def test_five_pairs_cannot_reach_one_in_twenty(pairs: int, smallest: float) -> None:
    values, labels, fixed, exchange = in_pairs([10.0 + i for i in range(pairs)])
    found = randomised(values, fixed, exchange, labels, LEFT_LESS_RIGHT, 1, alike=2)
    assert found.p[0] == found.smallest_p == smallest


def test_drawn_and_exact_agree() -> None:
    rng = np.random.default_rng(3)
    values, labels, fixed, exchange = in_pairs(list(rng.normal(0.7, 1, 12)))
    exact = randomised(values, fixed, exchange, labels, LEFT_LESS_RIGHT, 1)

    class Many(Exchange):
        listable = False  # type: ignore[assignment]

    many = Many(exchange.labels, list(range(12)) * 2)
    drawn = randomised(values, fixed, many, labels, LEFT_LESS_RIGHT, 7)
    assert (drawn.draws, drawn.exact) == (DRAWS, False)
    spread = math.sqrt(exact.p[0] * (1 - exact.p[0]) / DRAWS)
    assert drawn.p[0] == pytest.approx(exact.p[0], abs=4 * spread)
    assert (drawn.p[0] * (DRAWS + 1)) % 1 == pytest.approx(0, abs=1e-6)
    again = randomised(values, fixed, many, labels, LEFT_LESS_RIGHT, 7)
    assert again.p[0] == drawn.p[0]


def test_equal_values_count_as_ties_and_no_difference_gives_one() -> None:
    values, labels, fixed, exchange = in_pairs([0.1, -0.1, 0.3, -0.3, 0.2, -0.2])
    found = randomised(values, fixed, exchange, labels, LEFT_LESS_RIGHT, 1)
    assert found.p[0] == 1.0
    # 0.1 + 0.2 and 0.3 differ in the last digit only: these arrangements tie.
    values, labels, fixed, exchange = in_pairs([0.1, 0.2, -0.3, 0.1, 0.2, 0.3])
    sums = np.abs(np.array([0.1, 0.2, 0.3, 0.1, 0.2, 0.3]) @ exchange_signs(6))
    found = randomised(values, fixed, exchange, labels, LEFT_LESS_RIGHT, 1)
    assert found.p[0] == (np.round(sums, 9) >= 0.6).mean()


def exchange_signs(count: int) -> np.ndarray:
    return 1 - 2 * ((np.arange(2**count) >> np.arange(count)[:, None]) & 1)


def test_with_nothing_supposed_true_p_keeps_its_promise() -> None:
    # Whatever the values: over the arrangements themselves p is at most alpha in a share of at
    # most alpha of them.
    rng = np.random.default_rng(4)
    values = np.round(rng.gamma(0.7, 4, 14))
    labels, groups = np.array([0, 1, 0, 1, 0, 1, 0, 1, 0, 0, 1, 1, 2, 2]), [0, 0, 1, 1, 2, 2, 3, 3]
    groups += [4, 4, 4, 4, None, None]
    fixed = np.column_stack([np.ones(14), np.arange(14) // 2 == 6, np.arange(14) < 4])
    exchange = Exchange(labels, groups)
    contrasts = np.array([[1.0, -1.0, 0.0]])
    every = np.concatenate(list(exchange.every()))
    p = [randomised(values, fixed, exchange, one, contrasts, 1).p[0] for one in every]
    for alpha in (0.05, 0.1, 0.3):
        assert np.mean(np.array(p) <= alpha + 1e-12) <= alpha + 1e-12


def test_t_values_are_those_of_a_refit() -> None:
    rng = np.random.default_rng(5)
    cells = [(b, c, a) for b in "stuvw" for c in "xyz" for a in "pq"]
    frame = pd.DataFrame(cells, columns=["block", "cover", "tine"]).drop(index=[3, 11, 20])
    frame = frame.assign(y=rng.normal(size=len(frame))).reset_index(drop=True)
    labels = frame["cover"].map({"x": 0, "y": 1, "z": 2}) * 2 + frame["tine"].map({"p": 0, "q": 1})
    exchange = Exchange(labels.to_numpy(), list(zip(frame["block"], frame["tine"], strict=True)))
    contrasts = np.array([[0.5, 0.5, -0.5, -0.5, 0, 0], [0, 0, 0.5, 0.5, -0.5, -0.5]])
    fixed = np.column_stack([np.ones(len(frame)), pd.get_dummies(frame["block"])]).astype(float)
    drawn = next(exchange.drawn(4, rng))
    found = t_values(frame["y"].to_numpy(), fixed, drawn, contrasts)
    for one, made in zip(drawn, found, strict=True):
        refit = frame.assign(cover=[("x", "y", "z")[code // 2] for code in one])
        pairs = fit_mixed(refit, "y", "block + cover * tine").pairs(["cover"], adjust="none")
        t = pairs.set_index(["left", "right"])["t"]
        assert made.tolist() == pytest.approx([t["x", "y"], t["y", "z"]], abs=1e-9)


def test_what_an_arrangement_does_not_determine_is_not_a_number() -> None:
    labels = np.array([[0, 0, 1, 1], [0, 1, 0, 1]])
    blocks = np.array([[1, 0], [1, 0], [0, 1], [0, 1]], dtype=float)
    found = t_values(np.array([1.0, 2.0, 4.0, 3.0]), blocks, labels, LEFT_LESS_RIGHT)
    assert np.isnan(found[0, 0])
    assert np.isfinite(found[1, 0])


def test_a_square_is_drawn_anew() -> None:
    square = np.add.outer(np.arange(3), np.arange(3)) % 3
    rows, columns = np.repeat(np.eye(3), 3, axis=0), np.tile(np.eye(3), (3, 1))
    fixed = np.column_stack([rows, columns])
    values = np.array([9.1, 3.0, 4.2, 3.3, 4.0, 8.8, 4.5, 9.4, 3.1]) + 2 * rows[:, 1]
    contrasts = np.array([[1.0, -1.0, 0.0]])
    found = randomised(values, fixed, Square(square), square.ravel(), contrasts, 1, alike=2)
    every = np.concatenate(list(Square(square).every()))
    t = t_values(values, fixed, every, contrasts)[:, 0]
    assert found.arrangements == 12
    assert found.p[0] == np.mean(np.abs(t) >= abs(found.statistics[0]) - 1e-9)
    assert found.smallest_p == pytest.approx(2 / 12)


def test_the_primary_question_is_tested_on_its_own_units(rated_trial: Trial) -> None:
    row = randomisation_test(rated_trial)["randomisation"].iloc[0]
    answer = primary(rated_trial).iloc[0]
    assert row["statistic"] == pytest.approx(answer["t"])
    assert (row["arrangements"], row["draws"], row["exact"]) == (64, 64, "yes")
    assert row["smallest_p"] == row["p"] == 2 / 64
    assert row["seed"] == rated_trial.definition.layout.seed
    assert row["null"] == (
        "No whole plot would differ with 'Spun-bond fleece' in place of 'No cover'; these labels"
        " are exchanged within each block."
    )
    assert list(row.index) == list(empty("randomisation").columns)


def test_a_pair_by_hand(rated_trial: Trial) -> None:
    model = model_for(rated_trial, "colour_rating", rated_trial.primary_date)
    made = stratum(model, "cover").data
    wide = made.pivot(index="block", columns="cover", values="value")
    signs = exchange_signs(6)
    far, bar = 0, 0.0
    for column in range(64):
        flipped = wide.copy()
        turned = signs[:, column] < 0
        flipped.loc[turned, ["fleece", "open"]] = wide.loc[turned, ["open", "fleece"]].to_numpy()
        left = flipped.sub(flipped.mean(axis=1), axis=0)
        effects = left.mean()
        error = ((left - effects) ** 2).to_numpy().sum() / 10
        t = (effects["fleece"] - effects["open"]) / math.sqrt(error * 2 / 6)
        bar = bar or abs(t)
        far += abs(t) >= bar - 1e-9
    assert randomisation_test(rated_trial)["randomisation"]["p"].iloc[0] == far / 64


def test_a_family_is_held_against_its_largest_distance(
    rated: Rated, tmp_path_factory: pytest.TempPathFactory
) -> None:
    asked = RATED.replace("[fleece, open]", "{each: [fleece, woven], with: open}")
    trial = open_study(rated(tmp_path_factory.mktemp("family") / "study", measures=asked))
    found = randomisation_test(trial)["randomisation"]
    answer = primary(trial).query("which == 'as planned'")
    assert found["statistic"].tolist() == pytest.approx(answer["t"].tolist())
    assert set(found["arrangements"]) == {6.0**6}
    # The larger distance has the smaller p; Dunnett's, which supposes normal errors, is near.
    order = np.argsort(-found["statistic"].abs())
    assert found["p"].iloc[order].is_monotonic_increasing
    assert found["p"].tolist() == pytest.approx(answer["p"].tolist(), abs=0.01)
    assert "the largest of the comparisons counts" in found["null"].iloc[0]


def test_subplots_exchange_within_their_whole_plot(
    rated: Rated, tmp_path_factory: pytest.TempPathFactory
) -> None:
    asked = RATED.replace("[fleece, open]", "[hollow, solid]").replace(
        "on: 2026-03-24", "on: 2026-04-17"
    )
    trial = open_study(rated(tmp_path_factory.mktemp("tine") / "study", measures=asked))
    row = randomisation_test(trial)["randomisation"].iloc[0]
    assert (row["arrangements"], row["draws"], row["exact"]) == (2**18, DRAWS, "no")
    assert row["smallest_p"] == 2 / 2**18
    assert row["null"].startswith("No subplot would differ")
    assert "within each whole plot" in row["null"]


def test_a_lost_pair_is_not_exchanged(
    rated: Rated, tmp_path_factory: pytest.TempPathFactory
) -> None:
    study = rated(
        tmp_path_factory.mktemp("lost") / "study",
        "exclusions:\n  - {plot: 1A, measure: colour_rating, reason: flooded}\n",
    )
    trial = open_study(study)
    gone = trial.plots.set_index("whole_plot")["cover"].astype(str).loc["1A"].iloc[0]
    row = randomisation_test(trial)["randomisation"].iloc[0]
    lost = gone in ("fleece", "open")
    assert row["arrangements"] == (32 if lost else 64)
    assert row["smallest_p"] == (1 / 32 if lost else 2 / 64)
    assert row["statistic"] == pytest.approx(primary(trial).iloc[0]["t"])


ROWS_OF_STRIPS = "kind: strip plot\n  row_strips: cover\n  column_strips: tine\n  blocks: 3"


def noisy(plot: Any, day: int) -> float:
    rng = np.random.default_rng([int(plot.plot), day])
    return float(40 + 6 * (plot.cover == "fleece") + rng.normal(0, 3))


@pytest.mark.parametrize(
    ("layout", "treatments", "arrangements", "alike", "within"),
    [
        (BLOCKS, COVER, 2**6, 2, "within each block"),
        ("kind: completely random\n  replicates: 4", COVER, math.comb(8, 4), 2, "all their plots"),
        (
            "kind: randomised blocks\n  blocks: 4",
            COVER + TINE.replace("    applied: aeration\n", ""),
            2**8,
            2,
            "within each block and treatment of tine",
        ),
        ("kind: latin square", COVER, 12, 2, "as the layout deals them, within rows and columns"),
        (ROWS_OF_STRIPS, COVER + TINE, 6**3, 2, "as the layout deals them, within each block"),
        (SPLIT, COVER + TINE, 2**6, 2, "No whole plot would differ"),
    ],
)
def test_each_layout_has_its_own_arrangements(
    tmp_path: Path, layout: str, treatments: str, arrangements: int, alike: int, within: str
) -> None:
    trial = dated_trial(tmp_path / "study", noisy, layout=layout, treatments=treatments)
    row = randomisation_test(trial)["randomisation"].iloc[0]
    assert row["statistic"] == pytest.approx(primary(trial).iloc[0]["t"])
    assert row["arrangements"] == row["draws"] == arrangements
    assert row["smallest_p"] == alike / arrangements
    assert within in row["null"]
    assert row["smallest_p"] <= row["p"] <= 1
    assert (row["p"] * arrangements) % 1 == pytest.approx(0, abs=1e-9)


def test_a_strip_of_which_a_plot_was_lost_is_still_a_unit(tmp_path: Path) -> None:
    def lossy(plot: Any, day: int) -> float | None:
        return None if plot.plot == "102" else noisy(plot, day)

    trial = dated_trial(tmp_path / "study", lossy, layout=ROWS_OF_STRIPS, treatments=COVER + TINE)
    row = randomisation_test(trial)["randomisation"].iloc[0]
    assert row["arrangements"] == 6**3
    # The primary answer then weighs the strips; the test takes each as one value, and says so.
    made = stratum(model_for(trial, "cover_share", trial.primary_date), "cover")
    pairs = made.fit().pairs(["cover"], adjust="none").astype({"left": str, "right": str})
    t = pairs.set_index(["left", "right"])["t"]
    assert row["statistic"] == pytest.approx(-t["open", "fleece"])
    assert row["null"].endswith(
        "Some row strips lack a part of what they hold, so that the test is approximate."
    )


def test_a_square_with_a_lost_plot(tmp_path: Path) -> None:
    levels = ["open", "fleece", "woven", "mesh"]
    four = COVER.replace("woven: {label: woven}", "woven: {label: woven}, mesh: {label: mesh}")

    def lossy(plot: Any, day: int) -> float | None:
        return None if (plot.row, plot.column) == (2, 2) else noisy(plot, day)

    trial = dated_trial(tmp_path / "study", lossy, layout="kind: latin square", treatments=four)
    row = randomisation_test(trial)["randomisation"].iloc[0]
    assert list(trial.factors["cover"].levels) == levels
    assert (row["arrangements"], row["smallest_p"]) == (576, 1 / 576)
    assert row["statistic"] == pytest.approx(primary(trial).iloc[0]["t"])


def test_nothing_is_tested_before_the_question_has_data(tmp_path: Path) -> None:
    def early(plot: Any, day: int) -> float | None:
        return noisy(plot, day) if day < 40 else None

    trial = dated_trial(tmp_path / "study", early)
    (tmp_path / "study" / "diary.yaml").unlink()
    trial = open_study(trial.folder)
    assert not trial.ready
    assert randomisation_test(trial)["randomisation"].empty


def test_a_question_that_the_data_cannot_answer_has_no_test(tmp_path: Path) -> None:
    def never_open(plot: Any, day: int) -> float | None:
        return None if plot.cover == "open" else noisy(plot, day)

    trial = dated_trial(tmp_path / "study", never_open)
    assert trial.ready
    tables = randomisation_test(trial)
    assert tables["randomisation"].empty
    note = tables["notes"].iloc[0]
    assert (note["code"], note["measure"]) == ("no randomisation test", "cover_share")
    assert note["text"] == "no randomisation test: no observation of open can be used"


def test_a_comparison_that_the_units_do_not_determine_is_refused() -> None:
    blocks = np.array([[1, 0], [1, 0], [0, 1], [0, 1]], dtype=float)
    labels = np.array([0, 0, 1, 1])
    exchange = Exchange(labels, [0] * 4)
    with pytest.raises(WinterswardError, match="do not determine the comparison"):
        randomised(np.arange(4.0), blocks, exchange, labels, LEFT_LESS_RIGHT, 1)
