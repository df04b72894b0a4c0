"""Execute one stage notebook by papermill; whatever goes wrong becomes a `Failure`."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import nbformat
from nbformat import NotebookNode

from wintersward.errors import WinterswardError
from wintersward.paths import shown
from wintersward.runs.failure import Failure, exception_line
from wintersward.runs.files import write_whole
from wintersward.runs.kernels import KERNEL, check_cell
from wintersward.runs.notebooks import KERNEL_CHECK, Parameter, cleaned, noise, prepared
from wintersward.runs.stages import Stage

__all__ = ["Executed", "execute"]

# Errors that the system raises, with its number in brackets, where it refuses to read or write.
_REFUSED = ("OSError", "PermissionError")
# Errors that list what a person can put right.
_TOLD = ("WinterswardError", "Unsound")


@dataclass(frozen=True)
class Executed:
    """A stage that was executed.

    Parameters
    ----------
    noise : list of str
        What its cells wrote to stderr, one entry a cell.
    failure : Failure or None
        What stopped it; None where it came to its end.
    """

    noise: list[str]
    failure: Failure | None


def execute(
    stage: Stage, study: Path, folder: Path, parameters: Mapping[str, Parameter]
) -> Executed:
    """Execute a stage.

    Parameters
    ----------
    stage : Stage
        The stage.
    study : Path
        The study folder, whose own copy of the notebook goes first.
    folder : Path
        Where the notebook goes: ``NAME.ipynb`` when it came to its end, otherwise
        ``NAME.failed.ipynb`` as far as it was executed; it is also the kernel's folder.
    parameters : mapping
        What is passed to the notebook: JSON scalars, every one set by its parameters cell.

    Returns
    -------
    Executed
        With what stopped it. An interruption from the keyboard is one of these things.
    """
    folder.mkdir(parents=True, exist_ok=True)
    own = stage.own(study)
    part = folder / f".{stage.name}.ipynb"
    try:
        notebook = prepared(stage.notebook(study), parameters, _named(stage, study))
    except WinterswardError as error:
        return Executed([], Failure(stage.name, "study", str(error)))
    notebook.cells.insert(0, check_cell())
    caught: BaseException | None = None
    try:
        _papermill(notebook, part, folder, parameters, stage)
    except (Exception, KeyboardInterrupt) as error:
        caught = error
    made = _as_far_as_it_came(part, notebook)
    at = _stopped_at(made)
    failure = _failure(stage, made, at, caught, own)
    said = noise(made)
    ending = ".failed.ipynb" if failure else ".ipynb"
    write_whole(folder / f"{stage.name}{ending}", nbformat.writes(cleaned(made)) + "\n")
    part.unlink(missing_ok=True)
    return Executed(said, failure)


def _papermill(
    notebook: NotebookNode,
    part: Path,
    folder: Path,
    parameters: Mapping[str, Parameter],
    stage: Stage,
) -> None:
    from papermill import execute_notebook
    from traitlets.config import Config

    execute_notebook(
        notebook,
        # Papermill fills in braces that a path may hold.
        str(part).replace("{", "{{").replace("}", "}}"),
        parameters=dict(parameters),
        kernel_name=KERNEL,
        language="python",
        progress_bar=_bar(stage),
        start_timeout=120,
        execution_timeout=stage.cell_limit,
        # Set for the kernel alone: papermill's own cwd moves this whole process.
        resources={"metadata": {"path": str(folder)}},
        record_timing=False,
        # What a kernel that is being stopped complains of would reach the person's terminal.
        extra_arguments=["--log-level=50"],
        # Without it every kernel that starts warns of a connection that is not encrypted.
        config=Config({"KernelManager": {"transport_encryption": "auto"}}),
    )


def _bar(stage: Stage) -> bool | dict[str, Any]:
    """Show a bar of cells where a person looks at a terminal, and nowhere else."""
    if not sys.stderr.isatty():
        return False
    # The variable that silences bars inside the kernel would silence this one too.
    return {"desc": stage.name, "unit": "cell", "leave": False, "disable": False}


def _as_far_as_it_came(part: Path, notebook: NotebookNode) -> NotebookNode:
    """Read what papermill saved after the last cell; before the first it saved nothing."""
    try:
        return nbformat.read(os.fspath(part), as_version=4)
    except (OSError, ValueError, nbformat.ValidationError):
        return notebook


def _stopped_at(notebook: NotebookNode) -> int | None:
    """Find the cell with an error, or else the last one that was begun."""
    begun = None
    for index, cell in enumerate(notebook.cells):
        if any(out.output_type == "error" for out in cell.get("outputs", [])):
            return index
        if cell.metadata.get("papermill", {}).get("start_time"):
            begun = index
    return begun


def _failure(
    stage: Stage,
    notebook: NotebookNode,
    at: int | None,
    caught: BaseException | None,
    own: bool,
) -> Failure | None:
    error = _error_output(notebook, at)
    if caught is None and error is None:
        return None
    kind, reason = _kind(stage, at, caught, error, own)
    cells = [cell for cell in notebook.cells if _counts(cell)]
    stopped = notebook.cells[at] if at is not None else None
    if stopped is None or not _counts(stopped):
        checked = stopped is not None and KERNEL_CHECK in stopped.metadata.get("tags", [])
        return Failure(stage.name, "kernel" if checked and error else kind, reason)
    return Failure(stage.name, kind, reason, cells.index(stopped) + 1, len(cells), stopped.source)


def _error_output(notebook: NotebookNode, at: int | None) -> NotebookNode | None:
    """Find the error of a cell; papermill takes sys.exit() in a cell for a good end."""
    if at is None:
        return None
    outputs = notebook.cells[at].get("outputs", [])
    return next((out for out in outputs if out.output_type == "error"), None)


def _kind(
    stage: Stage,
    at: int | None,
    caught: BaseException | None,
    error: NotebookNode | None,
    own: bool,
) -> tuple[str, str]:
    """Tell what sort of failure it is, and the reason in words."""
    from nbclient.exceptions import CellTimeoutError, DeadKernelError

    if isinstance(caught, KeyboardInterrupt):
        return "stopped", "stopped from the keyboard"
    if isinstance(caught, CellTimeoutError):
        return "time", f"the cell took longer than {stage.cell_limit} s"
    if isinstance(caught, DeadKernelError):
        return "memory", "the notebook's Python ended without a word"
    if isinstance(caught, OSError):
        return "disk", exception_line(type(caught).__name__, str(caught))
    if error is None and at is None:
        return "kernel", exception_line(type(caught).__name__, str(caught))
    if error is None:
        return "fault", exception_line(type(caught).__name__, str(caught))
    if error.ename in _TOLD:
        return "study", error.evalue
    kind = "memory" if error.ename == "MemoryError" else "own copy" if own else "fault"
    if error.ename in _REFUSED and error.evalue.startswith("["):
        kind = "disk"
    return kind, exception_line(error.ename, error.evalue)


def _counts(cell: NotebookNode) -> bool:
    """Whether a cell stands in the template too, so that a person can count to it."""
    tags = {"injected-parameters", "papermill-error-cell-tag", KERNEL_CHECK}
    return not tags & set(cell.metadata.get("tags", []))


def _named(stage: Stage, study: Path) -> str:
    return shown(stage.notebook(study), study)
