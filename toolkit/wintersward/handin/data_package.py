"""The tables of results described as a Data Package: columns, types, units, keys.

References
----------
Data Package 2.0 and Table Schema 2.0, https://datapackage.org/standard/. Their own additions to a
field here are ``unit`` (a UCUM code), ``unitText`` (as the tables write it), ``unitOf`` (the
column that tells what the unit belongs to; ``measures`` of the package gives those of the
measures) and ``unitPower``.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from wintersward.handin.unit_codes import ucum
from wintersward.trial import Definition

__all__ = ["PACKAGE", "data_package"]

PACKAGE = "datapackage.json"

_PROFILES = "https://datapackage.org/profiles/2.0"
_TYPES = {"text": "string", "date": "date", "integer": "integer", "number": "number"}
_PLOTS = "plots"
_PLOTS_FILE = "study/plan/plots.csv"
_PLACED = {
    "row": ("integer", "", "row of the map"),
    "column": ("integer", "", "column of the map"),
    "x_m": ("number", "m", "from the left edge of the map to the plot"),
    "y_m": ("number", "m", "from the lower edge of the map to the plot"),
    "width_m": ("number", "m", "across the map"),
    "length_m": ("number", "m", "along the map"),
    "walk": ("integer", "", "place in the order on foot"),
}
# Where these columns of a table hold only what that table holds, they point to it.
_POINTERS = (
    (("plot",), _PLOTS),
    (("measure", "date"), "counts"),
    (("measure", "date", "unit_name"), "plot_means"),
)
_LIMITS: dict[str, dict[str, Any]] = {
    "p": {"minimum": 0, "maximum": 1},
    "p_alone": {"minimum": 0, "maximum": 1},
    "se": {"minimum": 0},
    "sha256": {"pattern": "[0-9a-f]{64}"},
}


@dataclass(frozen=True)
class _Table:
    """One table with its rows as text."""

    name: str
    path: str
    description: str
    key: tuple[str, ...]
    columns: Sequence[Mapping[str, str]]
    rows: Sequence[Mapping[str, str]]

    def type_of(self, column: str) -> str:
        return next((c["type"] for c in self.columns if c["name"] == column), "")

    def values(self, columns: Sequence[str]) -> set[tuple[str, ...]]:
        return {tuple(row[name] for name in columns) for row in self.rows}


def data_package(
    listing: Mapping[str, Any],
    tables: Mapping[str, Any],
    definition: Definition,
    read: Callable[[str], str],
    created: str,
) -> dict[str, Any]:
    """Describe the tables of a bundle as a Data Package.

    Parameters
    ----------
    listing : mapping
        The inventory, as far as it is made.
    tables : mapping
        ``results/tables.json`` of the run.
    definition : Definition
        The study.
    read : callable
        Gives the text of a file of the bundle by its name there.
    created : str
        When the run ended, ISO 8601.

    Returns
    -------
    dict
        For ``datapackage.json``: a resource for each CSV of results, and one for the plots.

    Notes
    -----
    Empty text is text: it is a value of a key too. A table whose key holds a number or a date that
    may be missing has a unique key in place of a primary one. A key of another table is named
    only where it holds.
    """
    plots = _plots(definition, read(_PLOTS_FILE))
    # A list of plots that is written otherwise than with commas is not described.
    known = [plots] if plots.type_of("plot") else []
    for name, told in sorted(tables.items()):
        path = f"run/results/{name}.csv"
        if path in listing["files"]:
            known.append(_result(name, path, told, read(path)))
    by_name = {table.name: table for table in known}
    primary = definition.analysis.primary.measure
    resources = [
        _resource(table, by_name, listing["files"][table.path], _unit_of(definition, primary))
        for table in known
    ]
    return {
        "$schema": f"{_PROFILES}/datapackage.json",
        "name": f"winter-cover-trial-run-{listing['run']}",
        "title": definition.title,
        "description": definition.question,
        "version": listing["run"],
        "created": created,
        "contributors": [
            {"title": person.name, "roles": [person.role]} for person in definition.people
        ],
        "measures": {name: _unit_of(definition, name) for name in definition.measures},
        "resources": resources,
    }


def _unit_of(definition: Definition, measure: str) -> dict[str, str]:
    unit = definition.measures[measure].unit
    return {"unit": ucum(unit), "unitText": unit}


def _result(name: str, path: str, told: Mapping[str, Any], text: str) -> _Table:
    rows = list(csv.DictReader(io.StringIO(text)))
    return _Table(name, path, told["description"], tuple(told["key"]), told["columns"], rows)


def _plots(definition: Definition, text: str) -> _Table:
    reader = csv.DictReader(io.StringIO(text.removeprefix("\ufeff")))
    rows = list(reader)
    columns = []
    for name in reader.fieldnames or ():
        words = name.replace("_", " ")
        if name in definition.treatments:
            words = f"treatment of the factor {name}"
        kind, unit, words = _PLACED.get(name, ("text", "", words))
        columns.append({"name": name, "type": kind, "unit": unit, "text": words})
    about = "Every plot: where it lies, and what was drawn for it."
    return _Table(_PLOTS, _PLOTS_FILE, about, ("plot",), columns, rows)


def _resource(
    table: _Table, tables: Mapping[str, _Table], file: Mapping[str, Any], primary: dict[str, str]
) -> dict[str, Any]:
    return {
        "name": table.name,
        "type": "table",
        "path": table.path,
        "description": table.description,
        "format": "csv",
        "mediatype": file["media"],
        "encoding": "utf-8",
        "bytes": file["bytes"],
        "hash": f"sha256:{file['sha256']}",
        "schema": _schema(table, tables, primary),
    }


def _schema(table: _Table, tables: Mapping[str, _Table], primary: dict[str, str]) -> dict[str, Any]:
    gaps = [
        name
        for name in table.key
        if table.type_of(name) != "text" and any(row[name] == "" for row in table.rows)
    ]
    schema: dict[str, Any] = {
        "$schema": f"{_PROFILES}/tableschema.json",
        "fields": [_field(table, column, gaps, primary) for column in table.columns],
        "missingValues": [""],
    }
    if gaps:
        schema["uniqueKeys"] = [list(table.key)]
    else:
        schema["primaryKey"] = list(table.key)
    pointers = [
        _pointer(columns, to)
        for columns, name in _POINTERS
        if (to := tables.get(name)) is not None and _holds(table, columns, to)
    ]
    return {**schema, "foreignKeys": pointers} if pointers else schema


def _field(
    table: _Table, column: Mapping[str, str], gaps: Sequence[str], primary: dict[str, str]
) -> dict[str, Any]:
    name, kind = column["name"], column["type"]
    field: dict[str, Any] = {
        "name": name,
        "type": _TYPES[kind],
        "description": column["text"],
        **_units(column["unit"], any(c["name"] == "measure" for c in table.columns), primary),
    }
    if kind == "text":
        field["missingValues"] = []
    limits = dict(_LIMITS.get(name, {}))
    if name in table.key and name not in gaps:
        limits["required"] = True
    return {**field, "constraints": limits} if limits else field


# Units that are the name of the column which tells them.
_COLUMNS = ("scale", "currency", "unit")


def _units(unit: str, has_measure: bool, primary: dict[str, str]) -> dict[str, Any]:
    """Give the unit of a column, or the column that tells what it belongs to."""
    of_measure, power = unit.partition(" ")[0] == "measure", {}
    if unit == "measure squared":
        power = {"unitPower": 2}
    if of_measure and not has_measure:
        return {**primary, **power}
    if of_measure:
        return {"unitOf": "measure", **power}
    if unit in _COLUMNS:
        return {"unitOf": unit}
    told = {"unit": ucum(unit), "unitText": unit}
    return {name: words for name, words in told.items() if words}


def _holds(table: _Table, columns: tuple[str, ...], to: _Table) -> bool:
    """Tell whether columns of a table hold only what those of another one hold."""
    if to is table or not table.rows:
        return False
    if any(not table.type_of(c) or table.type_of(c) != to.type_of(c) for c in columns):
        return False
    return table.values(columns) <= to.values(columns)


def _pointer(columns: tuple[str, ...], to: _Table) -> dict[str, Any]:
    return {
        "fields": list(columns),
        "reference": {"resource": to.name, "fields": list(columns)},
    }
