"""The stage of temperature, light and risk: a clean template, thin, alike for every trial."""

from __future__ import annotations

import re

import nbformat

from e2e.judging import NAMES, WORDS
from wintersward.analysis.climate_columns import CLIMATE
from wintersward.paths import template

NOTEBOOK = nbformat.read(template("notebooks", "20-climate.ipynb"), as_version=4)
CODE = [cell.source for cell in NOTEBOOK.cells if cell.cell_type == "code"]


def test_it_writes_every_table_and_shows_each() -> None:
    assert sum(source.count("climate_tables(trial)") for source in CODE) == 1
    assert sum(source.count("record.write_all(tables)") for source in CODE) == 1
    assert {name for source in CODE for name in re.findall(r'tables\["(\w+)"\]', source)} == set(
        CLIMATE
    )


def test_its_own_words_judge_nothing() -> None:
    for cell in NOTEBOOK.cells:
        assert not WORDS.search(cell.source)
        assert not NAMES.fullmatch(cell.source)
