from __future__ import annotations

import pandas as pd
import pytest

from wintersward.errors import WinterswardError
from wintersward.models import fit_mixed


@pytest.mark.parametrize(
    ("fixed", "random", "said"),
    [
        ("block + cover", ["block"], "random term block: the fixed part already holds"),
        ("block * cover", ["plot"], "random term plot: the fixed part already holds"),
        ("cover", ["block", "cover"], "random term cover: the fixed part already holds"),
    ],
)
def test_terms_that_the_fixed_part_holds(
    trial: pd.DataFrame, fixed: str, random: list[str], said: str
) -> None:
    with pytest.raises(WinterswardError, match=said):
        fit_mixed(trial, "green", fixed, random)


def test_a_term_that_cannot_be_told_from_the_residual() -> None:
    """One contrast is left beside the fixed part; two variances cannot be had from it."""
    data = pd.DataFrame({"cover": list("aab"), "side": list("xyy"), "green": [1.0, 2.5, 4.0]})
    with pytest.raises(WinterswardError, match="cannot tell its variance from the residual"):
        fit_mixed(data, "green", "cover", ["side"])


def test_a_term_that_two_others_make_up(trial: pd.DataFrame) -> None:
    """In a two by two square one term of three adds nothing."""
    data = pd.DataFrame(
        {
            "row": list("aabb"),
            "column": list("xyxy"),
            "letter": list("pqqp"),
            "green": [1.0, 2.5, 4.0, 3.0],
        }
    )
    with pytest.raises(WinterswardError, match="letter: these data cannot tell .* row, column"):
        fit_mixed(data, "green", "1", ["row", "column", "letter"])


def test_two_at_once_are_both_named(trial: pd.DataFrame) -> None:
    with pytest.raises(WinterswardError) as caught:
        fit_mixed(trial, "green", "block + cover", ["block", "cover"])
    assert len(str(caught.value).splitlines()) == 2


def test_copied_rows(trial: pd.DataFrame) -> None:
    once = trial.drop_duplicates("plot")
    with pytest.raises(WinterswardError, match="do not vary within the levels of block, plot"):
        fit_mixed(pd.concat([once, once]), "green", "cover", ["block", "plot"])
