"""What a person reads when a file cannot be read: whole messages, word by word."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from wintersward.errors import Problem
from wintersward.trial.reading import placed

Change = Callable[..., list[str]]
Tell = Callable[[str | bytes], list[str]]


# What cannot be read as YAML, or is not a definition at all.
TEXTS = {
    "empty file": (
        "",
        ["trial.yaml:1:1: found an empty file; begin with 'title: ' and the name of the trial"],
    ),
    "remarks alone": (
        "# nothing yet\n",
        ["trial.yaml:1:1: found an empty file; begin with 'title: ' and the name of the trial"],
    ),
    "a list": (
        "- a\n- b\n",
        ["trial.yaml:1:1: found no 'name: value' line; allowed: lines such as 'title: ...'"],
    ),
    "a word": (
        "# my trial\ntrial\n",
        ["trial.yaml:2:1: found no 'name: value' line; allowed: lines such as 'title: ...'"],
    ),
    "encoding": (
        "title: T\nquestion: caf\xe9?\n".encode("latin-1"),
        [
            "trial.yaml:2:14: found a character that is not in UTF-8; save the file with the "
            "encoding UTF-8"
        ],
    ),
    "another encoding": (
        "title: T\n".encode("utf-16"),
        [
            "trial.yaml:1:1: found a character that is not in UTF-8; save the file with the "
            "encoding UTF-8"
        ],
    ),
    "control character": (
        "title: T\nquestion: a\x07b\n",
        [
            "trial.yaml:2:12: found a control character (U+0007); delete it; it may have come with "
            "copied text"
        ],
    ),
    "tab in an indent": (
        "site:\n  name: N\n\tcountry: US\n",
        ["trial.yaml:3:1: found a tab; allowed: spaces; indent with two spaces a level"],
    ),
    "tab in a line": (
        "title:\tT\n",
        ["trial.yaml:1:7: found a tab; allowed: spaces; replace it by a space"],
    ),
    "tab in a text is not blamed for a later fault": (
        "question: |\n  one\n  \ttwo\ntitle: Covers: first winter\n",
        [
            "trial.yaml:4:14: found a second ':'; allowed: one 'name: value' a line; put text "
            "that holds ': ' in quotes, and check the indentation"
        ],
    ),
    "second colon": (
        "title: Covers: first winter\n",
        [
            "trial.yaml:1:14: found a second ':'; allowed: one 'name: value' a line; put text "
            "that holds ': ' in quotes, and check the indentation"
        ],
    ),
    "line without colon": (
        "title: T\nquestion\nunits: us\n",
        [
            "trial.yaml:2:1: found a line without ': '; allowed: 'name: value'; put a text on "
            "one line, or indent the lines that go on with it"
        ],
    ),
    "bracket left open": (
        "title: T\ndates: [2026-01-15\nunits: us\n",
        [
            "trial.yaml:2:8: found a bracket that is not closed, or a comma left out; check the "
            "brackets that are opened here"
        ],
    ),
    "quote left open": (
        "title: 'T\nunits: us\n",
        ["trial.yaml:1:8: found a quote that is not closed; close it"],
    ),
    "quote within quotes": (
        "title: 'The club's ground'\n",
        [
            "trial.yaml:1:18: found text after a closing quote; write a quote within single "
            "quotes twice: 'the club''s ground'"
        ],
    ),
    "uneven indentation": (
        "site:\n  name: N\n country: US\n",
        [
            "trial.yaml:3:2: found a line indented otherwise than its neighbours; let lines "
            "that belong together begin in the same column"
        ],
    ),
    "list entry after text": (
        "people: - name: N\n",
        [
            "trial.yaml:1:9: found '- ' after other text; begin each entry of a list on a line "
            "of its own"
        ],
    ),
    "special character": (
        "title: @ground\n",
        ["trial.yaml:1:8: found a value that begins with a special character; put it in quotes"],
    ),
    "star": (
        "title: *ground\n",
        ["trial.yaml:1:8: found a value that begins with *; put it in quotes"],
    ),
    "backslash": (
        'title: "C:\\turf"\nunits: "\\q"\n',
        ["trial.yaml:2:10: found a backslash within double quotes; use single quotes"],
    ),
    "two documents": (
        "title: T\n---\ntitle: U\n",
        [
            "trial.yaml:2:1: found a second document after '---'; remove that line and what "
            "follows it"
        ],
    ),
    "anything else": (
        "title: >T\n",
        [
            "trial.yaml:1:9: found what cannot be read as YAML (expected chomping or indentation "
            "indicators, but found 'T'); check brackets, quotes and indentation here and in the "
            "line before"
        ],
    ),
    "nested without end": (
        "title: " + "[" * 600,
        ["trial.yaml:1:1: found too many levels; close the brackets, or nest less deeply"],
    ),
}


@pytest.mark.parametrize("name", TEXTS)
def test_what_cannot_be_read_is_told(tell: Tell, name: str) -> None:
    text, said = TEXTS[name]
    assert tell(text) == said


def test_brackets_for_a_name_are_told(change: Change) -> None:
    assert change(("seed: 20260119", "seed: {{ seed }}")) == [
        "trial.yaml:47:9: layout.seed: found several fields; allowed: a whole number",
        "trial.yaml:47:10: layout.seed: found brackets where a name should be; check the "
        "brackets; a value with brackets may need quotes",
    ]


def test_a_part_that_holds_itself_is_told(change: Change) -> None:
    said = change(("species: [Poa pratensis]", "species: &a [*a]"))
    assert said == [
        "trial.yaml:14:14: site.turf.species.1: found a part that holds itself; write the lines "
        "out instead of referring to others by & and *",
        "trial.yaml:14:14: site.turf.species.1: found nothing; allowed: text (put it in quotes "
        "if it is a number)",
    ]


def test_aliases_of_aliases_cannot_fill_the_memory(tell: Tell) -> None:
    names = "abcdefghij"
    lines = ["a: &a [x, x, x, x, x, x, x, x, x]"]
    lines += [
        f"{b}: &{b} [{', '.join(['*' + a] * 9)}]" for a, b in zip(names, names[1:], strict=False)
    ]
    said = tell("\n".join(lines))
    assert any("a part that holds itself" in line for line in said)


def test_a_name_over_several_lines_is_told_in_one(tell: Tell) -> None:
    said = tell("? title\n  title\n: winter\n")
    assert all("\n" not in line for line in said)
    assert said[-1].startswith("trial.yaml:1:3: title title: found 'title title', which is not")


DIARY = """\
# what happened
covers:
  - {on: 2026-01-19}
sheets:
  - file: a.csv
    columns: {pull.force: Pull}
  - {file: b.xlsx, tab: Pulls}
exclusions:
  - plot: 101
    reason: flooded

  - {plot: 102, reason: flooded}
weather: {file: w.csv, units: {temperature: degF}}
"""


@pytest.mark.parametrize(
    ("field", "at"),
    [
        ("exclusions.1", (9, 5)),
        ("exclusions.2", (12, 5)),
        ("exclusions.2.reason", (12, 25)),
        ("exclusions.2.rater", (12, 5)),  # left out: the entry around it
        ("exclusions.9", (9, 3)),
        ("sheets.1.file", (5, 11)),
        ("sheets.1.columns.pull.force", (6, 27)),  # a name may hold a dot
        ("sheets.2.tab", (7, 25)),
        ("weather.tab", (13, 10)),
        ("nothing.of.it", (2, 1)),
    ],
)
def test_what_is_found_later_is_told_at_its_line(
    tmp_path: Path, field: str, at: tuple[int, int]
) -> None:
    (tmp_path / "diary.yaml").write_text(DIARY, encoding="utf-8")
    (found,) = placed(tmp_path, [Problem("diary.yaml", field=field, found="x", hint="y")])
    assert found == Problem("diary.yaml", *at, field, "x", "", "y")


def test_only_what_has_no_line_yet_is_given_one(tmp_path: Path) -> None:
    (tmp_path / "diary.yaml").write_text(DIARY, encoding="utf-8")
    others = [
        Problem("diary.yaml", 3, 5, "exclusions.1", "x"),
        Problem("diary.yaml", hint="there is no such file"),
        Problem("sheets/a.csv", row=2, field="exclusions.1", found="x"),
    ]
    assert placed(tmp_path, others) == others


def test_definition_and_diary_are_placed_side_by_side(tmp_path: Path) -> None:
    (tmp_path / "diary.yaml").write_text(DIARY, encoding="utf-8")
    (tmp_path / "trial.yaml").write_text("title: T\nlayout:\n  blocks: 6\n", encoding="utf-8")
    found = placed(
        tmp_path,
        [
            Problem("trial.yaml", field="layout.blocks", found="x"),
            Problem("diary.yaml", field="covers.1.on", found="x"),
        ],
    )
    assert [(one.path, one.line, one.column) for one in found] == [
        ("trial.yaml", 3, 11),
        ("diary.yaml", 3, 10),
    ]


@pytest.mark.parametrize("text", [None, "exclusions: [\n"])
def test_a_file_that_cannot_be_read_has_no_lines(tmp_path: Path, text: str | None) -> None:
    if text is not None:
        (tmp_path / "diary.yaml").write_text(text, encoding="utf-8")
    problem = Problem("diary.yaml", field="exclusions.1", found="x")
    assert placed(tmp_path, [problem]) == [problem]
