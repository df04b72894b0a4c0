"""The checklist against the fields of MIAPPE 1.2: see README.md."""

from __future__ import annotations

import csv
from pathlib import Path

from wintersward.handin.miappe_fields import FIELDS, VERSION


def test_every_field_is_asked_for_in_the_order_of_the_standard() -> None:
    text = (Path(__file__).parent / "miappe_1_2_fields.csv").read_text(encoding="utf-8")
    published = [f"{row['section']}.{row['codename']}" for row in csv.DictReader(text.splitlines())]
    assert list(FIELDS) == published
    assert len(set(FIELDS)) == len(FIELDS) == 94
    assert VERSION == "1.2"
