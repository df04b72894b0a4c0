"""The position of a site, rounded: wherever it stands, and nothing else."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from handin.handed_in import TEXT, finish, gathered, read
from wintersward.errors import WinterswardError
from wintersward.handin.discretion import Discretion, discretion
from wintersward.handin.same_meaning import meant_otherwise
from wintersward.handin.traces import traces
from wintersward.runs import freeze
from wintersward.trial import read_definition

FINE = (
    TEXT.replace("43.1234", "43.1565781")
    .replace("-77.5678", "-77.6123456")
    .replace("# 43.1565781 N", "# seen on the map at 43.1565781, -77.6123456")
)
# As at one degree and a quarter west, with other things of that size.
SOUTH = (
    TEXT.replace("43.1234", "51.5")
    .replace("-77.5678", "-1.25")
    .replace("alley: 2 ft", "alley: 1.25 ft")
    .replace("matters_from: 1", "matters_from: 1.25")
)


def rounded(study: Path) -> Discretion:
    made_from = read(finish(study) / "inputs.json")
    return discretion(study, made_from, people=True, exact_place=False, photos=True)


def refused(study: Path) -> list[str]:
    with pytest.raises(WinterswardError) as caught:
        rounded(study)
    return str(caught.value).splitlines()


def test_every_digit_of_a_telephone_goes(tmp_path: Path) -> None:
    study = gathered(tmp_path / "study", FINE)
    with (study / "diary.yaml").open("a") as file:
        file.write("# gate at 43.15658 N 77.61235W, gauge at N43.157\n")
    freeze(study, lambda: dt.datetime(2026, 1, 12, 9, 5, tzinfo=dt.UTC))
    found = rounded(study)
    texts = {name: content.decode() for name, content in found.files.items()}
    assert "latitude: 43.2  # seen on the map at 43.2, -77.6" in texts["trial.yaml"]
    assert "# gate at 43.2 N 77.6W, gauge at N43.2" in texts["diary.yaml"]
    assert "43.2\u00b0 N, 77.6\u00b0 W" in texts["plan/frozen/protocol.html"]
    for text in texts.values():
        assert "43.15" not in text
        assert "77.61" not in text
    assert found.look == ()


def test_a_logger_file_that_tells_it_is_refused(tmp_path: Path) -> None:
    study = gathered(tmp_path / "study", FINE)
    (study / "loggers/station.csv").write_text(
        "# at 43.1565781 -77.61235\ndate,low\n2026-01-20,-4\n"
    )
    hint = "take it out there, run again, and bundle then"
    assert refused(study) == [
        f"loggers/station.csv:1:6: found '43.1565781'; {hint}",
        f"loggers/station.csv:1:18: found '77.61235'; {hint}",
    ]


def test_other_numbers_stay(tmp_path: Path) -> None:
    assert SOUTH.count("1.25") == 3
    study = gathered(tmp_path / "study", SOUTH)
    (study / "diary.yaml").write_text(
        "covers: [{on: 2026-01-19, off: 2026-03-09}]\n"
        "management: [{date: 2026-03-20, what: mowing, amount: 1.25 in}]\n"
    )
    (study / "sheets/colour.csv").write_text("date,plot,rater,colour\n2026-03-24,101,rx,1.25\n")
    found = rounded(study)
    assert found.changed == ("study/trial.yaml: position rounded to 0.1 degree",)
    before = (study / "trial.yaml").read_text(encoding="utf-8")
    text = before.replace("longitude: -1.25", "longitude: -1.2")
    assert found.files["trial.yaml"].decode() == text
    assert len(found.look) == text.count("1.25")
    assert found.look[0].endswith(": '1.25' may be the position; it was left as it is")


def test_two_decimals_count_beside_a_compass_or_a_word() -> None:
    (one,) = traces([(43.15, 43.2)])
    before = (
        "43.15\u00b0 N, 43.15 \u00b0N, at latitude 43.15, 43.15 \u00b0F, 143.15, 43.15 lb, 43.155"
    )
    assert one.pattern.sub("X", before) == (
        "X\u00b0 N, X \u00b0N, at latitude X, 43.15 \u00b0F, 143.15, 43.15 lb, X"
    )


def test_a_field_that_would_mean_something_else_is_refused(tmp_path: Path) -> None:
    # An alley that happens to begin as the position does.
    study = gathered(tmp_path / "study", SOUTH.replace("alley: 1.25 ft", "alley: 1.2512 ft"))
    (line,) = refused(study)
    assert line.startswith("trial.yaml: layout.alley: found ")
    assert "which would become " in line
    assert line.endswith("; write it otherwise, run again, and bundle then")


def test_a_diary_is_held_against_what_it_said(tmp_path: Path) -> None:
    study = gathered(tmp_path / "study")
    definition, _ = read_definition(study)
    assert definition is not None
    text = (study / "diary.yaml").read_text()
    for before, after, told in (
        ("dry", "wet", 0),
        ("1.5 in", "1.2 in", 1),
        ("2026-03-20", "2026-03-21", 1),
        ("mowing", "brushing", 1),
    ):
        files = {"diary.yaml": text.replace(before, after).encode()}
        found = meant_otherwise(
            study, files, {"trial.yaml": definition}, lambda old: old.replace("dry", "wet")
        )
        assert len(found) == told, (before, found)


def test_no_position_at_all(tmp_path: Path) -> None:
    text = TEXT.replace("  latitude: 43.1234  # 43.1234 N\n  longitude: -77.5678\n", "")
    study = gathered(tmp_path / "study", text)
    assert rounded(study).changed == ("study/trial.yaml: holds no position",)
