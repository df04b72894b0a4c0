from __future__ import annotations

import pytest

from wintersward.report.verdicts import answer_decimals, verdict


@pytest.mark.parametrize(("lower", "upper"), [(7.96, 18.0), (0.3, 12.0), (-0.2, 14.0), (2, 7.9)])
def test_written_ends_say_the_same_as_computed_ones(lower: float, upper: float) -> None:
    decimals = answer_decimals(3.1, lower, upper, 8.0)
    written = round(lower, decimals), round(upper, decimals)
    assert verdict(*written, 8.0) is verdict(lower, upper, 8.0)
    assert all(end != 0 for end in written)
