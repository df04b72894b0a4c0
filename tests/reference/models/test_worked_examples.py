"""Worked examples of textbooks; where each value was read stands beside it."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from wintersward.models import MixedFit, fit_mixed

# Montgomery, Design and Analysis of Experiments, vascular-graft example: four pressures by six
# batches of resin. Data and analysis read at Penn State STAT 503, lesson 4.2.
GRAFT = {
    8500: [90.3, 89.2, 98.2, 93.9, 87.4, 97.9],
    8700: [92.5, 89.5, 90.6, 94.7, 87.0, 95.8],
    8900: [85.5, 90.8, 89.6, 86.2, 88.0, 93.4],
    9100: [82.5, 89.5, 85.6, 87.4, 78.9, 90.7],
}
# Yates, F. (1935), Complex experiments, JRSS Suppl. 2, 181-247: blocks I to VI, nitrogen 0 to 0.6.
OATS = {
    "Victory": "111 130 157 174 61 91 97 100 68 64 112 86 74 89 81 122 62 90 100 116 53 74 118 113",
    "Golden.rain": "117 114 161 141 70 108 126 149 60 102 89 96 64 103 132 133 80 82 94 126"
    " 89 82 86 104",
    "Marvellous": "105 140 118 156 96 124 121 144 89 129 132 124 70 89 104 117 63 70 109 99"
    " 97 99 119 121",
}


def grafts() -> pd.DataFrame:
    rows = [(str(p), f"b{b}", y) for p, ys in GRAFT.items() for b, y in enumerate(ys, start=1)]
    return pd.DataFrame(rows, columns=["pressure", "batch", "y"])


def oats() -> pd.DataFrame:
    rows = [
        (variety, block, rate, float(y))
        for variety, text in OATS.items()
        for (block, rate), y in zip(
            [(b, r) for b in ("I", "II", "III", "IV", "V", "VI") for r in (0.0, 0.2, 0.4, 0.6)],
            text.split(),
            strict=True,
        )
    ]
    return pd.DataFrame(rows, columns=["variety", "block", "nitrogen", "y"])


def sum_of_squares(fit: MixedFit, term: str) -> float:
    """F times its numerator's degrees of freedom times the error mean square."""
    row = fit.anova().set_index("term").loc[term]
    return float(row["f"] * row["df_num"] * fit.variances["residual"])


def efficiency(fit: MixedFit, block: str) -> tuple[float, float]:
    """Of blocking, against no blocks: plain, and corrected for the degrees of freedom."""
    tests = fit.anova().set_index("term")
    b = int(tests.loc[block, "df_num"]) + 1
    t = int(tests["df_num"].drop(block).item()) + 1
    error = fit.variances["residual"]
    between = tests.loc[block, "f"] * error
    plain = ((b - 1) * between + b * (t - 1) * error) / ((b * t - 1) * error)
    left, free = (b - 1) * (t - 1), t * (b - 1)
    return plain, plain * (left + 1) * (free + 3) / ((left + 3) * (free + 1))


class TestRandomisedBlocks:
    @pytest.fixture
    def fit(self) -> MixedFit:
        return fit_mixed(grafts(), "y", "pressure", ["batch"])

    def test_treatments(self, fit: MixedFit) -> None:
        # F 8.107 on 3 and 15, p 0.00192; error mean square 7.33: Penn State STAT 503.
        row = fit.anova().iloc[0]
        assert row["f"] == pytest.approx(8.107, abs=5e-4)
        assert (row["df_num"], row["df_den"]) == (3, pytest.approx(15))
        assert row["p"] == pytest.approx(0.00192, abs=5e-6)
        assert fit.variances["residual"] == pytest.approx(7.33, abs=5e-3)

    def test_blocks(self) -> None:
        # F 5.249 on 5 and 15, p 0.00553: University of West Florida, STA6246.
        row = fit_mixed(grafts(), "y", "batch + pressure").anova().set_index("term").loc["batch"]
        assert row["f"] == pytest.approx(5.249, abs=5e-4)
        assert (row["df_num"], row["df_den"]) == (5, 15)
        assert row["p"] == pytest.approx(0.00553, abs=5e-6)

    def test_sums_of_squares(self) -> None:
        # Blocks 192.25, treatments 178.17, error 109.89, total 480.31: Penn State STAT 503.
        fit = fit_mixed(grafts(), "y", "batch + pressure")
        blocks, treatments = (sum_of_squares(fit, term) for term in ("batch", "pressure"))
        error = 15 * fit.variances["residual"]
        assert [blocks, treatments, error] == pytest.approx([192.25, 178.17, 109.89], abs=5e-3)
        assert blocks + treatments + error == pytest.approx(480.31, abs=5e-3)

    def test_spread_and_efficiency(self) -> None:
        # CV 3.01 %: Penn State STAT 503. Efficiency 1.9236, corrected 1.8727: computed.
        fit = fit_mixed(grafts(), "y", "batch + pressure")
        spread = 100 * np.sqrt(fit.variances["residual"]) / fit.means([])["mean"].item()
        assert spread == pytest.approx(3.01, abs=5e-3)
        assert efficiency(fit, "batch") == pytest.approx((1.9236, 1.8727), abs=5e-5)

    def test_means(self, fit: MixedFit) -> None:
        # Grand mean 89.80: Penn State STAT 503. Treatment means computed from the data.
        assert fit.means([])["mean"].item() == pytest.approx(89.80, abs=5e-3)
        expected = [np.mean(ys) for ys in GRAFT.values()]
        assert expected == pytest.approx([92.8167, 91.6833, 88.9167, 85.7667], abs=5e-5)
        assert fit.means("pressure")["mean"].tolist() == pytest.approx(expected, rel=1e-12)

    def test_differences(self, fit: MixedFit) -> None:
        # sqrt(2 MSE / 6) = 1.5627; t(15) gives 3.3307, the studentised range 4.5038: computed.
        alone, family = fit.pairs("pressure", adjust="none"), fit.pairs("pressure", adjust="tukey")
        assert alone["se"].tolist() == pytest.approx([1.5627] * 6, abs=5e-5)
        half = (alone["upper"] - alone["lower"]) / 2
        assert half.tolist() == pytest.approx([3.3307] * 6, abs=5e-5)
        honest = (family["upper"] - family["lower"]) / 2
        assert honest.tolist() == pytest.approx([4.5038] * 6, abs=5e-5)


class TestMissingPlot:
    """The same blocks with 8700 in batch 4 lost; values computed in two independent ways."""

    @pytest.fixture
    def data(self) -> pd.DataFrame:
        whole = grafts()
        lost = (whole["pressure"] == "8700") & (whole["batch"] == "b4")
        return whole.assign(y=whole["y"].mask(lost))

    def test_fixed_blocks(self, data: pd.DataFrame) -> None:
        # Allan and Wishart (1930), Yates: adjusted F 7.4981 on 3 and 14, p 0.00313, MSE 7.264.
        fit = fit_mixed(data, "y", "batch + pressure")
        row = fit.anova().set_index("term").loc["pressure"]
        assert row["f"] == pytest.approx(7.4981, abs=5e-5)
        assert (row["df_num"], row["df_den"]) == (3, 14)
        assert row["p"] == pytest.approx(0.00313, abs=5e-6)
        assert fit.variances["residual"] == pytest.approx(7.264, abs=5e-4)
        assert [note.count for note in fit.notes if note.code == "dropped-rows"] == [1]

    def test_standard_error_with_the_missing_treatment(self, data: pd.DataFrame) -> None:
        # sqrt(MSE (2/b + t / (b (b-1) (t-1)))) = 1.6566.
        pairs = fit_mixed(data, "y", "batch + pressure").pairs("pressure", adjust="none")
        touched = (pairs["left"] == "8700") | (pairs["right"] == "8700")
        assert pairs["se"][touched].tolist() == pytest.approx([1.6566] * 3, abs=5e-5)

    def test_the_missing_value_is_what_the_formula_gives(self, data: pd.DataFrame) -> None:
        # x = (t T + b B - G) / ((t-1)(b-1)) = 91.08.
        fit = fit_mixed(data, "y", "batch + pressure")
        weights = {("b4", "8700"): 1.0}
        assert fit.contrast(weights)["estimate"].item() == pytest.approx(91.08, abs=5e-3)

    def test_with_the_value_filled_in(self, data: pd.DataFrame) -> None:
        # Sums of squares 457.36 / 166.14 / 189.52 / 101.70 computed; F on 14 degrees of freedom,
        # not corrected for the fill, 7.6241: expected by a public test.
        whole = fit_mixed(data.fillna({"y": 91.08}), "y", "batch + pressure")
        treatments, blocks = (sum_of_squares(whole, term) for term in ("pressure", "batch"))
        error = 15 * whole.variances["residual"]
        assert [treatments, blocks, error] == pytest.approx([166.14, 189.52, 101.70], abs=5e-3)
        assert treatments + blocks + error == pytest.approx(457.36, abs=6e-3)
        assert (treatments / 3) / (error / 14) == pytest.approx(7.6241, abs=5e-4)
        # What the fill adds to the treatments, (B - (t-1) x)^2 / t (t-1) = 2.7456: computed.
        honest = fit_mixed(data, "y", "batch + pressure")
        assert treatments - sum_of_squares(honest, "pressure") == pytest.approx(2.7456, abs=5e-4)

    def test_random_blocks(self, data: pd.DataFrame) -> None:
        fit = fit_mixed(data, "y", "pressure", ["batch"])
        assert fit.variances["batch"] == pytest.approx(7.781, abs=5e-4)
        assert fit.variances["residual"] == pytest.approx(7.233, abs=5e-4)


class TestSplitPlot:
    @pytest.fixture
    def fit(self) -> MixedFit:
        return fit_mixed(oats(), "y", "variety * C(nitrogen)", ["block", "block:variety"])

    def test_tests(self, fit: MixedFit) -> None:
        # Output printed on the help page of the oats data in the R package MASS:
        # variety F(2,10) 1.485, p 0.272; N F(3,45) 37.686, p 2.46e-12; N x V F(6,45) 0.303, 0.932.
        found = fit.anova()
        assert found["term"].tolist() == ["variety", "nitrogen", "variety:nitrogen"]
        assert found["f"].tolist() == pytest.approx([1.485, 37.686, 0.303], abs=5e-4)
        assert found["df_num"].tolist() == [2, 3, 6]
        assert found["df_den"].tolist() == pytest.approx([10, 45, 45])
        assert found["p"].tolist()[::2] == pytest.approx([0.272, 0.932], abs=5e-4)
        assert found["p"][1] == pytest.approx(2.46e-12, rel=2e-3)

    def test_mean_squares(self, fit: MixedFit) -> None:
        # Blocks 15875 (3175), varieties 1786, whole-plot error 601.3; nitrogen 20020.5, N x V 322,
        # sub-plot error 177.083: MASS help page. A balanced fit holds them in its variances:
        # whole plots s2 + 4 w, blocks s2 + 4 w + 12 b; F has its stratum's error below it.
        block, whole, left = fit.variances.values()
        tests = fit.anova().set_index("term")
        assert left == pytest.approx(177.083, abs=5e-4)
        assert left + 4 * whole == pytest.approx(601.3, abs=0.05)
        assert 5 * (left + 4 * whole + 12 * block) == pytest.approx(15875, abs=0.5)
        f = tests["f"]
        assert 2 * f["variety"] * (left + 4 * whole) == pytest.approx(1786, abs=0.5)
        assert 3 * f["nitrogen"] * left == pytest.approx(20020.5, abs=0.5)
        assert 6 * f["variety:nitrogen"] * left == pytest.approx(322, abs=0.5)

    def test_spreads(self, fit: MixedFit) -> None:
        # CV of the whole plots 23.6 %, of the sub-plots 12.8 %: computed.
        _, whole, left = fit.variances.values()
        centre = fit.means([])["mean"].item()
        assert 100 * np.sqrt(left + 4 * whole) / centre == pytest.approx(23.6, abs=0.05)
        assert 100 * np.sqrt(left) / centre == pytest.approx(12.8, abs=0.05)

    def test_varieties_are_not_judged_by_the_subplot_error(self, fit: MixedFit) -> None:
        # On the sub-plot error the varieties would have F 5.04 (computed): whole plots forgotten.
        mean_square = 24 * fit.means("variety")["mean"].var(ddof=1)
        wrong = mean_square / fit.variances["residual"]
        assert wrong == pytest.approx(5.04, abs=5e-3)
        assert stats.f.sf(wrong, 2, 45) == pytest.approx(0.0106, abs=5e-5)
        assert fit.anova()["p"][0] == pytest.approx(0.272, abs=5e-4)
        assert fit.anova()["f"][0] == pytest.approx(1.485, abs=5e-4)

    def test_linear_contrast_of_nitrogen(self, fit: MixedFit) -> None:
        # Sum of squares 19536, F(1,45) 110.32: MASS help page.
        row = fit.contrast({0.0: -3, 0.2: -1, 0.4: 1, 0.6: 3}, factors="nitrogen").iloc[0]
        assert row["t"] ** 2 == pytest.approx(110.32, abs=5e-3)
        assert row["df"] == pytest.approx(45)
        assert 18 * row["estimate"] ** 2 / 20 == pytest.approx(19536, abs=1)

    def test_means(self, fit: MixedFit) -> None:
        # Computed from the data.
        assert fit.means([])["mean"].item() == pytest.approx(103.972, abs=5e-4)
        varieties = fit.means("variety").set_index("variety")["mean"]
        assert varieties.to_dict() == pytest.approx(
            {"Victory": 97.625, "Golden.rain": 104.500, "Marvellous": 109.792}, abs=5e-4
        )
        rates = [79.389, 98.889, 114.222, 123.389]
        assert fit.means("nitrogen")["mean"].tolist() == pytest.approx(rates, abs=5e-4)

    @pytest.mark.parametrize(
        ("factors", "by", "se", "half"),
        [
            ("variety", None, 7.0789, 15.773),
            ("nitrogen", None, 4.4358, 8.934),
            ("nitrogen", "variety", 7.6830, 15.474),
        ],
    )
    def test_standard_errors_of_differences(
        self, fit: MixedFit, factors: str, by: str | None, se: float, half: float
    ) -> None:
        # Computed from the mean squares 601.3 and 177.083 with t(10) and t(45).
        pairs = fit.pairs(factors, by=by, adjust="none")
        assert pairs["se"].tolist() == pytest.approx([se] * len(pairs), abs=5e-5)
        assert ((pairs["upper"] - pairs["lower"]) / 2).tolist() == pytest.approx(
            [half] * len(pairs), abs=6e-4
        )

    def test_varieties_at_one_rate(self, fit: MixedFit) -> None:
        # SED 9.7150 with 30.23 degrees of freedom by Satterthwaite, to which Kenward-Roger
        # comes down for a single contrast of a balanced layout: computed.
        pairs = fit.pairs("variety", by="nitrogen", adjust="none")
        assert pairs["se"].tolist() == pytest.approx([9.7150] * 12, abs=5e-5)
        assert pairs["df"].tolist() == pytest.approx([30.23] * 12, abs=5e-3)

    @pytest.mark.parametrize("other", [0.0, 0.6])
    def test_varieties_at_the_same_or_another_rate(self, fit: MixedFit, other: float) -> None:
        weights = {("Victory", 0.0): 1.0, ("Marvellous", other): -1.0}
        row = fit.contrast(weights, df="satterthwaite").iloc[0]
        assert row["se"] == pytest.approx(9.7150, abs=5e-5)
        assert row["df"] == pytest.approx(30.23, abs=5e-3)

    def test_least_difference_by_the_weighted_t(self, fit: MixedFit) -> None:
        # Cochran and Cox: t weighted by the two mean squares, 2.1277, gives 20.671: computed.
        # Satterthwaite's t lies close by.
        block, whole, left = fit.variances.values()
        outer = left + 4 * whole
        weighted = (3 * left * stats.t.ppf(0.975, 45) + outer * stats.t.ppf(0.975, 10)) / (
            3 * left + outer
        )
        assert weighted == pytest.approx(2.1277, abs=5e-5)
        pair = fit.pairs("variety", by="nitrogen", adjust="none").iloc[0]
        assert weighted * pair["se"] == pytest.approx(20.671, abs=5e-4)
        assert (pair["upper"] - pair["lower"]) / 2 == pytest.approx(20.671, rel=0.05)

    def test_variances(self, fit: MixedFit) -> None:
        # REML 214.48 / 106.06 / 177.08: computed.
        assert list(fit.variances.values()) == pytest.approx([214.48, 106.06, 177.08], abs=5e-3)
        assert list(fit.variances) == ["block", "block:variety", "residual"]


class TestEquivalence:
    """Means 5.75 and 5.60 of 8 each, pooled standard deviation 0.60: constructed.

    The rule, the larger of two one-sided p and the 90 % interval inside the margin, is
    Schuirmann's (1987), doi:10.1007/BF01068419.
    """

    @pytest.fixture
    def fit(self) -> MixedFit:
        # Eight values of mean 0 and standard deviation 1, shifted and scaled.
        shape = np.arange(8) - 3.5
        shape /= shape.std(ddof=1)
        data = pd.DataFrame(
            {
                "cover": ["woven"] * 8 + ["open"] * 8,
                "rating": [*(5.75 + 0.60 * shape), *(5.60 + 0.60 * shape)],
            }
        )
        return fit_mixed(data, "rating", "cover")

    def test_within_one_unit(self, fit: MixedFit) -> None:
        row = fit.contrast({"woven": 1, "open": -1}, margin=1.0).iloc[0]
        assert row["estimate"] == pytest.approx(0.15)
        assert row["se"] == pytest.approx(0.300)
        assert row["df"] == 14
        assert (row["estimate"] + 1) / row["se"] == pytest.approx(3.8333, abs=5e-5)
        assert row["p_above"] == pytest.approx(0.000913, abs=5e-7)
        assert (row["estimate"] - 1) / row["se"] == pytest.approx(-2.8333, abs=5e-5)
        assert row["p_below"] == pytest.approx(0.006640, abs=5e-7)
        assert row["p_equivalence"] == row["p_below"]
        assert row["lower_equivalence"] == pytest.approx(-0.3784, abs=5e-5)
        assert row["upper_equivalence"] == pytest.approx(0.6784, abs=5e-5)

    def test_not_within_half_a_unit_and_not_apart_either(self, fit: MixedFit) -> None:
        row = fit.contrast({"woven": 1, "open": -1}, margin=0.5).iloc[0]
        assert row["upper_equivalence"] > 0.5
        assert row["p_equivalence"] > 0.05
        assert row["p"] > 0.05
        assert set(fit.letters("cover")["letters"]) == {"a"}
