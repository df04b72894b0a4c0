from __future__ import annotations

from pathlib import Path

import pytest

from wintersward.errors import WinterswardError
from wintersward.runs.rewriting import rewritten

DAY = r"2026-01-19"


def test_nothing_but_the_value_changes(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    before = (
        "\ufeff# 2026-01-19 stays here\r\n"
        "first:   '2026-01-19'   # and here: 2026-01-19\r\n"
        'second: {two: "2026-01-19", list: [2026-01-19, 2026-01-19]}\r\n'
        "\r\n"
        "third: !!str 2026-01-19\r\n"
        "größe: 1"
    )
    path.write_bytes(before.encode())
    values = {
        ("first",): (DAY, "2027-01-18"),
        ("second", "two"): (DAY, "2028-01-18"),
        ("second", "list", 1): (DAY, "2029-01-18"),
        ("third",): (DAY, "2030-01-18"),
        ("größe",): (r"\d+", "1000"),
    }
    assert rewritten(path, "a.yaml", values).decode() == (
        "\ufeff# 2026-01-19 stays here\r\n"
        "first:   '2027-01-18'   # and here: 2026-01-19\r\n"
        'second: {two: "2028-01-18", list: [2026-01-19, 2029-01-18]}\r\n'
        "\r\n"
        "third: !!str 2030-01-18\r\n"
        "größe: 1000"
    )


def test_two_values_in_one_line_may_grow(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text("a: [1, 2, 3]\n")
    values = {("a", index): (r"\d", "1000") for index in range(3)}
    assert rewritten(path, "a.yaml", values) == b"a: [1000, 1000, 1000]\n"


def test_an_alias_changes_with_its_anchor(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text("a: &day 2026-01-19\nb: *day\n")
    values = {("a",): (DAY, "2027-01-18"), ("b",): (DAY, "2027-01-18")}
    assert rewritten(path, "a.yaml", values) == b"a: &day 2027-01-18\nb: *day\n"


def test_a_value_over_several_lines_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text("a: >-\n  2026-01-19\n")
    with pytest.raises(WinterswardError, match=r"a.yaml:1:4: a: found it in a form that cannot"):
        rewritten(path, "a.yaml", {("a",): (DAY, "2027-01-18")})


def test_a_file_with_problems_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text("a: [1\n")
    with pytest.raises(WinterswardError, match="a.yaml:"):
        rewritten(path, "a.yaml", {})
