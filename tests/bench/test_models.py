"""Times of mixed models, beside R's of the same work where R is installed; never a pass or a fail.

Run by ``make bench``. The work is what a study asks: fit, Kenward-Roger tests, means and
Tukey pairs of a split plot with dates on the subplots. R's times are taken inside R, so that its
start-up does not count.
"""

from __future__ import annotations

import functools
import os
from pathlib import Path

import numpy as np
import pandas as pd

from bench.timing import best
from r_reference.rscript import r_versions, run_r
from wintersward.models import MixedFit, Repeated, fit_mixed

COVERS = 3
# Blocks and dates; rows are covers times both.
BESIDE_R = [(3, 4), (6, 6), (12, 11), (48, 14)]
ALONE = [(6, 6), (12, 11), (24, 14), (48, 14), (120, 14)]


def split_plot(blocks: int, dates: int) -> pd.DataFrame:
    """Make rows of a trial with covers on whole plots, each seen on every date.

    Dates are 8 to 20 days apart; residuals of a plot are correlated by 0.95 a day.
    """
    rng = np.random.default_rng(1)
    days = np.cumsum(rng.integers(8, 21, dates))
    cells = [
        (f"b{block:03}", f"c{cover}", f"b{block:03}c{cover}", f"d{date:02}", days[date])
        for block in range(blocks)
        for cover in range(COVERS)
        for date in range(dates)
    ]
    data = pd.DataFrame(cells, columns=["block", "cover", "plot", "date", "day"])
    correlation = 0.95 ** np.abs(np.subtract.outer(days, days))
    plots = rng.normal(0, 1, (blocks * COVERS, dates)) @ np.linalg.cholesky(correlation).T
    plots += rng.normal(0, 1.5, (blocks * COVERS, 1))
    data["y"] = 40 + plots.ravel() + np.repeat(rng.normal(0, 2, blocks), COVERS * dates)
    return data


def to_means(
    data: pd.DataFrame, repeated: Repeated | None = None
) -> tuple[MixedFit, float, float, float]:
    """Fit, test and estimate; return of the answers numbers that R finds as well."""
    fit = fit_mixed(data, "y", "cover * date", ["block", "block:cover"], repeated)
    tests = fit.anova()
    means = fit.means(["cover"], by=["date"])
    return fit, tests["f"].iloc[2], means["mean"].iloc[0], means["se"].iloc[0]


def to_pairs(data: pd.DataFrame) -> tuple[float, float, float, float]:
    fit, *answer = to_means(data)
    pairs = fit.pairs(["cover"], by=["date"], adjust="tukey")
    return (*answer, pairs["p"].iloc[0])


def by_r(data: pd.DataFrame, file: Path) -> tuple[list[float], list[float]]:
    """Let R do the same: times [s] to the means and to the pairs, and its answer."""
    data.to_csv(file, index=False)
    told = run_r(Path(__file__).parent / "models.R", file).split()
    numbers = [float(number) for number in told]
    return numbers[:2], numbers[2:]


def test_split_plots_beside_r(tmp_path: Path) -> None:
    versions = r_versions()
    tables: tuple[list[str], list[str]] = ([], [])
    for blocks, dates in BESIDE_R:
        data = split_plot(blocks, dates)
        theirs: list[float] = []
        if versions is not None:
            theirs, answer = by_r(data, tmp_path / "rows.csv")
            # Both must have done the same work.
            np.testing.assert_allclose(to_pairs(data), answer, rtol=1e-3, atol=1e-6)
        for which, work in enumerate((to_means, to_pairs)):
            ours = best(functools.partial(work, data), 3)
            line = f"{len(data):6} {ours * 1000:10.1f}"
            if theirs:
                line += f" {theirs[which] * 1000:9.0f} {theirs[which] / ours:14.1f}"
            tables[which].append(line)
    print(f"\n{versions or 'R is not installed: ours alone'}; {load()}")
    for said, lines in zip(("", ", Tukey pairs"), tables, strict=True):
        print(f"split plot with dates: fit, Kenward-Roger tests, means{said}")
        print("  rows    ours ms      R ms   times faster", *lines, sep="\n")


def load() -> str:
    """Say how busy the machine is, since it tells in the times."""
    if not hasattr(os, "getloadavg"):
        return f"{os.cpu_count()} processors"
    return f"{os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}"


def test_growth() -> None:
    print(f"\nours alone: fit, Kenward-Roger tests, means; {load()}")
    print("  rows    ours ms   with correlation over time ms")
    over_time = Repeated(subject="plot", time="day", structure="car1")
    for blocks, dates in ALONE:
        data = split_plot(blocks, dates)
        assert to_means(data)[0].rows == len(data)
        assert to_means(data, over_time)[0].correlation is not None
        plain = best(functools.partial(to_means, data), 3)
        correlated = best(functools.partial(to_means, data, over_time), 1)
        print(f"{len(data):6} {plain * 1000:10.1f} {correlated * 1000:31.1f}")
