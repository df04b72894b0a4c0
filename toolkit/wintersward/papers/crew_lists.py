"""Lists for the crew that handles the covers: what happened to them, and every pin out and in.

They name the covers, so raters must not see them.
"""

from __future__ import annotations

from typing import Any

import pandas as pd

from wintersward.papers.looks import walks
from wintersward.papers.pages import short_id
from wintersward.papers.workbooks import TICK, Check, Column, Form, workbook
from wintersward.report.cautions import UNSOURCED
from wintersward.trial import Definition
from wintersward.trial.applied import cover_factor
from wintersward.trial.dates import dates_meant
from wintersward.units import reader_unit

__all__ = ["covered_pieces", "cover_log", "pin_count", "unit_names"]

_MARK = "CREW ONLY, NOT FOR RATERS"
_HAPPENED = ("lifted", "blown", "snow", "ice")
_KINDS = ("steel", "stainless", "non-metal")


def covered_pieces(definition: Definition, plots: pd.DataFrame) -> pd.DataFrame:
    """List the covers that are laid: one row for each piece of turf that is covered as a whole.

    Parameters
    ----------
    definition : Definition
        Says which factor the covers are, and what they were drawn for.
    plots : DataFrame
        ``plan/plots.csv``.

    Returns
    -------
    DataFrame
        In walking order: where (name of the whole plot, strip or plot), plots (their names,
        joined by commas), cover (label). Where the definition does not tell which factor the
        covers are, every plot is listed, and the cover is left for the crew to write.
    """
    factor = cover_factor(definition)
    walked = pd.concat(walks(plots))
    if factor is None:
        names = walked["plot"].astype(str)
        return pd.DataFrame({"where": names, "plots": names, "cover": ""}).reset_index(drop=True)
    levels = definition.treatments[factor].levels
    under = walked[walked[factor].astype(str) != definition.treatments[factor].control]
    pieces = under.assign(where=unit_names(definition, factor, under)).groupby("where", sort=False)
    rows = [
        {
            "where": where,
            "plots": ", ".join(held["plot"].astype(str)),
            "cover": levels[str(held[factor].iloc[0])].label,
        }
        for where, held in pieces
    ]
    return pd.DataFrame(rows, columns=["where", "plots", "cover"])


def unit_names(definition: Definition, factor: str, plots: pd.DataFrame) -> pd.Series:
    """Name the piece of turf that each plot gets a treatment of a factor together with.

    Parameters
    ----------
    definition : Definition
        Says what the treatments of the factor were drawn for.
    factor : str
        Name of the factor.
    plots : DataFrame
        ``plan/plots.csv``.

    Returns
    -------
    Series of str
        Whole plot, strip with its block, or the plot itself; indexed as ``plots``.
    """
    layout = definition.layout
    if layout.whole_plot == factor:
        return plots["whole_plot"].astype(str)
    for strips, column in ((layout.row_strips, "row"), (layout.column_strips, "column")):
        if strips == factor:
            blocks, numbers = plots["block"].astype(str), plots[column].astype(str)
            return "block " + blocks + f", {column} " + numbers
    return plots["plot"].astype(str)


def cover_log(definition: Definition, plots: pd.DataFrame, paper: str) -> bytes:
    """Make the log of the covers: on, off, and what was found on each round.

    Parameters
    ----------
    definition : Definition
        The trial.
    plots : DataFrame
        ``plan/plots.csv``.
    paper : str
        ``letter`` or ``a4``.

    Returns
    -------
    bytes
        An XLSX file; one row a piece of covered turf.
    """
    on, off = _day(definition, "covers_on"), _day(definition, "covers_off")
    pieces = covered_pieces(definition, plots)
    every, empty = [True] * len(pieces), [None] * len(pieces)
    unit = reader_unit("temperature", definition.units)
    told = f"A number in {unit}"
    warmth = Check("Temperature under the cover", f"{told}.", f"{told}, without the unit.")
    columns = [
        *_named(pieces),
        *(Column(name, empty, every, 9) for name in ("on", "off")),
        *(Column(name, empty, every, 6, TICK) for name in _HAPPENED),
        Column(f"under cover ({unit})", empty, every, 8, warmth),
        Column("disease seen", empty, every, 14),
        Column("why off early", empty, every, 14),
        Column("note", empty, every, 16),
    ]
    steps = [
        f"Planned: covers on {on}, covers off {off}. Write the day and hour of each cover.",
        "Print one copy for each round while covers lie. Tick what you find: lifted by someone, "
        "blown off or open at a side, under snow, under ice. Write what you did.",
        "Where a cover is lifted for a look, write the temperature at the turf under it, with the "
        "hour, and any disease by name or by how it looks; 'none' where you looked and saw none.",
        "A cover that comes off before its day: write why (heat, disease, an event, a tear), and "
        "who decided it.",
        "Then write it into diary.yaml under 'covers': on, off, plots, note. A cover that lay "
        "for less time than planned is part of the result, not a mistake to hide.",
        "This list names the covers. Keep it away from whoever rates plots.",
    ]
    return workbook(_form("Cover log", columns, steps, definition, paper))


def pin_count(definition: Definition, plots: pd.DataFrame, paper: str) -> bytes:
    """Make the count of pins and staples: as many must come in as went out.

    Parameters
    ----------
    definition : Definition
        The trial.
    plots : DataFrame
        ``plan/plots.csv``.
    paper : str
        ``letter`` or ``a4``.

    Returns
    -------
    bytes
        An XLSX file; one row a piece of covered turf; the difference is computed.
    """
    pieces = covered_pieces(definition, plots)
    every, empty = [True] * len(pieces), [None] * len(pieces)
    told = "A whole number, 0 or more"
    number = Check("Pins and staples", f"{told}.", f"{told}, nothing else.", low=0.0, whole=True)
    named = _named(pieces)
    kind = Check(
        "Kind of pin", f"{', '.join(_KINDS)}.", "One of the list.", f'"{",".join(_KINDS)}"'
    )
    out, into = (chr(ord("A") + len(named) + step) for step in (1, 2))
    difference = f'=IF(COUNT({out}{{row}}:{into}{{row}})<2,"",{out}{{row}}-{into}{{row}})'
    columns = [
        *named,
        Column("kind of pin", empty, every, 10, kind),
        Column("put out", empty, every, 7, number),
        Column("taken in", empty, every, 7, number),
        Column("of these broken", empty, every, 8, number),
        Column("still out (must be 0)", empty, [False] * len(pieces), 10, formula=difference),
        Column("edges searched by hand", empty, every, 10, TICK),
        Column("magnet sweep done", empty, every, 8, TICK),
        Column("signature", empty, every, 12),
    ]
    steps = [
        "Use bright steel pins or staples where you can: a magnet finds steel only, neither "
        "most stainless pins nor those of plastic or wood. One kind on a cover.",
        "Count pins and staples into the turf at each cover, and write the number at once.",
        "Count them again as they come out. What is still out must be 0; search until it is.",
        "A broken pin counts as taken in when all its pieces are in hand; write how many there "
        "are. A pin with a piece missing is still out.",
        "Whatever the kind: go along every edge of the cover, by eye and by hand. Then sweep the "
        "whole piece with a magnet, twice and crosswise, and sign. No one plays or mows there "
        "before.",
        "This list names the covers. Keep it away from whoever rates plots.",
    ]
    return workbook(_form("Pin count", columns, steps, definition, paper))


def _named(pieces: pd.DataFrame) -> list[Column]:
    none = [False] * len(pieces)
    widths = {"where": 9, "plots": 12, "cover": 20}
    return [Column(name, list(pieces[name]), none, width) for name, width in widths.items()]


def _day(definition: Definition, name: str) -> Any:
    return dates_meant(definition.dates, name)[0]


def _form(
    what: str, columns: list[Column], steps: list[str], definition: Definition, paper: str
) -> Form:
    return Form(
        tab=what,
        columns=columns,
        still=1,
        head=(f"{what}: {_MARK}", f"study {short_id(definition)}", "Day, initials: ____________"),
        foot=_MARK,
        remarks=list(enumerate([*steps, f"These steps are {UNSOURCED}."], 1)),
        below=True,
        break_before=[],
        paper=paper,
        day=_day(definition, "covers_on"),
        title=f"{what}: {_MARK.lower()}",
    )
