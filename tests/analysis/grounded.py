"""Studies on two grounds whose treatments differ in another way on each."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

TWO = "  grounds: {upper: Upper field, lower: Lower field}"
ON_TWO = f"kind: randomised blocks\n  blocks: 4\n{TWO}"
SPLIT = f"kind: split plot\n  whole_plot: cover\n  subplot: tine\n  blocks: 3\n{TWO}"
STRIP = f"kind: strip plot\n  row_strips: cover\n  column_strips: tine\n  blocks: 3\n{TWO}"


def values(
    seed: int = 7,
    cover: dict[tuple[str, str], float] | None = None,
    lost: tuple[tuple[str, int], ...] = (),
) -> Callable[[Any, int], float | None]:
    """Give values whose treatments differ in another way on each ground."""
    rng, gone = np.random.default_rng(seed), set(lost)
    effect = cover or {
        ("fleece", "upper"): 6.0,
        ("fleece", "lower"): 14.0,
        ("woven", "upper"): 3.0,
        ("woven", "lower"): -2.0,
    }

    def value(plot: Any, day: int) -> float | None:
        seen = 40 + day / 2 + 2.0 * int(plot.block) + effect.get((plot.cover, plot.ground), 0.0)
        seen += 4.0 * (getattr(plot, "tine", "") == "hollow") * (day > 15)
        seen += float(rng.normal(0, 2))
        return None if (plot.plot, day) in gone else round(seen, 4)

    return value
