"""Days gained on the thermometer in words, against small tables made by hand."""

from __future__ import annotations

import pandas as pd
import pytest

from report.climate_made import by_hand, cells, definition_for
from wintersward.analysis.results import empty
from wintersward.report.climate_arrived import arrived_table, arrived_words
from wintersward.report.climate_gained import gained_table, gained_words
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
Made = tuple[Definition, Tables]


@pytest.fixture(scope="module")
def us(tmp_path_factory: pytest.TempPathFactory) -> Made:
    definition = definition_for(tmp_path_factory.mktemp("us"))
    return definition, by_hand(definition)


def paragraphs(
    gained: pd.DataFrame, made: Made, arrived: pd.DataFrame | None = None
) -> list[list[str]]:
    told = made[1]["thermometer"] if arrived is None else arrived
    return [[str(one) for one in said] for said in gained_words(gained, told, made[0])]


class TestThermometer:
    def test_an_interval_where_it_was_tested(self, us: Made) -> None:
        (said,) = paragraphs(us[1]["thermometer_gained"], us)
        assert said[1] == (
            "Plots with spun-bond fleece were there 3.2 days earlier than plots with no cover "
            "(95 % interval 1.0 to 5.5 days earlier)."
        )
        assert said[2] == (
            "Plots with woven permeable cover were there 2.0 days later than plots with no cover "
            "(one logger a treatment: described, not tested)."
        )

    @pytest.mark.parametrize(
        ("days", "lower", "upper", "said"),
        [
            (3.25, 1.0, 5.5, "3.2 days earlier than plots with no cover (95 % interval 1.0 to 5.5"),
            (
                -3.25,
                -5.5,
                -1.0,
                "3.2 days later than plots with no cover (95 % interval 1.0 to 5.5",
            ),
            (
                -0.2,
                -1.0,
                0.6,
                "(95 % interval from 1.0 day later to 0.6 days earlier: these data cannot tell).",
            ),
            (0.0, -0.8, 0.8, "Plots with spun-bond fleece and plots with no cover were there 0.0"),
        ],
    )
    def test_no_end_of_an_interval_is_less_than_nothing_earlier(
        self, us: Made, days: float, lower: float, upper: float, said: str
    ) -> None:
        row = us[1]["thermometer_gained"].iloc[:1]
        ((_, words),) = paragraphs(row.assign(days=days, lower=lower, upper=upper), us)
        assert said in words
        assert "−" not in words
        assert "+" not in words

    def test_days_on_which_treatments_got_there(self, us: Made) -> None:
        reached = us[1]["thermometer"].assign(state="reached", reached=pd.Timestamp("2026-03-20"))
        off = pd.Timestamp("2026-03-05").date()
        assert arrived_words(reached, us[0], off) == (
            "100 degree days (°F d): reached on about 20 March 2026 with no cover and about 17 "
            "March 2026 with spun-bond fleece (single plots on 20 March 2026, over two weeks after "
            "the covers came off)."
        )
        whole = reached.assign(day=[60.0, 60.0])
        assert "about 20 March 2026 with no cover and with spun-bond fleece (" in arrived_words(
            whole, us[0]
        )
        assert arrived_words(reached.assign(level=""), us[0]) == ""

    def test_what_cannot_be_told_is_said_with_its_reason(self, us: Made) -> None:
        untold = us[1]["thermometer_gained"].assign(days=float("nan"), note="cannot be told")
        assert paragraphs(untold, us) == [
            [
                "100 degree days (°F d): one plot got there on 20 March 2026; by 17 April 2026, "
                "the last whole day, the one plot with spun-bond fleece had not.",
                "So no days gained can be told; loggers left in until all plots are there would "
                "tell.",
            ]
        ]
        hidden = us[1]["thermometer"].assign(state=["reached", "not known"])
        (said,) = paragraphs(untold, us, hidden)
        assert said[0].endswith(
            "the one plot with spun-bond fleece cannot be told, since days on which it may have "
            "been there were not seen."
        )
        assert said[1] == "So no days gained can be told."
        reached = us[1]["thermometer"].assign(state="reached", reached=pd.Timestamp("2026-03-20"))
        (said,) = paragraphs(untold.assign(note="a reason"), us, reached)
        assert said[1] == "So no days gained can be told: a reason."
        bound = us[1]["thermometer_gained"].assign(note="at least")
        assert "3.2 days or more earlier" in paragraphs(bound, us)[0][1]

    def test_the_table_has_a_dash_for_what_was_not_tested(self, us: Made) -> None:
        rows = cells(gained_table(us[1]["thermometer_gained"], us[0]))
        assert rows[0][2:] == ["+3.2", "+1.0 to +5.5", "1.00", "10", "0.010"]
        assert rows[1][1:] == ["−2.0", "–", "–", "–", "–"]
        assert (
            "100 degree days (°F d), woven permeable cover minus no cover: one logger a treatment: "
            "described."
        ) in gained_table(us[1]["thermometer_gained"], us[0])
        assert not gained_table(empty("thermometer_gained"), us[0])

    def test_a_measure_that_all_share_is_named_below_the_table(self, us: Made) -> None:
        goal = "Soil at 4 in: mean of 5 days at 50 °F or more"
        gained = us[1]["thermometer_gained"].assign(note="", criterion=goal)
        table = gained_table(gained, us[0])
        assert "minus no cover:" not in table
        assert cells(table)[0][0] == "Mean of 5 days at 50 °F or more"
        assert "Means are of: soil at 4 in." in table

    def test_a_list_of_plots(self, us: Made) -> None:
        rows = cells(arrived_table(us[1]["thermometer"]))
        assert rows[0][-3:] == ["1A", "20 March 2026", ""]
        assert rows[1] == ["1B", "–", "not reached while it was watched"]
