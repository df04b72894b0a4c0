"""Worked examples of randomised blocks: seeding rates of rice, a lost plot of nine."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from reference.models.test_worked_examples import efficiency, sum_of_squares
from wintersward.models import MixedFit, fit_mixed

# Gomez, K. A. and Gomez, A. A. (1984), Statistical Procedures for Agricultural Research: rice, six
# seeding rates [kg/ha] in four replicates. Yields in kg/ha from memory; rounded to Mg/ha they and
# their totals stand in the RCBD notes of North Dakota State University.
RICE = {
    25: [5113, 5398, 5307, 4678],
    50: [5346, 5952, 4719, 4264],
    75: [5272, 5713, 5483, 4749],
    100: [5164, 4831, 4986, 4410],
    125: [4804, 4848, 4432, 4748],
    150: [5254, 4542, 4919, 4098],
}


def rice(per: float) -> pd.DataFrame:
    rows = [(rate, f"r{i}", y / per) for rate, ys in RICE.items() for i, y in enumerate(ys)]
    return pd.DataFrame(rows, columns=["rate", "rep", "y"]).round({"y": 1})


class TestSeedingRates:
    @pytest.fixture
    def fit(self) -> MixedFit:
        return fit_mixed(rice(1.0), "y", "rep + C(rate)")

    @pytest.fixture
    def rounded(self) -> MixedFit:
        return fit_mixed(rice(1000.0), "y", "rep + C(rate)")

    def test_totals(self) -> None:
        # Printed in the notes of North Dakota State University, in Mg/ha.
        data = rice(1000.0)
        totals = data.groupby("rep")["y"].sum().tolist()
        assert totals == pytest.approx([31.0, 31.2, 29.8, 26.9])
        rates = data.groupby("rate")["y"].sum().tolist()
        assert rates == pytest.approx([20.5, 20.3, 21.2, 19.4, 18.7, 18.8])

    def test_sums_of_squares(self, fit: MixedFit, rounded: MixedFit) -> None:
        # kg/ha as the book has them, from memory, and computed; Mg/ha computed.
        found = [sum_of_squares(fit, term) for term in ("rep", "rate")]
        found.append(15 * fit.variances["residual"])
        assert found == pytest.approx([1_944_361, 1_198_331, 1_658_376], abs=1)
        found = [sum_of_squares(rounded, term) for term in ("rep", "rate")]
        found.append(15 * rounded.variances["residual"])
        assert found == pytest.approx([1.9646, 1.2671, 1.7879], abs=5e-5)

    def test_rates(self, fit: MixedFit, rounded: MixedFit) -> None:
        # F 2.168, p 0.113 in kg/ha; 2.126 and 0.118 in Mg/ha; on 5 and 15.
        for model, f, p in [(fit, 2.168, 0.113), (rounded, 2.126, 0.118)]:
            row = model.anova().set_index("term").loc["rate"]
            assert row["f"] == pytest.approx(f, abs=5e-4)
            assert row["p"] == pytest.approx(p, abs=5e-4)
            assert (row["df_num"], row["df_den"]) == (5, 15)

    def test_spread_and_efficiency(self, fit: MixedFit, rounded: MixedFit) -> None:
        # CV 6.70 % (6.7 in the book), 6.97 %; efficiency 1.634 and 1.586, corrected 1.606, 1.558.
        for model, cv, plain, corrected in [
            (fit, 6.70, 1.634, 1.606),
            (rounded, 6.97, 1.586, 1.558),
        ]:
            spread = 100 * np.sqrt(model.variances["residual"]) / model.means([])["mean"].item()
            assert spread == pytest.approx(cv, abs=5e-3)
            assert efficiency(model, "rep") == pytest.approx((plain, corrected), abs=5e-4)

    def test_a_least_difference_that_is_not_to_be_shown(
        self, fit: MixedFit, rounded: MixedFit
    ) -> None:
        # 501.1 kg/ha and 0.520 Mg/ha: computed. Letters by Tukey tell no two rates apart.
        for model, least, digits in [(fit, 501.1, 0.05), (rounded, 0.520, 5e-4)]:
            pairs = model.pairs("rate", adjust="none")
            half = (pairs["upper"] - pairs["lower"]) / 2
            assert half.tolist() == pytest.approx([least] * 15, abs=digits)
            assert set(model.letters("rate")["letters"]) == {"a"}


class TestMissingPlotOfThree:
    def test_fill_and_correction(self) -> None:
        # University of Florida, on-farm trials handbook UF00080557: three treatments in three
        # blocks, one plot lost; T 56, B 78 and G 274 without it, so x = (3 T + 3 B - G) / 4 = 32;
        # correction (78 - 32 (2))^2 / 6 = 32.67; with x the sums of squares are 98.67 / 228.67 /
        # 10.67 / 338.00. The handbook's plots were not seen: these were made to have its sums.
        data = made_to_have_the_sums()
        fit = fit_mixed(data, "y", "block + treatment")
        filled = fit.contrast({("b1", "t1"): 1.0})["estimate"].item()
        assert filled == pytest.approx(32.0, rel=1e-10)
        assert fit.anova()["df_den"].tolist() == [3, 3]
        assert 3 * fit.variances["residual"] == pytest.approx(10.67, abs=5e-3)
        whole = fit_mixed(data.fillna({"y": filled}), "y", "block + treatment")
        found = [sum_of_squares(whole, term) for term in ("block", "treatment")]
        assert found == pytest.approx([98.67, 228.67], abs=5e-3)
        assert sum(found) + 4 * whole.variances["residual"] == pytest.approx(338.00, abs=5e-3)
        correction = found[1] - sum_of_squares(fit, "treatment")
        assert correction == pytest.approx(32.67, abs=5e-3)


def made_to_have_the_sums() -> pd.DataFrame:
    """Nine plots of additive effects and one residual pattern, the first plot lost."""
    block_first, treatment_first, centre = 78.0 + 32.0, 56.0 + 32.0, (274.0 + 32.0) / 9

    def effects(first: float, squares: float) -> np.ndarray:
        lead = first / 3 - centre
        half = np.sqrt((squares / 3 - 1.5 * lead**2) / 2)
        return np.array([lead, -lead / 2 + half, -lead / 2 - half])

    blocks, treatments = effects(block_first, 296 / 3), effects(treatment_first, 686 / 3)
    pattern = np.array([[0, 0, 0], [0, 1, -1], [0, -1, 1]]) * np.sqrt(32 / 3 / 4)
    # No residual in the lost plot: that is what the fill is chosen for.
    y = centre + blocks[:, None] + treatments + pattern
    rows = [(f"b{i + 1}", f"t{j + 1}", y[i, j]) for i in range(3) for j in range(3)]
    data = pd.DataFrame(rows, columns=["block", "treatment", "y"])
    return data.assign(y=data["y"].mask((data["block"] == "b1") & (data["treatment"] == "t1")))
