"""Flags for values that do not fit their plot: jumps, and two plots taken for one another."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from records.flag_fields import DATES, definition, field, lines, plots, pulls, row, table
from wintersward.records import flag_table
from wintersward.records.flag_history import course
from wintersward.records.flag_parts import Wording
from wintersward.trial import Diary

PLOTS = list(plots()["plot"])
SWAP = "two plots swapped"
FIVE = "at most 5 times the usual spread"
LEAVE = "look at the sheet, and leave a value that is right"
Floats = np.ndarray[Any, np.dtype[np.float64]]


def noise(size: tuple[int, int], sd: float = 2.0) -> Floats:
    return np.random.default_rng(4).normal(0, sd, size)


def read(days: tuple[str, ...] = DATES, shade: float = 12.0, sd: float = 2.0) -> pd.DataFrame:
    """Draw a clean season of pulls."""
    true = field(np.random.default_rng(7), shade=shade, days=days)
    return true + noise(true.shape, sd)


def odd(observations: pd.DataFrame, kind: str = "") -> pd.DataFrame:
    found = table(observations)
    kinds = [kind] if kind else ["jump", SWAP]
    return found[found["kind"].isin(kinds)].reset_index(drop=True)


class TestJumps:
    def test_a_clean_season_has_none(self) -> None:
        assert odd(pulls(read())).empty

    def test_a_value_far_from_its_plots_own_course_is_told(self) -> None:
        wrong = read()
        wrong.loc["2026-03-16", "204"] += 22
        assert lines(pulls(wrong), kind="jump") == [
            "sheets/pull_force.csv, row 83, column pull_force: flag jump: 69.7 lbf, 22.7 lbf more "
            f"than this plot's own course; rule: {FIVE} away from it; {LEAVE}"
        ]
        (flag,) = odd(pulls(wrong)).itertuples()
        assert (flag.measure, flag.date, flag.plot) == (
            "pull_force",
            pd.Timestamp("2026-03-16"),
            "204",
        )
        assert (flag.rater, flag.sample, flag.unit) == ("", "1", "N")
        assert flag.value == pytest.approx(69.7 * 4.4482216, rel=1e-7)

    def test_a_value_within_the_limit_is_none(self) -> None:
        near = read()
        near.loc["2026-03-16", "204"] += 8
        assert odd(pulls(near)).empty

    @pytest.mark.parametrize("factor", [0.1, 10])
    def test_a_slipped_decimal_point_is_told(self, factor: float) -> None:
        wrong = read()
        wrong.loc["2026-04-17", "611" if "611" in wrong else "606"] *= factor
        assert list(odd(pulls(wrong))["plot"]) == ["606"]

    def test_what_treatments_do_is_no_jump(self) -> None:
        done = read()
        covered = list(plots().loc[plots()["cover"] == "woven", "plot"])
        hollow = list(plots().loc[plots()["aeration"] == "hollow", "plot"])
        done.loc["2026-03-10", covered] += 40
        done.loc["2026-04-04":, hollow] -= 30
        assert odd(pulls(done)).empty

    @pytest.mark.parametrize(("day", "cells"), [("2026-03-25", 3), ("2026-03-26", 6)])
    def test_a_treatment_counts_from_the_day_after_it_was_applied(
        self, day: str, cells: int
    ) -> None:
        known, name = definition(), "pull_force"
        words = Wording(known.measures[name])
        found = course(pulls(read((day,))), name, known, plots(), words)
        assert found.share.sum() == pytest.approx(cells)

    def test_an_excluded_value_is_neither_told_nor_used(self) -> None:
        wrong = read()
        wrong.loc["2026-03-16", "204"] += 22
        seen = pulls(wrong)
        there = (seen["plot"] == "204") & (seen["date"] == "2026-03-16")
        seen.loc[there, "excluded"] = "the scale fell"
        assert odd(seen).empty

    @pytest.mark.parametrize("late", [False, True])
    def test_of_two_dates_that_disagree_the_one_far_from_its_like_is_told(self, late: bool) -> None:
        days = ("2026-03-24", "2026-04-17")
        wrong = read(days)
        wrong.loc[days[late], "204"] += 30
        assert list(odd(pulls(wrong))["date"]) == [pd.Timestamp(days[late])]

    def test_too_little_says_nothing(self) -> None:
        once = read(("2026-03-24",))
        once.loc["2026-03-24", "204"] += 300
        assert odd(pulls(once)).empty
        few = read()[["101", "103", "105"]]
        few.loc["2026-03-16", "103"] += 300
        assert odd(pulls(few)).empty

    def test_of_equal_values_an_ordinary_step_is_none(self) -> None:
        counts = pd.DataFrame(0.0, index=list(DATES), columns=PLOTS)
        counts.loc["2026-03-16", "204"] = 3
        assert odd(pulls(counts)).empty
        counts.loc["2026-03-16", "204"] = 8
        assert list(odd(pulls(counts))["found"]) == [
            "8 lbf, 8 lbf more than this plot's own course"
        ]

    def test_one_sample_of_several_is_told_by_itself(self) -> None:
        rng = np.random.default_rng(3)
        seen = [
            row(day, plot, "torque", round(20 + rng.normal(0, 1), 1), sample=number)
            for day in ("2026-03-24", "2026-04-17")
            for plot in PLOTS
            for number in (1, 2, 3)
        ]
        seen[4] = row("2026-03-24", "102", "torque", 33.4, sample=2, line=6)
        (said,) = lines(seen, kind="jump")
        assert said.startswith("sheets/torque.csv, row 6, column torque: flag jump: 33.4 N.m, 13.")


class TestSpreads:
    def uneven(self, times: float = 8.0) -> pd.DataFrame:
        """Draw a season in which plots under one cover differ far more than all others."""
        loud = (plots()["cover"] == "fleece").to_numpy()
        true = field(np.random.default_rng(7)) + 80
        return true + noise(true.shape) * np.where(loud, times, 1.0)

    def test_plots_of_one_treatment_are_held_against_their_own_spread(self) -> None:
        assert odd(pulls(self.uneven())).empty
        wrong = self.uneven()
        quiet = str(plots().loc[plots()["cover"] == "open", "plot"].iloc[3])
        wrong.loc["2026-03-16", quiet] += 30
        assert list(odd(pulls(wrong))["plot"]) == [quiet]

    def test_a_date_on_which_one_treatment_differs_more_has_its_own_spread(self) -> None:
        loud = list(plots().loc[plots()["cover"] == "fleece", "plot"])
        wild = read()
        wild.loc["2026-03-16", loud] += np.random.default_rng(2).normal(0, 12, len(loud))
        assert odd(pulls(wild)).empty

    def test_the_words_do_not_tell_how_treatments_spread(self) -> None:
        wrong = self.uneven()
        loud, quiet = (
            plots().loc[plots()["cover"] == c, "plot"].iloc[5] for c in ("fleece", "open")
        )
        wrong.loc["2026-03-16", loud] += 220
        wrong.loc["2026-03-16", quiet] += 40
        found = odd(pulls(wrong), "jump")
        assert set(found["plot"]) == {loud, quiet}
        assert set(found["rule"]) == {f"{FIVE} away from it"}


class TestGrounds:
    @staticmethod
    def flagged(apart: float, grounds: bool, second: str = "456") -> int:
        """Move one ground on one date, and count the values flagged."""
        laid = plots()
        there = laid["block"].isin(list(second))
        seen = read()
        seen.loc["2026-03-16", list(laid.loc[there, "plot"])] += apart
        if grounds:
            laid = laid.assign(ground=np.where(there, "east", "west"))
        found = flag_table(pulls(seen), definition(), Diary(), laid)
        return int(found["kind"].isin(["jump", SWAP]).sum())

    @pytest.mark.parametrize("apart", [30.0, -30.0])
    def test_a_ground_that_is_off_on_one_date_is_no_jump(self, apart: float) -> None:
        assert self.flagged(apart, True) == 0

    def test_a_ground_of_too_few_plots_alike_is_held_against_all(self) -> None:
        assert self.flagged(30.0, True, "6") == self.flagged(30.0, False, "6") > 0


class TestRatings:
    @staticmethod
    def rated(*changed: tuple[str, str, str, float]) -> list[tuple[Any, ...]]:
        marks = {
            (day, plot, who): 5 + (who == "rx") + (int(plot) + len(day + who) + at) % 2 / 2
            for at, day in enumerate(DATES)
            for plot in PLOTS
            for who in ("te", "rx")
        }
        marks |= {(day, plot, who): mark for day, plot, who, mark in changed}
        return [row(d, p, "colour_rating", mark, rater=w) for (d, p, w), mark in marks.items()]

    def test_marks_far_from_the_course_are_told_in_marks(self) -> None:
        seen = self.rated(("2026-03-16", "204", "te", 9))
        assert lines(seen, kind="jump") == [
            "sheets/colour_rating.csv, row 2, column colour_rating: flag jump: 9, 3.5 marks more "
            "than this plot's own course; rule: less than 2 marks, or than 5 times the usual "
            f"spread, away from it; {LEAVE}"
        ]

    def test_less_than_two_marks_are_none_however_alike_the_others_are(self) -> None:
        seen = [
            row(day, plot, "colour_rating", 5, rater=who)
            for day in DATES
            for plot in PLOTS
            for who in ("te", "rx")
        ]
        near = [*seen[1:], row(DATES[0], "101", "colour_rating", 6.5, rater="te")]
        assert lines(near, kind="jump") == []
        far = [*seen[1:], row(DATES[0], "101", "colour_rating", 7, rater="te")]
        (said,) = lines(far, kind="jump")
        assert "7, 2 marks more than this plot's own course; rule: less than 2 marks, or" in said


class TestSwaps:
    # Shade of 40 lbf along the blocks: 101 and 601 are far apart, and under one cover.
    @staticmethod
    def exchanged(first: str, second: str, day: str = "2026-03-16") -> pd.DataFrame:
        seen = read(shade=40)
        seen.loc[day, [first, second]] = seen.loc[day, [second, first]].to_numpy()
        return seen

    def test_two_plots_taken_for_one_another_are_one_flag_and_no_jumps(self) -> None:
        seen = pulls(self.exchanged("101", "601"))
        assert list(odd(seen)["kind"]) == [SWAP]
        assert lines(seen, kind=SWAP) == [
            "sheets/pull_force.csv, rows 74 and 104, column pull_force: flag two plots swapped: "
            "81.3 lbf on 101 and 40.6 lbf on 601, 40.8 lbf and 36.4 lbf off their own course; "
            "exchanged, 4.3 lbf and 0.1 lbf off; rule: both at most 2.5 times the usual spread off "
            "their own course; look at the sheet and at the order on foot, and leave values that "
            "are right"
        ]
        (flag,) = odd(seen).itertuples()
        assert (flag.plot, flag.sample, flag.unit) == ("101, 601", "1", "")
        assert flag.source == "sheets/pull_force.csv:74; sheets/pull_force.csv:104"
        assert np.isnan(flag.value)

    def test_plots_under_other_treatments_are_told_as_well(self) -> None:
        assert list(odd(pulls(self.exchanged("101", "603")))["plot"]) == ["101, 603"]

    def test_plots_that_were_always_alike_are_not_told(self) -> None:
        seen = read(shade=40)
        seen["102"] = seen["101"]
        assert odd(pulls(seen)).empty

    def test_three_plots_in_a_ring_are_no_pair(self) -> None:
        seen = read(shade=40)
        three = ["101", "301", "601"]
        seen.loc["2026-03-16", three] = seen.loc["2026-03-16", ["301", "601", "101"]].to_numpy()
        assert SWAP not in set(odd(pulls(seen))["kind"])

    def test_one_plot_typed_twice_is_no_pair(self) -> None:
        seen = read(shade=40)
        seen.loc["2026-03-16", "101"] = seen.loc["2026-03-16", "601"]
        assert list(odd(pulls(seen))["kind"]) == ["jump"]

    def test_one_other_date_is_too_little(self) -> None:
        days = ("2026-03-24", "2026-04-17")
        seen = read(days, shade=40)
        seen.loc[days[0], ["101", "601"]] = seen.loc[days[0], ["601", "101"]].to_numpy()
        assert SWAP not in set(odd(pulls(seen))["kind"])

    def test_a_raters_sheet_is_looked_at_by_itself(self) -> None:
        marks = {plot: 3 + int(plot[0]) % 6 for plot in PLOTS}
        seen = []
        for day in DATES:
            for who in ("te", "rx"):
                given = dict(marks)
                if (day, who) == ("2026-03-16", "rx"):
                    given |= {"101": marks["501"], "501": marks["101"]}
                seen += [row(day, p, "colour_rating", m, rater=who) for p, m in given.items()]
        (flag,) = table(seen)[lambda found: found["kind"] == SWAP].itertuples()
        assert (flag.plot, flag.rater) == ("101, 501", "rx")
        assert flag.found == (
            "8 on 101 and 4 on 501, 4 marks and 4 marks off their own course; "
            "exchanged, 0 marks and 0 marks off"
        )


def test_most_swaps_of_unlike_plots_are_found_and_clean_seasons_stay_clean() -> None:
    rng = np.random.default_rng(20260119)
    found, clean = 0, 0
    for _ in range(10):
        true = field(rng, shade=40)
        seen = true + rng.normal(0, 2, true.shape)
        clean += len(odd(pulls(seen)))
        pair = ["101", "601"]
        day = str(rng.choice(list(DATES)))
        seen.loc[day, pair] = seen.loc[day, pair[::-1]].to_numpy()
        found += "101, 601" in set(odd(pulls(seen), SWAP)["plot"])
    assert found >= 9
    assert clean <= 1
