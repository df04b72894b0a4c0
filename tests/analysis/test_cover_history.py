"""What each unit got: covers that failed, open ground that was covered."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from analysis.dated import BLOCKS, COVER, SPLIT, TINE, dated_trial
from wintersward.analysis import model_for
from wintersward.analysis.cover_history import Received, covered_days, received
from wintersward.analysis.sensitivity import sensitivity
from wintersward.errors import WinterswardError
from wintersward.study import Trial, open_study
from wintersward.trial.applied import cover_factor

# Covers were planned from 31 December 2025 to 1 March 2026: 60 days.
ALL = "  - {on: 2025-12-31, off: 2026-03-01, plots: all covered}\n"
Told = Callable[..., Trial]
TWO = """\
  cover:
    control: open
    levels: {open: {label: open}, fleece: {label: fleece}}
"""


@pytest.fixture
def told(tmp_path: Path) -> Told:
    """Open a study whose diary tells of the given covers."""

    def make(covers: str, **how: Any) -> Trial:
        trial = dated_trial(tmp_path / "study", lambda plot, day: 50.0 + int(plot.plot) % 7, **how)
        (trial.folder / "diary.yaml").write_text(f"covers:\n{covers}", encoding="utf-8")
        return open_study(trial.folder)

    return make


def got(trial: Trial) -> Received:
    return received(trial, model_for(trial, "cover_share", trial.primary_date))


def named(trial: Trial, level: str, column: str = "plot") -> list[str]:
    return list(dict.fromkeys(trial.plots.loc[trial.plots["cover"] == level, column]))


def test_as_planned(told: Told) -> None:
    trial = told(ALL)
    days = covered_days(trial)
    assert set(days[named(trial, "fleece")]) == {60.0}
    assert set(days[named(trial, "open")]) == {0.0}
    assert not got(trial)


def spells(trial_plots: dict[str, str]) -> str:
    return "".join(
        f"  - {{on: 2025-12-31, off: {off}, plots: ['{plot}']}}\n"
        for plot, off in trial_plots.items()
    )


def test_covers_that_came_off_early(told: Told, tmp_path: Path) -> None:
    plan = dated_trial(tmp_path / "plan", lambda plot, day: 50.0)
    fleece, woven = named(plan, "fleece"), named(plan, "woven")
    off = dict.fromkeys([*fleece, *woven], "2026-03-01")
    # After 29, 31, 58 and 59 of 60 days: less than half, more than half, short, a day's grace.
    ends = ("2026-01-29", "2026-01-31", "2026-02-27", "2026-02-28")
    off |= dict(zip(fleece, ends, strict=False))
    trial = told(spells(off))
    found = got(trial)
    assert found.changed == {fleece[0]: "open"}
    assert found.left_out == tuple(sorted(fleece[1:3]))
    assert covered_days(trial)[fleece[:4]].tolist() == [29, 31, 58, 59]


def test_a_winter_cut_short_for_all_is_no_failure_of_one(told: Told) -> None:
    trial = told("  - {on: 2025-12-31, off: 2026-02-10, plots: all covered}\n")
    assert set(covered_days(trial)[named(trial, "woven")]) == {41.0}
    assert not got(trial)


def test_a_cover_that_is_still_on_and_spells_that_overlap(told: Told) -> None:
    covers = "  - {on: 2025-12-31, off: 2026-01-20, plots: all covered}\n"
    trial = told(covers)
    # On file, overlapping spells are refused; the count bears them all the same.
    later = trial.diary.covers[0].model_copy(update={"on": dt.date(2026, 1, 10), "off": None})
    trial.diary.covers.append(later)
    assert set(covered_days(trial)[named(trial, "fleece")]) == {60.0}


@pytest.mark.parametrize(
    ("treatments", "off", "changed"),
    [(COVER, "2026-02-20", False), (TWO, "2026-02-20", True), (TWO, "2026-01-20", False)],
)
def test_open_ground_that_was_covered(
    told: Told, tmp_path: Path, treatments: str, off: str, changed: bool
) -> None:
    plan = dated_trial(tmp_path / "plan", lambda plot, day: 50.0, treatments=treatments)
    wrong = named(plan, "open")[2]
    trial = told(ALL + spells({wrong: off}), treatments=treatments)
    found = got(trial)
    # Which cover it was is known only where there is one.
    assert found.changed == ({wrong: "fleece"} if changed else {})
    assert found.left_out == (() if changed else (wrong,))


def test_whole_plots_are_named_as_whole(told: Told, tmp_path: Path) -> None:
    how: dict[str, Any] = {"layout": SPLIT, "treatments": COVER + TINE}
    plan = dated_trial(tmp_path / "plan", lambda plot, day: 50.0, **how)
    covered = named(plan, "fleece", "whole_plot") + named(plan, "woven", "whole_plot")
    off = dict.fromkeys(covered, "2026-03-01") | {covered[0]: "2026-01-05"}
    assert got(told(spells(off), **how)).changed == {covered[0]: "open"}


def test_covers_that_were_blown_off_and_laid_again(told: Told, tmp_path: Path) -> None:
    plan = dated_trial(tmp_path / "plan", lambda plot, day: 50.0)
    fleece, woven = named(plan, "fleece"), named(plan, "woven")
    events = (
        f"  - {{date: 2026-01-05, what: blown off, plots: ['{fleece[0]}', '{fleece[1]}']}}\n"
        f"  - {{date: 2026-01-06, what: laid again, plots: ['{fleece[1]}']}}\n"
        f"  - {{date: 2026-02-10, what: lifted, plots: ['{woven[0]}']}}\n"
        f"  - {{date: 2026-02-10, what: laid again, plots: ['{woven[0]}']}}\n"
        f"  - {{date: 2026-02-10, what: lifted, plots: ['{woven[1]}']}}\n"
        f"  - {{date: 2026-02-12, what: laid again, plots: ['{woven[1]}']}}\n"
        "  - {date: 2026-02-01, what: snow, plots: all plots}\n"
    )
    trial = told(ALL + "cover_events:\n" + events)
    days = covered_days(trial)
    # Off for good after 5 days; a night, no night, and two nights without a cover.
    assert days[[fleece[0], fleece[1], woven[0], woven[1]]].tolist() == [5, 59, 60, 58]
    found = got(trial)
    assert found.changed == {fleece[0]: "open"}
    # More than a day short is neither a winter under cover nor an open one.
    assert found.left_out == (woven[1],)


def test_a_diary_without_covers_tells_of_no_failure(told: Told) -> None:
    trial = told("  []\n")
    assert not got(trial)


def test_a_tine_has_no_cover_to_lose(told: Told, tmp_path: Path) -> None:
    trial = told(
        "  - {on: 2025-12-31, off: 2026-01-05, plots: all covered}\n",
        layout=SPLIT,
        treatments=COVER + TINE,
    )
    text = (trial.folder / "trial.yaml").read_text(encoding="utf-8")
    (trial.folder / "trial.yaml").write_text(
        text.replace("[fleece, open]", "[hollow, solid]"), encoding="utf-8"
    )
    assert not got(open_study(trial.folder))


AT_ONCE = TINE.replace("    applied: aeration\n", "")
HEAVY = COVER.replace("woven: {label: woven}", "woven: {label: woven, light: 40 %}")


@pytest.mark.parametrize(
    ("treatments", "named_so"),
    [
        (COVER + TINE, "cover"),
        (COVER + AT_ONCE, "cover"),
        (AT_ONCE + HEAVY.replace("  cover:", "  sheet:"), "sheet"),
        (AT_ONCE + COVER.replace("  cover:", "  sheet:"), None),
    ],
)
def test_which_factor_the_covers_are(told: Told, treatments: str, named_so: str | None) -> None:
    layout = SPLIT if treatments == COVER + TINE else BLOCKS
    trial = told(ALL, treatments=treatments, layout=layout)
    assert cover_factor(trial.definition) == named_so
    if named_so is None:
        assert not got(trial)
        with pytest.raises(WinterswardError, match="which of the treatment factors"):
            covered_days(trial)


def test_tines_that_go_in_with_the_covers_have_none_to_lose(told: Told) -> None:
    trial = told(
        "  - {on: 2025-12-31, off: 2026-01-05, plots: ['101']}\n"
        "  - {on: 2025-12-31, off: 2026-03-01, plots: ['102', '103', '104', '105', '106']}\n",
        treatments=COVER + AT_ONCE,
    )
    assert got(trial)
    text = (trial.folder / "trial.yaml").read_text(encoding="utf-8")
    (trial.folder / "trial.yaml").write_text(
        text.replace("[fleece, open]", "[hollow, solid]"), encoding="utf-8"
    )
    asked = open_study(trial.folder)
    assert not got(asked)
    assert "as treated" not in set(sensitivity(asked)["sensitivity"]["analysis"])
