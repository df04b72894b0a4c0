"""A sound trial, its drawn plots, and ways to fill in its sheets."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pandas as pd
from openpyxl import Workbook, load_workbook
from ruamel.yaml import YAML

from wintersward import design
from wintersward.trial import Definition

SOUND = Path(__file__).parents[1] / "trial" / "sound.yaml"


def sound(part: str = "", **fields: Any) -> Definition:
    """Read the sound definition, with fields of a measure, or of a part of it, changed."""
    data = YAML(typ="safe", pure=True).load(SOUND.read_text(encoding="utf-8"))
    if part:
        data["measures"].get(part, data.get(part)).update(fields)
    return Definition.model_validate(data)


def opened(content: bytes) -> Workbook:
    """Open a workbook out of its bytes."""
    return load_workbook(io.BytesIO(content))


def filled(content: bytes, values: dict[str, float]) -> Workbook:
    """Fill in every cell that is not locked, by the first word of the heading."""
    book = opened(content)
    tab = book.worksheets[0]
    for column in tab.iter_cols():
        value = values.get(str(column[0].value).split()[0])
        for step, cell in enumerate(column[1:]):
            if value is not None and not cell.protection.locked:
                cell.value = value + step % 3
    return book


def drawn(definition: Definition) -> pd.DataFrame:
    """Draw the plots."""
    return design.draw(definition)
