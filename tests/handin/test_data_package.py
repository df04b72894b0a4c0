"""What is told of a table; tests/reference/runs holds it against the published schema."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from handin.handed_in import TEXT
from wintersward.handin.data_package import data_package
from wintersward.trial import Definition, read_definition

PLOTS = "\ufeffplot,block,x_m,cover\n101,1,0,open\n102,1,3.048,fleece\n"
COUNTS = {
    "description": "Counts.",
    "key": ["measure", "date"],
    "columns": [
        {"name": "measure", "type": "text", "unit": "", "text": "measure"},
        {"name": "date", "type": "date", "unit": "", "text": "day"},
    ],
}
TOLD = {
    "description": "Some values.",
    "key": ["plot", "date", "sample"],
    "columns": [
        {"name": "plot", "type": "text", "unit": "", "text": "plot"},
        {"name": "measure", "type": "text", "unit": "", "text": "measure"},
        {"name": "date", "type": "date", "unit": "", "text": "day"},
        {"name": "sample", "type": "integer", "unit": "", "text": "number"},
        {"name": "cover", "type": "number", "unit": "points", "text": "difference of cover"},
        {"name": "estimate", "type": "number", "unit": "scale", "text": "on that scale"},
        {"name": "odd", "type": "number", "unit": "furlong", "text": "of a unit without a code"},
    ],
}
HEADING = "plot,measure,date,sample,cover,estimate,odd\n"


@pytest.fixture
def definition(tmp_path: Path) -> Definition:
    (tmp_path / "trial.yaml").write_text(TEXT, encoding="utf-8")
    found = read_definition(tmp_path)[0]
    assert found is not None
    return found


def schema(definition: Definition, rows: str, plots: str = PLOTS) -> Any:
    texts = {
        "study/plan/plots.csv": plots,
        "run/results/values.csv": HEADING + rows,
        "run/results/counts.csv": "measure,date\ncolour,2026-03-24\n",
    }
    files = dict.fromkeys(texts, {"bytes": 1, "sha256": "0" * 64, "media": "text/csv"})
    listing = {"files": files, "run": "002"}
    tables = {"values": TOLD, "counts": COUNTS, "gone": TOLD}
    package = data_package(listing, tables, definition, texts.__getitem__, "2026-03-25T08:00:00")
    resources = {one["name"]: one for one in package["resources"]}
    assert "gone" not in resources
    assert ("plots" in resources) == plots.startswith("\ufeffplot,")
    return resources["values"]["schema"]


GOOD = "101,colour,2026-03-24,1,2,3,4\n102,colour,2026-03-24,1,2,3,4\n"


def pointers(found: Any) -> list[str]:
    return [one["reference"]["resource"] for one in found.get("foreignKeys", [])]


def test_a_key_without_gaps_is_a_primary_key(definition: Definition) -> None:
    found = schema(definition, GOOD)
    assert found["primaryKey"] == ["plot", "date", "sample"]
    assert "uniqueKeys" not in found
    fields = {field["name"]: field for field in found["fields"]}
    assert fields["sample"]["constraints"] == {"required": True}
    assert fields["plot"]["missingValues"] == []
    assert "missingValues" not in fields["date"]


def test_a_number_that_may_be_missing_makes_it_a_unique_key(definition: Definition) -> None:
    found = schema(definition, GOOD + "102,colour,2026-03-24,,2,3,4\n")
    assert found["uniqueKeys"] == [["plot", "date", "sample"]]
    assert "primaryKey" not in found
    fields = {field["name"]: field for field in found["fields"]}
    assert "constraints" not in fields["sample"]


def test_another_table_is_pointed_to_only_where_it_holds(definition: Definition) -> None:
    assert pointers(schema(definition, GOOD)) == ["plots", "counts"]
    assert pointers(schema(definition, GOOD + "1A,colour,2026-03-24,1,2,3,4\n")) == ["counts"]
    assert pointers(schema(definition, GOOD + "101,green,2026-03-24,2,2,3,4\n")) == ["plots"]
    assert pointers(schema(definition, "")) == []


def test_a_list_of_plots_without_commas_is_not_described(definition: Definition) -> None:
    assert pointers(schema(definition, GOOD, PLOTS.replace(",", ";"))) == ["counts"]


def test_units(definition: Definition) -> None:
    fields = {field["name"]: field for field in schema(definition, GOOD)["fields"]}
    assert (fields["cover"]["unit"], fields["cover"]["unitText"]) == ("%", "points")
    assert fields["estimate"]["unitOf"] == "scale"
    assert "unit" not in fields["odd"]
    assert fields["odd"]["unitText"] == "furlong"
    assert "unitText" not in fields["plot"]
