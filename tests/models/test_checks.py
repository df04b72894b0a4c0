from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from wintersward.errors import WinterswardError
from wintersward.models import Repeated, fit_mixed


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


class TestResidualStructures:
    """Plots seen on three dates, in blocks."""

    @pytest.fixture
    def dates(self, trial: pd.DataFrame) -> pd.DataFrame:
        rng = np.random.default_rng(4)
        plots = trial.groupby(["block", "cover", "plot"], as_index=False)["green"].mean()
        parts = [
            plots.assign(day=day, y=plots["green"] + rng.normal(size=12)) for day in (0, 7, 21)
        ]
        return pd.concat(parts, ignore_index=True)

    def test_a_plot_term_is_the_common_correlation(self, dates: pd.DataFrame) -> None:
        with pytest.raises(WinterswardError) as caught:
            fit_mixed(dates, "y", "cover", ["block", "plot"], Repeated("plot", "day", "cs"))
        assert str(caught.value) == (
            "random term plot: these data cannot tell its variance from the residual with its"
            " correlation over time, block; leave one of the two out, the term or repeated"
        )

    def test_a_plot_term_stands_beside_a_correlation_that_fades(self, dates: pd.DataFrame) -> None:
        fit = fit_mixed(dates, "y", "cover", ["block", "plot"], Repeated("plot", "day"))
        assert list(fit.variances) == ["block", "plot", "residual"]

    def test_two_dates_cannot_tell_fading(self, dates: pd.DataFrame) -> None:
        two = dates[dates["day"] < 20]
        with pytest.raises(WinterswardError, match="random term plot: .* or bring more times"):
            fit_mixed(two, "y", "cover", ["plot"], Repeated("plot", "day"))

    def test_plots_in_the_fixed_part(self, dates: pd.DataFrame) -> None:
        """One plot alone has a second date, and a slope takes that up."""
        once = pd.concat([dates[dates["day"] == 0], dates[dates["day"] == 7][:1]])
        with pytest.raises(WinterswardError, match="repeated: the fixed part leaves no two times"):
            fit_mixed(once, "y", "cover + day", [], Repeated("plot", "day"))

    def test_a_level_that_the_fixed_part_reproduces(self, dates: pd.DataFrame) -> None:
        lone = pd.concat([dates, dates[:1].assign(day=40)], ignore_index=True)
        with pytest.raises(
            WinterswardError, match=r"residual\[40\]: the fixed part leaves nothing"
        ):
            fit_mixed(lone, "y", "cover + C(day)", ["block"], variance_by="day")

    def test_a_row_term_is_the_residual_unless_that_fades(self, dates: pd.DataFrame) -> None:
        row = ["plot:day"]
        with pytest.raises(WinterswardError, match="every row has its own level"):
            fit_mixed(dates, "y", "cover", row, Repeated("plot", "day", "cs"))
        fit = fit_mixed(dates, "y", "cover", row, Repeated("plot", "day"))
        assert list(fit.variances) == ["plot:day", "residual"]

    def test_copied_rows_of_one_level(self, dates: pd.DataFrame) -> None:
        dates.loc[dates["day"] == 7, "y"] = dates.loc[dates["day"] == 7, "cover"].str.len()
        with pytest.raises(WinterswardError, match=r"residual\[7\]: estimated as zero"):
            fit_mixed(dates, "y", "cover * C(day)", variance_by="day")

    def test_values_copied_from_date_to_date(self, dates: pd.DataFrame) -> None:
        with pytest.raises(WinterswardError, match="do not vary within the levels of plot, so the"):
            fit_mixed(
                dates.assign(y=dates["green"]), "y", "cover", ["plot"], Repeated("plot", "day")
            )
