"""What reading gives: the models, whatever the text, and quickly."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from wintersward.errors import Problem
from wintersward.trial import Definition, Diary, read_definition, read_diary
from wintersward.trial.parts import Amount
from wintersward.trial.reading import read_yaml
from wintersward.trial.schema import PhotoMeasure, Primary, SheetMeasure, Window

Change = Callable[..., list[str]]


def test_values_are_in_si_and_dates_are_dates(definition: Definition) -> None:
    layout = definition.layout
    assert layout.plot_size == pytest.approx([3.048, 1.8288], rel=1e-15)
    assert layout.alley == pytest.approx(0.6096, rel=1e-15)
    assert definition.dates["baseline"] == dt.date(2026, 1, 15)
    assert definition.dates["visits"][0] == dt.date(2026, 3, 10)
    fleece = definition.treatments["cover"].levels["fleece"]
    # 0.9 oz/yd2 is 30.5 g/m2 (NIST SP 811, appendix B.8: 33.90575 g/m2 an ounce).
    assert fleece.mass == pytest.approx(0.9 * 0.03390575, rel=1e-6)
    assert fleece.light == 80.0
    assert definition.analysis.primary.matters_from == Amount(8.0, "points")


def test_a_measure_tells_its_unit_and_limits(definition: Definition) -> None:
    told = {n: (m.unit, m.difference_kind, m.limits) for n, m in definition.measures.items()}
    assert told == {
        "green_cover": ("%", "points", (0.0, 100.0)),
        "colour_rating": ("rating 1-9", "bare", (1.0, 9.0)),
        "pull_force": ("N", "force", (0.0, None)),
    }


@pytest.mark.parametrize(
    ("unit", "si", "kind", "limits"),
    [
        ("degF", "degC", "temperature", (None, None)),
        ("%", "%", "points", (0.0, 100.0)),
        ("in", "m", "depth", (0.0, None)),
    ],
)
def test_a_sheet_measure_in_other_units(
    unit: str, si: str, kind: str, limits: tuple[float | None, float | None]
) -> None:
    content = {"from": "sheet", "unit": unit, "dates": ["baseline"]}
    measure = SheetMeasure.model_validate(content)
    assert (measure.unit, measure.difference_kind, measure.limits) == (si, kind, limits)


def test_a_colour_index_has_no_limits() -> None:
    content = {"from": "photos", "score": "colour_index", "dates": ["baseline"]}
    measure = PhotoMeasure.model_validate(content)
    assert (measure.unit, measure.difference_kind, measure.limits) == (
        "index",
        "bare",
        (None, None),
    )
    assert measure.window == "default"


def test_a_window_may_be_written_out(change: Change, tmp_path: Path) -> None:
    assert change(("from: photos", "from: photos\n    window: {hue: [60, 150]}")) == []
    definition, _ = read_definition(tmp_path)
    assert definition is not None
    measure = definition.measures["green_cover"]
    assert isinstance(measure, PhotoMeasure)
    assert measure.window == Window(hue=(60.0, 150.0), saturation=(0.0, 1.0), value=(0.0, 1.0))


def test_a_window_may_be_named(change: Change, tmp_path: Path) -> None:
    assert change(("from: photos", "from: photos\n    window: richardson 2001")) == []
    definition, _ = read_definition(tmp_path)
    assert definition is not None
    measure = definition.measures["green_cover"]
    assert isinstance(measure, PhotoMeasure)
    assert measure.window == "richardson 2001"


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("8 %", Amount(8.0, "points")),
        ("8points", Amount(8.0, "points")),
        ("1.5", Amount(1.5, "bare")),
        ("9 degF", Amount(5.0, "temperature")),
        ("10 N", Amount(10.0, "force")),
    ],
)
def test_a_difference_carries_the_unit_of_its_measure(text: str, amount: Amount) -> None:
    plain = YAML(typ="safe", pure=True).load(text)
    content = {"measure": "m", "on": "visit", "compare": ["a", "b"], "matters_from": plain}
    made = Primary.model_validate(content).matters_from
    assert (made.kind, made.value) == (amount.kind, pytest.approx(amount.value))


def test_fields_one_by_one_make_the_same_definition_as_the_whole(
    definition: Definition, tmp_path: Path
) -> None:
    content = read_yaml(tmp_path / "trial.yaml", "trial.yaml").content
    whole = Definition.model_validate(content)
    assert definition == whole
    assert definition.model_fields_set == whole.model_fields_set
    assert definition.model_dump() == whole.model_dump()
    for name in Definition.model_fields:
        assert type(getattr(definition, name)) is type(getattr(whole, name))
    assert definition.model_dump_json(by_alias=True) == whole.model_dump_json(by_alias=True)


def test_left_out_and_empty_fields_have_their_defaults(change: Change, tmp_path: Path) -> None:
    for new in ("", "report_to:\n"):
        assert change(("report_to: Invented County Turf Program\n", new)) == []
        definition, _ = read_definition(tmp_path)
        assert definition is not None
        assert definition.report_to is None


def test_a_definition_cannot_be_changed(definition: Definition) -> None:
    with pytest.raises(ValueError, match="frozen"):
        definition.title = "Another"


def test_fields_one_by_one_make_the_same_diary_as_the_whole(
    definition: Definition, tmp_path: Path
) -> None:
    (tmp_path / "diary.yaml").write_text(
        "covers:\n  - {on: 2026-01-19, plots: [101, 1B]}\nexclusions:\n"
        "  - {plot: 101, sample: 2, reason: bent spike}\nsheets:\n  - file: pulls.csv\n"
    )
    diary, problems = read_diary(tmp_path, definition, ["101", "1B"])
    content = read_yaml(tmp_path / "diary.yaml", "diary.yaml").content
    whole = Diary.model_validate(content)
    assert problems == []
    assert diary == whole
    assert diary.model_fields_set == whole.model_fields_set
    assert diary.covers[0].plots == ["101", "1B"]
    assert diary.sheets[0].missing == ["", "NA", "-", "."]
    assert diary.deviations == []
    assert Diary().deviations is not diary.deviations


def test_a_missing_definition_is_told(tmp_path: Path) -> None:
    definition, problems = read_definition(tmp_path)
    assert definition is None
    said = "trial.yaml: there is no such file; is the folder right?"
    assert [str(problem) for problem in problems] == [said]


def test_a_folder_of_that_name_is_told(tmp_path: Path) -> None:
    (tmp_path / "trial.yaml").mkdir()
    definition, problems = read_definition(tmp_path)
    assert definition is None
    # The rest is the system's own word for it, which differs between systems.
    assert [str(p).partition(": the file cannot be read: ")[0] for p in problems] == ["trial.yaml"]


def told(folder: Path, text: str) -> list[Problem]:
    (folder / "trial.yaml").write_bytes(text.encode("utf-8", "surrogatepass"))
    definition, problems = read_definition(folder)
    assert (definition is None) == bool(problems)
    for problem in problems:
        assert "\n" not in str(problem)
        assert str(problem).startswith("trial.yaml:")
    return problems


ANY = settings(
    deadline=None,
    max_examples=150,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@ANY
@given(text=st.text(max_size=200))
def test_any_text_gives_problems(tmp_path: Path, text: str) -> None:
    assert told(tmp_path, text)


# Pieces that YAML gives a meaning to, in any order.
PIECES = st.lists(
    st.sampled_from(
        ["title", "dates", "measures", "layout", "from", ": ", ":", "\n", "\n  ", "\n    ", "- ",
         "[", "]", "{", "}", ", ", "'", '"', "|", ">", "#", " #", "&a ", "*a", "!", "!!int ", "? ",
         "<<", "%YAML 1.1\n", "---\n", "...\n", "\t", "\\", "1", "2026-01-15", ".inf", "0x1F",
         "0o17", "1_000", "1:30", "yes", "~", "null", "true", "5 ft", "é", "\u2028", "\ufeff"]
    ),
    max_size=30,
)  # fmt: skip


@ANY
@given(pieces=PIECES)
@example(pieces=["? ", "title", "\n", "\n  ", "title"])
def test_any_yaml_gives_problems(tmp_path: Path, pieces: list[str]) -> None:
    assert told(tmp_path, "".join(pieces))


@ANY
@given(content=st.binary(max_size=60))
def test_any_bytes_give_problems(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "trial.yaml").write_bytes(content)
    definition, problems = read_definition(tmp_path)
    assert definition is None
    assert problems


FIELDS = sorted(
    {
        *Definition.model_fields,
        *["from", "unit", "scale", "dates", "levels", "control", "label", "primary", "compare"],
    }
)
VALUES: st.SearchStrategy[Any] = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(max_size=8),
        st.dates().map(str),
        st.sampled_from(["photos", "sheet", "1-9", "8 points", "2 ft", "default"]),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(st.sampled_from(FIELDS) | st.text(max_size=5), inner, max_size=5),
    ),
    max_leaves=20,
)


def flow(value: Any) -> str:
    """Write a structure in the flow style of YAML, which takes JSON as it is."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{flow(str(k))}: {flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(flow(v) for v in value) + "]"
    if isinstance(value, str):
        return "'" + value.replace("'", "''") + "'"
    if isinstance(value, float):
        return {"nan": ".nan", "inf": ".inf", "-inf": "-.inf"}.get(str(value), str(value))
    return {None: "null", True: "true", False: "false"}.get(value, str(value))


@ANY
@given(field=st.sampled_from(sorted(Definition.model_fields)), value=VALUES)
def test_any_value_in_a_field_gives_problems_or_a_definition(
    tmp_path: Path, sound: str, field: str, value: Any
) -> None:
    # The last of two equal names is the one that is told, so the sound field goes.
    lines = sound.splitlines(keepends=True)
    starts = [i for i, line in enumerate(lines) if line.startswith(f"{field}:")] or [len(lines)]
    end = next((i for i in range(starts[0] + 1, len(lines)) if lines[i][0] != " "), len(lines))
    text = "".join([*lines[: starts[0]], f"{field}: {flow(value)}\n", *lines[end:]])
    told(tmp_path, text)


@ANY
@given(content=st.dictionaries(st.sampled_from(sorted(Definition.model_fields)), VALUES))
def test_any_structure_gives_problems(tmp_path: Path, content: dict[str, Any]) -> None:
    assert told(tmp_path, flow(content))


@ANY
@given(field=st.sampled_from(sorted(Diary.model_fields)), value=VALUES)
def test_any_value_in_the_diary_gives_problems_or_a_diary(
    tmp_path: Path, definition: Definition, field: str, value: Any
) -> None:
    text = f"{field}: {flow(value)}\n"
    (tmp_path / "diary.yaml").write_bytes(text.encode("utf-8", "surrogatepass"))
    diary, problems = read_diary(tmp_path, definition, ["101"])
    assert isinstance(diary, Diary)
    assert all("\n" not in str(problem) for problem in problems)


def test_a_check_of_a_definition_loads_no_heavy_library() -> None:
    code = (
        "import sys, wintersward.trial as t; from pathlib import Path; "
        f"d, p = t.read_definition(Path({str(Path(__file__).parent)!r})); "
        "heavy = {'numpy', 'pandas', 'scipy', 'matplotlib', 'openpyxl', 'skimage', 'IPython'}; "
        "print(sorted(heavy & set(sys.modules)))"
    )
    made = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert made.stdout == "[]\n"
