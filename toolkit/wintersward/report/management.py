"""What was done to the turf, what befell the covers, and what went wrong, as a report shows it."""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from wintersward.report.numbers import counted, day_text, listed_words
from wintersward.report.tables import Head, Row, html_table

__all__ = ["care_words", "cover_events_table", "management_table", "mishaps_table"]


def management_table(management: pd.DataFrame) -> Markup:
    """Show the care of the turf, a row an entry of the diary; empty where it tells of none.

    Parameters
    ----------
    management : DataFrame
        Table of a run.
    """
    heads = [Head("Date"), Head("What"), Head("Plots"), Head("Amount"), Head("Note", prose=True)]
    return _log("Care of the turf, by the diary", heads, management)


def cover_events_table(events: pd.DataFrame) -> Markup:
    """Show what befell the covers, with snow, ice and water; empty where nothing did.

    Parameters
    ----------
    events : DataFrame
        The table ``cover_events`` of a run.
    """
    heads = [Head("Date"), Head("What"), Head("Plots"), Head("Note", prose=True)]
    what, notes = events["what"], []
    if what.isin(["lifted", "blown off"]).any():
        notes.append(
            "From the day on which covers were lifted or blown off, their plots count as open "
            "until the day on which they were laid again."
        )
    if what.isin(["torn", "partly open"]).any():
        notes.append("Plots whose cover was torn or partly open count as covered.")
    return _log("What befell the covers and plots, by the diary", heads, events, " ".join(notes))


def mishaps_table(mishaps: pd.DataFrame) -> Markup:
    """Show what went wrong on plots, and what it did to them; empty where nothing did.

    Parameters
    ----------
    mishaps : DataFrame
        Table of a run.
    """
    heads = [Head("Date"), Head("Plots"), Head("What happened", prose=True)]
    heads.append(Head("What it did", prose=True))
    note = "Observations that were set aside because of a mishap stand under Exclusions."
    return _log("What went wrong, by the diary", heads, mishaps, note)


def care_words(management: pd.DataFrame) -> str:
    """Say how often each kind of care was given, and whether to all plots alike.

    Parameters
    ----------
    management : DataFrame
        Table of a run.

    Returns
    -------
    str
        Empty where the diary tells of no care.
    """
    if management.empty:
        return ""
    kinds = management["what"].value_counts(sort=False)
    said = [f"{kind} ({counted(int(n), 'entry', 'entries')})" for kind, n in kinds.items()]
    some = management[management["plots"] != "all plots"]
    alike = "All of it went to all plots alike."
    if not some.empty:
        which = listed_words(list(dict.fromkeys(some["what"].astype(str))))
        alike = (
            f"Not all plots got the same: see the rows for {which}. A difference between plots "
            "may come from that, and not from the treatments."
        )
    return f"The diary tells of {listed_words(said)}. {alike}"


def _log(caption: str, heads: list[Head], frame: pd.DataFrame, note: str = "") -> Markup:
    if frame.empty:
        return Markup("")
    rows = []
    for _, entry in frame.iterrows():
        cells = [str(entry[column]) for column in frame.columns[1:]]
        rows.append(Row((day_text(entry["date"]),), tuple(cells)))
    return html_table(caption, heads, rows, note)
