"""The loggers of the example: what is read from them is what was true, but for what was planted."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

import heat_balance
import logger_files
import make_example
import temperature_truth
from e2e.example import EXAMPLE
from wintersward.climate.arrivals import mean_reached, reached
from wintersward.climate.daily import daily_facts
from wintersward.climate.degree_days import from_readings, summed
from wintersward.records.logger_sums import LoggersRead
from wintersward.records.loggers import read_loggers
from wintersward.records.weather import FOLDER
from wintersward.study import Trial, open_study
from wintersward.trial.schema import Diary

SOIL, CANOPY = heat_balance.MEASURES
# How far a mean of a day may lie from the true one [degC]. Of 24 readings with noise of 0.05 (soil)
# and 0.1 degC (canopy) the mean errs by 0.01 and 0.02; reading once an hour misses what is between,
# which in a canopy under passing clouds is the most.
NEAR = {SOIL: 0.15, CANOPY: 0.3}
FACTS = temperature_truth.FACTS


@pytest.fixture(scope="module")
def trial() -> Trial:
    return open_study(EXAMPLE)


@pytest.fixture(scope="module")
def truth() -> heat_balance.Temperatures:
    return heat_balance.draw_temperatures(pd.read_csv(EXAMPLE / "plan" / "plots.csv", dtype=str))


@pytest.fixture(scope="module")
def read(trial: Trial) -> LoggersRead:
    return read_by(trial, trial.diary)


@pytest.fixture(scope="module")
def planted() -> pd.DataFrame:
    return truth_table("logger_blemishes")


@pytest.fixture(scope="module")
def days(read: LoggersRead) -> pd.DataFrame:
    """Give the facts of each day that was seen, beside what is true."""
    return beside_truth(read)


def read_by(trial: Trial, diary: Diary) -> LoggersRead:
    return read_loggers(trial.folder, trial.definition, diary, trial.plots)


def truth_table(name: str) -> pd.DataFrame:
    table = pd.read_csv(EXAMPLE / "truth" / f"{name}.csv", dtype=str, keep_default_na=False)
    return table.astype({fact: float for fact in FACTS if fact in table})


def by_site(read: LoggersRead) -> pd.DataFrame:
    return read.readings.assign(time=read.readings["time"].dt.tz_convert(heat_balance.ZONE))


def beside_truth(read: LoggersRead) -> pd.DataFrame:
    facts = daily_facts(by_site(read))
    facts = facts[facts["completeness"] >= 0.9].assign(date=facts["date"].dt.strftime("%Y-%m-%d"))
    true = truth_table("temperatures")
    return facts.merge(true, on=["date", "plot", "measure"], suffixes=("", "_true"))


def told_otherwise(diary: Diary, file: str, **changes: Any) -> Diary:
    """Give a diary that tells one file in another way."""
    loggers = [one.model_copy(update=changes) if one.file == file else one for one in diary.loggers]
    return diary.model_copy(update={"loggers": loggers})


def stuck_days(planted: pd.DataFrame) -> set[tuple[str, str, str]]:
    stuck = planted[planted["kind"] == "stuck sensor"]
    return {
        (one[end][:10], one["plot"], one["measure"])
        for one in stuck.to_dict("records")
        for end in ("from", "to")
    }


def test_the_files_are_what_the_generator_makes(tmp_path: Path) -> None:
    plots = pd.read_csv(EXAMPLE / "plan" / "plots.csv", dtype=str)
    make_example.write_temperatures(tmp_path, plots)
    made = sorted(path.relative_to(tmp_path) for path in tmp_path.rglob("*.csv"))
    assert len(made) == 19 + 4
    for name in made:
        lines, again = (
            (folder / name).read_text(encoding="utf-8").splitlines()
            for folder in (EXAMPLE, tmp_path)
        )
        assert len(lines) == len(again), name
        # Another computer may round a last digit the other way.
        other = [pair for pair in zip(lines, again, strict=True) if pair[0] != pair[1]]
        assert len(other) <= len(lines) / 1000, name
        for one, two in other:
            for cell, second in zip(one.split(","), two.split(","), strict=True):
                assert cell == second or abs(float(cell) - float(second)) < 0.11, name


def test_all_files_together_are_small() -> None:
    files = [path for path in (EXAMPLE / FOLDER).iterdir() if path.name != "station.csv"]
    assert len(files) == 19
    assert sum(path.stat().st_size for path in files) < 2_500_000


def test_the_definition_tells_where_it_was_drawn_for(trial: Trial) -> None:
    site, layout = trial.definition.site, trial.definition.layout
    (stand,) = site.shade
    drawn = heat_balance.STAND
    for name in ("height", "distance", "bearing", "length"):
        assert getattr(stand, name) == pytest.approx(getattr(drawn, name)), name
    assert (site.latitude, site.longitude) == heat_balance.PLACE
    assert site.elevation == pytest.approx(heat_balance.ELEVATION)
    assert (site.time_zone, layout.north) == (heat_balance.ZONE, heat_balance.NORTH)


def test_every_reading_is_accounted_for(read: LoggersRead, planted: pd.DataFrame) -> None:
    assert read.problems == []
    assert read.unread == []
    removed = planted[planted["reason"] != ""].astype({"readings": int})
    listed = removed.groupby(["file", "column", "measure", "plot", "reason"])["readings"].sum()
    found = {
        (one.file, one.column, one.measure, one.plot, reason): count
        for one in read.sums
        for reason, count in one.removed.items()
    }
    assert found == listed.to_dict()
    assert len(read.sums) == 2 * 19
    assert len(read.readings) == sum(one.used for one in read.sums)
    hours = (logger_files.LAST - logger_files.FIRST) // pd.Timedelta("1h") + 1
    lacking = planted[planted["kind"].isin(["no power", "spike", "code for no value"])]
    lost = lacking.astype({"readings": int}).groupby(["plot", "measure"])["readings"].sum()
    counts = read.readings.groupby(["plot", "measure"]).size()
    assert (counts + lost.reindex(counts.index, fill_value=0) == hours).all()
    assert len(counts) == 2 * 18


def test_what_is_odd_is_flagged_and_nothing_else(read: LoggersRead, planted: pd.DataFrame) -> None:
    found = {(flag.kind, flag.file, flag.measure) for flag in read.flags}
    by_flag = planted[planted["found_by"].str.startswith("flag: ")]
    listed = set()
    for one in by_flag[by_flag["kind"] != "swapped sensors"].itertuples():
        kind = one.found_by.partition("; ")[0].removeprefix("flag: ")
        # A clock is about the whole file.
        listed.add((kind, one.file, "" if kind == "clock drift" else one.measure))
    assert found == listed
    spans = {flag.kind: flag for flag in read.flags}
    for kind in ("flat line", "gap"):
        row = by_flag[by_flag["found_by"] == f"flag: {kind}"].iloc[0]
        zone = logger_files.FIRST.tz
        assert spans[kind].begins == pd.Timestamp(row["from"], tz=zone)
        assert spans[kind].ends == pd.Timestamp(row["to"], tz=zone)
    assert spans["flat line"].ends - spans["flat line"].begins == pd.Timedelta("18h")
    assert spans["gap"].ends - spans["gap"].begins == pd.Timedelta("3D")
    assert "12 min ahead at 2026-04-18" in spans["clock drift"].found


def test_swapped_sensors_are_flagged_where_the_headings_are_believed(
    trial: Trial, planted: pd.DataFrame
) -> None:
    swapped = planted[planted["kind"] == "swapped sensors"].set_index("measure")
    file = swapped["file"].iloc[0].removeprefix(f"{FOLDER}/")
    entry = next(one for one in trial.diary.loggers if one.file == file)
    named = {value.measure: value.column for value in entry.values}
    assert named == swapped["column"].to_dict()
    assert named[SOIL].startswith("Canopy")
    assert named[CANOPY].startswith("Soil")
    believed = [
        value.model_copy(update={"column": named[CANOPY if value.measure == SOIL else SOIL]})
        for value in entry.values
    ]
    naive = read_by(trial, told_otherwise(trial.diary, file, values=believed))
    flags = [flag for flag in naive.flags if flag.kind == "swapped sensors"]
    assert {(flag.file, flag.plot, flag.measure) for flag in flags} == {
        (swapped["file"].iloc[0], swapped["plot"].iloc[0], SOIL)
    }


def test_days_are_read_as_they_were(days: pd.DataFrame, planted: pd.DataFrame) -> None:
    stuck = stuck_days(planted)
    places = list(zip(days["date"], days["plot"], days["measure"], strict=True))
    sound = days[[place not in stuck for place in places]]
    wanted = len(truth_table("temperatures"))
    # In one plot the days without power, and those on which it went and came, are lacking.
    assert len(days) == wanted - 2 * 4
    for measure, own in sound.groupby("measure"):
        apart = own["mean"] - own["mean_true"]
        assert apart.abs().max() < NEAR[measure]
        assert abs(apart.mean()) < 0.02
    assert len(days) - len(sound) == 2


def test_readings_are_as_true_as_sensors_tell(
    read: LoggersRead, truth: heat_balance.Temperatures, planted: pd.DataFrame
) -> None:
    noise = {SOIL: 0.05, CANOPY: 0.1}
    stuck = planted.loc[planted["kind"] == "stuck sensor", "plot"].item()
    for (plot, measure), own in read.readings.groupby(["plot", "measure"]):
        if plot == stuck:
            continue
        apart = own["value"] - truth.at(pd.DatetimeIndex(own["time"]), measure, plot)
        # Rounding to 0.1 degF or 0.05 degC adds at most 0.056**2 / 12 to the variance.
        sd = np.hypot(noise[measure], 0.056 / 12**0.5)
        assert apart.std() == pytest.approx(sd, rel=0.1), (plot, measure)
        assert abs(apart.mean()) < 4 * sd / np.sqrt(len(own))


def test_the_clock_that_ran_fast_is_corrected(
    trial: Trial, truth: heat_balance.Temperatures, planted: pd.DataFrame
) -> None:
    drifting = planted[planted["kind"] == "drifting clock"].iloc[0]
    plot, file = drifting["plot"], drifting["file"].removeprefix(f"{FOLDER}/")
    apart = {}
    for name, diary in (
        ("corrected", trial.diary),
        ("as shown", told_otherwise(trial.diary, file, clock=None)),
    ):
        readings = read_by(trial, diary).readings
        own = readings[(readings["plot"] == plot) & (readings["measure"] == CANOPY)]
        april = own[own["time"] >= pd.Timestamp("2026-04-01", tz="UTC")]
        times = pd.DatetimeIndex(april["time"])
        apart[name] = (april["value"] - truth.at(times, CANOPY, plot)).std()
        last = times[-1]
        late = logger_files.LAST - last
        minutes = {"corrected": 12, "as shown": 0}[name]
        assert late / pd.Timedelta("1min") == pytest.approx(minutes, abs=0.1)
    assert apart["corrected"] < 0.12  # noise of 0.1 degC and its rounding
    assert apart["as shown"] > 2 * apart["corrected"]


def gains(days: pd.DataFrame, facts: Mapping[str, str]) -> pd.DataFrame:
    """Give how much warmer covered plots were than open ones, by day, cover and measure."""
    first, last = temperature_truth.LAID
    under = days[days["date"].between(first, last)]
    means = under.groupby(["measure", "date", "cover"])[list(facts)].mean().rename(columns=facts)
    apart = means - means.xs("open", level="cover")
    return apart.drop(index="open", level="cover")


def test_what_covers_add_comes_back(days: pd.DataFrame) -> None:
    found = gains(days, {fact: fact for fact in FACTS}).groupby(["measure", "cover"]).mean()
    true = truth_table("temperature_gains").set_index(["measure", "left"])[FACTS]
    for place, row in true.iterrows():
        assert found.loc[place, "mean"] == pytest.approx(row["mean"], abs=0.05)
        assert found.loc[place, ["minimum", "maximum"]].tolist() == pytest.approx(
            row[["minimum", "maximum"]].tolist(), abs=0.15
        )


def test_what_covers_add_lies_within_the_stated_bounds(
    days: pd.DataFrame, truth: heat_balance.Temperatures
) -> None:
    # Bounds (from memory): soil at 4 in on the mean of a day 0.5 to 3 degC, canopy at the peak of
    # a sunny day 4 to 10 degC, at the low of a night 0.5 to 2 degC; snow takes most of it.
    found = gains(days, {f"{fact}_true": fact for fact in FACTS}).reset_index()
    by_cover = found.groupby(["measure", "cover"])[FACTS].mean()
    assert by_cover.loc[SOIL, "mean"].between(0.5, 3).all()
    assert by_cover.loc[CANOPY, "minimum"].between(0.5, 2).all()
    local = truth.times.tz_convert(heat_balance.ZONE)
    # What clouds leave of the sun, as in the generator: Kasten and Czeplak 1980 (from memory).
    left = pd.Series(1 - 0.75 * truth.clouds**3.4).groupby(local.strftime("%Y-%m-%d")).mean()
    snowy = pd.Series(False, left.index)
    for first, gone, _ in heat_balance.SNOW:
        snowy |= (snowy.index >= first) & (snowy.index <= gone)
    peaks = found[found["measure"] == CANOPY].set_index("date")["maximum"]
    sunny = peaks[(left[peaks.index] >= 0.85).to_numpy() & ~snowy[peaks.index].to_numpy()]
    assert len(sunny) >= 2 * 10
    assert sunny.between(4, 10).all()
    lying = peaks[snowy[peaks.index].to_numpy()]
    assert lying.mean() < sunny.mean() / 2


def test_the_days_on_which_the_soil_had_warmed_come_back(read: LoggersRead) -> None:
    soil = by_site(read)
    soil = soil[soil["measure"] == SOIL]
    facts = daily_facts(soil)
    facts = facts[facts["date"] <= temperature_truth.DAYS[1]]
    means = truth_table("temperatures")
    means = means[means["measure"] == SOIL].pivot(index="date", columns="plot", values="mean")
    warmest = means.rolling(temperature_truth.OVER).mean().max()
    apart = []  # of those that had come when the loggers were lifted
    for row in truth_table("soil_reached").itertuples():
        own, readings = (table[table["plot"] == row.plot] for table in (facts, soil))
        level, over = temperature_truth.REACHES, temperature_truth.OVER
        day = mean_reached(own["date"], own["mean"], level, over)
        if (day is None) != (row.mean_reached == ""):
            assert abs(warmest[row.plot] - level) < NEAR[SOIL], row  # it came close, or just did
        by_day = from_readings(readings["time"], readings["value"], temperature_truth.BASE)
        first = pd.Timestamp(temperature_truth.LAID[0]).date()
        sums = summed(by_day["date"], by_day["degree_days"], first)
        at = reached(sums["date"], sums["total"], temperature_truth.TOTAL)
        assert at is not None, row
        apart += [
            abs((found.normalize() - pd.Timestamp(true)).days)
            for found, true in ((day, row.mean_reached), (at, row.sum_reached))
            if found is not None and true
        ]
    assert max(apart) <= 1
    assert np.mean(apart) < 0.2
