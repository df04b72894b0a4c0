"""Stage notebooks as documents: made ready to be executed, and cleaned afterwards."""

from __future__ import annotations

import ast
import json
import math
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import nbformat
from nbformat import NotebookNode

from wintersward.errors import WinterswardError, listed

__all__ = ["KERNEL_CHECK", "PARAMETERS", "Parameter", "cleaned", "noise", "prepared", "same_cells"]

Parameter = str | int | float | bool | None

PARAMETERS = "parameters"
KERNEL_CHECK = "wintersward-kernel-check"
_INJECTED = "injected-parameters"
_ERROR_MARK = "papermill-error-cell-tag"
_KERNELSPEC = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
_ANSI = re.compile(r"\x1b\[[0-9;]*[A-Za-z]")
# Files that lie elsewhere on every computer: of a cell, and of an installed library.
_CELL_FILE = re.compile(r"\S*ipykernel_\d+[/\\]\d+\.py")
_LIBRARY = re.compile(r"\S*site-packages[/\\]")


def prepared(path: Path, parameters: Mapping[str, Parameter], shown: str) -> NotebookNode:
    """Read a stage notebook and make sure that its parameters will arrive.

    Parameters
    ----------
    path : Path
        The template.
    parameters : mapping
        What will be passed: JSON scalars.
    shown : str
        What to call the file in messages.

    Returns
    -------
    NotebookNode
        Without outputs and with a Python kernel, whatever was saved in it.

    Raises
    ------
    WinterswardError
        Where it is no Python notebook, where there is not exactly one cell tagged
        ``parameters``, where that cell does not set a parameter, or a value is no scalar.
    """
    notebook = _read(path, shown)
    language = notebook.metadata.get("language_info", {}).get("name", "python")
    if language != "python":
        raise WinterswardError(f"{shown}: a notebook in {language}; allowed: Python")
    notebook.cells = [cell for cell in notebook.cells if _INJECTED not in _tags(cell)]
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
    notebook.metadata["kernelspec"] = dict(_KERNELSPEC)
    _check_parameters(notebook, parameters, shown)
    return notebook


def cleaned(notebook: NotebookNode) -> NotebookNode:
    """Take out of an executed notebook what the runner put in and what a clock or a start wrote.

    Returns
    -------
    NotebookNode
        The cells of the template with their outputs. The passed parameters are not among
        them: they only said where the study and the run are, and without them the notebook
        can be opened and run again by hand. Streams to stderr are left out; see `noise`.
    """
    runners = {_INJECTED, _ERROR_MARK, KERNEL_CHECK}
    notebook.cells = [cell for cell in notebook.cells if not runners & set(_tags(cell))]
    counter = 0
    for cell in notebook.cells:
        for key in ("papermill", "execution"):
            cell.metadata.pop(key, None)
        if not cell.metadata.get("tags"):
            cell.metadata.pop("tags", None)
        if cell.cell_type != "code":
            continue
        if cell.execution_count is not None:
            counter += 1
            cell.execution_count = counter
        cell.outputs = [out for out in cell.outputs if not _is_noise(out)]
        for out in cell.outputs:
            if "execution_count" in out:
                out["execution_count"] = cell.execution_count
    notebook.metadata.pop("papermill", None)
    notebook.metadata["kernelspec"] = dict(_KERNELSPEC)
    notebook.metadata["language_info"] = {"name": "python"}
    return notebook


def noise(notebook: NotebookNode) -> list[str]:
    """List what the cells of an executed notebook wrote to stderr.

    Returns
    -------
    list of str
        One entry a cell, beginning with its number in the template; without colours and
        without the places of files on this computer.
    """
    runners = {_INJECTED, _ERROR_MARK, KERNEL_CHECK}
    cells = [cell for cell in notebook.cells if not runners & set(_tags(cell))]
    found = []
    for number, cell in enumerate(cells, 1):
        said = "".join(out.text for out in cell.get("outputs", []) if _is_noise(out))
        if said.strip():
            text = _LIBRARY.sub("", _CELL_FILE.sub("cell", _ANSI.sub("", said)))
            found.append(f"cell {number}: {text.strip()}")
    return found


def same_cells(left: Path, right: Path) -> bool:
    """Whether two notebook files hold the same cells, whatever was saved beside them.

    A copy that was only opened and saved in JupyterLab has other outputs, counts and kernel
    names than its original, but does the same.
    """
    try:
        return _cells(left) == _cells(right)
    except WinterswardError:
        return False


def _cells(path: Path) -> list[tuple[str, str, list[str]]]:
    notebook = _read(path, path.name)
    return [(cell.cell_type, cell.source, _tags(cell)) for cell in notebook.cells]


def _read(path: Path, shown: str) -> NotebookNode:
    try:
        content = json.loads(path.read_text(encoding="utf-8-sig"))
        if content["nbformat"] != 4:
            raise ValueError("not of format 4")
        # Ids made up while reading would differ from run to run.
        for number, cell in enumerate(content["cells"], 1):
            cell.setdefault("id", f"cell-{number:02d}")
        content["nbformat_minor"] = max(5, content["nbformat_minor"])
        notebook = nbformat.from_dict(content)
        nbformat.validate(notebook)
    except (ValueError, KeyError, TypeError, AttributeError, nbformat.ValidationError) as error:
        said = (str(error).strip() or type(error).__name__).splitlines()[0]
        raise WinterswardError(
            f"{shown}: no Jupyter notebook of format 4 ({said}); "
            "open it in JupyterLab and save it, or take the package's own notebook again"
        ) from None
    _join_lines(notebook)
    return notebook


def _join_lines(notebook: NotebookNode) -> None:
    """Join sources, which a file may hold as lists of lines."""
    for cell in notebook.cells:
        if isinstance(cell.source, list):
            cell.source = "".join(cell.source)


def _check_parameters(
    notebook: NotebookNode, parameters: Mapping[str, Parameter], shown: str
) -> None:
    tagged = [cell for cell in notebook.cells if PARAMETERS in _tags(cell)]
    if len(tagged) != 1 or tagged[0].cell_type != "code":
        raise WinterswardError(
            f"{shown}: {len(tagged)} cells tagged '{PARAMETERS}'; allowed: one code cell; "
            "without the tag, what is passed would be overwritten by what the cell says"
        )
    known = _names(tagged[0].source)
    unknown = [name for name in parameters if name not in known]
    if unknown:
        raise WinterswardError(
            f"{shown}: its parameters cell does not set {listed(unknown)}; "
            f"it sets: {listed(known) or 'nothing'}"
        )
    for name, value in parameters.items():
        # Exactly these types: anything else would arrive as text, or not at all.
        plain = value is None or type(value) in (str, int, float, bool)
        if not plain or (isinstance(value, float) and not math.isfinite(value)):
            raise WinterswardError(
                f"{shown}: parameter {name} is {value!r} ({type(value).__name__}); "
                "allowed: text, a number, true, false or nothing"
            )


def _names(source: str) -> list[str]:
    """List the names that a cell sets at its top level."""
    try:
        statements = ast.parse(source).body
    except SyntaxError:
        return []
    names: list[str] = []
    for statement in statements:
        targets: list[Any] = []
        if isinstance(statement, ast.Assign):
            targets = statement.targets
        elif isinstance(statement, ast.AnnAssign) and statement.value is not None:
            targets = [statement.target]
        names += [target.id for target in targets if isinstance(target, ast.Name)]
    return names


def _tags(cell: NotebookNode) -> list[str]:
    return list(cell.metadata.get("tags", []))


def _is_noise(output: NotebookNode) -> bool:
    return output.output_type == "stream" and output.name == "stderr"
