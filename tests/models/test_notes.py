from __future__ import annotations

import ast
from dataclasses import FrozenInstanceError
from pathlib import Path

import pytest

import wintersward.models
from wintersward.models import NOTE_CODES, Note


def test_a_note_is_a_value() -> None:
    note = Note("zero-variance", "the variance of block is estimated as zero", ("block",), 1)
    assert note == Note(
        "zero-variance", "the variance of block is estimated as zero", ("block",), 1
    )
    with pytest.raises(FrozenInstanceError):
        note.count = 2  # type: ignore[misc]


def test_every_code_used_is_listed_and_every_listed_used() -> None:
    folder = Path(wintersward.models.__file__).parent
    used = {
        node.args[0].value
        for path in folder.glob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "Note"
        and isinstance(node.args[0], ast.Constant)
    }
    assert used == set(NOTE_CODES)


def test_the_package_names_what_it_offers() -> None:
    for name in wintersward.models.__all__:
        assert getattr(wintersward.models, name) is not None
    with pytest.raises(AttributeError, match="nosuch"):
        _ = wintersward.models.nosuch
