"""The kernel of a stage: this very Python, and nothing of the person's own settings in it."""

from __future__ import annotations

import importlib.metadata
import logging
import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import nbformat
from nbformat import NotebookNode

from wintersward.photos.progress import VARIABLE
from wintersward.runs.notebooks import KERNEL_CHECK

__all__ = ["KERNEL", "check_cell", "surroundings"]

KERNEL = "python3"

# Read by the kernel alone, which may be any Python: the standard library has to do.
_CHECK = """\
import sys
from importlib import metadata
try:
    found = [sys.prefix, metadata.version("wintersward")]
except metadata.PackageNotFoundError:
    found = [sys.prefix, "none"]
if found != {expected!r}:
    raise RuntimeError(
        "the notebook's kernel is the Python in {{}} with wintersward {{}}, but the run is the "
        "one in {{}} with wintersward {{}}".format(*found, *{expected!r})
    )
del sys, metadata, found
"""

_ALWAYS = {
    # A kernel that the person installed under the same name must not take this one's place.
    "JUPYTER_PREFER_ENV_PATH": "1",
    # Bars would leave dozens of outputs in the notebook.
    "TQDM_DISABLE": "1",
    # Sums in one order, so that the last digits are the same on every run.
    "PYTHONHASHSEED": "0",
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "MKL_NUM_THREADS": "1",
}
# What these name would be run in, or put before, the stage.
_NEVER = ("JUPYTER_PATH", "PYTHONSTARTUP", "PYTHONWARNINGS", "PYTHONDEVMODE")


def check_cell() -> NotebookNode:
    """Make the cell that stops a stage in any other Python than the one that runs it.

    Returns
    -------
    NotebookNode
        Tagged `KERNEL_CHECK`; goes first and is taken out again afterwards.
    """
    expected = [sys.prefix, importlib.metadata.version("wintersward")]
    cell = nbformat.v4.new_code_cell(_CHECK.format(expected=expected), id="kernel-check")
    cell.metadata["tags"] = [KERNEL_CHECK]
    return cell


@contextmanager
def surroundings() -> Iterator[None]:
    """Give kernels that start inside a surrounding that does not depend on the person.

    Environment variables of this process are changed for the time being, since a kernel
    inherits them: stages run one after the other, never in threads.
    """
    before = dict(os.environ)
    logger = logging.getLogger("papermill")
    level = logger.level
    with tempfile.TemporaryDirectory(prefix="wintersward-", ignore_cleanup_errors=True) as place:
        try:
            for name in _NEVER:
                os.environ.pop(name, None)
            # Without it, the start-up files of the person's own IPython would run first.
            os.environ.update(_ALWAYS, IPYTHONDIR=str(Path(place) / "ipython"))
            os.environ[VARIABLE] = str(Path(place) / "photos")
            # What it would log is told by the failure, in words.
            logger.setLevel(logging.CRITICAL)
            yield
        finally:
            logger.setLevel(level)
            os.environ.clear()
            os.environ.update(before)
