"""Flags for looks under covers, and for visits, plots and ratings that are lacking."""

from __future__ import annotations

from typing import Any

import pytest

from records.flag_fields import DATES, lines, plots, row, table

PLOTS = list(plots()["plot"])
UNDER = "under a cover"
SPELL: dict[str, Any] = {"on": "2026-01-19", "off": "2026-03-12"}
NAMED = [plot for plot, cover in zip(PLOTS, plots()["cover"], strict=True) if cover != "open"]
TO_DO = (
    "rule: nothing is observed between covers on and covers off unless they are lifted; if the "
    "covers were lifted for the look, tell it under cover_events in diary.yaml; otherwise look at "
    "the date on the sheet"
)
MISSING = "bring it in, or tell under missing in diary.yaml why it was not taken"


def whole(day: str, measure: str, without: tuple[str, ...] = (), **more: Any) -> list[Any]:
    return [row(day, plot, measure, 5, **more) for plot in PLOTS if plot not in without]


class TestUnderACover:
    def test_a_look_while_a_cover_lay_is_told(self) -> None:
        seen = [row("2026-03-10", "101", "pull_force", 40, line=17, rater="rx")]
        said = lines(seen, {"covers": [SPELL]}, kind=UNDER)
        place = "sheets/pull_force.csv, row 17, column pull_force"
        found = "plot 101 was observed while the diary has a cover there"
        assert said == [f"{place}: flag under a cover: {found}; {TO_DO}"]

    def test_a_visit_is_one_flag_with_every_plot_in_the_table(self) -> None:
        found = table(whole("2026-03-10", "pull_force"), {"covers": [SPELL]})
        found = found[found["kind"] == UNDER]
        assert list(found["plot"]) == [", ".join(NAMED)]
        assert list(found["found"]) == [
            "24 plots were observed while the diary has a cover there: "
            "101, 102, 105, 106, 201, 202, ..."
        ]
        said = lines(whole("2026-03-10", "pull_force"), {"covers": [SPELL]}, kind=UNDER)
        assert said[0].startswith("pull_force, 2026-03-10: flag under a cover: 24 plots")

    def test_a_photo_is_told_by_its_file(self) -> None:
        source = "photos/2026-03-10/101.jpg"
        seen = [row("2026-03-10", "101", "green_cover", 0, source=source)]
        (said,) = lines(seen, {"covers": [SPELL]}, [], kind=UNDER)
        assert said.startswith(f"{source}, green_cover: flag under a cover: plot 101")
        assert said.endswith("otherwise look at the date of the photo")

    @pytest.mark.parametrize(
        ("plot", "diary"),
        [
            ("103", {"covers": [SPELL]}),  # drawn without a cover
            ("101", {}),
            ("101", {"covers": [SPELL | {"off": "2026-03-10"}]}),
            ("101", {"covers": [SPELL | {"on": "2026-03-10"}]}),
            ("101", {"covers": [{"on": "2026-01-19"}]}),  # reaches to the planned end, 9 March
            ("101", {"covers": [SPELL | {"plots": ["1B", "1C"]}]}),
            (
                "101",
                {
                    "covers": [SPELL],
                    "cover_events": [
                        {"date": "2026-03-10", "what": "lifted"},
                        {"date": "2026-03-10", "what": "laid again"},
                    ],
                },
            ),
            (
                "101",
                {
                    "covers": [SPELL],
                    "cover_events": [{"date": "2026-03-08", "what": "blown off", "plots": ["1A"]}],
                },
            ),
        ],
    )
    def test_open_turf_is_not(self, plot: str, diary: dict[str, Any]) -> None:
        assert lines([row("2026-03-10", plot, "pull_force", 40)], diary, kind=UNDER) == []

    @pytest.mark.parametrize(
        "diary",
        [
            {"covers": [SPELL | {"plots": ["1A"]}]},
            {"covers": [{"on": "2026-03-09", "plots": ["101"]}]},  # laid late, still there
            {
                "covers": [SPELL],
                "cover_events": [{"date": "2026-03-10", "what": "lifted", "plots": ["2A"]}],
            },
        ],
    )
    def test_what_lies_by_name_or_still_lies_counts(self, diary: dict[str, Any]) -> None:
        seen = [row("2026-03-10", "101", "pull_force", 40)]
        assert len(lines(seen, diary, kind=UNDER)) == 1


class TestMissedVisit:
    KIND = "missed visit"
    SEEN = [*whole("2026-03-24", "weeds"), *whole("2026-03-10", "weeds")]

    def test_a_planned_date_without_anything_is_told_once_a_later_one_is_there(self) -> None:
        said = [line for line in lines(self.SEEN, kind=self.KIND) if line.startswith("weeds")]
        found = "no value at all, though there are some of 2026-03-24"
        rule = "every planned visit has values or is declared missing"
        assert said == [
            f"weeds, 2026-03-16: flag missed visit: {found}; rule: {rule}; {MISSING}",
        ]

    def test_another_measure_makes_it_late_too_and_the_same_day_does_not(self) -> None:
        found = table(self.SEEN)
        missed = found[(found["kind"] == self.KIND) & (found["measure"] == "pull_force")]
        assert [f"{day:%Y-%m-%d}" for day in missed["date"]] == list(DATES[:3])

    def test_all_declared_missing_is_none_and_one_plot_less_is(self) -> None:
        lost = {"measure": "weeds", "date": "2026-03-16", "reason": "frost"}
        blocks = [lost | {"plot": f"{block}{part}"} for block in range(1, 7) for part in "ABC"]
        assert not any("weeds" in line for line in lines(self.SEEN, {"missing": blocks}))
        whole_visit = {"date": "2026-03-16", "plots": "all plots", "reason": "snow"}
        said = lines(self.SEEN, {"missing": [whole_visit]}, kind=self.KIND)
        assert not any("2026-03-16: flag" in line for line in said)
        assert any("2026-01-15: flag" in line for line in said)
        few = lines(self.SEEN, {"missing": blocks[1:]}, kind=self.KIND)
        assert [line[:17] for line in few if "weeds" in line] == ["weeds, 2026-03-16"]

    def test_excluded_values_are_there(self) -> None:
        seen = [*self.SEEN, *whole("2026-03-16", "weeds", excluded="hail")]
        assert not any("weeds" in line for line in lines(seen))


class TestPartOfAVisit:
    KIND = "part of a visit"

    def test_plots_without_a_value_are_named(self) -> None:
        said = lines(whole("2026-03-10", "weeds", ("204", "101")), kind=self.KIND)
        assert said == [
            "weeds, 2026-03-10: flag part of a visit: no value for 2 of 36 plots: 101, 204; rule: "
            f"a value for every plot, or an entry under missing; {MISSING}"
        ]

    def test_of_many_six_are_named_and_the_table_holds_all(self) -> None:
        found = table(whole("2026-03-10", "weeds", tuple(PLOTS[:7])))
        part = found[found["kind"] == self.KIND]
        assert list(part["plot"]) == [", ".join(PLOTS[:7])]
        assert part["found"].iloc[0].endswith("7 of 36 plots: 101, 102, 103, 104, 105, 106, ...")

    def test_samples_are_named(self) -> None:
        seen = [
            row("2026-03-24", plot, "torque", 20, sample=sample)
            for plot in PLOTS
            for sample in (1, 2, 3)
            if (plot, sample) not in {("102", 2), ("103", 1), ("103", 3)} and plot != "104"
        ]
        lost = {"plot": "102", "measure": "torque", "date": "2026-03-24", "reason": "spike bent"}
        found = "values lacking for 2 of 36 plots: 103 (samples 1, 3), 104"
        rule = "3 values for every plot, or an entry under missing"
        assert lines(seen, {"missing": [lost | {"sample": 2}]}, kind=self.KIND) == [
            f"torque, 2026-03-24: flag part of a visit: {found}; rule: {rule}; {MISSING}"
        ]
        (said,) = lines(seen, {"missing": [lost | {"sample": 1}]}, kind=self.KIND)
        assert "3 of 36 plots: 102 (sample 2), 103 (samples 1, 3), 104" in said

    def test_what_is_declared_or_excluded_or_whole_is_none(self) -> None:
        lost = {"plot": "1A", "measure": "weeds", "date": "2026-03-10", "reason": "a hose"}
        seen = whole("2026-03-10", "weeds", ("101", "102"))
        assert lines(seen, {"missing": [lost]}, kind=self.KIND) == []
        shut = [row("2026-03-10", plot, "weeds", 5, excluded="dog") for plot in ("101", "102")]
        assert lines([*seen, *shut], kind=self.KIND) == []

    def test_neither_a_second_look_nor_an_unscored_photo_stands_in(self) -> None:
        seen = whole("2026-03-10", "weeds", ("101",))
        again = row("2026-03-10", "101", "weeds", 5, flags="repeat")
        assert len(lines([*seen, again], kind=self.KIND)) == 1
        photos = whole("2026-03-10", "green_cover", ("101",))
        dark = row("2026-03-10", "101", "green_cover", float("nan"))
        assert len(lines([*photos, dark], kind=self.KIND)) == 1


class TestRaterSawOnlySomePlots:
    KIND = "rater saw only some plots"

    @staticmethod
    def rated(rater: str, without: tuple[str, ...] = ()) -> list[Any]:
        return whole("2026-03-10", "colour_rating", without, rater=rater)

    def test_plots_that_others_rated_are_named(self) -> None:
        seen = [*self.rated("te", ("101", "102", "103")), *self.rated("rx", ("103",))]
        said = lines(seen)
        done = "bring it in, or tell under missing in diary.yaml why it was not"
        rule = "every rater rates every plot, or has an entry under missing"
        part = [line for line in said if "part of a visit" in line and "colour" in line]
        assert [line.split(";")[0] for line in part] == [
            "colour_rating, 2026-03-10: flag part of a visit: no value for 1 of 36 plots: 103"
        ]
        assert [line for line in said if self.KIND in line] == [
            f"colour_rating, 2026-03-10, rater te: flag {self.KIND}: te rated 33 of 36 plots; "
            f"others also rated 101, 102; rule: {rule}; {done} rated"
        ]

    def test_a_rater_who_rated_nothing_is_told_where_another_did(self) -> None:
        (said,) = lines(self.rated("te"), kind=self.KIND)
        assert said.startswith(
            f"colour_rating, 2026-03-10, rater rx: flag {self.KIND}: rx rated none of 36 plots; "
            "others rated 101, 102, 103, 104, 105, 106, ...;"
        )

    def test_what_is_declared_is_none(self) -> None:
        seen = [*self.rated("te", ("101", "102")), *self.rated("rx")]
        lost = {"measure": "colour_rating", "date": "2026-03-10", "reason": "rain"}
        own = {"missing": [lost | {"plot": "1A", "rater": "te"}]}
        assert lines(seen, own, kind=self.KIND) == []
        other = {"missing": [lost | {"plot": "1A", "rater": "rx"}]}
        assert len(lines(seen, other, kind=self.KIND)) == 1

    def test_nobody_there_is_a_missed_visit_alone(self) -> None:
        seen = [*self.rated("te"), *self.rated("rx")]
        assert lines(seen, kind=self.KIND) == []
        assert all("2026-01-15" in line for line in lines(seen) if "colour_rating" in line)
