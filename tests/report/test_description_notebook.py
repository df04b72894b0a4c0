from __future__ import annotations

import re

import nbformat

from e2e.judging import NAMES, WORDS
from wintersward.analysis.demonstration_tables import DEMONSTRATION_TABLES
from wintersward.paths import template

NOTEBOOK = nbformat.read(template("notebooks", "30-description.ipynb"), as_version=4)
CODE = [cell.source for cell in NOTEBOOK.cells if cell.cell_type == "code"]


def test_it_reads_from_the_reason_to_the_appendix() -> None:
    heads = [
        cell.source.splitlines()[0].removeprefix("## ")
        for cell in NOTEBOOK.cells
        if cell.cell_type == "markdown"
    ]
    assert heads == [
        "# Description",
        "Why nothing is compared",
        "What was counted",
        "Plots and averages",
        "The map",
        "Pictures",
        "Raters, eye and photo",
        "The season",
        "What a valid trial would need",
        "Appendix",
    ]


def test_it_writes_every_table_and_shows_those_of_a_demonstration_alone() -> None:
    assert sum(source.count("analyse(trial)") for source in CODE) == 1
    assert sum(source.count("record.write_all(tables)") for source in CODE) == 1
    shown = {name for source in CODE for name in re.findall(r'tables\["(\w+)"\]', source)}
    assert shown <= set(DEMONSTRATION_TABLES)
    assert shown >= {"counts", "means", "plot_means", "rater_counts", "weather_months", "notes"}
    assert shown >= {"flags", "sheet_sums"}


def test_its_own_words_judge_nothing() -> None:
    for cell in NOTEBOOK.cells:
        assert not WORDS.search(cell.source)
        assert not NAMES.fullmatch(cell.source)
