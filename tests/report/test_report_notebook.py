from __future__ import annotations

import nbformat

from wintersward.paths import template
from wintersward.report.sections import CONTEXTS

NOTEBOOK = nbformat.read(template("notebooks", "50-report.ipynb"), as_version=4)


def test_it_is_a_clean_template() -> None:
    nbformat.validate(NOTEBOOK)
    assert NOTEBOOK.metadata["title"] == "Report"
    assert NOTEBOOK.metadata["kernelspec"]["name"] == "python3"
    for cell in NOTEBOOK.cells:
        assert cell["id"].isalpha()
        assert len(cell.source.splitlines()) <= 10
        if cell.cell_type == "code":
            assert cell.outputs == []
            assert cell.execution_count is None


def test_its_parameters_are_two_empty_strings() -> None:
    tagged = [c for c in NOTEBOOK.cells if "parameters" in c.metadata.get("tags", [])]
    assert [cell.source for cell in tagged] == ['study = ""\nrun_folder = ""']


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
