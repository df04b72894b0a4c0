"""Names that a factor or a measure may not have."""

from __future__ import annotations

import keyword

__all__ = ["RESERVED"]

# Columns of the tables and of the models' answers: a factor or a measure of such a name would
# collide with them. A word of Python cannot stand in a model's formula.
RESERVED = frozenset(
    [
        *keyword.kwlist,
        "C",
        "adjust",
        "block",
        "column",
        "date",
        "df",
        "df_den",
        "df_design",
        "df_num",
        "df_used",
        "difference",
        "effect",
        "estimate",
        "excluded",
        "expected",
        "f",
        "flags",
        "height_m",
        "intercept",
        "left",
        "length_m",
        "level",
        "lower",
        "mean",
        "measure",
        "method",
        "missing",
        "n",
        "p",
        "plot",
        "rater",
        "residual",
        "right",
        "role",
        "row",
        "sample",
        "se",
        "source",
        "t",
        "term",
        "text",
        "unit",
        "unit_kind",
        "unit_name",
        "units",
        "upper",
        "used",
        "value",
        "variance",
        "walk",
        "whole_plot",
        "width_m",
        "within",
        "x_m",
        "y_m",
    ]
)
