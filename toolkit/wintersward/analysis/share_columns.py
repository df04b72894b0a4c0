"""The tables of where variation comes from: what each holds, its key, and its units."""

from __future__ import annotations

from wintersward.analysis.columns import DATE, MEASURE, Column, Table

__all__ = [
    "AT_LEAST",
    "LAST",
    "MORE_BLOCKS",
    "NOW",
    "NO_BOUND",
    "SHARES",
    "TOGETHER",
    "TWICE",
    "WITHIN",
]

LAST = "reading"
"""The finest source: photos, readings or ratings of one plot."""

TOGETHER = "plot and reading"
"""Plots and their only reading, which one reading a plot cannot tell apart."""

WITHIN = "within photo"
"""What varies within the photos themselves: a part of the finest source, not one beside it."""

AT_LEAST, NO_BOUND = "at least", "no bound"
"""What the cells of photos tell of the finest source."""

NOW, TWICE, MORE_BLOCKS = "as now", "twice the readings", "more blocks"
"""Plans for next year that are set side by side."""

SHARES: dict[str, Table] = {
    "variance_shares": Table(
        "Where the variation of a measure comes from, treatments and raters set aside (REML).",
        ("measure", "date", "source"),
        (
            MEASURE,
            DATE,
            Column("source", "text", "", "blocks, units, plots, readings; or a part of the last"),
            Column("variance", "number", "measure squared", "variance component"),
            Column("share", "number", "%", "of all of the variation of the date"),
            Column("n", "integer", "", "blocks, units, plots or readings it is told from"),
            Column("part", "text", "", "whole; at least, of the finest source; no bound: too much"),
            Column("text", "text", "", "the source, in words"),
        ),
    ),
    "variance_plans": Table(
        "What more readings or more blocks would bring a like trial.",
        ("measure", "date", "plan", "bound"),
        (
            MEASURE,
            DATE,
            Column("plan", "text", "", "as now, twice the readings, or more blocks"),
            Column("bound", "text", "", "at least, at most; empty where plots and readings part"),
            Column("blocks", "integer", "", "blocks; plots of a treatment where there are none"),
            Column("readings", "number", "", "readings of a plot"),
            Column("reading_share", "number", "%", "of the variance of a unit, from its readings"),
            Column("se", "number", "measure", "expected standard error of a difference"),
            Column("df", "number", "", "error degrees of freedom of the complete layout"),
            Column("smallest", "number", "measure", "difference seen with a chance of 80 %"),
        ),
    ),
}
