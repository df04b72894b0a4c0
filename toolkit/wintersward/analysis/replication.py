"""What the blocks were worth, and how many a trial like this one would need.

References
----------
Cochran W. G., Cox G. M. (1957) Experimental Designs, 2nd edition, Wiley, sections 2.31 and 4.37
(from memory): relative efficiency, and its correction for degrees of freedom, which is Fisher's.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from wintersward.analysis.dealt import others_of, surrounding
from wintersward.analysis.model import model_for
from wintersward.analysis.power import power
from wintersward.analysis.results import empty
from wintersward.analysis.strata import Stratum, stratum
from wintersward.analysis.units import unit_names
from wintersward.errors import WinterswardError
from wintersward.study import Trial

__all__ = ["Efficiency", "efficiency", "layout_shape", "replication"]

Floats = NDArray[np.float64]
_WANTED = 0.9
_SHOWN, _MOST = 12, 30
# Within this of 1 the blocks made no difference worth a word.
_EVEN = 0.05
# A sum of squares below this share of that of the values themselves is rounding.
_ROUNDING = 1e-20


@dataclass(frozen=True)
class Efficiency:
    """What the surroundings of the units were worth.

    Parameters
    ----------
    plain : float
        Error variance expected without them, over the one with them.
    corrected : float
        The same, corrected for the degrees of freedom that they cost.
    error : float [unit of the measure, squared]
        Error mean square; 0 where what is left is rounding only.
    df : int
        Its degrees of freedom.
    """

    plain: float
    corrected: float
    error: float
    df: int


def efficiency(made: Stratum) -> Efficiency:
    """Find the relative efficiency of a layout against dealing treatments out anywhere.

    Parameters
    ----------
    made : Stratum
        Units of one factor.

    Returns
    -------
    Efficiency
        ``plain`` and ``corrected`` are NaN where nothing surrounds the units.

    Raises
    ------
    WinterswardError
        Where the units leave no error.

    Notes
    -----
    With mean squares B of the surroundings, adjusted for treatments, and E of error, and b, e
    and t the degrees of freedom of both and of treatments (on each ground, where there are
    several: the grounds stay apart), the error expected without them is
    (b B + (t + e) E) / (b + t + e). The correction is (e + 1)(c + 3) / ((e + 3)(c + 1)) with
    c = b + e. In complete blocks and in Latin squares these are the textbook formulas.
    """
    values = made.data["value"].to_numpy(dtype=float)
    names = [made.factor, *others_of(made)]
    cells = unit_names(made.data, ":".join(names))
    treated = pd.get_dummies(cells).to_numpy(dtype=float)
    around = surrounding(made)
    both = np.column_stack([around, treated])
    left, rest = _left(both, values), _left(treated, values)
    df = len(values) - int(np.linalg.matrix_rank(both))
    if df < 1:
        raise WinterswardError("the units leave no error to judge by")
    error = left / df if left > _ROUNDING * float(values @ values) else 0.0
    own = int(np.linalg.matrix_rank(both)) - int(np.linalg.matrix_rank(treated))
    given = int(np.linalg.matrix_rank(both)) - int(np.linalg.matrix_rank(around))
    if not own or not error:
        return Efficiency(float("nan"), float("nan"), error, df)
    plain = ((rest - left) + (given + df) * error) / (own + given + df) / error
    free = own + df
    corrected = plain * (df + 1) * (free + 3) / ((df + 3) * (free + 1))
    return Efficiency(plain, corrected, error, df)


def _left(columns: Floats, values: Floats) -> float:
    """Give the sum of squares that columns leave of values."""
    found = values - columns @ np.linalg.lstsq(columns, values, rcond=None)[0]
    return float(found @ found)


def replication(trial: Trial) -> dict[str, pd.DataFrame]:
    """Tell what the blocks of this trial were worth, and how many its like would need.

    Parameters
    ----------
    trial : Trial
        The study; nothing is told before its primary question has data.

    Returns
    -------
    dict of str to DataFrame
        Tables ``block_value`` and ``replication``, and ``notes``: why there are none.

    Notes
    -----
    The error variance of the primary question in this trial is taken as the true one. Of several
    grounds each has the blocks that are counted. Blocks run
    from 2 to 12, and on to the first number with a power of 0.9, at most 30; in a completely
    random layout they are plots of each treatment, in Latin squares rows. Of a declared family
    each comparison is to be seen at alpha over their number (Bonferroni), which asks for slightly
    more than the answer by Dunnett does. For equivalence the margin is ``caught_up_within``, or
    else ``matters_from``, the true difference zero, and each comparison stands alone.
    """
    tables = {name: empty(name) for name in ("block_value", "replication", "notes")}
    if not trial.ready:
        return tables
    question = trial.definition.analysis.primary
    model = model_for(trial, question.measure, trial.primary_date)
    named: dict[str, Any] = {"measure": model.measure, "date": pd.Timestamp(model.date)}
    try:
        made = stratum(model, trial.definition.factor_of(question.levels[0]))
        found = _judged(made)
    except WinterswardError as error:
        text = f"nothing is told of the blocks of a next trial: {error}"
        note = {**named, "code": "replication", "text": text}
        tables["notes"] = pd.DataFrame([note])[list(tables["notes"].columns)]
        return tables
    mean = float(made.data["value"].mean())
    cv = 100 * sqrt(found.error) / mean if mean > 0 else float("nan")
    if np.isfinite(found.corrected):
        row = {**named, "efficiency": found.corrected, "cv": cv, "text": _worth(made, found)}
        tables["block_value"] = pd.DataFrame([row])[list(tables["block_value"].columns)]
    tables["replication"] = _needed(trial, made.factor, sqrt(found.error))
    return tables


def _judged(made: Stratum) -> Efficiency:
    """Find the error of the units; refuse units that have none."""
    if made.described:
        raise WinterswardError(made.described)
    found = efficiency(made)
    if not found.error:
        raise WinterswardError(f"the {made.unit_kind}s do not vary beside their treatments")
    return found


def _worth(made: Stratum, found: Efficiency) -> str:
    around = " and ".join(name.replace("_", " ") + "s" for name in made.around)
    times = f"{found.corrected:.2g}"
    units = f"{made.unit_kind}s"
    if found.corrected > 1 + _EVEN:
        said = f"without the {around} about {times} times as many {units} would have been needed"
    elif found.corrected < 1 - _EVEN:
        said = f"the {around} cost more than they gave: without them {times} times as many {units}"
        said += " would have been enough"
    else:
        said = f"the {around} made next to no difference to the certainty"
    return f"{said} ({found.plain:.2f} before the correction for degrees of freedom)"


def _needed(trial: Trial, factor: str, sd: float) -> pd.DataFrame:
    analysis = trial.definition.analysis
    matters = analysis.primary.matters_from.value
    margin = analysis.caught_up_within.value if analysis.caught_up_within else matters
    shape = layout_shape(trial, factor)
    asked: dict[str, Any] = {**shape, "sd": sd, "alpha": analysis.alpha}
    size = asked["treatments"][0] if asked["layout"] == "latin square" else 1
    frames = []
    family = len(analysis.primary.pairs)
    for purpose, more in (
        ("difference", {"difference": matters, "comparisons": family}),
        ("equivalence", {"margin": margin}),
    ):
        every = range(2, _MOST + 1) if size == 1 else range(size, 4 * size + 1, size)
        table = power(blocks=every, purpose=purpose, **more, **asked)  # type: ignore[arg-type]
        enough = table.loc[table["power"] >= _WANTED, "blocks"]
        last = int(enough.min()) if len(enough) else _MOST
        kept = table[table["blocks"] <= max(last, _SHOWN, size)]
        frames.append(kept.assign(purpose=purpose, margin=next(iter(more.values()))))
    return pd.concat(frames, ignore_index=True)[list(empty("replication").columns)]


def layout_shape(trial: Trial, factor: str) -> dict[str, Any]:
    """Say to `wintersward.analysis.power.power` what is compared in which layout.

    Parameters
    ----------
    trial : Trial
        The study.
    factor : str
        The treatment factor whose levels are compared.

    Returns
    -------
    dict
        Its arguments layout, treatments, compare and grounds.
    """
    layout, factors = trial.definition.layout, trial.factors
    order = {
        "split plot": [layout.whole_plot, layout.subplot],
        "strip plot": [layout.row_strips, layout.column_strips],
    }.get(layout.kind, list(factors))
    counts = [len(factors[str(name)].levels) for name in order]
    which = "second" if len(order) == 2 and factor == order[1] else "first"
    shape: dict[str, Any] = {"layout": layout.kind, "treatments": counts, "compare": which}
    return {**shape, "grounds": len(layout.ground_names)}
