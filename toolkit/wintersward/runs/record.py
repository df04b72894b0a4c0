"""The record of a run: its tables and figures, written once and read by everything else."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from wintersward.errors import WinterswardError, closest, listed
from wintersward.paths import command
from wintersward.runs.files import read_json, write_json, write_whole
from wintersward.runs.pictures import picture_file
from wintersward.runs.tables import columns_of, from_csv, to_csv

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from PIL.Image import Image

    from wintersward.analysis.results import Table
    from wintersward.study import Trial

__all__ = ["BY_HAND", "Record", "open_record"]

BY_HAND = ".by-hand"


class Record:
    """Tables and figures of one run.

    Parameters
    ----------
    folder : Path
        Folder of the run.
    tables : mapping of str to Table, optional
        What may be written; left out, the tables of `wintersward.analysis.results`.

    Attributes
    ----------
    folder : Path
    tables : mapping of str to Table
        What this run may hold, by name.
    """

    def __init__(self, folder: Path, tables: Mapping[str, Table] | None = None) -> None:
        if tables is None:
            from wintersward.analysis.results import TABLES

            tables = TABLES
        self.folder = Path(folder)
        self.tables = tables

    def write(self, name: str, frame: pd.DataFrame) -> None:
        """Write ``results/NAME.csv`` and enter it in ``results/tables.json``.

        Parameters
        ----------
        name : str
            One of the known tables.
        frame : DataFrame
            Exactly the columns of that table, in any order.

        Raises
        ------
        WinterswardError
            For an unknown table, for columns or values that do not fit it, for rows that
            share a key.
        """
        self.write_all({name: frame})

    def write_all(self, frames: Mapping[str, pd.DataFrame]) -> None:
        """Write several tables, and enter them together.

        Parameters
        ----------
        frames : mapping of str to DataFrame
            From the name of a table to its rows, as for `write`.

        Raises
        ------
        WinterswardError
            As for `write`; none of the tables is written then.
        """
        made = {name: self._made(name, frame) for name, frame in frames.items()}
        for name, (text, _) in made.items():
            write_whole(self._results / f"{name}.csv", text)
        entries = {name: entry for name, (_, entry) in made.items()}
        self._enter(self._results / "tables.json", entries)

    def _made(self, name: str, frame: pd.DataFrame) -> tuple[str, dict[str, Any]]:
        """Make the text of one table, and what is entered of it."""
        table = self._table(name)
        text = to_csv(name, table, frame)
        columns = columns_of(name, table, [str(column) for column in frame.columns])
        return text, {
            "description": table.description,
            "key": list(table.key),
            "columns": [
                {"name": c.name, "type": c.type, "unit": c.unit, "text": c.text} for c in columns
            ],
        }

    def read(self, name: str) -> pd.DataFrame:
        """Read a table of this run.

        Returns
        -------
        DataFrame
            Dates as datetime64, numbers as float64; text stays text, even ``NA`` and ``101``.

        Raises
        ------
        WinterswardError
            For an unknown table, or one that no stage has written yet.
        """
        table = self._table(name)
        path = self._results / f"{name}.csv"
        if not path.exists():
            raise WinterswardError(
                f"the table {name} is not there yet: {path.as_posix()}; "
                "run the notebooks before this one first, or all of them: "
                + command("run", self.folder.parent.parent)
            )
        return from_csv(name, table, path.read_bytes().decode("utf-8"))

    def written(self) -> dict[str, pd.DataFrame]:
        """Read every table that the run holds by now, by name."""
        held = read_json(self._results / "tables.json")
        return {name: self.read(name) for name in self.tables if name in held}

    def save_figure(self, name: str, picture: Figure | Image, alt: str, caption: str) -> None:
        """Write a figure and enter it, with its words, in ``figures/figures.json``.

        Parameters
        ----------
        name : str
            File name without ending: small letters, digits, ``_`` and ``-``.
        picture : matplotlib Figure or PIL Image
            A Figure becomes SVG; an RGB or grey image JPEG; any other image PNG.
        alt : str
            What the picture tells, with numbers, for who cannot see it.
        caption : str
            What to see in it.

        Raises
        ------
        WinterswardError
            Where the name does not fit or words are missing.

        Notes
        -----
        The same picture gives the same bytes, without a clock reading and without what a
        camera wrote into a photo.
        """
        if not re.fullmatch(r"[a-z0-9][a-z0-9_-]*", name):
            raise WinterswardError(
                f"figure name {name!r}; allowed: small letters, digits, '_' and '-'"
            )
        for what, text in (("alt text", alt), ("caption", caption)):
            if not isinstance(text, str) or not text.strip():
                raise WinterswardError(f"figure {name}: no {what}; say what the picture shows")
        ending, content = picture_file(picture)
        path = self._figures / f"{name}.{ending}"
        write_whole(path, content)
        index = self._figures / "figures.json"
        before = read_json(index).get(name, {}).get("file", path.name)
        if before != path.name:
            (self._figures / before).unlink(missing_ok=True)
        self._enter(index, {name: {"file": path.name, "alt": alt, "caption": caption}})

    def figures(self) -> dict[str, dict[str, str]]:
        """List the figures of this run.

        Returns
        -------
        dict
            From name to ``file`` (below ``figures/``), ``alt`` and ``caption``.
        """
        return read_json(self._figures / "figures.json")

    @property
    def _results(self) -> Path:
        return self.folder / "results"

    @property
    def _figures(self) -> Path:
        return self.folder / "figures"

    def _table(self, name: str) -> Table:
        if name not in self.tables:
            near = closest(name, self.tables)
            raise WinterswardError(
                f"no table is called {name!r}; there are: {listed(self.tables)}"
                + (f"; {near}" if near else "")
            )
        return self.tables[name]

    @staticmethod
    def _enter(path: Path, entries: Mapping[str, Any]) -> None:
        write_json(path, {**read_json(path), **entries})


def open_record(trial: Trial, run_folder: str | os.PathLike[str] = "") -> Record:
    """Open the record that a stage writes to.

    Parameters
    ----------
    trial : Trial
        The study.
    run_folder : str or path
        Folder of the run, as the runner passes it; empty, as in a notebook that is opened by
        hand, ``runs/.by-hand`` of the study.

    Returns
    -------
    Record
        Its folder is made where it is missing. Of a demonstration it takes the tables that a
        demonstration may hold, and no other.
    """
    from wintersward.analysis.demonstration_tables import tables_of

    folder = Path(run_folder) if str(run_folder) else trial.folder / "runs" / BY_HAND
    folder = folder.resolve()
    folder.mkdir(parents=True, exist_ok=True)
    return Record(folder, tables_of(trial.definition))
