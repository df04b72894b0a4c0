from __future__ import annotations

import nbformat

from wintersward.analysis.results import TABLES
from wintersward.paths import template

NOTEBOOK = nbformat.read(template("notebooks", "30-statistics.ipynb"), as_version=4)
CODE = [cell.source for cell in NOTEBOOK.cells if cell.cell_type == "code"]


def test_it_reads_from_the_question_to_the_appendix() -> None:
    heads = [
        cell.source.splitlines()[0].removeprefix("## ")
        for cell in NOTEBOOK.cells
        if cell.cell_type == "markdown"
    ]
    assert heads == [
        "# Statistics",
        "The question",
        "The skeleton",
        "The answer",
        "Pictures",
        "Means and differences",
        "Supporting analyses",
        "Checks",
        "Appendix",
    ]


def test_pictures_of_residuals_come_before_the_tests() -> None:
    places = {cell["id"]: at for at, cell in enumerate(NOTEBOOK.cells)}
    assert places["residuals"] < places["checks"] < places["appendix"]


def test_every_table_that_it_shows_is_one_of_a_run() -> None:
    shown = {
        part.split('"')[1] for source in CODE for part in source.split("tables[")[1:] if '"' in part
    }
    assert shown <= set(TABLES)
    assert shown >= {"primary", "equivalence", "days_gained", "structures", "sensitivity"}
    assert shown >= {"agreement", "checks", "replication", "seasons_differences", "differences"}


def test_it_runs_the_loop_once_and_writes_all_of_it() -> None:
    assert sum(source.count("analyse(trial)") for source in CODE) == 1
    assert sum(source.count("record.write_all(tables)") for source in CODE) == 1
