"""The starter is sound, whole, and explained; the schemas beside it are those of the models."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from wintersward.trial import Definition, Diary, read_definition, read_diary
from wintersward.trial.json_schema import definition_schema, diary_schema, write_schemas
from wintersward.trial.reading import read_yaml
from wintersward.units import KINDS

STARTER = Path(__file__).resolve().parents[2] / "templates" / "starter"
SCHEMAS = {"trial": definition_schema, "diary": diary_schema}


def filled(name: str) -> str:
    text = (STARTER / name).read_text(encoding="utf-8")
    text = text.replace("{{ seed }}", "20260119").replace("{{ year }}", "2026")
    return text.replace("{{ check }}", "wintersward check FOLDER")


@pytest.fixture
def study(tmp_path: Path) -> Path:
    for name in ("trial.yaml", "diary.yaml"):
        (tmp_path / name).write_text(filled(name), encoding="utf-8")
    return tmp_path


def read(study: Path) -> Definition:
    definition, problems = read_definition(study)
    assert definition is not None, problems
    return definition


def uncommented(text: str) -> str:
    """Take the remark sign off the lines that are meant to be taken up."""
    taken = []
    for line in text.splitlines():
        match = re.match(r"^( *)# ?( *(?:- )?[A-Za-z_]+:(?: .*)?)$", line)
        taken.append(match[1] + match[2] if match else line)
    return "\n".join(taken) + "\n"


def taken_up(study: Path, *names: str) -> None:
    """Take the remark sign off whole blocks of the definition, by the name each begins with."""
    lines: list[str] = []
    margin, inside = "", False
    for line in (study / "trial.yaml").read_text(encoding="utf-8").splitlines():
        head = re.match(rf"^( *)# ({'|'.join(names)}):$", line)
        margin = head[1] if head else margin
        inside = bool(head) or (inside and line.startswith(f"{margin}#   "))
        lines.append(margin + line[len(margin) + 2 :] if inside else line)
    (study / "trial.yaml").write_text("\n".join(lines) + "\n", encoding="utf-8")


def choices_taken_up(study: Path) -> None:
    """Take the remark sign off single lines; each stands beside the lines that it would join."""
    text = (study / "trial.yaml").read_text(encoding="utf-8")
    text = re.sub(r"^( +)# ([a-z_]+: .*)$", r"\1\2", text, flags=re.M)
    (study / "trial.yaml").write_text(text, encoding="utf-8")


def test_the_starter_is_sound_once_it_is_filled_in(study: Path) -> None:
    definition = read(study)
    assert definition.layout.seed == 20260119
    assert read_diary(study, definition, ["101", "1B"]) == (Diary(), [])
    assert "{{" not in filled("trial.yaml") + filled("diary.yaml")


def test_the_starter_can_be_filled_in_for_any_year(tmp_path: Path) -> None:
    text = (STARTER / "trial.yaml").read_text(encoding="utf-8")
    for year in ("2027", "2028"):
        made = text.replace("{{ seed }}", "1").replace("{{ year }}", year)
        (tmp_path / "trial.yaml").write_text(made, encoding="utf-8")
        assert f"{year}-01-19" == str(read(tmp_path).dates["covers_on"])


def test_the_examples_of_the_diary_are_sound_once_taken_up(study: Path) -> None:
    choices_taken_up(study)
    taken_up(study, "soil_temperature")
    text = uncommented((study / "diary.yaml").read_text(encoding="utf-8"))
    (study / "diary.yaml").write_text(text, encoding="utf-8")
    diary, problems = read_diary(study, read(study), ["101", "1B"])
    assert problems == []
    held = {name: getattr(diary, name) for name in type(diary).model_fields}
    sizes = {name: len(value) for name, value in held.items() if isinstance(value, list)}
    once = dict.fromkeys(["mishaps", "sheets", "loggers", "exclusions", "established_turf"], 1)
    twice = dict.fromkeys(["covers", "management", "forecast", "missing", "deviations", "pins"], 2)
    assert sizes == {"cover_events": 3} | once | twice
    assert list(held["weather"].normals.months) == ["January", "February"]


def test_the_choices_of_the_definition_are_sound_once_taken_up(study: Path) -> None:
    choices_taken_up(study)
    definition = read(study)
    assert definition.site.latitude == 40.0
    assert definition.treatments["cover"].label == "Winter cover"
    assert definition.layout.blocks_side_by_side == 1
    assert definition.site.time_zone == "America/New_York"


def test_loggers_shade_and_climate_are_sound_once_taken_up(study: Path) -> None:
    choices_taken_up(study)
    taken_up(study, "shade", "soil_temperature", "climate")
    definition = read(study)
    assert [one.is_stand for one in definition.site.shade] == [True, False]
    assert definition.measures["soil_temperature"].unit == "degC"
    climate = definition.climate
    assert climate is not None
    assert (climate.degree_days is not None, len(climate.thermometer)) == (True, 2)
    assert climate.dollar_spot is None


def test_dollar_spot_runs_on_nothing_that_the_starter_says(study: Path) -> None:
    taken_up(study, "soil_temperature", "climate")
    text = (study / "trial.yaml").read_text(encoding="utf-8")
    spot = re.sub(r"^  # (dollar_spot:|  \w+: FILL IN.*)$", r"  \1", text, flags=re.M)
    assert spot.count("FILL IN") == text.count("FILL IN")
    (study / "trial.yaml").write_text(spot, encoding="utf-8")
    definition, problems = read_definition(study)
    assert definition is None
    told = [str(problem) for problem in problems if "dollar_spot" in str(problem)]
    assert len(told) == 4
    assert all("found 'FILL IN'" in one for one in told)


def names(schema: dict[str, Any]) -> set[str]:
    parts = [schema, *schema["$defs"].values()]
    return {name for part in parts for name in part["properties"]}


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_field_is_named_in_the_starter(name: str) -> None:
    text = (STARTER / f"{name}.yaml").read_text(encoding="utf-8")
    missing = [n for n in sorted(names(SCHEMAS[name]())) if not re.search(rf"\b{n}: ", text + " ")
               and not re.search(rf"\b{n}:$", text, re.M)]  # fmt: skip
    assert missing == []


@pytest.mark.parametrize("name", SCHEMAS)
def test_an_editor_is_told_of_the_schema_in_the_first_line(name: str) -> None:
    first = (STARTER / f"{name}.yaml").read_text(encoding="utf-8").splitlines()[0]
    assert first == f"# yaml-language-server: $schema={name}.schema.json"
    assert (STARTER / f"{name}.schema.json").is_file()


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_schemas_are_those_of_the_models(name: str, tmp_path: Path) -> None:
    write_schemas(tmp_path)
    kept = (STARTER / f"{name}.schema.json").read_text(encoding="utf-8")
    hint = "run: python -m wintersward.trial.json_schema templates/starter"
    assert (tmp_path / f"{name}.schema.json").read_text(encoding="utf-8") == kept, hint
    assert json.loads(kept) == SCHEMAS[name]()
    Draft202012Validator.check_schema(json.loads(kept))


def faults(name: str, folder: Path) -> list[str]:
    content = read_yaml(folder / f"{name}.yaml", name, may_be_empty=True).content
    return [error.message for error in Draft202012Validator(SCHEMAS[name]()).iter_errors(content)]


def test_the_schema_takes_the_starter_and_the_sound_definition(study: Path, sound: str) -> None:
    assert faults("trial", study) == faults("diary", study) == []
    (study / "trial.yaml").write_text(sound, encoding="utf-8")
    assert faults("trial", study) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("units: us", "units: imperial"),
        ("units: us", "unitz: us"),
        ("blocks: 6", "blocks: 1"),
        ("blocks: 6", "blocks: six"),
        ("alpha: 0.05", "alpha: 5"),
        ("from: photos", "from: photo"),
        ("  pull_force:", "  pull force:"),
        ("alley: 2 ft", "alley: 2"),
        ("country: US", "country: usa"),
    ],
)
def test_the_schema_refuses_what_the_check_refuses(
    tmp_path: Path, sound: str, old: str, new: str
) -> None:
    assert sound.count(old) == 1
    (tmp_path / "trial.yaml").write_text(sound.replace(old, new), encoding="utf-8")
    assert read_definition(tmp_path)[0] is None
    assert faults("trial", tmp_path)


def test_the_schema_uses_the_names_of_the_file() -> None:
    assert "from" in names(definition_schema())
    assert "from_" not in names(definition_schema())
    alley = definition_schema()["$defs"]["Layout"]["properties"]["alley"]
    assert alley == {"type": "string", "examples": [KINDS["distance"].example]}
