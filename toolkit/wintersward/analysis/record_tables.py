"""What a run holds of the records: what became of every row and value, and what was flagged."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from wintersward.analysis.columns import Column, Table

if TYPE_CHECKING:
    from wintersward.study import Trial

__all__ = ["RECORDED", "record_tables"]

RECORDED: dict[str, Table] = {
    "sheet_sums": Table(
        "What became of every row and every value of the sheets.",
        ("file",),
        (
            Column("file", "text", "", "sheet; a workbook with its tab"),
            Column("rows", "integer", "", "rows that are not blank; the sum of the next five"),
            Column("headings", "integer", "", "rows of headings, and above the headings"),
            Column("used", "integer", "", "rows with a value that is not set aside"),
            Column("excluded", "integer", "", "rows of which the diary sets every value aside"),
            Column("empty", "integer", "", "rows without any value of a measure"),
            Column("wrong", "integer", "", "rows with something wrong; a run has none"),
            Column("values", "integer", "", "filled cells of measures; the sum of the next five"),
            Column("values_used", "integer", "", "values in the analysis"),
            Column("values_excluded", "integer", "", "values that the diary sets aside"),
            Column("values_repeated", "integer", "", "second looks, which enter no mean"),
            Column("values_missing", "integer", "", "cells marked as missing"),
            Column("values_wrong", "integer", "", "values of wrong rows; a run has none"),
            Column("unread", "text", "", "filled columns and tabs that are not read, by ','"),
        ),
    ),
    "flags": Table(
        "What the checks noticed in the records; nothing is dropped or changed for it.",
        ("kind", "measure", "date", "plot", "rater", "sample", "source", "found"),
        (
            Column("kind", "text", "", "kind of flag"),
            Column("measure", "text", "", "measure; empty where it is about none"),
            Column("date", "date", "", "day of the observation; empty where it is about none"),
            Column("plot", "text", "", "plot of plan/plots.csv; empty where it is about none"),
            Column("rater", "text", "", "initials of who rated; empty where it is about nobody"),
            Column("sample", "text", "", "photo, pull or reading; empty where it is about none"),
            Column("value", "number", "measure", "the value, in 'unit'; empty: not about one"),
            Column("unit", "text", "", "unit of the value"),
            Column("source", "text", "", "file and row, or photo; empty where there is none"),
            Column("found", "text", "", "what was noticed, in the unit of the sheet"),
            Column("rule", "text", "", "from when on it is noticed"),
        ),
    ),
}


def record_tables(trial: Trial) -> dict[str, pd.DataFrame]:
    """Give what became of the records of a study, and what the checks noticed in them.

    Parameters
    ----------
    trial : Trial
        The study.

    Returns
    -------
    dict of str to DataFrame
        ``sheet_sums``, one row a table of a sheet, and ``flags``, one row a flag, in the order in
        which they are told.

    Raises
    ------
    WinterswardError
        With everything that is wrong in the sheets, photos and exclusions.
    """
    found = {"sheet_sums": trial.sheet_sums(), "flags": trial.flags().drop_duplicates()}
    return {
        name: frame[[column.name for column in RECORDED[name].columns]].reset_index(drop=True)
        for name, frame in found.items()
    }
