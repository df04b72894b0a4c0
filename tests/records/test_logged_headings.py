"""A measure that loggers take has no column on a sheet."""

from __future__ import annotations

from wintersward.records.heading_names import Names
from wintersward.trial import Definition
from wintersward.trial.schema import LoggerMeasure


def test_its_name_is_no_heading(definition: Definition) -> None:
    told = {"from": "logger", "what": "canopy temperature", "dates": ["baseline"]}
    measures = {**definition.measures, "warmth": LoggerMeasure.model_validate(told)}
    names = Names(definition.model_copy(update={"measures": measures}), None)
    assert "warmth" not in names.known
    assert names.meant("Warmth") == []
    assert names.elsewhere["warmth"] == "read from loggers"
