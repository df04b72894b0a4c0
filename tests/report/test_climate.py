from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest

from wintersward.report.climate import temperature_measures, unmeasured_words
from wintersward.report.page import Page, Provenance, report_page
from wintersward.runs.record import Record
from wintersward.trial import Definition
from wintersward.trial.schema import Diary, SheetMeasure

WEATHER, OTHER = "loggers/station.csv", "loggers/soil.csv"


def without_light(definition: Definition) -> Definition:
    treatments = {
        name: factor.model_copy(
            update={
                "levels": {
                    level: held.model_copy(update={"light": None})
                    for level, held in factor.levels.items()
                }
            }
        )
        for name, factor in definition.treatments.items()
    }
    return definition.model_copy(update={"treatments": treatments})


def warm(definition: Definition) -> Definition:
    soil = SheetMeasure.model_validate({"from": "sheet", "unit": "degF", "dates": ["visits"]})
    return definition.model_copy(update={"measures": {**definition.measures, "soil": soil}})


def html(definition: Definition, *files: str) -> str:
    held = Provenance(dict.fromkeys(files, "ab" * 32))
    return Page({}, {}, definition, provenance=held, weather=WEATHER).section("climate").html


def test_where_nothing_was_to_be_had_there_is_no_section(definition: Definition) -> None:
    bare = without_light(definition)
    assert html(bare) == html(bare, WEATHER, "sheets/pulls.csv") == ""


def test_declared_light_is_told_and_not_claimed_as_measured(definition: Definition) -> None:
    said = html(definition)
    assert "No logger was read for this report" in said
    assert "spun-bond fleece is taken to keep back 20 %" in said
    assert "by the definition; nobody measured it here." in said
    assert "Files of loggers" not in said


def test_logger_files_that_nobody_read_are_named(definition: Definition) -> None:
    said = html(without_light(definition), WEATHER, OTHER)
    assert f"Files of loggers came in all the same: {OTHER}." in said
    assert WEATHER not in said
    assert "is that of a station" in said


def test_a_temperature_on_sheets_stands_under_the_results(definition: Definition) -> None:
    assert temperature_measures(definition) == []
    assert temperature_measures(warm(definition)) == ["soil"]
    assert 'stands under <a href="#results">Results</a>: soil.' in html(warm(definition))


def test_what_was_not_measured_is_a_limit(definition: Definition) -> None:
    limits = Page({}, {}, definition).section("limits").html
    assert unmeasured_words(definition) in limits
    assert unmeasured_words(warm(definition)) == ""


@pytest.mark.parametrize("written", ["station.csv", "loggers/station.csv", "loggers\\station.csv"])
def test_the_weather_file_is_known_however_the_diary_writes_it(
    definition: Definition, tmp_path: Path, tables: dict[str, pd.DataFrame], written: str
) -> None:
    weather = {"file": written, "units": {"temperature": "degF"}}
    trial = SimpleNamespace(
        definition=definition,
        diary=Diary.model_validate({"weather": weather}),
        plots=pd.DataFrame(),
        folder=tmp_path,
    )
    record = Record(tmp_path / "runs" / ".unfinished-001")
    record.folder.mkdir(parents=True)
    record.write("counts", tables["counts"])
    files = {name: {"sha256": "ab" * 32, "bytes": 9} for name in (WEATHER, OTHER)}
    (record.folder / "inputs.json").write_text(json.dumps({"files": files}))
    made = report_page(trial, record)
    assert made.weather == WEATHER
    said = made.section("climate").html
    assert WEATHER not in said
    assert "is that of a station" in said
