from __future__ import annotations

import nbformat

from wintersward.paths import template
from wintersward.report.sections import CONTEXTS

NOTEBOOK = nbformat.read(template("notebooks", "50-report.ipynb"), as_version=4)


def test_it_shows_every_section_and_computes_nothing() -> None:
    code = [c.source for c in NOTEBOOK.cells if c.cell_type == "code"]
    assert code[2:] == [f'page.section("{name}")' for name in CONTEXTS]
    assert code[1].splitlines()[0] == (
        "from wintersward import open_record, open_study, report_page"
    )


def test_its_own_words_stay_in_the_notebook() -> None:
    for cell in NOTEBOOK.cells:
        if cell.cell_type == "markdown":
            assert "notebook-only" in cell.metadata["tags"]
