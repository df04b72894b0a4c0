from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import nbformat
import numpy as np
import pytest
from nbformat import NotebookNode

from wintersward.errors import WinterswardError
from wintersward.runs.notebooks import cleaned, noise, prepared, same_cells

NOTEBOOKS = Path(__file__).resolve().parents[1] / "notebooks"
PASSED = {"study": "a", "run_folder": "b"}


def fixture(name: str, **parameters: Any) -> NotebookNode:
    return prepared(NOTEBOOKS / f"{name}.ipynb", {**PASSED, **parameters}, f"{name}.ipynb")


class TestPrepared:
    def test_a_notebook_without_the_tag_is_refused(self) -> None:
        with pytest.raises(WinterswardError, match="0 cells tagged 'parameters'.*overwritten"):
            fixture("no_parameters")

    def test_two_tagged_cells_are_refused(self, tmp_path: Path) -> None:
        content = json.loads((NOTEBOOKS / "sound.ipynb").read_text(encoding="utf-8"))
        content["cells"].append({**content["cells"][1], "id": "again"})
        path = tmp_path / "two.ipynb"
        path.write_text(json.dumps(content))
        with pytest.raises(WinterswardError, match="2 cells tagged"):
            prepared(path, PASSED, "two.ipynb")

    def test_an_unknown_parameter_is_refused(self) -> None:
        said = "does not set run_folder; it sets: study, season"
        with pytest.raises(WinterswardError, match=said):
            fixture("other_parameters")

    @pytest.mark.parametrize(
        "value", [Path("a"), (1, 2), [1], {"a": 1}, np.float64(1), float("nan"), float("inf")]
    )
    def test_what_is_no_scalar_is_refused(self, value: Any) -> None:
        with pytest.raises(WinterswardError, match="parameter study is .*; allowed: text"):
            fixture("sound", study=value)

    @pytest.mark.parametrize("value", ["a", 1, 1.5, True, None])
    def test_scalars_are_taken(self, value: Any) -> None:
        assert fixture("sound", study=value).cells

    def test_the_saved_kernel_is_replaced(self) -> None:
        kernelspec = fixture("other_kernel").metadata.kernelspec
        assert (kernelspec.name, kernelspec.language) == ("python3", "python")

    def test_another_language_is_refused(self) -> None:
        with pytest.raises(WinterswardError, match="a notebook in R; allowed: Python"):
            fixture("other_language")

    def test_missing_ids_are_counted(self) -> None:
        assert [cell.id for cell in fixture("without_ids").cells] == ["cell-01", "cell-02"]

    def test_outputs_and_a_cell_that_was_injected_before_are_dropped(self, tmp_path: Path) -> None:
        content = json.loads((NOTEBOOKS / "sound.ipynb").read_text(encoding="utf-8"))
        injected = {
            "cell_type": "code",
            "id": "old",
            "metadata": {"tags": ["injected-parameters"]},
            "source": "study = 'elsewhere'",
            "execution_count": 2,
            "outputs": [],
        }
        content["cells"].insert(0, injected)
        content["cells"][-1]["execution_count"] = 9
        content["cells"][-1]["outputs"] = [{"output_type": "stream", "name": "stdout", "text": "x"}]
        path = tmp_path / "used.ipynb"
        path.write_text(json.dumps(content))
        notebook = prepared(path, PASSED, "used.ipynb")
        assert [cell.id for cell in notebook.cells] == [f"sound-{n}" for n in range(1, 6)]
        assert notebook.cells[-1].outputs == []
        assert notebook.cells[-1].execution_count is None

    @pytest.mark.parametrize(
        "text",
        ["", "{}", "[]", '{"nbformat": 3, "cells": []}', '{"nbformat": 4, "cells": [{}]}'],
    )
    def test_what_is_no_notebook_is_refused(self, tmp_path: Path, text: str) -> None:
        path = tmp_path / "broken.ipynb"
        path.write_text(text)
        with pytest.raises(WinterswardError, match="broken.ipynb: no Jupyter notebook of format 4"):
            prepared(path, PASSED, "broken.ipynb")


def executed() -> NotebookNode:
    v4 = nbformat.v4
    check = v4.new_code_cell("pass", execution_count=1)
    check.metadata.tags = ["wintersward-kernel-check"]
    parameters = v4.new_code_cell('study = ""', id="p", execution_count=2)
    parameters.metadata.tags = ["parameters"]
    injected = v4.new_code_cell('study = "/home/me/trial"', execution_count=3)
    injected.metadata.tags = ["injected-parameters"]
    text = v4.new_markdown_cell("# Page", id="t")
    last = v4.new_code_cell("1 + 1", id="c", execution_count=4)
    warning = "\x1b[31m/temporary/ipykernel_12/34.py:1: UserWarning: old\x1b[0m\n"
    last.outputs = [
        v4.new_output("stream", name="stderr", text=warning),
        v4.new_output("execute_result", data={"text/plain": "2"}, execution_count=4),
    ]
    cells = [check, parameters, injected, text, last]
    for cell in cells:
        cell.metadata.papermill = {"duration": 0.1}
        cell.metadata.execution = {"iopub.status.busy": "2026-03-09T10:00:00Z"}
        cell.metadata.setdefault("tags", [])
    made = v4.new_notebook(cells=cells)
    made.metadata = nbformat.from_dict(
        {"title": "Page", "papermill": {"start_time": "now"}, "language_info": {"version": "3"}}
    )
    return made


class TestCleaned:
    def test_what_the_runner_put_in_is_gone(self) -> None:
        notebook = cleaned(executed())
        assert [cell.id for cell in notebook.cells] == ["p", "t", "c"]
        assert "/home/me" not in nbformat.writes(notebook)

    def test_clock_readings_are_gone(self) -> None:
        notebook = cleaned(executed())
        assert [dict(cell.metadata) for cell in notebook.cells] == [
            {"tags": ["parameters"]},
            {},
            {},
        ]
        assert dict(notebook.metadata) == {
            "title": "Page",
            "kernelspec": {
                "display_name": "Python 3 (ipykernel)",
                "language": "python",
                "name": "python3",
            },
            "language_info": {"name": "python"},
        }

    def test_cells_are_counted_from_one(self) -> None:
        notebook = cleaned(executed())
        assert [cell.get("execution_count") for cell in notebook.cells] == [1, None, 2]
        assert notebook.cells[-1].outputs[0].execution_count == 2

    def test_noise_is_left_out(self) -> None:
        outputs = cleaned(executed()).cells[-1].outputs
        assert [out.output_type for out in outputs] == ["execute_result"]


def test_noise_is_told_by_the_cells_of_the_template() -> None:
    assert noise(executed()) == ["cell 3: cell:1: UserWarning: old"]
    assert noise(cleaned(executed())) == []


class TestSameCells:
    def test_a_copy_that_was_only_run_and_saved_is_the_same(self, tmp_path: Path) -> None:
        content = json.loads((NOTEBOOKS / "sound.ipynb").read_text(encoding="utf-8"))
        content["metadata"]["kernelspec"]["name"] = "mine"
        content["cells"][-1]["execution_count"] = 5
        path = tmp_path / "sound.ipynb"
        path.write_text(json.dumps(content))
        assert same_cells(path, NOTEBOOKS / "sound.ipynb")

    def test_a_changed_source_is_another_notebook(self, tmp_path: Path) -> None:
        path = Path(shutil.copy(NOTEBOOKS / "sound.ipynb", tmp_path))
        path.write_text(path.read_text(encoding="utf-8").replace("1 + 1", "1 + 2"))
        assert not same_cells(path, NOTEBOOKS / "sound.ipynb")

    def test_a_broken_copy_is_another_notebook(self, tmp_path: Path) -> None:
        path = tmp_path / "sound.ipynb"
        path.write_text("")
        assert not same_cells(path, NOTEBOOKS / "sound.ipynb")
