from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from wintersward.errors import WinterswardError
from wintersward.models.columns import take_columns
from wintersward.models.fixed import FixedPart, build_fixed
from wintersward.models.formula import parse_fixed
from wintersward.models.notes import Note


def built(data: pd.DataFrame, fixed: str) -> tuple[FixedPart, tuple[Note, ...]]:
    terms = parse_fixed(fixed)
    names = [c for term in terms for member in term.members for c in member.columns]
    factors = {m.columns[0] for term in terms for m in term.members if m.as_factor}
    return build_fixed(terms, take_columns(data, "green", names, factors, []))


def matrix(part: FixedPart) -> np.ndarray:
    return part.basis @ part.triangle


def test_coding_is_sum_to_zero(trial: pd.DataFrame) -> None:
    part, notes = built(trial, "cover * tine")
    assert notes == ()
    assert part.names == (
        "Intercept",
        "cover[fleece]",
        "cover[open]",
        "tine[hollow]",
        "cover[fleece]:tine[hollow]",
        "cover[open]:tine[hollow]",
    )
    by_hand = {"fleece": [1, 0], "open": [0, 1], "woven": [-1, -1]}
    x = matrix(part)
    for row, (cover, tine) in enumerate(zip(trial["cover"], trial["tine"], strict=True)):
        sign = 1 if tine == "hollow" else -1
        main = by_hand[cover]
        expected = [1, *main, sign, sign * main[0], sign * main[1]]
        np.testing.assert_allclose(x[row], expected, atol=1e-12)


def test_basis_is_orthonormal(trial: pd.DataFrame) -> None:
    part, _ = built(trial, "cover + sun")
    np.testing.assert_allclose(part.basis.T @ part.basis, np.eye(4), atol=1e-12)


def test_the_grid_has_an_axis_a_factor(trial: pd.DataFrame) -> None:
    part, _ = built(trial, "tine * cover + sun")
    assert list(part.factors) == ["tine", "cover"]
    assert part.grid.shape == (2, 3, 7)
    np.testing.assert_allclose(part.grid[..., part.terms["sun"]], trial["sun"].mean())
    row = trial.index[(trial["tine"] == "solid") & (trial["cover"] == "open")][0]
    x = matrix(part)[row]
    keep = [j for j in range(7) if part.names[j] != "sun"]
    np.testing.assert_allclose(part.grid[1, 1][keep], x[keep], atol=1e-12)


def test_transformed_covariates_are_taken_at_the_mean_of_the_column(trial: pd.DataFrame) -> None:
    part, _ = built(trial, "np.log(sun)")
    assert part.grid[1] == pytest.approx(np.log(trial["sun"].mean()))


def test_names_of_levels_that_hold_brackets_or_colons(trial: pd.DataFrame) -> None:
    trial["cover"] = trial["cover"].map({"open": "a:b", "woven": "c[d]", "fleece": "C(x)"})
    part, _ = built(trial, "cover")
    assert part.names == ("Intercept", "cover[C(x)]", "cover[a:b]")


class TestAliased:
    def test_later_columns_go_and_are_named(self, trial: pd.DataFrame) -> None:
        trial["wet"] = trial["block"].isin(["b1", "b2"]).astype(float)
        part, notes = built(trial, "block + wet + cover")
        (note,) = notes
        assert (note.code, note.about, note.count) == ("aliased-columns", ("wet",), 1)
        assert [part.names[j] for j in part.kept] == [n for n in part.names if n != "wet"]
        np.testing.assert_allclose(np.linalg.norm(part.null, axis=0), 1.0)

    def test_what_is_estimable(self, trial: pd.DataFrame) -> None:
        trial["wet"] = trial["block"].isin(["b1", "b2"]).astype(float)
        part, _ = built(trial, "block + wet + cover")
        weights = np.zeros((3, len(part.names)))
        weights[0, part.terms["cover"].start] = 1.0
        weights[1, part.terms["wet"]] = 1.0
        weights[2, part.terms["block"].start] = 1.0
        assert part.estimable(weights).tolist() == [True, False, False]
        assert len(part.hypothesis("wet")) == 0
        assert len(part.hypothesis("block")) == 2
        assert part.estimable(part.hypothesis("block")).all()
        np.testing.assert_array_equal(
            part.hypothesis("cover"), np.eye(len(part.names))[part.terms["cover"]]
        )

    def test_scale_of_a_covariate_does_not_matter(self, trial: pd.DataFrame) -> None:
        for scale in (1e-9, 1e9):
            part, notes = built(trial.assign(sun=trial["sun"] * scale), "cover + sun")
            assert notes == ()
            assert len(part.kept) == 4


class TestEmptyCells:
    def test_they_are_found_and_named(self, trial: pd.DataFrame) -> None:
        gone = (trial["cover"] == "woven") & (trial["tine"] == "solid")
        part, notes = built(trial[~gone], "cover * tine")
        assert part.empty_cells == {"cover:tine": (("woven", "solid"),)}
        assert [note.code for note in notes] == ["empty-cells", "aliased-columns"]
        assert notes[0].text == "cover:tine: no observations of woven with solid"

    def test_they_do_not_matter_without_the_interaction(self, trial: pd.DataFrame) -> None:
        gone = (trial["cover"] == "woven") & (trial["tine"] == "solid")
        part, notes = built(trial[~gone], "cover + tine")
        assert (part.empty_cells, notes) == ({}, ())


@pytest.mark.parametrize(
    ("fixed", "said"),
    [
        ("np.log(cover)", "cover is a factor"),
        ("np.nosuch(sun)", "cannot compute"),
        ("np.sqrt(sun - 100)", "cannot compute|not finite"),
    ],
)
def test_what_cannot_be_computed_is_refused(trial: pd.DataFrame, fixed: str, said: str) -> None:
    with pytest.raises(WinterswardError, match=said), np.errstate(invalid="ignore"):
        built(trial, fixed)
