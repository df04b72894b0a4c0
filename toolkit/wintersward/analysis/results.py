"""The tables of a run: what each holds, its key, and the unit of every column."""

from __future__ import annotations

from functools import cache

import pandas as pd

from wintersward.analysis.climate_columns import CLIMATE
from wintersward.analysis.columns import (
    DATE,
    LEFT,
    MEASURE,
    RIGHT,
    ROLE,
    UNIT_KIND,
    Column,
    T,
    Table,
    interval,
    tested,
)
from wintersward.analysis.decision_columns import DECIDED
from wintersward.analysis.diary_columns import HAPPENED
from wintersward.analysis.point_columns import POINTS
from wintersward.analysis.record_tables import RECORDED
from wintersward.analysis.share_columns import SHARES
from wintersward.analysis.supporting import SUPPORTING
from wintersward.analysis.threshold_columns import THRESHOLDS

__all__ = ["OF_OTHER_STAGES", "TABLES", "Column", "Table", "empty", "typed"]

_PLOT = Column("plot", "text", "", "plot of plan/plots.csv")
_SAMPLE = Column("sample", "integer", "", "number of the photo, pull or reading in the plot")
_RATER = Column("rater", "text", "", "initials of who rated; empty where nobody did")

_MAIN: dict[str, Table] = {
    "observations": Table(
        "Every observation, used or excluded.",
        ("measure", "date", "plot", "rater", "sample", "flags"),
        (
            DATE,
            _PLOT,
            MEASURE,
            _SAMPLE,
            _RATER,
            Column("value", "number", "measure", "the value, in 'unit'"),
            Column("unit", "text", "", "unit of the value"),
            Column("source", "text", "", "file and row, or photo"),
            Column("flags", "text", "", "what a check noticed; nothing is dropped for it"),
            Column("excluded", "text", "", "reason in the diary; empty means used"),
        ),
    ),
    "photo_scores": Table(
        "Every photo as scored, with the window of green.",
        ("window", "date", "plot", "sample"),
        (
            Column("window", "text", "", "hash of the limits of hue, saturation and value"),
            DATE,
            _PLOT,
            _SAMPLE,
            Column("path", "text", "", "photo, from the study folder on"),
            Column("sha256", "text", "", "SHA-256 of the file"),
            Column("taken", "text", "", "time that the camera wrote"),
            Column("camera", "text", "", "maker and model that the camera wrote"),
            Column("cover", "number", "%", "share of pixels inside the window"),
            Column(
                "cover_se",
                "number",
                "points",
                "spread of the cover over redrawn parts",
            ),
            Column("colour_index", "number", "index", "dark green colour index of the mean"),
            Column("hue", "number", "degree", "mean hue of green pixels"),
            Column("saturation", "number", "1", "mean saturation of green pixels"),
            Column("brightness", "number", "1", "mean brightness of green pixels"),
            Column("colour_index_sd", "number", "index", "spread of the index within the photo"),
            Column("patchiness", "number", "points", "variation of cover beyond chance"),
            Column("largest_bare_patch", "number", "%", "largest connected patch without green"),
            Column("clipped", "number", "%", "pixels at 0 or 255 in any channel"),
            Column("pixels", "integer", "", "pixels scored"),
            Column("flags", "text", "", "what a check noticed"),
        ),
    ),
    "plot_means": Table(
        "Means of the used observations on each experimental unit.",
        ("measure", "date", "unit_name"),
        (
            MEASURE,
            DATE,
            Column("unit_name", "text", "", "the experimental unit on that date"),
            Column("unit_kind", "text", "", "plot, whole plot, subplot, row strip or column strip"),
            Column("whole_plot", "text", "", "whole plot around it; empty where there is none"),
            Column("block", "text", "", "block around it; empty where there is none"),
            Column("n", "integer", "", "observations in the mean"),
            Column("value", "number", "measure", "mean of the used observations"),
        ),
        open_ended=True,
    ),
    "counts": Table(
        "Observations planned, used, excluded and missing.",
        ("measure", "date"),
        (
            MEASURE,
            DATE,
            Column("expected", "integer", "", "planned by the definition"),
            Column("used", "integer", "", "in the analysis"),
            Column("excluded", "integer", "", "set aside in the diary"),
            Column("missing", "integer", "", "planned and due, but not there"),
            Column("repeats", "integer", "", "second looks, which enter no mean"),
            Column("due", "text", "", "yes, or not yet: no observation at all is as late"),
        ),
    ),
    "skeleton": Table(
        "Terms of the model of each measure and date, with their experimental units.",
        ("measure", "date", "term"),
        (
            MEASURE,
            DATE,
            Column("term", "text", "", "term of the model"),
            Column("role", "text", "", "treatment, ground, random or residual"),
            Column("unit_kind", "text", "", "what a treatment of the term was drawn for"),
            Column("df_design", "number", "", "error degrees of freedom of the complete layout"),
            Column("df_used", "number", "", "degrees of freedom used (Kenward and Roger 1997)"),
        ),
    ),
    "tests": Table(
        "Type III F tests of the treatment terms, each measure and date by itself.",
        ("measure", "date", "term"),
        (
            MEASURE,
            DATE,
            Column("term", "text", "", "treatment term"),
            *tested(),
            Column("unit_kind", "text", "", "experimental unit of the term"),
            Column("method", "text", "", "Kenward-Roger, or containment where that cannot be had"),
            ROLE,
        ),
    ),
    "means": Table(
        "Estimated marginal means with their intervals, not adjusted.",
        ("measure", "date", "effect", "level"),
        (
            MEASURE,
            DATE,
            Column("effect", "text", "", "treatment factor, or factors joined by ':'"),
            Column("level", "text", "", "treatment, or treatments joined by ':'"),
            Column("mean", "number", "measure", "estimated mean"),
            *interval("mean"),
            Column("units", "integer", "", "experimental units observed"),
            Column("letters", "text", "", "treatments that share a letter do not differ; or empty"),
        ),
    ),
    "differences": Table(
        "Differences between treatments, left minus right: Holm p, Bonferroni intervals.",
        ("measure", "date", "effect", "within", "left", "right", "role"),
        (
            MEASURE,
            DATE,
            Column("effect", "text", "", "treatment factor"),
            Column("within", "text", "", "factor=treatment inside which it is taken, or empty"),
            LEFT,
            RIGHT,
            Column("difference", "number", "measure", "left minus right"),
            *interval("difference"),
            T,
            Column("p_alone", "number", "", "p value of this one comparison, not adjusted"),
            Column(
                "p",
                "number",
                "",
                "p value by Holm over the family; as in 'primary' if primary",
            ),
            Column("family", "text", "", "the comparisons that p and interval are adjusted for"),
            Column("comparisons", "integer", "", "number of comparisons in the family"),
            ROLE,
        ),
    ),
    "primary": Table(
        "The primary question: its answer as planned, and with excluded observations put back.",
        ("which", "left", "right"),
        (
            Column("which", "text", "", "as planned, or with excluded observations"),
            MEASURE,
            DATE,
            LEFT,
            RIGHT,
            Column("left_mean", "number", "measure", "estimated mean of the left treatment"),
            Column("right_mean", "number", "measure", "estimated mean of the right treatment"),
            Column("difference", "number", "measure", "left minus right"),
            *interval("difference"),
            T,
            Column("p", "number", "", "p value, adjusted as 'adjust' says"),
            Column("adjust", "text", "", "none: one comparison; dunnett: a declared family"),
            Column("method", "text", "", "the analysis, in words"),
            Column("unit_kind", "text", "", "experimental unit"),
            Column("alpha", "number", "", "error rate of the definition; the interval fits it"),
            Column("matters_from", "number", "measure", "smallest difference that matters"),
            Column("units_left", "integer", "", "experimental units of the left treatment"),
            Column("units_right", "integer", "", "experimental units of the right treatment"),
        ),
    ),
    "grounds": Table(
        "The primary differences on each ground, described: pooled error, not adjusted.",
        ("measure", "date", "ground", "left", "right"),
        (
            MEASURE,
            DATE,
            Column("ground", "text", "", "short name of the ground"),
            LEFT,
            RIGHT,
            Column("difference", "number", "measure", "left minus right on that ground"),
            *interval("difference"),
            Column("units_left", "integer", "", "experimental units of the left treatment there"),
            Column("units_right", "integer", "", "experimental units of the right treatment there"),
            Column("sd", "number", "measure", "residual standard deviation of that ground alone"),
            Column("sd_df", "number", "", "its degrees of freedom"),
        ),
    ),
    "grounds_test": Table(
        "F test of whether the treatments of the primary factor differ alike on all grounds.",
        ("measure", "date", "term"),
        (
            MEASURE,
            DATE,
            Column("term", "text", "", "treatment factor and ground"),
            *tested(),
            UNIT_KIND,
            Column("method", "text", "", "the analysis, in words"),
        ),
    ),
    "variances": Table(
        "Variance components (restricted maximum likelihood), each measure and date by itself.",
        ("measure", "date", "term"),
        (
            MEASURE,
            DATE,
            Column("term", "text", "", "random term, or residual"),
            Column("variance", "number", "measure squared", "variance component"),
        ),
    ),
    "notes": Table(
        "What the analysis has to say about itself.",
        ("measure", "date", "code", "text"),
        (
            MEASURE,
            DATE,
            Column("code", "text", "", "short name of the note"),
            Column("text", "text", "", "the note"),
        ),
    ),
    "exclusions": Table(
        "Observations set aside in the diary, with the reason.",
        ("plot", "measure", "date", "sample", "rater"),
        (
            Column("plot", "text", "", "plot or whole plot"),
            Column("measure", "text", "", "measure; empty means all"),
            Column("date", "text", "", "day; empty means all"),
            Column("sample", "text", "", "sample; empty means all"),
            Column("rater", "text", "", "rater; empty means all"),
            Column("reason", "text", "", "as the diary says"),
            Column("observations", "integer", "", "number of observations set aside"),
        ),
    ),
    "deviations": Table(
        "What was not done as the definition says, and what is declared missing.",
        ("date", "what"),
        (
            DATE,
            Column("what", "text", "", "what happened"),
            Column("reason", "text", "", "why"),
        ),
    ),
    "frozen": Table(
        "The freeze of the plan: when, and what had happened by then; empty without one.",
        ("frozen_at",),
        (
            Column("frozen_at", "text", "", "time in UTC (ISO 8601); empty where damaged"),
            Column("document", "text", "", "hash on the printed protocol (SHA-256)"),
            Column("version", "text", "", "wintersward that froze it"),
            Column("late", "text", "", "what had happened already; empty: frozen in good time"),
            Column("damage", "text", "", "what is wrong with the frozen files; empty: nothing"),
        ),
    ),
    "changes": Table(
        "What was changed in the plan after it was frozen.",
        ("field",),
        (
            Column("field", "text", "", "line of trial.yaml, or plot of plan/plots.csv"),
            Column("old", "text", "", "as frozen"),
            Column("new", "text", "", "as it is now"),
            Column("reason", "text", "", "as the diary says"),
            Column("touches", "text", "", "answers that it touches, by ';'; empty: none"),
        ),
    ),
}

TABLES: dict[str, Table] = {
    **_MAIN,
    **RECORDED,
    **HAPPENED,
    **SUPPORTING,
    **POINTS,
    **THRESHOLDS,
    **SHARES,
    **CLIMATE,
    **DECIDED,
}

OF_OTHER_STAGES = ("photo_scores", *CLIMATE, *DECIDED)
"""Tables that the analysis of the observations does not make."""


def empty(name: str) -> pd.DataFrame:
    """Make a table of results without rows.

    Examples
    --------
    >>> list(empty("counts").columns)
    ['measure', 'date', 'expected', 'used', 'excluded', 'missing', 'repeats', 'due']
    """
    return _empty(name).copy()


def typed(name: str, frame: pd.DataFrame) -> pd.DataFrame:
    """Give a table its columns, the types that they always have, and the order of its key.

    Parameters
    ----------
    name : str
        One of `TABLES`.
    frame : DataFrame
        Its columns in any order, and others, which stay last where the table takes them.
    """
    none, table = empty(name), TABLES[name]
    more = [column for column in frame.columns if column not in none.columns]
    made = frame[[*none.columns, *(more if table.open_ended else [])]].astype(none.dtypes)
    return made.sort_values(list(table.key), kind="stable", ignore_index=True)


@cache
def _empty(name: str) -> pd.DataFrame:
    kinds = {"text": "str", "date": "datetime64[us]", "integer": "int64", "number": "float64"}
    columns = TABLES[name].columns
    return pd.DataFrame({c.name: pd.Series(dtype=kinds[c.type]) for c in columns})
