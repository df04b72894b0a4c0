"""The blemishes of the example study: each is found by what should find it, and nothing else is."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from openpyxl import load_workbook

import field_model
import kept_sheets
import make_example
import season_weather
from e2e.example import EXAMPLE, copied
from wintersward import records
from wintersward.analysis import raters
from wintersward.analysis.cover_history import covered_days
from wintersward.records.observations import REPEAT
from wintersward.study import Trial, open_study, unscored

MADE_OF_MARKS = ["date", "plot", "rater"]


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    return open_study(copied(tmp_path_factory.mktemp("blemishes") / "study"))


@pytest.fixture(scope="module")
def seen(trial: Trial) -> pd.DataFrame:
    """Give every observation, with dates as text; photos are not scored."""
    frame = unscored(trial)
    return frame.assign(date=frame["date"].dt.strftime("%Y-%m-%d"))


@pytest.fixture(scope="module")
def truth() -> field_model.FieldTruth:
    return field_model.draw_truth(pd.read_csv(EXAMPLE / "plan" / "plots.csv", dtype=str))


@pytest.fixture(scope="module")
def planted() -> pd.DataFrame:
    table = pd.read_csv(EXAMPLE / "truth" / "blemishes.csv", dtype=str, keep_default_na=False)
    return table.assign(measure=table["file"].map(measure_of))


def measure_of(file: str) -> str:
    if file.startswith("photos/"):
        return "green_cover"
    return {kept_sheets.RATINGS: "colour_rating", kept_sheets.PULLS: "pull_force"}.get(file, "")


def told(planted: pd.DataFrame, by: str) -> pd.DataFrame:
    return planted[planted["found_by"].str.contains(by, regex=False)]


def flags(trial: Trial, observations: pd.DataFrame) -> pd.DataFrame:
    """Flag what is on the sheets."""
    measures = ["colour_rating", "pull_force"]
    found = records.flag_table(
        observations, trial.definition, trial.diary, trial.plots, measures=measures
    )
    return found.assign(date=found["date"].dt.strftime("%Y-%m-%d"))


def lbf(newtons: pd.Series) -> pd.Series:
    return newtons / 4.4482216152605  # one pound-force, exactly (NIST SP 811, 2008, B.8)


def test_every_row_and_value_of_the_sheets_is_accounted_for(
    trial: Trial, planted: pd.DataFrame
) -> None:
    sums = trial.sheet_sums().set_index("file")
    ratings, pulls = sums.loc[kept_sheets.RATINGS], sums.loc[kept_sheets.PULLS]
    looks, second = 6 * 2 * 36, 6 * 2 * 4  # visits, raters, plots; 10 % of 36 plots are 4
    assert ratings["values"] == looks + second
    assert ratings["values_repeated"] == second
    assert ratings["values_excluded"] == len(told(planted, "two plots swapped")) == 2
    # The title, the headings and the note; the second look at 105 is left out with the first.
    assert ratings[["rows", "headings", "empty"]].tolist() == [looks + second + 3, 2, 1]
    assert ratings["excluded"] == 3
    assert ratings["unread"] == kept_sheets.HEADINGS[-1]
    assert pulls[["rows", "headings", "empty", "excluded"]].tolist() == [217, 1, 1, 1]
    assert pulls[["values", "values_missing", "values_excluded"]].tolist() == [216, 1, 1]
    assert (sums[["wrong", "values_wrong"]] == 0).all(axis=None)
    assert (sums["values"] == sums.filter(like="values_").sum(axis=1)).all()


def test_the_sheets_hold_what_the_list_says(planted: pd.DataFrame) -> None:
    page = load_workbook(EXAMPLE / kept_sheets.RATINGS).active
    cells = [cell for row in page.iter_rows(values_only=True) for cell in row if cell is not None]
    texts = [cell for cell in cells if isinstance(cell, str)]
    ratings = planted[planted["file"] == kept_sheets.RATINGS]
    for row in ratings[ratings["kind"] != "two plots swapped"].itertuples():
        assert row.written in texts, row
    lines = (EXAMPLE / kept_sheets.PULLS).read_text(encoding="utf-8").splitlines()
    for row in planted[planted["file"] == kept_sheets.PULLS].itertuples():
        assert f"{row.date},{row.plot},{row.sample},{row.written}" in lines
    for row in planted[planted["file"].str.startswith("photos/")].itertuples():
        assert (EXAMPLE / row.file).exists() == (row.kind != "photo not there")


def test_what_is_read_is_true_but_for_what_was_planted(
    seen: pd.DataFrame, truth: field_model.FieldTruth, planted: pd.DataFrame
) -> None:
    again = field_model.draw_second_looks(truth.ratings, make_example.planned_second_looks(truth))
    ratings = seen[seen["measure"] == "colour_rating"]
    for drawn, flag in ((truth.ratings, ""), (again, REPEAT)):
        read = ratings[ratings["flags"] == flag].merge(drawn, on=MADE_OF_MARKS)
        assert len(read) == len(drawn) == (ratings["flags"] == flag).sum()
        wrong = read[read["value"] != read["rating"]]
        listed = told(planted, "two plots swapped") if flag == "" else planted.iloc[:0]
        assert set(wrong["plot"]) == set(listed["plot"])
        assert sorted(wrong["value"].astype(int).astype(str)) == sorted(listed["written"])
    pulls = seen[seen["measure"] == "pull_force"]
    pulls = pulls.merge(
        truth.pulls,
        how="right",
        left_on=["date", "plot", "sample"],
        right_on=["date", "plot", "pull"],
    )
    off = pulls[~np.isclose(lbf(pulls["value"]), pulls["force"], atol=1e-6)]
    listed = planted[planted["file"] == kept_sheets.PULLS]
    assert off["force"].map("{:.1f}".format).tolist() == listed["true"].tolist()


def test_every_slip_is_flagged_until_the_diary_sets_it_aside(
    trial: Trial, planted: pd.DataFrame
) -> None:
    everything = unscored(trial)
    before = flags(trial, everything.assign(excluded=""))
    after = flags(trial, everything)
    slips = told(planted, "flag: ")
    assert len(slips) == 3
    for slip in slips.itertuples():
        kind = slip.found_by.partition("; ")[0].removeprefix("flag: ")
        for table, there in ((before, True), (after, False)):
            of_kind = table[(table["kind"] == kind) & (table["measure"] == slip.measure)]
            of_kind = of_kind[(of_kind["date"] == slip.date) & (of_kind["rater"] == slip.rater)]
            named = [slip.plot in plots.split(", ") for plots in of_kind["plot"]]
            assert named == ([True] if there else []), (slip, table)
    swapped = told(planted, "two plots swapped")
    sure = before[(before["kind"] == "second look differs") & (before["date"] == "2026-03-10")]
    assert set(sure["plot"]) & set(swapped["plot"]) == {"105"}  # rx's own second look


def test_nothing_else_is_flagged_but_three_second_looks(trial: Trial) -> None:
    # A rater's two marks differ with a standard deviation of sqrt(2 (0.45**2 + 1/12)) = 0.76, so
    # that 3 of 100 second looks lie two whole marks or more from the first (counted in a million
    # drawn): 1 or 2 of 47 are to be expected, and three came.
    found = flags(trial, unscored(trial))
    assert found[["kind", "date", "plot", "rater"]].to_numpy().tolist() == [
        ["second look differs", "2026-01-15", "102", "te"],
        ["second look differs", "2026-03-10", "406", "rx"],
        ["second look differs", "2026-03-16", "106", "rx"],
    ]


def test_the_diary_sets_aside_what_was_planted_and_tells_what_is_missing(
    trial: Trial, seen: pd.DataFrame, planted: pd.DataFrame
) -> None:
    aside = seen[(seen["excluded"] != "") & (seen["flags"] != REPEAT)]
    listed = told(planted, "diary: exclusion")
    places = ["measure", "date", "plot", "rater"]
    assert sorted(map(tuple, aside[places].to_numpy())) == sorted(
        map(tuple, listed[places].to_numpy())
    )
    missing = {(e.measure, e.date.isoformat(), e.plot) for e in trial.diary.missing}
    listed = told(planted, "diary: missing")
    assert missing == set(map(tuple, listed[["measure", "date", "plot"]].to_numpy()))
    for measure, date, plot in missing:
        here = seen[(seen["measure"] == measure) & (seen["date"] == date) & (seen["plot"] == plot)]
        assert len(here) == trial.definition.measures[measure].per_plot - 1


def test_the_bias_between_the_raters_is_recovered(seen: pd.DataFrame) -> None:
    marks = field_model.rater_table().set_index("rater")["severity"]
    true = float(marks["rx"] - marks["te"])
    used = seen[(seen["measure"] == "colour_rating") & (seen["excluded"] == "")]
    first = used[used["flags"] != REPEAT]
    wide = raters.complete(first)
    found = raters.severity(wide).pivot_table(index="date", columns="rater", values="severity")
    by_date = found["te"] - found["rx"]
    apart = wide["te"] - wide["rx"]
    # Marks of two raters differ by the bias and by chance that is new for every plot and date:
    # the standard error of a mean of n differences is their standard deviation over sqrt(n).
    sd, plots = float(apart.std()), wide.groupby(level="date").size()
    overall = float((by_date * plots).sum() / plots.sum())
    assert len(wide) == 6 * 36 - 2
    assert overall == pytest.approx(true, abs=3 * sd / np.sqrt(len(wide)))
    assert ((by_date - true).abs() <= 3 * sd / np.sqrt(plots)).all()
    assert 3 * sd / np.sqrt(len(wide)) < true / 2  # narrow enough to tell it from none


def test_the_spread_of_a_rater_is_recovered_from_second_looks(seen: pd.DataFrame) -> None:
    used = seen[(seen["measure"] == "colour_rating") & (seen["excluded"] == "")]
    first, again = used[used["flags"] != REPEAT], used[used["flags"] == REPEAT]
    pairs = again.merge(first, on=MADE_OF_MARKS, suffixes=("_again", ""))
    for rater, true in field_model.rater_table().set_index("rater")["repeat_sd"].items():
        own = pairs[pairs["rater"] == rater]
        apart = own["value_again"] - own["value"]
        # Dahlberg (1940, from memory): half the mean square of the differences. Rounding to
        # whole marks adds 1/12 (Sheppard 1898, from memory); of n squares of normal differences
        # the standard error is the variance times sqrt(2 / n).
        found = float((apart**2).mean() / 2)
        whole = true**2 + 1 / 12
        assert len(own) == {"te": 24, "rx": 23}[str(rater)]
        assert found == pytest.approx(whole, abs=3 * whole * np.sqrt(2 / len(own)))


def test_the_weather_is_read_but_for_two_days(trial: Trial, planted: pd.DataFrame) -> None:
    assert trial.diary.weather is not None
    read = records.read_weather(trial.folder, trial.diary.weather)
    assert read.problems == []
    drawn = season_weather.draw_weather()
    absent, empty = planted.loc[planted["file"] == kept_sheets.STATION, "date"]
    assert [gap.found.split()[-1] for gap in read.gaps] == ["2026-02-20"]
    days = read.days.assign(date=read.days["date"].dt.strftime("%Y-%m-%d")).set_index("date")
    drawn = drawn.assign(date=drawn["date"].astype(str)).set_index("date")
    assert set(drawn.index) - set(days.index) == {absent}
    assert days.loc[empty, ["low", "high", "rain"]].isna().all()
    measured = days.drop(index=empty)
    wanted = drawn.loc[measured.index]
    for column in ("low", "high"):
        assert np.allclose(measured[column], (wanted[column] - 32) / 1.8)
    assert np.allclose(measured["rain"], wanted["rain"].fillna(0) * 25.4)
    normals = trial.diary.weather.normals
    assert normals is not None
    assert "invented" in normals.source
    for month, (low, high, rain, frost) in season_weather.NORMALS.items():
        stated = normals.months[month]
        assert (stated.low, stated.high) == pytest.approx(((low - 32) / 1.8, (high - 32) / 1.8))
        assert (stated.rain, stated.days_below_zero) == pytest.approx((rain * 25.4, frost))


def test_what_the_diary_tells_fits_the_weather(trial: Trial) -> None:
    drawn = season_weather.draw_weather().set_index("date")
    snow = [event.date for event in trial.diary.cover_events if event.what == "snow"]
    assert len(snow) == 4
    for day in snow:
        assert drawn.loc[day, "rain"] > 0
        assert drawn.loc[day, "low"] < 32
    assert drawn.loc[pd.Timestamp(kept_sheets.NOTE_DAY).date(), "rain"] > 0
    for entry in trial.diary.management:
        if entry.what in ("mowing", "nitrogen", "water", "traffic"):
            assert drawn.loc[entry.date, "high"] > 32


def test_a_cover_that_was_off_for_a_night_changes_no_treatment(trial: Trial) -> None:
    days = covered_days(trial)
    covered = trial.plots[trial.plots["cover"].astype(str) != "open"].set_index("plot")
    by_whole = days[covered.index].groupby(covered["whole_plot"]).agg(["min", "max"])
    assert by_whole.loc["4B"].tolist() == [48, 48]
    assert (by_whole.drop(index="4B") == 49).all(axis=None)


def test_the_files_are_the_same_each_time(tmp_path: Path, truth: field_model.FieldTruth) -> None:
    plots = pd.read_csv(EXAMPLE / "plan" / "plots.csv", dtype=str)
    written = []
    for name in ("once", "again"):
        make_example.write_records(tmp_path / name, truth, plots)
        files = sorted(path for path in (tmp_path / name).rglob("*") if path.is_file())
        written.append({path.relative_to(tmp_path / name): path.read_bytes() for path in files})
    assert written[0] == written[1]
    assert len(written[0]) == 9
    for name, content in written[0].items():
        kept = (EXAMPLE / name).read_bytes()
        if name.suffix == ".xlsx":  # how well a workbook is packed depends on the computer
            assert parts(kept) == parts(content)
        else:
            assert kept == content, name


def parts(book: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(book)) as packed:
        return {name: packed.read(name) for name in packed.namelist()}
