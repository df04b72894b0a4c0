"""The data package against the published JSON Schema, and the tables against the data package."""

from __future__ import annotations

import csv
import hashlib
import json
import re
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from handin.handed_in import completed, read
from wintersward.analysis.demonstration_tables import DEMONSTRATION_TABLES
from wintersward.analysis.results import TABLES
from wintersward.handin.bundle import bundle
from wintersward.handin.unit_codes import ucum
from wintersward.units import UNITS

HERE = Path(__file__).parent
Row = Mapping[str, str]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("package")
    with zipfile.ZipFile(bundle(completed(place / "our {trial} 1"))) as archive:
        archive.extractall(place / "unpacked")
    return place / "unpacked"


@pytest.fixture(scope="module")
def package(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = read(folder / "datapackage.json")
    return found


def faults(package: Mapping[str, Any]) -> list[str]:
    schema = json.loads((HERE / "data_package_2_0.json").read_text(encoding="utf-8"))
    jsonschema.Draft7Validator.check_schema(schema)
    return [error.message for error in jsonschema.Draft7Validator(schema).iter_errors(package)]


def rows_of(folder: Path, resource: Mapping[str, Any]) -> list[Row]:
    with (folder / resource["path"]).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


# Table Schema 2.0, "Field Types": what a value of each type looks like.
LOOKS = {
    "string": r"(?s).*",
    "date": r"\d{4}-\d{2}-\d{2}",
    "integer": r"-?\d+",
    "number": r"-?\d+(\.\d+)?(e[-+]\d+)?|nan|-?inf",
}


def test_it_fits_the_published_schema(package: dict[str, Any]) -> None:
    assert package["$schema"] == "https://datapackage.org/profiles/2.0/datapackage.json"
    assert faults(package) == []


@pytest.mark.parametrize(
    "change",
    [
        lambda package: package.pop("resources"),
        lambda package: package["resources"][0]["schema"]["fields"][0].update(type="words"),
        lambda package: package["resources"][0].update(bytes="many"),
    ],
)
def test_the_schema_sees_a_fault(package: dict[str, Any], change: Any) -> None:
    copy = json.loads(json.dumps(package))
    change(copy)
    assert faults(copy)


def test_the_files_are_those_told(package: dict[str, Any], folder: Path) -> None:
    tables = {path.stem for path in (folder / "run" / "results").glob("*.csv")}
    assert [one["name"] for one in package["resources"]] == ["plots", *sorted(tables)]
    for one in package["resources"]:
        content = (folder / one["path"]).read_bytes()
        assert (one["bytes"], one["hash"]) == (
            len(content),
            f"sha256:{hashlib.sha256(content).hexdigest()}",
        )


def test_every_value_is_of_its_type_and_within_its_constraints(
    package: dict[str, Any], folder: Path
) -> None:
    for one in package["resources"]:
        rows, fields = rows_of(folder, one), one["schema"]["fields"]
        assert rows
        assert list(rows[0]) == [field["name"] for field in fields]
        for field in fields:
            limits = field.get("constraints", {})
            for value in (row[field["name"]] for row in rows):
                missing = field.get("missingValues", one["schema"]["missingValues"])
                if value in missing:
                    assert not limits.get("required"), field
                else:
                    assert re.fullmatch(LOOKS[field["type"]], value), field
                    assert re.fullmatch(limits.get("pattern", "(?s).*"), value)


def test_keys_tell_the_rows_apart_and_pointers_hold(package: dict[str, Any], folder: Path) -> None:
    held = {one["name"]: one for one in package["resources"]}
    pointing = 0
    for one in held.values():
        rows, schema = rows_of(folder, one), one["schema"]
        assert ("primaryKey" in schema) != ("uniqueKeys" in schema)
        key = schema.get("primaryKey") or schema["uniqueKeys"][0]
        assert len({tuple(row[name] for name in key) for row in rows}) == len(rows)
        for pointer in schema.get("foreignKeys", []):
            pointing += 1
            to = rows_of(folder, held[pointer["reference"]["resource"]])
            known = {tuple(row[name] for name in pointer["reference"]["fields"]) for row in to}
            assert {tuple(row[name] for name in pointer["fields"]) for row in rows} <= known
    assert pointing >= 3
    # A date that may be missing is part of this key.
    assert "uniqueKeys" in held["weather_gaps"]["schema"]


def test_a_column_has_a_unit_or_tells_whose_it_is(package: dict[str, Any]) -> None:
    fields = {
        (one["name"], field["name"]): field
        for one in package["resources"]
        for field in one["schema"]["fields"]
    }
    assert fields["observations", "value"]["unitOf"] == "measure"
    assert fields["variances", "variance"]["unitPower"] == 2
    # Without a column of measures it is that of the primary question.
    assert fields["replication", "margin"]["unit"] == "{rating}"
    assert fields["plots", "x_m"]["unit"] == "m"
    assert package["measures"] == {
        "colour": {"unit": "{rating}", "unitText": "rating 1-9"},
        "green": {"unit": "%", "unitText": "%"},
        "pull": {"unit": "N", "unitText": "N"},
    }


@pytest.fixture(scope="module")
def known_codes() -> set[str]:
    """UCUM 2.2, ucum-essence.xml: see README.md."""
    rows = list(csv.DictReader((HERE / "ucum_codes.csv").read_text("utf-8").splitlines()))
    units = {row["code"] for row in rows if row["kind"] != "prefix"}
    prefixes = [row["code"] for row in rows if row["kind"] == "prefix"]
    metric = [r["code"] for r in rows if r["metric"] == "yes" or r["kind"] == "base-unit"]
    return units | {prefix + unit for prefix in prefixes for unit in metric}


def parts(code: str) -> list[str]:
    """Take a code apart: annotations, products, quotients and exponents (UCUM, grammar)."""
    bare = re.sub(r"\{[!-z|~]*\}", "", code)
    return [re.sub(r"(?<=[\]a-zA-Z%])\d$", "", part) for part in re.split(r"[./]", bare) if part]


def test_every_unit_has_a_code_of_known_parts(known_codes: set[str]) -> None:
    units = {c.unit for table in TABLES.values() for c in table.columns if c.unit}
    units |= {c.unit for t in DEMONSTRATION_TABLES.values() for c in t.columns if c.unit}
    units |= {*UNITS, "rating 1-9", "radian", "log odds ratio"}
    # These are told by a column of that name, row by row.
    units -= {"measure", "measure squared", "scale", "currency", "unit"}
    assert len(units) > 25
    for unit in units:
        code = ucum(unit)
        assert code
        assert set(parts(code)) - {"1"} <= known_codes, unit


def test_a_wrong_code_is_seen(known_codes: set[str]) -> None:
    assert parts("[ft_i].[lbf_av]/m2{wet}") == ["[ft_i]", "[lbf_av]", "m"]
    assert "degC" not in known_codes
    assert "kN" in known_codes
