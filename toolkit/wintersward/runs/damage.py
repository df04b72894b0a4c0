"""What a run lacks of what a run writes, and what in it cannot be read."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    NonNegativeInt,
    TypeAdapter,
    ValidationError,
)

from wintersward.errors import listed

__all__ = ["Fault", "damage", "damage_said", "files_told"]

_INPUTS, _PROVENANCE, _PAGE = "inputs.json", "provenance.json", "report.html"
_TABLES, _FIGURES = "results/tables.json", "figures/figures.json"
_LONGEST_S = 1e9
_Shape = TypeVar("_Shape")


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong with a run.

    Parameters
    ----------
    name : str
        A file as it lies in the folder of the run.
    found : str
        What it holds; empty where there is no such file.
    """

    name: str
    found: str = ""


class _Shaped(BaseModel):
    """What a JSON file of a run holds at least."""

    model_config = ConfigDict(strict=True, extra="ignore")


class _File(_Shaped):
    sha256: str
    bytes: NonNegativeInt


class _Template(_File):
    where: str = Field(alias="from")


class _Files(_Shaped):
    files: dict[str, _File]


class _Inputs(_Files):
    templates: dict[str, _Template]
    parameters: dict[str, Any]
    versions: dict[str, str]


class _Column(_Shaped):
    name: str
    type: Literal["text", "date", "integer", "number"]
    unit: str
    text: str


class _Table(_Shaped):
    description: str
    key: list[str]
    columns: Annotated[list[_Column], Field(min_length=1)]


class _Figure(_Shaped):
    file: str
    caption: str


def _moment(text: str) -> str:
    if dt.datetime.fromisoformat(text).tzinfo is None:
        raise ValueError("a time without its offset from UTC")
    return text


_Moment = Annotated[str, AfterValidator(_moment)]
_Seconds = Annotated[float, Field(ge=0, le=_LONGEST_S, allow_inf_nan=False)]


class _Provenance(_Shaped):
    run: str
    started: _Moment
    ended: _Moment
    seconds: Annotated[dict[str, _Seconds], Field(min_length=1)]


def damage(run: Path) -> list[Fault]:
    """List what is wrong with a run.

    Parameters
    ----------
    run : Path
        A complete run, its folder called by its number.

    Returns
    -------
    list of Fault
        Files that a run has and this one lacks, JSON that is not as a run writes it, tables that
        are no text or do not fit their description, and the number of another run; nothing where
        it is whole. A run without figures or without a brief is whole.
    """
    return sorted(_faults(run), key=lambda fault: fault.name)


def damage_said(faults: Iterable[Fault]) -> str:
    """Say what is wrong with a run in one line.

    Examples
    --------
    >>> damage_said([Fault("report.html"), Fault("results/means.csv", "no UTF-8 text")])
    'it lacks report.html; its results/means.csv holds no UTF-8 text'
    """
    known = [*faults]
    lost = [fault.name for fault in known if not fault.found]
    told = [f"it lacks {listed(lost)}"] if lost else []
    told += [f"its {fault.name} holds {fault.found}" for fault in known if fault.found]
    return "; ".join(told)


def files_told(run: Path) -> dict[str, dict[str, Any]]:
    """Give the input files that a run tells of.

    Returns
    -------
    dict
        From the name in the study folder to ``bytes`` and ``sha256``; none where the run does
        not tell them as a run does, so that it fits no study.
    """
    told, _ = _shaped(run, _INPUTS, _Files)
    return {name: one.model_dump() for name, one in told.files.items()} if told else {}


def _faults(run: Path) -> Iterator[Fault]:
    if not (run / _PAGE).is_file():
        yield Fault(_PAGE)
    yield from _shaped(run, _INPUTS, _Inputs)[1]
    told, faults = _shaped(run, _PROVENANCE, _Provenance)
    yield from faults
    if told:
        if told.run != run.name:
            yield Fault(_PROVENANCE, f"the number of another run, {told.run!r}")
        yield from _lost(run, (f"notebooks/{stage}.ipynb" for stage in told.seconds))
    tables, faults = _shaped(run, _TABLES, dict[str, _Table])
    yield from faults
    for name, table in (tables or {}).items():
        yield from _table_faults(run, f"results/{name}.csv", table)
    if (run / _FIGURES).exists():
        figures, faults = _shaped(run, _FIGURES, dict[str, _Figure])
        yield from faults
        yield from _lost(run, (f"figures/{one.file}" for one in (figures or {}).values()))


def _lost(run: Path, names: Iterable[str]) -> Iterator[Fault]:
    yield from (Fault(name) for name in names if not (run / name).is_file())


def _shaped(run: Path, name: str, shape: type[_Shape]) -> tuple[_Shape | None, list[Fault]]:
    """Read a JSON file of a run, or tell what is wrong with it."""
    path = run / name
    if not path.is_file():
        return None, [Fault(name)]
    try:
        return TypeAdapter(shape).validate_json(path.read_bytes()), []
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        if first["type"] == "json_invalid":
            return None, [Fault(name, "no JSON")]
        at = listed(repr(part) for part in first["loc"])
        return None, [Fault(name, f"what no run writes{at and f', at {at}'}")]
    except OSError as error:
        return None, [Fault(name, f"what cannot be read ({error.strerror})")]


def _table_faults(run: Path, name: str, table: _Table) -> Iterator[Fault]:
    if not (run / name).is_file():
        yield Fault(name)
        return
    try:
        text = (run / name).read_bytes().decode("utf-8")
        rows = [*csv.reader(io.StringIO(text, newline=""))]
    except UnicodeDecodeError:
        yield Fault(name, "no UTF-8 text")
        return
    except csv.Error as error:
        yield Fault(name, f"no table of values ({error})")
        return
    except OSError as error:
        yield Fault(name, f"what cannot be read ({error.strerror})")
        return
    wanted = [column.name for column in table.columns]
    if not rows or rows[0] != wanted or not {*table.key} <= {*wanted}:
        yield Fault(name, f"other headings than {_TABLES} tells, or not those of its key")
        return
    uneven = [line for line, row in enumerate(rows, 1) if len(row) != len(wanted)]
    if uneven:
        yield Fault(name, f"a row {uneven[0]} that has not the {len(wanted)} cells of the headings")
