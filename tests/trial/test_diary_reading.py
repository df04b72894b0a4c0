"""A diary that can be read is there even where what it names does not fit."""

from __future__ import annotations

from pathlib import Path

import pytest

from wintersward.trial import Definition, Diary, read_diary
from wintersward.trial.diary_reading import readable_diary

PLOTS = ["101", "102", "1A"]


def read(tmp_path: Path, definition: Definition, text: str) -> tuple[Diary | None, list[str]]:
    (tmp_path / "diary.yaml").write_text(text, encoding="utf-8")
    diary, problems = readable_diary(tmp_path, definition, PLOTS)
    return diary, [str(problem) for problem in problems]


def test_what_does_not_fit_leaves_the_rest_to_be_used(
    tmp_path: Path, definition: Definition
) -> None:
    text = "sheets:\n  - {file: a.csv, decimal: comma}\nexclusions:\n  - {plot: 9, reason: r}\n"
    diary, said = read(tmp_path, definition, text)
    assert said == [
        "diary.yaml:4:12: exclusions.1.plot: found '9'; allowed: a plot of plan/plots.csv "
        "(101, 102, 1A)"
    ]
    assert diary is not None
    assert (diary.sheets[0].file, diary.sheets[0].decimal) == ("a.csv", "comma")
    assert diary.exclusions[0].plot == "9"
    strict, problems = read_diary(tmp_path, definition, PLOTS)
    assert (strict, [str(problem) for problem in problems]) == (Diary(), said)


@pytest.mark.parametrize(
    "text",
    [
        "covers: soon\n",
        "exclusions:\n  - {plot: 101}\n",
        "cover: []\n",
        "covers: []\ncovers: []\n",
        "covers: [\n",
    ],
)
def test_a_line_that_cannot_be_read_leaves_none(
    tmp_path: Path, definition: Definition, text: str
) -> None:
    diary, said = read(tmp_path, definition, text)
    assert diary is None
    assert len(said) == 1


def test_what_cannot_be_read_hides_nothing_that_does_not_fit(
    tmp_path: Path, definition: Definition
) -> None:
    diary, said = read(
        tmp_path, definition, "mishaps: none\nexclusions:\n  - {plot: 9, reason: r}\n"
    )
    assert diary is None
    assert [line.partition(" found")[0] for line in said] == [
        "diary.yaml:1:10: mishaps:",
        "diary.yaml:3:12: exclusions.1.plot:",
    ]


@pytest.mark.parametrize("text", [None, "", "# nothing happened yet\n"])
def test_without_entries_it_is_empty(
    tmp_path: Path, definition: Definition, text: str | None
) -> None:
    if text is not None:
        (tmp_path / "diary.yaml").write_text(text, encoding="utf-8")
    assert readable_diary(tmp_path, definition) == (Diary(), [])
