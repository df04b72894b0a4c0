"""Hours of sun by the declared shade: against the sky, against the monthly table, as covariate."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from analysis.dated import BLOCKS, COVER, SPLIT, TINE, dated_trial
from analysis.planned import planned
from drawn_study import drawn_files, laid_out
from wintersward import design
from wintersward.analysis.covariates import covariate_asked, covariate_name, covariate_values
from wintersward.analysis.logged_plots import LoggedPlots
from wintersward.analysis.sensitivity import sensitivity
from wintersward.analysis.sun_hours import sun_hours
from wintersward.analysis.sun_values import horizons_of, sun_values, sun_words
from wintersward.analysis.together import dates_together
from wintersward.climate.light import plot_light
from wintersward.errors import WinterswardError
from wintersward.study import Trial, open_study
from wintersward.trial import Definition

SITE = "  country: US\n"
STAND = "{name: stand, height: 30 ft, distance: 40 ft, bearing: 280, length: 80 ft}"
NORTH = ("  blocks_follow: shade of the stand\n", "  north: 15\n")
FEBRUARY = [
    ("covers_off: 2026-03-09", "covers_off: 2026-02-01"),
    ("visits: [2026-03-10", "visits: [2026-02-28"),
    ("    on: 2026-03-24", "    on: 2026-02-28"),
]


def shaded(*entries: str) -> tuple[str, str]:
    lines = "".join(f"    - {entry}\n" for entry in entries)
    return SITE, f"{SITE}  time_zone: America/New_York\n  shade:\n{lines}"


def hours(definition: Definition) -> pd.Series:
    found = sun_values(definition, design.draw(definition))
    assert found is not None
    assert list(found.columns) == ["plot", "sun_hours"]
    return found.set_index("plot")["sun_hours"]


def test_they_are_those_of_the_table_of_the_same_days(tmp_path: Path) -> None:
    planned(tmp_path / "a", NORTH, shaded(STAND), *FEBRUARY)
    study = laid_out(drawn_files(tmp_path / "a" / "trial.yaml", tmp_path / "a"), tmp_path / "a")
    trial = open_study(study)
    table = sun_hours(trial, LoggedPlots(trial))
    month = table[table["month"] == "2026-02-01"].set_index("plot")["sun_hours"]
    found = hours(trial.definition)
    assert list(found.index) == trial.plots["plot"].tolist()
    assert found.to_dict() == pytest.approx(month.to_dict())
    assert found.max() - found.min() > 1


def test_a_ring_of_hills_lets_through_what_the_sky_gives(tmp_path: Path) -> None:
    days = [
        ("covers_off: 2026-03-09", "covers_off: 2026-03-20"),
        ("visits: [2026-03-10, 2026-03-16, 2026-03-24,", "visits: [2026-03-21,"),
        ("    on: 2026-03-24", "    on: 2026-03-21"),
        ("dates: [2026-03-24, 2026-04-17]", "dates: [2026-04-17]"),
    ]
    ring = "{name: hills, azimuth: [0, 360], height_angle: 20}"
    found = hours(planned(tmp_path, shaded(ring), *days))
    # On the equinox, 20 March 2026, the sun's declination is 0, and it stands above the height h
    # while the hour angle is below arccos(sin h / cos latitude), at 15 degrees an hour; refraction
    # at 20 degrees is 0.04 degrees, and the declination of the next day 0.4 degrees.
    angle = np.degrees(np.arccos(np.sin(np.radians(20)) / np.cos(np.radians(43.1))))
    assert found.to_numpy() == pytest.approx(2 * angle / 15, abs=0.1)
    assert found.nunique() == 1


def test_they_do_not_hang_on_the_units_of_the_page(tmp_path: Path) -> None:
    # A foot is 0.3048 m (NIST SP 811, appendix B.8).
    metres = STAND.replace("30 ft", "9.144 m").replace("40 ft", "12.192 m")
    us = planned(tmp_path / "us", NORTH, shaded(STAND))
    changes = [NORTH, shaded(metres.replace("80 ft", "24.384 m")), ("units: us", "units: metric")]
    assert hours(planned(tmp_path / "m", *changes)).to_dict() == pytest.approx(hours(us).to_dict())


def test_shade_of_some_plots_is_theirs_alone(tmp_path: Path) -> None:
    oaks = "{name: oaks, azimuth: [90, 200], height_angle: 40, plots: [101, 1B]}"
    definition = planned(tmp_path, shaded(oaks))
    found, plots = hours(definition), design.draw(definition)
    less = set(found[found < found.max()].index)
    assert less == {"101", *plots.loc[plots["whole_plot"] == "1B", "plot"]}
    assert {plot for plot, one in horizons_of(definition, plots).items() if one.obstacles} == less


@pytest.mark.parametrize("name", ["latitude", "longitude", "time_zone", "shade"])
def test_without_place_clock_or_shade_there_are_none(tmp_path: Path, name: str) -> None:
    definition = planned(tmp_path, NORTH, shaded(STAND))
    gone: dict[str, Any] = {name: [] if name == "shade" else None}
    site = definition.site.model_copy(update=gone)
    without = definition.model_copy(update={"site": site})
    assert sun_values(without, design.draw(without)) is None


def test_of_a_long_time_some_days_stand_for_all(tmp_path: Path) -> None:
    late = ("    on: 2026-03-24", "    on: 2026-04-17")
    off = [("covers_off: 2026-03-09", "covers_off: 2026-01-20")]
    definition = planned(tmp_path, NORTH, shaded(STAND), late, *off)
    site, every = definition.site, pd.date_range("2026-01-20", "2026-04-17").date
    assert site.latitude is not None
    assert site.longitude is not None
    plots = design.draw(definition)
    around = horizons_of(definition, plots)
    whole = plot_light(every, around, site.latitude, site.longitude, site.time_zone)
    means = whole.groupby("plot")["sun_hours"].mean()
    found = hours(definition)
    assert (found - means).abs().max() < 0.1
    assert "on average from 2026-01-20 to 2026-04-17" in sun_words(definition)


def test_a_question_under_covers_counts_from_the_first_date(tmp_path: Path) -> None:
    under = [
        ("visits: [2026-03-10", "visits: [2026-02-28"),
        ("    on: 2026-03-24", "    on: 2026-02-28"),
    ]
    definition = planned(tmp_path, NORTH, shaded(STAND), *under)
    assert "from 2026-01-15 to 2026-02-28" in sun_words(definition)
    assert hours(definition).max() < hours(planned(tmp_path, NORTH, shaded(STAND))).max()


PLACE = "Printed page, latitude: 43.1, longitude: -77.6, time_zone: America/New_York, shade: "
WALL = "[{name: wall, height: 6 m, distance: 15 m, bearing: 240, length: 12 m}]"
ON = "  covariate: sun_hours\n"


def sunny(plot: Any, day: int) -> float:
    rng = np.random.default_rng([int(plot.plot), day, 5])
    east = plot.x_m / 3  # sun goes with where a plot lies, and so does what grows
    return float(40 + 8 * (plot.cover == "fleece") + 2 * east + day / 10 + rng.normal(0, 1))


def beside_a_wall(folder: Path, layout: str = BLOCKS, shade: str = WALL, **more: Any) -> Trial:
    around = {"layout": f"{layout}\n  north: 0", "site": PLACE + shade, "more": ON}
    return dated_trial(folder, sunny, **around, **more)


def test_another_library_agrees_on_the_sun_in_blocks(tmp_path: Path) -> None:
    trial = beside_a_wall(tmp_path / "study")
    assert covariate_asked(trial) == ("sun_hours", None)
    assert covariate_name(trial) == "hours of direct sun a day, from the declared shade"
    tables = sensitivity(trial)
    row = tables["sensitivity"].set_index("analysis").loc["covariate"]
    assert row["text"] == f"allowing for {covariate_name(trial)}"
    seen = trial.observations("cover_share")
    seen = seen[seen["date"] == pd.Timestamp(trial.primary_date)]
    data = trial.plots.merge(seen[["plot", "value"]], on="plot").astype({"cover": str})
    sun = sun_values(trial.definition, trial.plots)
    assert sun is not None
    data = data.merge(sun, on="plot")
    assert data.groupby("block")["sun_hours"].agg(np.ptp).max() > 0.5
    model = "value ~ C(block) + C(cover, Treatment('open')) + sun_hours"
    theirs = smf.ols(model, data).fit()
    term = "C(cover, Treatment('open'))[T.fleece]"
    assert row["difference"] == pytest.approx(theirs.params[term])
    assert row["se"] == pytest.approx(theirs.bse[term])
    assert row["df"] == theirs.df_resid == 9
    slope = tables["slopes"].iloc[0]
    assert slope["slope"] == pytest.approx(theirs.params["sun_hours"])
    assert slope["p"] == pytest.approx(theirs.pvalues["sun_hours"])
    later = dates_together(trial)["slopes"]
    assert set(later["covariate"]) == {covariate_name(trial)}
    assert len(later) == 3


def test_whole_plots_have_the_mean_of_their_subplots(tmp_path: Path) -> None:
    trial = beside_a_wall(tmp_path / "study", layout=SPLIT, treatments=COVER + TINE)
    by_plot, by_whole = covariate_values(trial, "plot"), covariate_values(trial, "whole_plot")
    assert (len(by_plot), len(by_whole)) == (36, 18)
    inside = trial.plots.loc[trial.plots["whole_plot"] == "1A", "plot"]
    assert by_whole["1A"] == pytest.approx(by_plot[list(inside)].mean())


def test_the_same_sun_everywhere_corrects_for_nothing(tmp_path: Path) -> None:
    hills = "[{name: hills, azimuth: [90, 270], height_angle: 15}]"
    trial = beside_a_wall(tmp_path / "study", shade=hills)
    tables = sensitivity(trial)
    assert "covariate" not in set(tables["sensitivity"]["analysis"])
    assert tables["slopes"].empty
    assert "not answered by 'covariate': the covariate is the same on every unit" in (
        tables["notes"]["text"].tolist()
    )


def test_sun_that_does_not_follow_is_refused(tmp_path: Path) -> None:
    trial = beside_a_wall(tmp_path / "study")
    trial.definition.site.shade.clear()
    with pytest.raises(WinterswardError, match="hours of sun do not follow"):
        covariate_values(trial, "plot")


def test_the_last_day_is_one_of_the_days(tmp_path: Path) -> None:
    definition = planned(tmp_path, NORTH, shaded(STAND))
    dates = {**definition.dates, "covers_off": dt.date(2026, 3, 24)}
    one = definition.model_copy(update={"dates": dates})
    assert "of each plot, on 2026-03-24." in sun_words(one)
    assert hours(one).mean() > hours(definition).mean()
