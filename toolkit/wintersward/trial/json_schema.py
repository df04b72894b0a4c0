"""JSON Schemas of the definition and the diary, for editors that complete and check YAML.

Run as a module, it writes both files into a folder:
``python -m wintersward.trial.json_schema templates/starter``.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import CoreSchema

from wintersward.trial.schema import Definition, Diary

__all__ = ["definition_schema", "diary_schema", "write_schemas"]


class _Plain(GenerateJsonSchema):
    """Leaves out the titles that pydantic makes of field names, which tell nothing new."""

    def field_title_should_be_set(self, schema: Any) -> bool:
        return False

    def generate(self, schema: CoreSchema, mode: Any = "validation") -> JsonSchemaValue:
        made = super().generate(schema, mode)
        for part in made.get("$defs", {}).values():
            part.pop("title", None)
        _in_standard_words(made)
        return {"$schema": self.schema_dialect, **made}


# Limits that pydantic passes on under names of its own when a value is first read from text.
_LIMITS = {
    "ge": "minimum",
    "gt": "exclusiveMinimum",
    "le": "maximum",
    "lt": "exclusiveMaximum",
}


def _in_standard_words(schema: Any) -> None:
    """Rename limits, and forbid names that a pattern does not allow, in place."""
    if isinstance(schema, list):
        for entry in schema:
            _in_standard_words(entry)
    if not isinstance(schema, dict):
        return
    for ours, standard in _LIMITS.items():
        if isinstance(schema.get(ours), (int, float)):
            schema[standard] = schema.pop(ours)
    if "patternProperties" in schema:
        schema["additionalProperties"] = False
    for entry in schema.values():
        _in_standard_words(entry)


def definition_schema() -> dict[str, Any]:
    """Make the JSON Schema of ``trial.yaml``.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12, with the field names of the file.

    Examples
    --------
    >>> definition_schema()["properties"]["units"]["enum"]
    ['us', 'metric']
    """
    return _schema(Definition)


def diary_schema() -> dict[str, Any]:
    """Make the JSON Schema of ``diary.yaml``.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12, with the field names of the file.
    """
    return _schema(Diary)


def _schema(model: type[BaseModel]) -> dict[str, Any]:
    return model.model_json_schema(by_alias=True, schema_generator=_Plain)


def write_schemas(folder: Path) -> None:
    """Write ``trial.schema.json`` and ``diary.schema.json`` into a folder."""
    for name, schema in (("trial", definition_schema()), ("diary", diary_schema())):
        text = json.dumps(schema, indent=1, ensure_ascii=False) + "\n"
        (folder / f"{name}.schema.json").write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    write_schemas(Path(sys.argv[1]))
