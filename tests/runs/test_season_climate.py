"""Days of their own under climate and decisions move with the season; shade names known plots."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from drawn_study import draw_plots
from wintersward.runs.season import new_season
from wintersward.study import opened
from wintersward.trial import read_definition

CLIMATE = """\
climate:
  degree_days: {base: 32 degF, method: sine, from: 2026-03-01}
decisions:
  covers_off_when: {soil_temperature: 50 degF, days_in_a_row: 5, not_after: 2026-03-12}
"""
SHADE = """\
  time_zone: America/New_York
  latitude: 43.1
  longitude: -77.6
  shade: [{name: oaks, azimuth: [90, 130], height_angle: 18, plots: [101, 102]}]
"""


def test_they_move_with_the_other_days(study: Path, tmp_path: Path) -> None:
    text = (study / "trial.yaml").read_text(encoding="utf-8")
    (study / "trial.yaml").write_text(text + CLIMATE, encoding="utf-8")
    made = new_season(tmp_path / "next", study, dt.date(2027, 1, 18))
    definition, problems = read_definition(made.study)
    assert definition is not None, problems
    assert definition.climate is not None
    assert definition.climate.degree_days is not None
    assert definition.climate.degree_days.from_ == dt.date(2027, 2, 28)
    assert definition.decisions is not None
    assert definition.decisions.covers_off_when is not None
    assert definition.decisions.covers_off_when.not_after == dt.date(2027, 3, 11)


def test_shade_names_plots_of_the_plan(study: Path) -> None:
    text = (study / "trial.yaml").read_text(encoding="utf-8")
    here = next(line for line in text.splitlines(keepends=True) if line.startswith("  country"))
    (study / "trial.yaml").write_text(text.replace(here, here + SHADE), encoding="utf-8")
    draw_plots(study)
    text = (study / "trial.yaml").read_text(encoding="utf-8")
    (study / "trial.yaml").write_text(text.replace("[101, 102]", "[101, 7Z]"), encoding="utf-8")
    found = [str(one) for one in opened(study).problems if "shade" in str(one)]
    assert len(found) == 1
    assert "site.shade.1.plots.2: found '7Z'; allowed: a plot of plan/plots.csv (" in found[0]
