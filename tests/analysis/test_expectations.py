"""What a trial is said to be able to see: whole sentences, and the table behind them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analysis.planned import BLOCKS, one_factor, planned, shown_only
from wintersward import design
from wintersward.analysis import expectation_words, expected
from wintersward.analysis.expectations import amount_words
from wintersward.analysis.power import power
from wintersward.trial.schema import LaidByHand

OWN = ("  alpha: 0.05\n", "  alpha: 0.05\nplanning: {sd: 5 points}\n")


def test_the_table_has_the_planned_number_and_others_around_it(tmp_path: Path) -> None:
    table = expected(one_factor(tmp_path, OWN))
    assert table["blocks"].tolist() == [2, 3, 4, 5, 6, 7, 8]
    assert table.loc[table["planned"], "blocks"].tolist() == [4]
    asked = power(treatments=3, blocks=range(2, 9), difference=8, sd=5)
    for column in ("blocks", "units", "df", "power", "half_width", "smallest_p"):
        assert table[column].to_numpy() == pytest.approx(asked[column].to_numpy()), column
    for row in table.itertuples():
        again = power(treatments=3, blocks=int(row.blocks), difference=row.detectable, sd=5)
        assert again["power"].iloc[0] == pytest.approx(0.8, abs=1e-6)


def test_the_blocks_that_are_needed_stand_in_the_table(tmp_path: Path) -> None:
    table = expected(one_factor(tmp_path, ("8 points", "5 points")))
    assert table["blocks"].iloc[-1] > 7
    assert table["power"].iloc[-1] >= 0.8
    assert (table["power"].iloc[:-1] < 0.8).all()


def test_sentences_of_a_plan_that_sees_too_little(tmp_path: Path) -> None:
    said = expectation_words(one_factor(tmp_path, ("  blocks: 4", "  blocks: 5"), OWN))
    assert said == [
        "With 5 blocks you can expect to see a difference of 11 points or more in green cover "
        "between Spun-bond fleece and No cover, 8 times in 10.",
        "A difference of 8 points, the least that matters, would be seen 6 times in 10; to see "
        "it 8 times in 10 you need 8 blocks.",
        "The 95 % interval of a difference will reach about 7.1 points to either side.",
        "With 5 blocks chance alone could deal the treatments as they will lie in 1 of 16 ways, "
        "so the randomisation test cannot reach 0.05: take 6.",
        "It rests on 5 plots of each treatment and 8 degrees of freedom for the error.",
        "This takes plots treated alike in one block to differ by a standard deviation of 5 "
        "points, as 'planning' in trial.yaml says.",
    ]


def test_sentences_of_a_plan_that_sees_enough(tmp_path: Path) -> None:
    said = expectation_words(one_factor(tmp_path, ("  blocks: 4", "  blocks: 9"), OWN))
    assert said[1].startswith("A difference of 8 points, the least that matters, would be seen ")
    assert said[1].endswith(" times in 100; 8 blocks would do.")
    assert said[3].endswith("in 1 of 256 ways, so the randomisation test can reach 0.05.")


def test_the_default_says_where_it_comes_from_and_how_to_write_your_own(tmp_path: Path) -> None:
    cover, own = expectation_words(planned(tmp_path))[-2:]
    assert "whole plots treated alike in one block" in cover
    assert "8.2 points" in cover
    assert "NTEP" in cover
    assert own == (
        "To plan by your own number, write it in trial.yaml as 'planning: {sd: 6 points}'."
    )
    rated = planned(tmp_path, ("measure: green_cover", "measure: colour_rating"), ("8 points", "1"))
    said = expectation_words(rated)
    assert "Oregon (NTEP tables), so 20 % is taken, of the middle of the scale, 5." in said[-2]
    assert said[1].startswith("A difference of 1, the least that matters,")


def test_a_measure_of_unknown_spread_is_not_guessed(tmp_path: Path) -> None:
    pulled = planned(
        tmp_path, ("measure: green_cover", "measure: pull_force"), ("8 points", "5 lbf")
    )
    table = expected(pulled)
    assert table[["detectable", "half_width", "power"]].isna().all(axis=None)
    assert table["df"].tolist() == [2 * (b - 1) for b in range(3, 10)]
    said = expectation_words(pulled)
    assert len(said) == 4
    assert said[-2].startswith("How much pull force differs between whole plots treated alike is")
    assert "planning: {sd: 2 lbf}" in said[-1]


def test_amounts_are_in_the_unit_of_the_reader(tmp_path: Path) -> None:
    changes = (("measure: green_cover", "measure: pull_force"), ("8 points", "5 lbf"))
    us = planned(tmp_path, *changes)
    assert amount_words(us, us.analysis.primary.matters_from.value) == "5 lbf"
    metric = planned(tmp_path, *changes, ("units: us", "units: metric"))
    assert amount_words(metric, metric.analysis.primary.matters_from.value) == "22.24 N"


@pytest.mark.parametrize(
    ("value", "said"), [(10.4, "11 points"), (11.0 + 1e-12, "11 points"), (0.981, "0.99 points")]
)
def test_no_more_is_promised_than_is_there(tmp_path: Path, value: float, said: str) -> None:
    assert amount_words(planned(tmp_path), value, up=True) == said


def test_a_family_is_told_as_one(tmp_path: Path) -> None:
    family = ("[fleece, open]", "{each: [fleece, woven], with: open}")
    said = expectation_words(one_factor(tmp_path, family, OWN))
    assert "between No cover and each of Spun-bond fleece and Woven permeable cover, " in said[0]
    assert "2 comparisons held together," in said[2]


def test_grounds_are_told(tmp_path: Path) -> None:
    grounds = f"{BLOCKS}  grounds: {{upper: Upper field, lower: Lower field}}\n"
    said = expectation_words(one_factor(tmp_path, OWN, layout=grounds))
    assert said[0].startswith("With 4 blocks on each of 2 grounds you can expect")
    assert said[4] == (
        "It rests on 8 plots of each treatment and 12 degrees of freedom for the error."
    )


def test_layouts_without_blocks_are_told(tmp_path: Path) -> None:
    square = one_factor(tmp_path, OWN, layout="  kind: latin square\n")
    assert len(expected(square)) == 1
    said = expectation_words(square)
    assert said[0].startswith("With a square of 3 rows you can expect")
    assert said[1].endswith("to see it 8 times in 10 take randomised blocks, 8 of them.")
    assert said[3].endswith("cannot reach 0.05: take randomised blocks.")
    layout = "  kind: completely random\n  replicates: 5\n"
    said = expectation_words(one_factor(tmp_path, OWN, layout=layout))
    assert said[0].startswith("With 5 plots of each treatment you can expect")
    assert said[-1].startswith("This takes plots treated alike to differ")


def test_what_no_number_of_blocks_shows(tmp_path: Path) -> None:
    said = expectation_words(one_factor(tmp_path, ("8 points", "1 points")))
    assert said[1].endswith(
        "not even 60 blocks would show it 8 times in 10: ask for a larger difference, or make "
        "the plots more alike."
    )


def test_a_demonstration_has_one_sentence_and_no_numbers(tmp_path: Path) -> None:
    shown = shown_only(planned(tmp_path))
    assert expected(shown).empty
    (said,) = expectation_words(shown)
    assert "no difference, however large, can be told by a test" in said


def test_expected_half_width_holds_what_simulated_trials_show(tmp_path: Path) -> None:
    row = expected(one_factor(tmp_path, OWN)).query("planned").iloc[0]
    rng = np.random.default_rng(8)
    noise = rng.normal(0, 5, (40_000, 4, 3))
    rest = noise - noise.mean(axis=1, keepdims=True) - noise.mean(axis=2, keepdims=True)
    rest += noise.mean(axis=(1, 2), keepdims=True)
    error = (rest**2).sum(axis=(1, 2)) / 6
    # 2.447 is the two-sided 5 % point of t with 6 degrees of freedom, from printed tables.
    reach = 2.447 * np.sqrt(2 * error / 4)
    assert row["half_width"] == pytest.approx(reach.mean(), rel=5e-3)
    off = noise[:, :, 0].mean(axis=1) - noise[:, :, 1].mean(axis=1) + row["detectable"]
    assert (np.abs(off) > reach).mean() == pytest.approx(0.8, abs=4 * np.sqrt(0.16 / 40_000))


@pytest.mark.parametrize("measure", ["green_cover", "pull_force"])
def test_paper_is_not_told_how_to_plan_anew(tmp_path: Path, measure: str) -> None:
    matters = "5 lbf" if measure == "pull_force" else "5 points"
    trial = planned(
        tmp_path, ("measure: green_cover", f"measure: {measure}"), ("8 points", matters)
    )
    said = expectation_words(trial)
    assert expectation_words(trial, for_paper=True) == said[:-1]
    assert not any("trial.yaml" in one for one in said[:-1])


def test_one_order_laid_by_hand_promises_nothing(tmp_path: Path) -> None:
    drawn = one_factor(tmp_path, OWN)
    hand = LaidByHand.model_validate({"how": "as they came", "signed": "rx", "date": "2026-01-10"})
    layout = drawn.layout.model_copy(update={"laid_by_hand": hand})
    trial = drawn.model_copy(update={"layout": layout})
    plots = design.draw(trial)
    assert expectation_words(trial, plots=plots) == expectation_words(trial)
    plots["cover"] = pd.Categorical(["open", "fleece", "woven"] * 4, plots["cover"].cat.categories)
    first, *others = expectation_words(trial, plots=plots)
    assert first.startswith("What follows holds only if chance decided where each treatment lies:")
    assert others == expectation_words(trial)


def test_more_ways_than_a_million_are_not_counted(tmp_path: Path) -> None:
    said = expectation_words(one_factor(tmp_path, ("  blocks: 4", "  blocks: 20"), OWN))
    assert "1 of 524288 ways" in said[3]
    said = expectation_words(one_factor(tmp_path, ("  blocks: 4", "  blocks: 22"), OWN))
    assert "in 1 of more than a million ways, so the randomisation test can reach" in said[3]
