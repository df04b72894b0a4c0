from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintersward.errors import WinterswardError
from wintersward.models import MixedFit, fit_mixed
from wintersward.models.letters import letters_of, share_letters


@pytest.fixture
def fit(trial: pd.DataFrame) -> MixedFit:
    return fit_mixed(trial, "green", "cover * tine", ["block", "block:cover"])


def shares(letters: list[str], parted: bool = False) -> np.ndarray:
    """Tell which levels have a letter in common."""
    held = [set(own.split() if parted else own) for own in letters]
    found = [[bool(a & b) for b in held] for a in held]
    return np.array(found, dtype=bool).reshape(len(held), len(held))


def relation(pairs: list[tuple[int, int]], size: int) -> np.ndarray:
    differs = np.zeros((size, size), dtype=bool)
    for i, j in pairs:
        differs[i, j] = differs[j, i] = True
    return differs


@st.composite
def relations(draw: st.DrawFn, most: int = 9) -> np.ndarray:
    size = draw(st.integers(1, most))
    pairs = [pair for pair in itertools.combinations(range(size), 2) if draw(st.booleans())]
    return relation(pairs, size)


@pytest.mark.parametrize("size", [1, 2, 3, 4, 5])
def test_every_relation_of_few_levels(size: int) -> None:
    pairs = list(itertools.combinations(range(size), 2))
    for chosen in itertools.product([False, True], repeat=len(pairs)):
        differs = relation([pair for pair, on in zip(pairs, chosen, strict=True) if on], size)
        np.testing.assert_array_equal(shares(share_letters(differs)), ~differs)


@settings(max_examples=300, deadline=None)
@given(relations())
def test_two_share_a_letter_just_where_they_do_not_differ(differs: np.ndarray) -> None:
    letters = share_letters(differs)
    np.testing.assert_array_equal(shares(letters), ~differs)
    assert "a" in letters[0]


@settings(max_examples=100, deadline=None)
@given(relations(7))
def test_no_letter_can_be_left_out(differs: np.ndarray) -> None:
    letters = share_letters(differs)
    for i, own in enumerate(letters):
        for letter in own:
            fewer = [*letters[:i], own.replace(letter, ""), *letters[i + 1 :]]
            assert (shares(fewer) != ~differs).any()


@settings(max_examples=100, deadline=None)
@given(relations())
def test_letters_stand_in_the_order_of_the_levels(differs: np.ndarray) -> None:
    letters = share_letters(differs)
    used = sorted(set("".join(letters)))
    assert used == [chr(ord("a") + i) for i in range(len(used))]
    holders = [[i for i, own in enumerate(letters) if letter in own] for letter in used]
    assert holders == sorted(holders)


@pytest.mark.parametrize(
    ("pairs", "size", "expected"),
    [
        ([], 3, ["a", "a", "a"]),
        ([(0, 1), (0, 2), (1, 2)], 3, ["a", "b", "c"]),
        # A middle level that is not told from either end.
        ([(0, 2)], 3, ["a", "ab", "b"]),
        # A chain, and a relation that no order of the means would give.
        ([(0, 2), (0, 3), (1, 3)], 4, ["a", "ab", "bc", "c"]),
        ([(0, 1), (2, 3)], 4, ["ab", "cd", "ac", "bd"]),
    ],
)
def test_by_hand(pairs: list[tuple[int, int]], size: int, expected: list[str]) -> None:
    assert share_letters(relation(pairs, size)) == expected


def test_the_example_of_the_paper() -> None:
    # Piepho (2004), example 3: eight treatments, 1 differs from 7 and 8, 2 from 4 and 5, 3 from 5
    # (the pairs as listed in the public repository cbsteh/CLD, whose display takes six letters).
    differs = relation([(0, 6), (0, 7), (1, 3), (1, 4), (2, 4)], 8)
    letters = share_letters(differs)
    np.testing.assert_array_equal(shares(letters), ~differs)
    assert set("".join(letters)) == set("abcde")


def test_sweeping_takes_away_groups_that_no_pair_needs() -> None:
    # A triangle 0-1-2, each side also within a further group: absorbing alone leaves four groups,
    # but the three outer ones hold every pair that does not differ.
    same = [(0, 1), (0, 2), (1, 2), (0, 3), (1, 3), (0, 4), (2, 4), (1, 5), (2, 5)]
    every = itertools.combinations(range(6), 2)
    differs = relation([pair for pair in every if pair not in same], 6)
    letters = share_letters(differs)
    np.testing.assert_array_equal(shares(letters), ~differs)
    assert set("".join(letters)) == {"a", "b", "c"}


def test_more_than_z() -> None:
    letters = share_letters(~np.eye(29, dtype=bool))
    assert letters[:2] == ["a", "b"]
    assert letters[25:] == ["z", "aa", "ab", "ac"]


def test_letters_beyond_z_are_parted() -> None:
    # 28 levels that differ, and a last one that differs from none of them.
    differs = ~np.eye(29, dtype=bool)
    differs[28] = differs[:, 28] = False
    letters = share_letters(differs)
    assert letters[28].split() == letters[:28]
    np.testing.assert_array_equal(shares(letters, parted=True), ~differs)


def test_no_level_no_letters() -> None:
    assert share_letters(np.zeros((0, 0), dtype=bool)) == []


@pytest.mark.parametrize(
    ("differs", "said"),
    [
        (np.zeros((2, 3)), r"shape \(2, 3\); allowed: square"),
        (np.array([[False, True], [False, False]]), "not symmetric"),
    ],
)
def test_what_is_no_relation_is_refused(differs: np.ndarray, said: str) -> None:
    with pytest.raises(WinterswardError, match=said):
        share_letters(differs)


class TestLettersOf:
    P = np.array([[1.0, 0.01, 0.2], [0.01, 1.0, 0.3], [0.2, 0.3, 1.0]])

    def test_the_largest_mean_has_an_a(self) -> None:
        assert letters_of(np.array([3.0, 9.0, 5.0]), self.P, 0.05) == ["b", "a", "ab"]
        assert letters_of(np.array([9.0, 3.0, 5.0]), self.P, 0.05) == ["a", "b", "ab"]

    def test_a_pair_at_alpha_shares(self) -> None:
        assert letters_of(np.array([3.0, 9.0, 5.0]), self.P, 0.01) == ["a", "a", "a"]

    def test_an_unknown_mean_has_none(self) -> None:
        p = self.P.copy()
        p[2] = p[:, 2] = np.nan
        assert letters_of(np.array([3.0, 9.0, np.nan]), p, 0.05) == ["b", "a", ""]

    def test_an_unknown_pair_of_known_means_withholds_all(self) -> None:
        p = self.P.copy()
        p[0, 1] = p[1, 0] = np.nan
        assert letters_of(np.array([3.0, 9.0, 5.0]), p, 0.05) == ["", "", ""]

    @settings(max_examples=200, deadline=None)
    @given(st.data())
    def test_whatever_is_missing(self, data: st.DataObject) -> None:
        size = data.draw(st.integers(1, 6))
        lost = data.draw(st.lists(st.booleans(), min_size=size, max_size=size))
        mean = np.array(data.draw(st.permutations([float(i) for i in range(size)])))
        p = np.ones((size, size))
        for i, j in itertools.combinations(range(size), 2):
            p[i, j] = p[j, i] = data.draw(st.sampled_from([0.001, 0.05, 0.4]))
        mean[lost] = p[lost] = p[:, lost] = np.nan
        given = letters_of(mean, p, 0.05)
        assert [own == "" for own in given] == lost
        known = ~np.array(lost)
        seen = shares([own for own in given if own])
        np.testing.assert_array_equal(seen, p[np.ix_(known, known)] >= 0.05)
        if known.any():
            assert "a" in given[int(np.nanargmax(mean))]


class TestOfAFit:
    def test_columns_and_rows_are_those_of_the_means(self, fit: MixedFit) -> None:
        found = fit.letters("cover", by="tine")
        assert list(found.columns) == ["tine", "cover", "mean", "letters"]
        means = fit.means("cover", by="tine")
        pd.testing.assert_frame_equal(found.iloc[:, :3], means[["tine", "cover", "mean"]])

    @pytest.mark.parametrize("adjust", ["tukey", "holm", "bonferroni", "none"])
    @pytest.mark.parametrize(
        ("factors", "by"), [("cover", None), ("cover", "tine"), (["cover", "tine"], None)]
    )
    def test_they_agree_with_the_pairs(
        self,
        make_trial: Callable[..., pd.DataFrame],
        adjust: str,
        factors: str | list[str],
        by: str | None,
    ) -> None:
        for seed in range(6):
            data = make_trial(seed)
            fit = fit_mixed(data, "green", "cover * tine", ["block", "block:cover"])
            found = fit.letters(factors, by=by, alpha=0.2, adjust=adjust)
            names = [factors] if isinstance(factors, str) else factors
            lead = [by] if by else []
            found["level"] = found[names].agg(", ".join, axis=1)
            own = found.set_index([*lead, "level"])["letters"]
            for row in fit.pairs(factors, by=by, adjust=adjust).to_dict("records"):
                left, right = (
                    own[(row[by], row[side]) if by else row[side]] for side in ("left", "right")
                )
                assert bool(set(left) & set(right)) == (row["p"] >= 0.2)

    def test_the_level_decides(self, fit: MixedFit) -> None:
        p = fit.pairs("cover")["p"]
        just = float(p.min())
        above, below = (fit.letters("cover", alpha=just * by)["letters"] for by in (1.001, 0.999))
        assert below.tolist() == ["a", "a", "a"]
        assert above.tolist() != ["a", "a", "a"]

    def test_a_missing_cell_has_no_letter(self, trial: pd.DataFrame) -> None:
        gone = (trial["cover"] == "woven") & (trial["tine"] == "solid")
        fit = fit_mixed(trial[~gone], "green", "cover * tine", ["block"])
        found = fit.letters("cover", by="tine").set_index(["tine", "cover"])
        assert found.loc[("solid", "woven"), "letters"] == ""
        assert np.isnan(found.loc[("solid", "woven"), "mean"])
        assert (found["letters"] == "").sum() == 1
        assert {note.code for note in fit.notes} >= {"non-estimable"}

    @pytest.mark.parametrize(
        ("arguments", "said"),
        [
            ({"alpha": 0.0}, "alpha: found 0.0"),
            ({"alpha": 5}, "over 0 and under 1, such as 0.05"),
            ({"adjust": "dunnett"}, "letters need all pairs"),
            ({"adjust": "turkey"}, "did you mean tukey"),
            ({"factors": []}, "at least one to compare"),
        ],
    )
    def test_refused(self, fit: MixedFit, arguments: dict[str, object], said: str) -> None:
        with pytest.raises(WinterswardError, match=said):
            fit.letters(**{"factors": "cover", **arguments})
