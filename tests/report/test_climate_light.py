"""Sun and light in words, against a small table made by hand."""

from __future__ import annotations

import pandas as pd
import pytest

from report.climate_made import by_hand, cells, definition_for, plots
from wintersward.analysis.results import empty
from wintersward.report.climate_light import (
    basis_words,
    cover_light_words,
    factor_words,
    light_table,
    lost_words,
    turf_light_table,
)
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
Made = tuple[Definition, Tables]


@pytest.fixture(scope="module")
def us(tmp_path_factory: pytest.TempPathFactory) -> Made:
    definition = definition_for(tmp_path_factory.mktemp("us"))
    return definition, by_hand(definition)


class TestLight:
    def test_what_the_surroundings_take(self, us: Made) -> None:
        said = str(lost_words(us[1]["sun_hours"], us[0]))
        assert said == (
            "What stands around (stand) takes most in February 2026: an estimated 10 % of the "
            "light of plot 101, and 0 % of that of plot 103."
        )
        assert str(lost_words(empty("sun_hours"), us[0])) == ""

    def test_month_by_month(self, us: Made) -> None:
        rows = cells(light_table(us[1]["sun_hours"]))
        assert rows[0] == [
            "February 2026", "8.0", "10.0", "10.0", "18.0", "20.0", "20.0", "0", "10",
        ]  # fmt: skip

    def test_light_on_the_turf_by_treatment(self, us: Made) -> None:
        rows = cells(turf_light_table(us[1]["sun_hours"], plots(), us[0]))
        assert rows[0] == ["February 2026", "No cover", "18.0", "18.0", "0", "28"]
        assert rows[1] == ["Spun-bond fleece", "15.2", "15.2", "28", "28"]
        assert not turf_light_table(us[1]["sun_hours"], None, us[0])

    def test_what_covers_keep_back_is_said_to_be_taken_for_granted(self, us: Made) -> None:
        said = [str(one) for one in cover_light_words(us[1]["sun_hours"], plots(), us[0], ["May"])]
        assert said == [
            "While it lay, spun-bond fleece is taken to keep back 20 % and woven permeable cover "
            "40 % of the light, by the definition; nobody measured it here.",
            "For February 2026 under a clear sky that is 15 under spun-bond fleece and 12 under "
            "woven permeable cover in place of 18 mol m⁻² d⁻¹.",
            "Cloud, and snow on covers or turf (by the diary from May on), took more, from open "
            "plots too.",
        ]
        # While the comparison waits no plots are given, and no light of a treatment is told.
        waits = cover_light_words(us[1]["sun_hours"], None, us[0])
        assert [str(one) for one in waits] == [
            said[0],
            "Cloud, and snow on covers or turf, took more, from open plots too.",
        ]

    def test_light_that_was_measured_is_told_from_that_of_a_clear_sky(self, us: Made) -> None:
        hours = us[1]["sun_hours"]
        assert basis_words(hours).endswith("not measured; measured light would be lower.")
        march = hours["light_from"].where(
            hours["month"] < "2026-03-01", "radiation of the weather file"
        )
        said = basis_words(hours.assign(light_from=march))
        assert "The light of March 2026 is that of the radiation in the weather file" in said

    def test_the_number_that_turns_energy_into_light_is_named(self, us: Made) -> None:
        said = factor_words(us[1]["sun_hours"])
        assert "0.5 of the energy of the sun times 4.6 µmol J⁻¹ (in use with flux towers" in said
        assert factor_words(empty("sun_hours")) == ""
