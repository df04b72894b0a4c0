"""What stands between plots and sun, and what a person reads where it is told wrongly."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from wintersward.trial import read_definition
from wintersward.trial.reading import placed
from wintersward.trial.schema import Shade
from wintersward.trial.shade import shade_plot_problems

Change = Callable[..., list[str]]

NORTH = ("  blocks_follow: shade of the stand\n", "  north: 350\n")
STAND = "{name: stand, height: 30 ft, distance: 40 ft, bearing: 200, length: 120 ft}"
OAKS = "{name: oaks, azimuth: [350, 20], height_angle: 18, plots: [101, 1B]}"
EITHER = "either height, distance and bearing, or azimuth and height_angle"


def shaded(*entries: str, zone: str = "America/New_York") -> tuple[str, str]:
    lines = "".join(f"    - {entry}\n" for entry in entries)
    told = f"  time_zone: {zone}\n" if zone else ""
    return "  country: US\n", f"  country: US\n{told}  shade:\n{lines}"


def read(folder: Path) -> list[Shade]:
    definition, problems = read_definition(folder)
    assert definition is not None, problems
    return definition.site.shade


def test_a_stand_and_far_trees(change: Change, tmp_path: Path) -> None:
    assert change(NORTH, shaded(STAND, OAKS)) == []
    stand, oaks = read(tmp_path)
    # 30 ft are 9.144 m, 40 ft 12.192 m, 120 ft 36.576 m (NIST SP 811, appendix B.8).
    assert (stand.height, stand.distance, stand.length) == pytest.approx((9.144, 12.192, 36.576))
    assert (stand.is_stand, stand.bearing, stand.plots) == (True, 200.0, "all plots")
    assert (oaks.is_stand, oaks.azimuth, oaks.height_angle) == (False, [350.0, 20.0], 18.0)
    assert oaks.plots == ["101", "1B"]


def test_a_stand_may_have_no_end_and_a_horizon_may_run_all_around(
    change: Change, tmp_path: Path
) -> None:
    hills = "{name: hills, azimuth: [0, 360], height_angle: 2.5, plots: all plots}"
    assert change(NORTH, shaded(STAND.replace(", length: 120 ft", ""), hills)) == []
    assert [one.length for one in read(tmp_path)] == [None, None]


FAULTS: dict[str, tuple[list[tuple[str, str]], list[str]]] = {
    "no place and no zone": (
        [
            shaded(OAKS, zone=""),
            ("  latitude: 43.1\n", ""),
            ("  longitude: -77.6\n", ""),
        ],
        [
            "trial.yaml:9:3: site: found no latitude beside 'shade'; allowed: where the site lies; "
            "add 'latitude: ...' in degrees, or remove the shade",
            "trial.yaml:9:3: site: found no longitude beside 'shade'; allowed: where the site "
            "lies; add 'longitude: ...' in degrees, or remove the shade",
            "trial.yaml:9:3: site: found no time_zone beside shade; allowed: the IANA name of the "
            "time zone of the ground; add 'time_zone: ...', such as 'time_zone: America/New_York'",
        ],
    ),
    "a stand without north": (
        [shaded(STAND)],
        [
            "trial.yaml:13:62: site.shade.1.bearing: found a bearing; allowed: bearings where the "
            "layout tells north; add 'north: ...' under layout: degrees clockwise from up the map "
            "to north"
        ],
    ),
    "a stand beside several grounds": (
        [NORTH, shaded(STAND), ("  blocks: 6\n", "  blocks: 3\n  grounds: {u: Upper, l: Lower}\n")],
        [
            "trial.yaml:13:62: site.shade.1.bearing: found a distance from the middle of the "
            "trial; allowed: azimuth and height_angle where there are several grounds; each ground "
            "has its own middle; list the plots of one under 'plots'"
        ],
    ),
    "told in both ways, in none, in half": (
        [
            shaded(
                STAND.replace("bearing: 200", "azimuth: [90, 130]"),
                "{name: hill}",
                "{name: wall, height: 3 ft, bearing: 10}",
                "{name: oaks, height_angle: 18}",
                "{name: roof, length: 10 ft}",
            )
        ],
        [
            "trial.yaml:13:62: site.shade.1.azimuth: found azimuth beside height; "
            f"allowed: {EITHER}; remove one of them",
            "trial.yaml:14:7: site.shade.2: found nothing of where it stands; "
            f"allowed: {EITHER}; add 'height: ...'",
            f"trial.yaml:15:7: site.shade.3: found no distance; allowed: {EITHER}; "
            "add 'distance: ...'",
            f"trial.yaml:16:7: site.shade.4: found no azimuth; allowed: {EITHER}; "
            "add 'azimuth: ...'",
            "trial.yaml:17:7: site.shade.5: found no height and no distance and no bearing; "
            f"allowed: {EITHER}; add 'height: ...'",
        ],
    ),
    "numbers that cannot be": (
        [
            shaded(
                STAND.replace("200", "361").replace("30 ft", "0 ft").replace("40 ft", "40"),
                "{name: oaks, azimuth: [90, -5], height_angle: 90}",
                "{name: elms, azimuth: [90], height_angle: 0}",
            )
        ],
        [
            "trial.yaml:13:29: site.shade.1.height: found '0 ft'; allowed: more than 0",
            "trial.yaml:13:45: site.shade.1.distance: found '40'; allowed: a number and a unit (m, "
            "cm, mm, ft, in, yd), such as '10 ft'",
            "trial.yaml:13:58: site.shade.1.bearing: found '361'; allowed: 360 or less",
            "trial.yaml:14:34: site.shade.2.azimuth.2: found '-5'; allowed: 0 or more",
            "trial.yaml:14:53: site.shade.2.height_angle: found '90'; allowed: less than 90",
            "trial.yaml:15:29: site.shade.3.azimuth: found 1 entry; allowed: at least 2",
            "trial.yaml:15:49: site.shade.3.height_angle: found '0'; allowed: more than 0",
        ],
    ),
    "one bearing, and plots of a stand": (
        [
            NORTH,
            shaded(
                STAND.replace("}", ", plots: [101]}"),
                "{name: oaks, azimuth: [90, 90], height_angle: 18}",
            ),
        ],
        [
            "trial.yaml:13:90: site.shade.1.plots: found plots; allowed: none beside height and "
            "distance: how each plot is shaded follows from them; remove the line",
            "trial.yaml:14:29: site.shade.2.azimuth: found '90' twice; allowed: two bearings, "
            "clockwise, such as [90, 130]; all around is [0, 360]",
        ],
    ),
    "plots by another word": (
        [shaded(OAKS, OAKS, OAKS.replace("oaks", "elms").replace("[101, 1B]", "all covered"))],
        [
            "trial.yaml:15:65: site.shade.3.plots: found 'all covered'; allowed: all plots, or a "
            "list of plots such as [101, 102]"
        ],
    ),
    "one name twice": (
        [shaded(OAKS, OAKS)],
        ["trial.yaml:14:14: site.shade.2.name: found 'oaks' a second time; name each once"],
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_what_is_wrong_is_told_where_it_stands(change: Change, name: str) -> None:
    changes, said = FAULTS[name]
    assert change(*changes) == said


def test_plots_that_the_plan_does_not_have(change: Change, tmp_path: Path) -> None:
    twice = OAKS.replace("[101, 1B]", "[101, 7Z, 101]")
    assert change(NORTH, shaded(STAND, twice)) == []
    found = shade_plot_problems(read(tmp_path), ["101", "102", "1B"])
    assert [str(one) for one in placed(tmp_path, found)] == [
        "trial.yaml:14:71: site.shade.2.plots.2: found '7Z'; allowed: a plot of plan/plots.csv "
        "(101, 102, 1B)",
        "trial.yaml:14:75: site.shade.2.plots.3: found '101' a second time; name each plot once",
    ]
