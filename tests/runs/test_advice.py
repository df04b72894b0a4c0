"""What is advised on a plan, each thing once."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from wintersward.analysis.sun_values import FROM_SHADE, sun_values
from wintersward.errors import WinterswardError
from wintersward.runs.advice import VALUES, advice, known_values, written_values
from wintersward.runs.freezing import freeze
from wintersward.runs.planning import plan
from wintersward.trial import read_definition

PULL = "measures:\n  pull: {from: sheet, unit: lbf, per_plot: 90, destructive: true, "


SHADE = """\
  country: US
  latitude: 43.1
  longitude: -77.6
  time_zone: America/New_York
  shade: [{name: stand, height: 30 ft, distance: 40 ft, bearing: 280, length: 80 ft}]
"""


def crowded(study: Path) -> None:
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    assert text.count("measures:\n") == 1
    text = text.replace("measures:\n", PULL + "dates: [visits]}\n")
    path.write_text(text, encoding="utf-8", newline="")


def test_places_that_do_not_fit_are_told_once(study: Path) -> None:
    crowded(study)
    said = "of the 180 spots of pull fit, 6 in apart"
    assert said not in " ".join(advice(study).concerns)
    made = plan(study).said
    assert made == "plan/plots.csv: 16 plots, drawn with the seed 42"
    assert [said in one for one in advice(study).concerns].count(True) == 1
    assert said in advice(study).concerns[-1]


def test_values_are_read_for_blocks_and_concerns(study: Path) -> None:
    plan(study)
    assert advice(study).blocking == []
    plots = pd.read_csv(study / "plan" / "plots.csv", dtype=str)
    assert written_values(study, plots) is None
    sun = plots[["plot"]].assign(sod=["new" if one == "open" else "old" for one in plots["cover"]])
    sun.to_csv(study / "plan" / VALUES, index=False)
    found = advice(study)
    assert any("sod within blocks falls together with cover" in one for one in found.concerns)
    assert found.blocking[0].startswith("By sod: the blocks as planned")


def test_faulty_values_stop_the_advice(study: Path) -> None:
    plan(study)
    (study / "plan" / VALUES).write_text("plots,sun\n101,3\n", encoding="utf-8")
    with pytest.raises(WinterswardError, match="found no column plot"):
        advice(study)


def shaded(study: Path) -> None:
    path = study / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    for old, new in (("  country: US\n", SHADE), ("  blocks: 4\n", "  blocks: 4\n  north: 10\n")):
        assert text.count(old) == 1
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8", newline="")
    plan(study)


def known(study: Path) -> pd.DataFrame:
    definition, _ = read_definition(study)
    assert definition is not None
    plots = pd.read_csv(study / "plan" / "plots.csv", dtype={"plot": str, "whole_plot": str})
    found = known_values(study, plots, definition)
    assert found is not None
    sun = sun_values(definition, plots)
    assert sun is not None
    if FROM_SHADE in found:
        assert found[FROM_SHADE].tolist() == sun["sun_hours"].tolist()
    return found


def test_the_declared_shade_advises_on_blocks(study: Path) -> None:
    shaded(study)
    assert list(known(study).columns) == [FROM_SHADE]
    assert known(study)[FROM_SHADE].nunique() > 4
    by_sun, rests, what = advice(study).blocking
    assert by_sun.startswith(
        "By sun_hours (worked out from the declared shade): the blocks as planned take out "
    )
    assert rests.startswith("What blocks are worth is reckoned")
    assert what == (
        "Hours of sun are worked out from the shade that trial.yaml declares: direct sun a day "
        "under a clear sky at the middle of each plot, on average from 2026-03-09 to 2026-03-24. "
        "Clouds, and what shades and is not declared, are not in them."
    )


def test_written_values_stand_beside_the_sun_and_before_it(study: Path) -> None:
    shaded(study)
    path = study / "plan" / VALUES
    plots = pd.read_csv(study / "plan" / "plots.csv", dtype=str)
    plots[["plot"]].assign(slope=range(len(plots))).to_csv(path, index=False)
    assert list(known(study).columns) == ["slope", FROM_SHADE]
    said = advice(study).blocking
    assert [one.split(":")[0] for one in said[:2]] == ["By slope", f"By {FROM_SHADE}"]
    plots[["plot"]].assign(sun_hours=range(len(plots))).to_csv(path, index=False)
    assert list(known(study).columns) == ["sun_hours"]
    said = advice(study).blocking
    assert said[0].startswith("By sun_hours: ")
    assert "worked out" not in " ".join(said)


def test_sun_that_was_worked_out_is_not_frozen(study: Path) -> None:
    shaded(study)
    frozen = freeze(study)
    assert VALUES not in frozen.files
    assert not (frozen.folder / VALUES).exists()
