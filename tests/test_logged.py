"""Loggers become daily facts, and daily facts become observations."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pandas as pd
import pytest

from logged_study import COVERS, changed, drawn_with, opened_with
from wintersward.analysis import model_for
from wintersward.analysis.variance_parts import readings
from wintersward.errors import WinterswardError
from wintersward.logged import OF_WHOLE_PLOT, logger_observations, plots_within
from wintersward.study import Trial, open_study, record_problems, summed_up

FIRST_VISIT = dt.date(2026, 3, 10)
BASE = ["date", "plot", "measure", "position"]


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return drawn_with(tmp_path_factory.mktemp("drawn"), changed())


@pytest.fixture(scope="module")
def trial(drawn: dict[str, bytes], tmp_path_factory: pytest.TempPathFactory) -> Trial:
    return opened_with(drawn, tmp_path_factory.mktemp("logged"))


def facts(*rows: tuple[str, str, str, str, float, float], source: str = "") -> pd.DataFrame:
    """Write daily facts: date, plot, measure, position, mean, completeness."""
    made = pd.DataFrame(rows, columns=[*BASE, "mean", "completeness"])
    made["date"] = pd.to_datetime(made["date"]).astype("datetime64[us]")
    spread = {"minimum": made["mean"] - 1, "maximum": made["mean"] + 2, "amplitude": 3.0}
    said = [
        source or f"loggers/{plot}{where}.csv:9"
        for plot, where in made[["plot", "position"]].values
    ]
    return made.assign(**spread, readings=24, source=said)


class TestObservations:
    def test_every_day_that_was_seen_gives_one_of_each_plot(self, trial: Trial) -> None:
        seen = trial.observations("soil")
        assert seen["date"].min() == pd.Timestamp("2026-01-16")
        # From the day after aeration on, plots within a whole plot are units of their own.
        assert seen["date"].max() == pd.Timestamp("2026-03-25")
        assert len(seen) == 69 * 36
        assert set(seen["flags"]) == {OF_WHOLE_PLOT}
        assert set(seen["unit"]) == {"degC"}
        assert set(seen["sample"]) == {1}
        own = trial.plots.set_index("plot")["whole_plot"]
        assert (
            seen["source"].str.partition(":")[0] == "loggers/" + seen["plot"].map(own) + ".csv"
        ).all()
        first = seen[seen["plot"] == "101"].iloc[:2]
        # The first line of the day, below the headings, by the clock of the site.
        assert first["source"].tolist() == ["loggers/1A.csv:2", "loggers/1A.csv:14"]

    def test_they_are_the_fact_that_the_definition_names(self, trial: Trial) -> None:
        known = trial.logged.facts
        for name, fact in (("soil", "mean"), ("canopy", "maximum")):
            own = known[(known["measure"] == name) & (known["plot"] == "1A")]
            seen = trial.observations(name)
            values = seen[seen["plot"] == "102"]["value"].tolist()
            assert values == pytest.approx(own[fact].tolist()[: len(values)])

    def test_they_are_analysed_as_any_other(self, trial: Trial) -> None:
        model = model_for(trial, "soil", FIRST_VISIT)
        assert model.skeleton.unit_kind == "whole plot"
        assert len(model.data) == 18
        assert trial.ready
        assert len(readings(trial, model)) == 18, "one logger of a whole plot is one reading"

    def test_a_logger_that_ended_early_is_waited_for(
        self, drawn: dict[str, bytes], tmp_path: Path
    ) -> None:
        short = opened_with(drawn, tmp_path, last="2026-03-10")
        assert not short.ready
        assert len(short.outstanding) == 36
        assert summed_up(short).loggers == 18


class TestSensorsAndWholePlots:
    def made(self, trial: Trial, rows: pd.DataFrame) -> pd.DataFrame:
        return logger_observations(trial.definition, trial.plots, rows)

    def test_a_day_that_was_hardly_seen_gives_none(self, trial: Trial) -> None:
        rows = facts(
            ("2026-02-01", "101", "soil", "", 3.0, 0.9),
            ("2026-02-02", "101", "soil", "", 3.0, 0.89),
        )
        assert self.made(trial, rows)["date"].dt.day.tolist() == [1]

    def test_several_sensors_make_one_value(self, trial: Trial) -> None:
        rows = facts(
            ("2026-02-01", "101", "soil", "a", 3.0, 1.0),
            ("2026-02-01", "101", "soil", "b", 5.0, 1.0),
            ("2026-02-02", "101", "soil", "a", 3.0, 1.0),
            ("2026-02-02", "101", "soil", "b", 5.0, 0.2),
        )
        found = self.made(trial, rows)
        assert found["value"].tolist() == [4.0, 3.0]
        assert found["flags"].tolist() == ["", "1 of 2 sensors"]
        assert found["source"].iloc[0] == "loggers/101a.csv:9; loggers/101b.csv:9"

    def test_the_logger_of_a_plot_goes_before_that_of_its_whole_plot(self, trial: Trial) -> None:
        rows = facts(
            ("2026-02-01", "1A", "soil", "", 3.0, 1.0), ("2026-02-01", "101", "soil", "", 9.0, 1.0)
        )
        found = self.made(trial, rows).set_index("plot")
        assert found["value"].to_dict() == {"101": 9.0, "102": 3.0}
        assert found["flags"].to_dict() == {"101": "", "102": OF_WHOLE_PLOT}

    @pytest.mark.parametrize(("day", "plots"), [("2026-03-25", 2), ("2026-03-26", 0)])
    def test_a_whole_plot_is_one_unit_until_what_is_within_differs(
        self, trial: Trial, day: str, plots: int
    ) -> None:
        assert len(self.made(trial, facts((day, "1A", "soil", "", 3.0, 1.0)))) == plots
        assert len(self.made(trial, facts((day, "101", "soil", "", 3.0, 1.0)))) == 1

    def test_names_that_stand_for_plots(self, trial: Trial) -> None:
        assert plots_within(trial.plots, "1A") == ["101", "102"]
        assert plots_within(trial.plots, "9Z") == []


class TestReading:
    def test_exclusions_hold_for_loggers(self, drawn: dict[str, bytes], tmp_path: Path) -> None:
        out = "exclusions: [{plot: 1A, measure: soil, date: 2026-03-10, reason: wire cut}]\n"
        seen = opened_with(drawn, tmp_path, diary=COVERS + out).observations("soil")
        assert seen[seen["excluded"] != ""]["plot"].tolist() == ["101", "102"]

    def test_what_is_wrong_stops_and_is_told_with_its_rows(
        self, drawn: dict[str, bytes], tmp_path: Path
    ) -> None:
        study = opened_with(drawn, tmp_path).folder
        path = study / "loggers" / "1A.csv"
        lines = path.read_text(encoding="utf-8").splitlines()
        lines[4] = f"{lines[4].rpartition(',')[0]},warm"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        said = [str(one) for one in record_problems(study)]
        assert said[0].startswith("loggers/1A.csv, row 5, column Canopy: found 'warm'")
        assert said[-1].startswith("loggers/1A.csv, Canopy, plot 1A: 1117 rows = ")
        assert "1 that cannot be read" in said[-1]
        with pytest.raises(WinterswardError, match="'warm'"):
            open_study(study).observations()

    def test_limits_of_risks_that_do_not_go_together(
        self, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
    ) -> None:
        own = ("canopy_heat: {above: 15 degC, hours: 3}", "grey_snow_mould: {above: 9 degC}")
        drawn = drawn_with(tmp_path_factory.mktemp("own"), changed(own))
        study = tmp_path / "study"
        study.mkdir()
        (said,) = [str(one) for one in record_problems(opened_with(drawn, study).folder)]
        assert said.startswith("trial.yaml:")
        assert "climate.risks.grey_snow_mould: found from 9 to 7 degC; allowed: the lower" in said

    def test_a_study_without_loggers_has_none(
        self, drawn: dict[str, bytes], tmp_path: Path
    ) -> None:
        bare = opened_with(drawn, tmp_path)
        for path in (bare.folder / "loggers").iterdir():
            path.unlink()
        (bare.folder / "diary.yaml").write_text(COVERS, encoding="utf-8")
        trial = open_study(bare.folder)
        assert trial.logged.readings.empty
        assert trial.logged.facts.empty
        assert trial.observations().empty


def test_flags_leave_loggers_to_their_own_checks(trial: Trial) -> None:
    assert trial.flags().empty
