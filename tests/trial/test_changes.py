from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest

from wintersward.trial import read_definition
from wintersward.trial.changes import NO_REASON, Changed, changes_since, definition_paths
from wintersward.trial.frozen import FOLDER, Frozen
from wintersward.trial.schema import Deviation

PLOTS = "plot,block,cover,x_m,walk\n101,1,open,0,1\n102,1,fleece,3.6,2\n103,1,woven,7.2,3\n"
Since = Callable[..., tuple[Changed, ...]]


@pytest.fixture
def since(tmp_path: Path, sound: str) -> Since:
    """Freeze the sound definition, change it, and tell what was changed."""

    def tell(
        *changes: tuple[str, str], plots: str = PLOTS, deviations: tuple[Deviation, ...] = ()
    ) -> tuple[Changed, ...]:
        text = sound
        for old, new in changes:
            assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
            text = text.replace(old, new)
        folder = tmp_path / FOLDER
        folder.mkdir(parents=True)
        (folder / "trial.yaml").write_text(sound, encoding="utf-8")
        (folder / "plots.csv").write_text(PLOTS, encoding="utf-8")
        (tmp_path / "trial.yaml").write_text(text, encoding="utf-8")
        (tmp_path / "plan" / "plots.csv").write_text(plots, encoding="utf-8")
        was, now = read_definition(folder)[0], read_definition(tmp_path)[0]
        assert was is not None
        assert now is not None
        at = dt.datetime(2026, 1, 12, tzinfo=dt.UTC)
        frozen = Frozen(folder, at, "0.1.0", {}, (), was)
        return changes_since(frozen, tmp_path, now, deviations)

    return tell


def deviation(field: str | None, reason: str) -> Deviation:
    return Deviation(date="2026-03-20", what="changed", reason=reason, field=field)


def test_nothing_was_changed(since: Since) -> None:
    assert since() == ()


def test_a_line_with_old_and_new_as_written(since: Since) -> None:
    (found,) = since(("matters_from: 8 points", "matters_from: 5 points"))
    assert (found.path, found.old, found.new) == (
        "analysis.primary.matters_from",
        "8 points",
        "5 points",
    )
    assert found.touches == {"primary"}
    assert str(found) == f"analysis.primary.matters_from: 8 points -> 5 points; {NO_REASON}"


@pytest.mark.parametrize(
    "change",
    [
        ("plot_size: [10 ft, 6 ft]", "plot_size: [120 in, 2 yd]"),
        ("alpha: 0.05", "alpha: 5e-2"),
        ("  alpha: 0.05\n", ""),
        ("alpha: 0.05", "alpha: 0.05\n  covariate: none"),
        ("covers_on: 2026-01-19", "covers_on: '2026-01-19'"),
    ],
)
def test_what_is_only_written_otherwise_is_no_change(since: Since, change: tuple[str, str]) -> None:
    assert since(change) == ()


def test_a_line_that_came_and_one_that_went(since: Since) -> None:
    came, went = since(
        ("alpha: 0.05", "alpha: 0.05\n  caught_up_within: 5 points"),
        ("report_to: Invented County Turf Program\n", ""),
    )
    assert (came.path, came.old, came.new) == ("analysis.caught_up_within", "nothing", "5 points")
    assert (went.path, went.old, went.new) == (
        "report_to",
        "Invented County Turf Program",
        "nothing",
    )
    assert went.touches == frozenset()


def test_lists_are_one_line_and_entries_count_from_one(since: Since) -> None:
    named, dated = since(
        ("name: T. Example", "name: U. Example"),
        ("dates: [2026-03-24, 2026-04-17]", "dates: [2026-03-24]"),
    )
    assert (named.path, named.new) == ("people.2.name", "U. Example")
    assert (dated.path, dated.old) == ("measures.pull_force.dates", "[2026-03-24, 2026-04-17]")


def test_a_part_that_came_whole_is_one_change(since: Since) -> None:
    (found,) = since(("alpha: 0.05", "days_gained: {measure: green_cover, level: 60 %}"))
    assert found.new == "{measure: green_cover, level: 60 %}"
    assert found.touches == {"days_gained"}


def test_reasons_come_from_the_deviation_that_names_the_line(since: Since) -> None:
    visits = "2026-03-16, 2026-03-24"
    said = (
        deviation("dates.visits", "heavy rain"),
        deviation("dates", "the ground was closed"),
        deviation(None, "no line"),
        deviation("dates.visit", "another line"),
        deviation("layout", "yet another"),
    )
    (found,) = since((visits, "2026-03-17, 2026-03-24"), deviations=said)
    assert found.reason == "heavy rain; the ground was closed"


def test_a_deviation_may_name_a_part_of_what_came_whole(since: Since) -> None:
    said = (deviation("analysis.days_gained.level", "asked by the program"),)
    (found,) = since(
        ("alpha: 0.05", "days_gained: {measure: green_cover, level: 60 %}"), deviations=said
    )
    assert found.reason == "asked by the program"


class TestPlots:
    def test_a_plot_that_was_treated_otherwise(self, since: Since) -> None:
        swapped = PLOTS.replace("101,1,open", "101,1,fleece").replace("102,1,fleece", "102,1,open")
        said = (deviation("plan/plots.csv", "the rolls were swapped"),)
        first, second = since(plots=swapped, deviations=said)
        assert (first.path, first.old, first.new) == (
            "plan/plots.csv:101",
            "cover open",
            "cover fleece",
        )
        assert first.touches == second.touches == {"everything"}
        assert second.reason == "the rolls were swapped"

    def test_a_plot_that_was_moved_came_or_went(self, since: Since) -> None:
        moved = PLOTS.replace("3.6", "3.9").replace("103,1", "104,1")
        by = {one.path: one for one in since(plots=moved)}
        assert by["plan/plots.csv:102"].new == "x_m 3.9"
        assert by["plan/plots.csv:103"].new == "nothing"
        assert by["plan/plots.csv:104"].old == "nothing"

    def test_another_walk_touches_nothing_and_another_spelling_is_none(self, since: Since) -> None:
        (found,) = since(plots=PLOTS.replace("3.6,2", "3.60,4"))
        assert (found.new, found.touches) == ("walk 4", frozenset())


def test_paths_hold_what_is_written_and_what_could_be(since: Since, tmp_path: Path) -> None:
    since()
    definition, _ = read_definition(tmp_path)
    assert definition is not None
    known = definition_paths(definition)
    for path in ("dates.visits", "analysis.primary.on", "people.1.name", "analysis.logit_offset"):
        assert path in known
    assert "measures.green_cover.from" in known
    assert "dates.visit" not in known


class TestValues:
    @pytest.fixture
    def told(self, tmp_path: Path, since: Since) -> Callable[[str, str], list[str]]:
        def tell(old: str, new: str) -> list[str]:
            assert since() == ()
            folder = tmp_path / FOLDER
            for path, text in (
                (folder / "plot_values.csv", old),
                (tmp_path / "plan" / "plot_values.csv", new),
            ):
                if text:
                    path.write_text(text, encoding="utf-8")
            definition = read_definition(tmp_path)[0]
            assert definition is not None
            at = dt.datetime(2026, 1, 12, tzinfo=dt.UTC)
            files = {"plot_values.csv": ""} if old else {}
            frozen = Frozen(folder, at, "0.1.0", files, (), definition)
            reason = [deviation("plan/plot_values.csv", "read again")]
            found = changes_since(frozen, tmp_path, definition, reason)
            assert all(one.touches == frozenset() for one in found)
            return [str(one) for one in found]

        return tell

    def test_one_value(self, told: Callable[[str, str], list[str]]) -> None:
        rows = "plot,sun\n101,3\n102,4.0\n"
        assert told(rows, rows.replace("101,3", "101,5").replace("4.0", "4")) == [
            "plan/plot_values.csv:101: sun 3 -> sun 5; read again"
        ]

    @pytest.mark.parametrize("came", [True, False])
    def test_the_whole_table(self, told: Callable[[str, str], list[str]], came: bool) -> None:
        rows = "plot,sun\n101,3\n102,4\n"
        said = "nothing -> values of 2 plots" if came else "values of 2 plots -> nothing"
        found = told("", rows) if came else told(rows, "")
        assert found == [f"plan/plot_values.csv: {said}; read again"]
