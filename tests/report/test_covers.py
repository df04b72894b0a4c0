from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from types import ModuleType, SimpleNamespace

import pytest
from bs4 import BeautifulSoup

from wintersward.report.covers import covered_spells, covers_table, spells_of
from wintersward.trial import Definition
from wintersward.trial.schema import CoverEvent, CoverSpell, Diary

Days = list[tuple[str, str]]


def said(spells: list[tuple[dt.date, dt.date]] | None) -> Days:
    return [(str(on), str(off)) for on, off in spells or []]


@pytest.fixture
def shaded(definition: Definition, fabricate: ModuleType) -> Callable[..., Days]:
    def make(*covers: CoverSpell) -> Days:
        trial = SimpleNamespace(
            definition=definition, diary=Diary(covers=list(covers)), plots=fabricate.draw_plots()
        )
        return said(spells_of(trial))

    return make


def test_planned_time(definition: Definition, shaded: Callable[..., Days]) -> None:
    assert said(covered_spells(definition)) == [("2026-01-19", "2026-03-09")]
    assert shaded() == []


def test_spells_are_those_of_the_diary(shaded: Callable[..., Days]) -> None:
    spells = [
        CoverSpell(on="2026-02-22", off="2026-03-08"),
        CoverSpell(on="2026-01-20", off="2026-02-20"),
    ]
    assert shaded(*spells) == [("2026-01-20", "2026-02-20"), ("2026-02-22", "2026-03-08")]


def test_a_spell_of_some_plots_shades_nothing_by_itself(shaded: Callable[..., Days]) -> None:
    some = CoverSpell(on="2026-01-20", off="2026-02-20", plots=["1A", "1B"])
    assert shaded(some) == []
    every = CoverSpell(on="2026-02-01", off="2026-03-08")
    assert shaded(some, every) == [("2026-02-01", "2026-03-08")]


def test_time_with_covers_off_most_plots_is_not_shaded(
    definition: Definition, fabricate: ModuleType
) -> None:
    plots = fabricate.draw_plots()
    covered = list(plots.loc[plots["cover"] != "open", "whole_plot"].drop_duplicates())
    half = len(covered) // 2
    events = [
        CoverEvent(date="2026-01-25", what="blown off", plots=covered[:half]),
        CoverEvent(date="2026-01-28", what="laid again", plots=covered[:half]),
        CoverEvent(date="2026-02-05", what="blown off", plots=covered[: half + 1]),
        CoverEvent(date="2026-02-07", what="laid again", plots=covered[: half + 1]),
        CoverEvent(date="2026-02-20", what="lifted"),
    ]
    covers = [CoverSpell(on="2026-01-20", off="2026-03-08")]
    diary = Diary(covers=covers, cover_events=events)
    trial = SimpleNamespace(definition=definition, diary=diary, plots=plots)
    spells = said(spells_of(trial))
    at_the_half = [("2026-01-20", "2026-01-25"), ("2026-01-28", "2026-02-05")]
    assert spells == [*at_the_half, ("2026-02-07", "2026-02-20")]


def test_plots_named_one_by_one_are_everywhere_together(
    shaded: Callable[..., Days], fabricate: ModuleType
) -> None:
    plots = fabricate.draw_plots()
    covered = plots[plots["cover"] != "open"]
    first = sorted(covered.loc[covered["block"] <= "3", "whole_plot"].unique())
    rest = sorted(covered.loc[covered["block"] > "3", "plot"].unique())
    spells = [
        CoverSpell(on="2026-01-20", off="2026-03-08", plots=first),
        CoverSpell(on="2026-01-22", off="2026-02-10", plots=rest),
        CoverSpell(on="2026-02-12", off="2026-03-08", plots=rest),
    ]
    assert shaded(*spells) == [("2026-01-22", "2026-02-10"), ("2026-02-12", "2026-03-08")]


def test_an_open_spell_reaches_to_the_planned_end(shaded: Callable[..., Days]) -> None:
    assert shaded(CoverSpell(on="2026-01-20")) == [("2026-01-20", "2026-03-09")]
    assert shaded(CoverSpell(on="2026-03-20")) == [("2026-03-20", "2026-04-18")]


def test_the_history_has_a_row_a_spell() -> None:
    spells = [
        CoverSpell(on="2026-02-22", plots=["1A", "2B"]),
        CoverSpell(on="2026-01-20", off="2026-02-20", note="gusts"),
    ]
    soup = BeautifulSoup(covers_table(spells), "html.parser")
    rows = [[c.get_text() for c in line.find_all(["th", "td"])] for line in soup.select("tbody tr")]
    assert rows == [
        ["20 January 2026", "20 February 2026", "all plots with a cover", "gusts"],
        ["22 February 2026", "still on", "1A and 2B", ""],
    ]
    assert covers_table([]) == ""
