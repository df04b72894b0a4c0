"""What the calendar asks for where loggers take a measure."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from wintersward.runs.due import all_due, known_of
from wintersward.trial import read_definition

SOUND = Path(__file__).resolve().parents[1] / "trial" / "sound.yaml"
LOGGED = (
    "  warmth:\n    from: logger\n    what: canopy temperature\n"
    "    dates: [2026-02-20]\nanalysis:\n"
)


def test_nobody_is_sent_out_for_loggers(tmp_path: Path) -> None:
    text = SOUND.read_text(encoding="utf-8").replace("analysis:\n", LOGGED)
    text = text.replace("  country: US\n", "  country: US\n  time_zone: America/New_York\n")
    (tmp_path / "trial.yaml").write_text(text, encoding="utf-8")
    definition, problems = read_definition(tmp_path)
    assert definition is not None, problems
    found = list(all_due(known_of(tmp_path, definition), dt.date(2026, 1, 1)))
    assert {one.what for one in found} >= {"visit", "baseline visit"}
    assert not [one for one in found if one.day == dt.date(2026, 2, 20)]
