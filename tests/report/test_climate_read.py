"""What came in from loggers in words, against small tables made by hand."""

from __future__ import annotations

import pandas as pd
import pytest

from report.climate_made import by_hand, definition_for
from wintersward.analysis.results import empty
from wintersward.report.climate_read import flag_words, read_words, removed_words
from wintersward.trial import Definition

Tables = dict[str, pd.DataFrame]
Made = tuple[Definition, Tables]


@pytest.fixture(scope="module")
def us(tmp_path_factory: pytest.TempPathFactory) -> Made:
    definition = definition_for(tmp_path_factory.mktemp("us"))
    return definition, by_hand(definition)


class TestReadings:
    def test_what_was_left_out_is_counted_by_reason(self, us: Made) -> None:
        sums, flags = us[1]["logger_sums"], us[1]["logger_flags"]
        assert read_words(sums, flags) == (
            "Loggers were read: two columns of one file, with 2,002 readings that were used; one "
            "remark on what looks odd."
        )
        said = removed_words(sums)
        assert said == "Readings left out: 4 marked missing and 2 taken for spikes."
        assert removed_words(sums.assign(spike=0, declared_missing=0)) == "No reading was left out."
        none = empty("logger_sums")
        assert removed_words(none) == read_words(none, flags) == ""

    def test_flags_are_told_with_what_was_done_up_to_a_few(self, us: Made) -> None:
        flags = us[1]["logger_flags"].assign(found="no reading for 48 h")
        told = "no reading for 48 h, 1 to 3 February 2026: nothing was filled in."
        assert flag_words(flags) == [f"Plot 1A (soil): {told}"]
        # Both sensors of a plot stood without power: one gap.
        both = pd.concat([flags, flags.assign(measure="canopy")], ignore_index=True)
        assert flag_words(both) == [f"Plot 1A (soil and canopy): {told}"]
        many = pd.concat([flags.assign(plot=f"{n}A") for n in range(9)], ignore_index=True)
        said = flag_words(many)
        assert (len(said), said[-1]) == (7, "three more in the appendix.")

    def test_a_clock_and_a_flat_line_are_told_in_plain_words(self, us: Made) -> None:
        flag = us[1]["logger_flags"]
        drift = flag.assign(
            kind="clock drift",
            plot="",
            measure="",
            found="the clock was right at 2026-01-15 11:00 and 12 min ahead at 2026-04-18 08:00",
            rule="a clock off by 1 min or more; times are corrected, straight in between",
        )
        assert flag_words(drift) == [
            "File a.csv: the clock ran 12 min ahead, by 3 February 2026: times are corrected, "
            "straight in between."
        ]
        flat = flag.assign(kind="flat line", found="19 readings of 10.25 degC in 18 h")
        assert flag_words(flat) == [
            "Plot 1A (soil): 19 equal readings, 1 to 3 February 2026: kept; look at the sensor."
        ]
