from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from wintersward.errors import WinterswardError
from wintersward.models.columns import take_columns
from wintersward.models.fixed import FixedPart, build_fixed
from wintersward.models.formula import parse_fixed
from wintersward.models.scaling import scaled_response


def part_of(data: pd.DataFrame, fixed: str) -> FixedPart:
    terms = parse_fixed(fixed)
    names = [c for term in terms for member in term.members for c in member.columns]
    return build_fixed(terms, take_columns(data, "green", names, (), []))[0]


@pytest.mark.parametrize("fixed", ["cover + sun", "0 + cover", "0 + cover:tine", "0 + sun"])
def test_parts_add_up_to_the_response(trial: pd.DataFrame, fixed: str) -> None:
    part, y = part_of(trial, fixed), trial["green"].to_numpy()
    scale = scaled_response(y, part, "green")
    x = np.zeros((24, len(part.names)))
    x[:, part.kept] = part.basis @ part.triangle
    rebuilt = scale.centre_of(x) + scale.size * (part.basis @ scale.start + scale.left)
    np.testing.assert_allclose(rebuilt, y, rtol=1e-12)
    np.testing.assert_allclose(part.basis.T @ scale.left, 0, atol=1e-12)
    assert scale.left @ scale.left == pytest.approx(24 - len(part.kept))


def test_without_a_constant_nothing_is_centred(trial: pd.DataFrame) -> None:
    assert (
        scaled_response(trial["green"].to_numpy(), part_of(trial, "0 + sun"), "green").centre == 0
    )
    assert (
        scaled_response(trial["green"].to_numpy(), part_of(trial, "0 + cover"), "green").centre > 0
    )


class TestRefused:
    def test_a_constant_response(self, trial: pd.DataFrame) -> None:
        with pytest.raises(
            WinterswardError, match="every one of 24 values is 7.5; there is nothing"
        ):
            scaled_response(np.full(24, 7.5), part_of(trial, "cover"), "green")

    def test_as_many_columns_as_rows(self, trial: pd.DataFrame) -> None:
        few = trial[:6]
        with pytest.raises(WinterswardError, match="6 rows and 6 columns .* nothing to estimate"):
            scaled_response(few["green"].to_numpy(), part_of(few, "cover * tine"), "green")

    @pytest.mark.parametrize("unit", [1e-9, 1.0, 1e9])
    def test_a_response_that_the_fixed_part_reproduces(
        self, trial: pd.DataFrame, unit: float
    ) -> None:
        exact = trial["cover"].map({"open": 1.1, "fleece": 2.3, "woven": 3.7}).to_numpy() * unit
        with pytest.raises(WinterswardError, match="reproduces every value"):
            scaled_response(exact, part_of(trial, "cover"), "green")
