"""Workbooks as people make them: the same nine pulls, written in many ways."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pandas as pd
from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

DAY = dt.date(2026, 3, 24)
HEADINGS = ["date", "plot", "sample", "pull_force"]
# Plot, sample and what the spring balance showed [lbf].
PULLS = [
    (plot, sample, 40.5 + plot - 101 + 4 * sample)
    for plot in (101, 102, 103)
    for sample in (1, 2, 3)
]
ROWS: list[list[Any]] = [[DAY, *pull] for pull in PULLS]
PLAIN = [HEADINGS, *ROWS]

# What is read of them; 1 lbf is 4.448 221 615 260 5 N (NIST SP 811, appendix B.8).
PULLED = [
    (str(DAY), str(plot), sample, "pull_force", round(value * 4.4482216152605, 6))
    for plot, sample, value in PULLS
]

Make = Callable[[Worksheet], None]


def told_of(name: str, file: str, *more: str) -> str:
    """Write the diary that a table needs, with what else it is to say of the file."""
    said = [f"file: {file}", *([DIARIES[name]] if name in DIARIES else []), *more]
    return f"sheets:\n  - {{{', '.join(said)}}}\n" if len(said) > 1 else ""


def labelled(definition: str) -> str:
    """Give the pull of the sound definition a label of its own."""
    told = definition.replace("    unit: lbf\n", "    unit: lbf\n    label: Pull to lift sod\n")
    assert told != definition
    return told


def pulled(observations: pd.DataFrame) -> list[tuple[Any, ...]]:
    """List observations as `PULLED` does."""
    seen = observations.assign(date=observations["date"].dt.date.astype(str))
    seen["value"] = seen["value"].round(6)
    columns = ["date", "plot", "sample", "measure", "value"]
    return list(seen[columns].itertuples(index=False, name=None))


def fill(tab: Worksheet, rows: list[list[Any]], first: int = 1, left: int = 1) -> None:
    """Write rows from a cell on; what is None stays as it is."""
    for down, row in enumerate(rows):
        for across, value in enumerate(row):
            if value is not None:
                tab.cell(first + down, left + across, value)


def saved(make: Make) -> Workbook:
    """Make a workbook of one tab."""
    book = Workbook()
    book.active.title = "Pulls"
    make(book.active)
    return book


def plain(tab: Worksheet) -> None:
    fill(tab, PLAIN)


def title_and_notes_above(tab: Worksheet) -> None:
    tab["A1"] = "Pulls of March, Alder Road ground"
    tab.merge_cells("A1:D1")
    tab["A2"] = "overcast, 46 degF; balance no. 2"
    tab["B3"] = "taken by"
    tab["C3"] = "rx"
    fill(tab, PLAIN, 5)


def notes_in_between(tab: Worksheet) -> None:
    fill(tab, PLAIN[:4])
    tab["A5"] = "rain, stopped for twenty minutes"
    tab["B7"] = "went on at 10:40"
    tab["C9"] = "new spike"
    fill(tab, PLAIN[4:], 11)
    tab["A18"] = "all pulled before noon"


def a_title_on_each_page(tab: Worksheet) -> None:
    for page in range(3):
        top = 1 + 7 * page
        tab.cell(top, 1, f"Pulls, page {page + 1}")
        fill(tab, [HEADINGS, *ROWS[3 * page : 3 * page + 3]], top + 1)


def a_second_table_with_other_columns(tab: Worksheet) -> None:
    fill(tab, PLAIN[:5])
    other = ["Plot", "remarks", "Pull force (lbf)", "Sample", "Date"]
    rows = [[plot, "firm", value, sample, DAY] for plot, sample, value in PULLS[4:]]
    fill(tab, [other, *rows], 8, 2)


def further_right_and_down(tab: Worksheet) -> None:
    fill(tab, PLAIN, 4, 3)


def columns_moved(tab: Worksheet) -> None:
    fill(tab, [[row[3], row[1], None, row[0], row[2]] for row in PLAIN])


def a_column_inserted(tab: Worksheet) -> None:
    heads = ["date", "walk", "plot", "sample", "pull_force", "remarks"]
    rows = [[DAY, 12, plot, n, value, "wet"] for plot, n, value in PULLS]
    fill(tab, [heads, *rows])


def blank_columns_and_rows(tab: Worksheet) -> None:
    for step, row in enumerate(PLAIN):
        fill(tab, [[row[0], None, row[1], None, None, row[2], row[3]]], 2 + 2 * step)


def spaces_that_nobody_sees(tab: Worksheet) -> None:
    fill(tab, [["\ufeffDate ", "\u00a0Plot", "Sample\u200b", "Pull\u00a0\u00a0force\u00a0(lbf)"]])
    rows = [[f" {DAY}\u00a0", f"{p}\u200b", f"\u202f{n} ", f"\u2060{v}\n"] for p, n, v in PULLS]
    fill(tab, rows, 2)


def numbers_kept_as_text(tab: Worksheet) -> None:
    fill(tab, [HEADINGS, *[[DAY, str(p), str(n), str(v)] for p, n, v in PULLS]])


def apostrophes_in_front(tab: Worksheet) -> None:
    fill(tab, [HEADINGS, *[[f"'{DAY}", f"'{p}", n, f"\u2019{v}"] for p, n, v in PULLS]])


def plots_with_decimals(tab: Worksheet) -> None:
    fill(tab, [HEADINGS, *[[DAY, f"{p}.0", f"{n}.0", v] for p, n, v in PULLS]])


def dates_of_three_kinds(tab: Worksheet) -> None:
    days = [DAY, "2026-03-24", "3/24/2026", dt.datetime(2026, 3, 24, 9, 30), "03/24/26"]
    fill(tab, [HEADINGS, *[[days[at % 5], *pull] for at, pull in enumerate(PULLS)]])


def dates_as_the_program_shows_them(tab: Worksheet) -> None:
    fill(tab, PLAIN)
    for row in range(2, 11):
        tab.cell(row, 1).number_format = "mm-dd-yy"


def the_label_for_a_heading(tab: Worksheet) -> None:
    fill(tab, [["DATE", "plot", "Sample", "Pull to lift-sod (lb)"], *ROWS])


def units_below_the_headings(tab: Worksheet) -> None:
    fill(tab, [HEADINGS, ["(yyyy-mm-dd)", None, None, "(lbf)"], *ROWS])


def formulas_with_results(tab: Worksheet) -> None:
    fill(tab, PLAIN)
    for row, (_, _, value) in enumerate(PULLS, 2):
        tab.cell(row, 4, f"={value - 1}+1")


# What is read as the plain table is; formulas have a result only where a program computed them.
SAME: dict[str, Make] = {
    make.__name__: make
    for make in (
        plain,
        title_and_notes_above,
        notes_in_between,
        a_title_on_each_page,
        a_second_table_with_other_columns,
        further_right_and_down,
        columns_moved,
        a_column_inserted,
        blank_columns_and_rows,
        spaces_that_nobody_sees,
        numbers_kept_as_text,
        apostrophes_in_front,
        plots_with_decimals,
        dates_of_three_kinds,
        dates_as_the_program_shows_them,
        the_label_for_a_heading,
        units_below_the_headings,
    )
}
# What the diary has to say of these.
DIARIES = {"dates_of_three_kinds": "date_order: month first"}


def side_by_side(tab: Worksheet) -> None:
    fill(tab, PLAIN[:5])
    fill(tab, [HEADINGS, *ROWS[4:]], 1, 6)


def side_by_side_further_down(tab: Worksheet) -> None:
    fill(tab, PLAIN[:7])
    fill(tab, [HEADINGS, *ROWS[6:]], 3, 6)


def one_heading_over_three_columns(tab: Worksheet) -> None:
    fill(tab, [["date", "plot", "Pull force (lbf)"], [None, None, 1, 2, 3]])
    tab.merge_cells("C1:E1")
    for row in range(3):
        fill(
            tab,
            [[DAY, 101 + row, *[value for _, _, value in PULLS[3 * row : 3 * row + 3]]]],
            3 + row,
        )


def the_measure_above_the_headings(tab: Worksheet) -> None:
    tab["C1"] = "Pull force (lbf)"
    tab.merge_cells("C1:E1")
    fill(tab, [["date", "plot", "1", "2", "3"]], 2)
    for row in range(3):
        fill(
            tab,
            [[DAY, 101 + row, *[value for _, _, value in PULLS[3 * row : 3 * row + 3]]]],
            3 + row,
        )


def a_column_for_each_reading(tab: Worksheet) -> None:
    fill(tab, [["date", "plot", "Pull force 1", "Pull force 2", "Pull force 3"]])
    for row in range(3):
        fill(
            tab,
            [[DAY, 101 + row, *[value for _, _, value in PULLS[3 * row : 3 * row + 3]]]],
            2 + row,
        )


def values_without_a_heading(tab: Worksheet) -> None:
    fill(tab, PLAIN)
    fill(tab, [[41.5], [42]], 3, 6)


def means_at_the_foot(tab: Worksheet) -> None:
    fill(tab, PLAIN)
    fill(
        tab, [["Mean", None, None, 49.5], [None, "Total:", None, 445.5], [None, None, None, 44]], 11
    )


def a_date_for_many_rows(tab: Worksheet) -> None:
    fill(tab, [[None if at > 1 else row[0], *row[1:]] for at, row in enumerate(PLAIN)])
    tab.merge_cells("A2:A10")


def a_date_in_a_row_of_its_own(tab: Worksheet) -> None:
    fill(tab, [HEADINGS, [DAY], *[[None, *row[1:]] for row in ROWS]])


def a_date_and_plot_for_many_rows(tab: Worksheet) -> None:
    fill(tab, PLAIN[:1])
    for at, row in enumerate(ROWS):
        fill(
            tab, [[row[0] if at == 0 else None, row[1] if at % 3 == 0 else None, *row[2:]]], 2 + at
        )


def a_record_above_the_headings(tab: Worksheet) -> None:
    fill(tab, [ROWS[0], HEADINGS, *ROWS[1:]])


def dates_as_numbers(tab: Worksheet) -> None:
    fill(tab, [HEADINGS, [46105, 101, 1, 40.5], *ROWS[1:]])


SPREAD = "write one row a reading, with its number in a column sample"
PLOTS = "a plot of plan/plots.csv (101, 102, 103, 104, 105, 106 ...)"
ISO = "a date written year-month-day, such as 2026-03-24"
BESIDE = "put the second table below the first, or into a tab or file of its own"
SUM = "a row that sums up others does not belong in the sheet: remove it"
# What is told of the others, after the name of the file.
TOLD: dict[str, tuple[Make, list[str]]] = {
    make.__name__: (make, said)
    for make, said in (
        (
            side_by_side,
            [
                "row 1: found two tables side by side: 'date' and 'plot' stand there more than "
                f"once; allowed: one table; {BESIDE}"
            ],
        ),
        (
            side_by_side_further_down,
            [f"row 3: found headings of a second table beside records of the first; {BESIDE}"],
        ),
        (
            one_heading_over_three_columns,
            [
                "row 1, column pull_force: found 'Pull force (lbf)' over the columns C to E, with "
                f"1, 2, 3 below; allowed: headings in one row; {SPREAD}"
            ],
        ),
        (
            the_measure_above_the_headings,
            [
                "row 2, column pull_force: found 'Pull force (lbf)' in row 1, above the other "
                f"headings; allowed: headings in one row; {SPREAD}"
            ],
        ),
        (
            a_column_for_each_reading,
            [
                "row 1, column pull_force: found 'Pull force 1', 'Pull force 2', 'Pull force 3'; "
                f"allowed: one column a measure; {SPREAD}"
            ],
        ),
        (
            values_without_a_heading,
            [
                "row 3: found numbers without a heading in F3 to F4; give the column a heading; "
                "of several readings in a plot, write one row a reading, with its number in a "
                "column sample"
            ],
        ),
        (
            means_at_the_foot,
            [
                f"row 11, column date: found 'Mean' beside values; {SUM}",
                f"row 12, column plot: found 'Total:' beside values; {SUM}",
                "row 13: found '44' without date and plot; write date and plot, or remove the "
                "row if it sums up others",
            ],
        ),
        (
            a_date_for_many_rows,
            [
                "row 3, column date: found nothing in rows 3 to 10; allowed: a date in every row "
                "with a value; where the date of row 2 is meant for more rows, fill it down"
            ],
        ),
        (
            a_date_in_a_row_of_its_own,
            [
                "row 3, column date: found nothing in rows 3 to 11; allowed: a date in every row "
                "with a value; where the date of row 2 is meant for more rows, fill it down"
            ],
        ),
        (
            a_date_and_plot_for_many_rows,
            [
                "row 3, column date: found nothing in rows 3 to 10; allowed: a date in every row "
                "with a value; where the date of row 2 is meant for more rows, fill it down",
                "row 3, column plot: found nothing in rows 3 to 4, 6 to 7, 9 to 10; allowed: a "
                "plot in every row with a value; where the plot of row 2 is meant for more rows, "
                "fill it down",
            ],
        ),
        (
            a_record_above_the_headings,
            [
                "row 1: found a record of plot 101 above the headings; put it below row 2, or put "
                "headings above it"
            ],
        ),
        (
            dates_as_numbers,
            [
                f"row 2, column date: found '46105'; allowed: {ISO}; spreadsheets keep 2026-03-24 "
                "as this number: format the column as yyyy-mm-dd"
            ],
        ),
    )
}
