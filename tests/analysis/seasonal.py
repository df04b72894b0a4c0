"""Values of whole seasons with blocks, plots and residuals of known size."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from wintersward.analysis.scopes import Scope, control_last, scopes_of
from wintersward.study import Trial

DAYS = (1, 8, 22, 40)
COVERS = {"open": 0.0, "fleece": 6.0, "woven": 3.0, "foam": 1.0}


def simulated(
    seed: int,
    plot_sd: float = 2.0,
    phi: float = 0.0,
    sd: dict[int, float] | None = None,
    lost: tuple[tuple[str, int], ...] = (),
) -> Any:
    """Blocks, plots and residuals of known size; residuals may fade and spread by date."""
    rng = np.random.default_rng(seed)
    known: dict[str, float] = {}
    state: dict[str, tuple[int, float]] = {}

    def value(plot: Any, day: int) -> float | None:
        block = known.setdefault(f"b{plot.block}", rng.normal(0, 3))
        own = known.setdefault(f"p{plot.plot}", rng.normal(0, plot_sd))
        whole = known.setdefault(f"w{plot.whole_plot}", rng.normal(0, plot_sd))
        before = state.get(plot.plot)
        fades = 0.0 if before is None or phi == 0 else phi ** (day - before[0])
        fresh = rng.normal(0, np.sqrt(1 - fades**2))
        now = fresh if before is None else fades * before[1] + fresh
        state[plot.plot] = (day, now)
        tine = -4.0 * (getattr(plot, "tine", "") == "hollow") * (day > 15)
        seen = 50 + day / 2 + COVERS[plot.cover] + tine + block + own + whole
        seen += 2.0 * now * (sd or {}).get(day, 1.0)
        return None if (plot.plot, day) in lost else round(float(np.clip(seen, 0, 100)), 4)

    return value


def scope_of(trial: Trial, which: int = 0) -> tuple[Scope, pd.DataFrame]:
    scope = scopes_of(trial, "cover_share")[0][which]
    return scope, control_last(trial, scope.data, scope.skeleton.factors)
