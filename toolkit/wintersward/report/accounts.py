"""Tables of what was planned, seen, set aside and done otherwise."""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from wintersward.logged import OF_WHOLE_PLOT
from wintersward.report.numbers import counted, day_text
from wintersward.report.said import number, row_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import measure_view, rater_name
from wintersward.trial.schema import Definition

__all__ = ["counts_table", "deviations_table", "exclusions_table", "flagged_table", "gaps_words"]
__all__ += ["second_looks", "shared_words", "treatments_table"]


def flagged_table(scores: pd.DataFrame, observations: pd.DataFrame, values: bool = True) -> Markup:
    """List the photos that a check flagged, and what became of them.

    Parameters
    ----------
    scores : DataFrame
        The table ``photo_scores``.
    observations : DataFrame
        The table ``observations``, which tells what was set aside.
    values : bool
        Whether to show how green each is; not while the comparison waits.

    Returns
    -------
    Markup
        Empty where no photo has a flag.
    """
    flagged = scores[scores["flags"].fillna("") != ""]
    if flagged.empty:
        return Markup("")
    gone = set(observations.loc[observations["excluded"].fillna("") != "", "source"].astype(str))
    heads = [Head("Date"), Head("Plot"), Head("Photo", "", True)]
    heads += [Head("Green cover", "%", True)] if values else []
    heads += [Head("What a check noticed"), Head("In the analysis")]
    lines = []
    for at in flagged.index:
        row = row_at(scores, int(at))
        cells: list[Cell] = [str(row["sample"])]
        if values and pd.notna(row["cover"]):
            shown = f"{row['cover']:.1f}"
            cells.append(number("photo_scores", scores, int(at), "cover", shown))
        elif values:
            cells.append("–")
        aside = str(row["path"]) in gone
        cells += [str(row["flags"]), "set aside in the diary" if aside else "flagged, still used"]
        lines.append(Row((day_text(row["date"]), str(row["plot"])), tuple(cells)))
    return html_table("Photos with a flag", heads, lines)


def counts_table(counts: pd.DataFrame, definition: Definition) -> Markup:
    """Show how many observations were planned, used, excluded and missing."""
    if counts.empty:
        return Markup("")
    names, shown = ["expected", "used", "excluded", "missing"], ["planned", "used", "excluded"]
    shown.append("missing")
    again = second_looks(counts)
    if again:
        names.append("repeats")
        shown.append("second looks")
    heads = [Head("Measure"), Head("Date"), *(Head(name, "", True) for name in shown)]
    lines = []
    order = counts["measure"].map(list(definition.measures).index)
    for at in order.sort_values(kind="stable").index:
        row = row_at(counts, at)
        later = str(row.get("due", "yes")) == "not yet"
        cells: tuple[Cell, ...] = tuple(
            "not yet due"
            if later and n == "missing"
            else number("counts", counts, int(at), n, str(int(row[n])))
            for n in names
        )
        label = measure_view(definition, str(row["measure"])).label
        short = int(row["excluded"]) + int(row["missing"]) > 0
        lines.append(Row((label, day_text(row["date"])), cells, strong=short))
    note = "Dates with an excluded or missing observation stand out."
    if again:
        note += " Second looks tell how well a rater agrees with himself or herself; they enter no "
        note += "mean and none of the other counts."
    return html_table("Observations planned, used, excluded and missing", heads, lines, note)


def second_looks(counts: pd.DataFrame) -> int:
    """Count the second looks of raters, which enter no mean; an older run tells of none."""
    return int(counts["repeats"].sum()) if "repeats" in counts else 0


def gaps_words(counts: pd.DataFrame, definition: Definition) -> list[str]:
    """Say on which dates of which measures observations are set aside or missing.

    Parameters
    ----------
    counts : DataFrame
        Table of a run.
    definition : Definition
        The trial.

    Returns
    -------
    list of str
        One a date and measure that is not complete, in the order of the definition.
    """
    said = []
    order = counts["measure"].map(list(definition.measures).index)
    for at in order.sort_values(kind="stable").index:
        row = row_at(counts, at)
        gone = [f"{int(row['excluded'])} set aside"] if int(row["excluded"]) else []
        if int(row["missing"]) and str(row.get("due", "yes")) != "not yet":
            gone.append(f"{int(row['missing'])} missing")
        if gone:
            where = (
                f"{measure_view(definition, str(row['measure'])).label} on {day_text(row['date'])}"
            )
            said.append(f"{where}: {' and '.join(gone)} of {int(row['expected'])}")
    return said


def shared_words(observations: pd.DataFrame, counts: pd.DataFrame) -> str:
    """Say how many observations are one logger's value, told for every plot within a whole plot.

    Parameters
    ----------
    observations, counts : DataFrame
        Tables of a run; what is not counted, since no date asks for it, is left out here too.

    Returns
    -------
    str
        Empty where every logger lay in a plot of its own.
    """
    flags = observations["flags"].fillna("").astype(str)
    shared = observations[flags.str.startswith(OF_WHOLE_PLOT)]
    asked = pd.MultiIndex.from_frame(counts[["measure", "date"]])
    shared = shared[pd.MultiIndex.from_frame(shared[["measure", "date"]]).isin(asked)]
    if shared.empty:
        return ""
    own = len(shared.drop_duplicates(["measure", "date", "source"]))
    return (
        f"A logger in a whole plot gives its value to each plot within, so that {len(shared)} of "
        f"these observations are {counted(own, 'value')} of loggers; the analysis takes the whole "
        "plot as one."
    )


def exclusions_table(exclusions: pd.DataFrame, definition: Definition) -> Markup:
    """List the exclusions of the diary with their reasons."""
    if exclusions.empty:
        return Markup("")
    heads = [Head("Plot"), Head("Measure"), Head("Date"), Head("Sample"), Head("Rater")]
    heads += [Head("Reason"), Head("observations set aside", "", True)]
    lines = []
    for at in exclusions.index:
        row = row_at(exclusions, at).fillna("")
        measure = str(row["measure"])
        cells: tuple[Cell, ...] = (
            measure_view(definition, measure).label if measure else "all",
            day_text(row["date"]) if row["date"] else "all",
            str(row["sample"]) or "all",
            rater_name(definition, str(row["rater"])) or "all",
            str(row["reason"]),
            number(
                "exclusions", exclusions, int(at), "observations", str(int(row["observations"]))
            ),
        )
        lines.append(Row((str(row["plot"]),), cells))
    return html_table("Observations set aside, with the reason in the diary", heads, lines)


def deviations_table(deviations: pd.DataFrame) -> Markup:
    """List what was not done as the definition says, with the reasons."""
    if deviations.empty:
        return Markup("")
    heads = [Head("Date"), Head("What happened"), Head("Reason")]
    lines = [
        Row((day_text(row["date"]),), (str(row["what"]), str(row["reason"])))
        for _, row in deviations.iterrows()
    ]
    return html_table("Deviations from the definition", heads, lines)


def treatments_table(rows: list[tuple[str, str, str]]) -> Markup:
    """List the treatments: factor, treatment and what it is made of."""
    heads = [Head("Factor"), Head("Treatment"), Head("What it is")]
    return html_table("The treatments", heads, [Row((f, t), (what,)) for f, t, what in rows])
