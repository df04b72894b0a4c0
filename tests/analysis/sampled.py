"""Small studies in which a plot is read several times, by one rater or more."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from analysis.dated import COVER, OFF, dated_trial
from wintersward.study import Trial, open_study

Reading = Callable[[Any, int, int, str], float]


def sampled_trial(
    folder: Path,
    reading: Reading,
    samples: int = 3,
    raters: Sequence[str] = (),
    layout: str = "kind: randomised blocks\n  blocks: 6",
    treatments: str = COVER,
    days: Sequence[int] = (40,),
) -> Trial:
    """Write a study whose plots have several readings, and open it.

    Parameters
    ----------
    reading : callable
        Takes a row of the plots table, a day from covers off on, a sample from 1 on and a rater.
    """
    trial = dated_trial(
        folder, lambda plot, day: 50.0, days=days, layout=layout, treatments=treatments
    )
    path = folder / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    named = f"raters: [{', '.join(raters)}], " if raters else ""
    text = text.replace('unit: "%",', f'unit: "%", {named}per_plot: {samples},')
    people = "".join(
        f", {{name: {one.upper()}. Rater, role: rater, initials: {one}}}" for one in raters
    )
    path.write_text(text.replace("initials: ar}]", f"initials: ar}}{people}]"), encoding="utf-8")
    rows = [
        (str(OFF + pd.Timedelta(days=day)), plot.plot, sample, rater, value)
        for plot in trial.plots.itertuples()
        for day in days
        for sample in range(1, samples + 1)
        for rater in raters or [""]
        for value in [reading(plot, day, sample, rater)]
    ]
    columns = ["date", "plot", "sample", "rater", "cover_share"]
    frame = pd.DataFrame(rows, columns=columns)
    frame = frame if raters else frame.drop(columns="rater")
    frame = frame if samples > 1 else frame.drop(columns="sample")
    frame.to_csv(folder / "sheets" / "cover.csv", index=False)
    return open_study(folder)
