"""The usual measures: whole, sourced, filled in where a definition is silent, and contradicted."""

from __future__ import annotations

import re
from dataclasses import dataclass

import pytest

from wintersward.trial.catalogue import (
    CATALOGUE,
    CatalogueMeasure,
    Contradiction,
    contradictions,
    filled,
    kept_apart,
    kinds_not_measured,
    measure_kind,
    reading_unit,
)
from wintersward.trial.schema import SheetMeasure
from wintersward.units import KINDS, UNITS, reader_unit, to_si

RATINGS = ["visual_quality", "colour", "density", "spring_green_up", "sod_seams"]


@dataclass(frozen=True)
class Missile:
    missile: float = 2.25
    drop_height: float = 0.455
    drops: int = 1


@dataclass(frozen=True)
class Described:
    kind: str | None = None
    scale: tuple[float, float] | None = None
    unit_written: str | None = None
    instrument: Missile | None = None


def test_the_catalogue_holds_what_is_usually_taken() -> None:
    assert [name for name, one in CATALOGUE.items() if one.rated] == RATINGS
    told = {name: (one.unit, one.per_plot) for name, one in CATALOGUE.items() if not one.rated}
    assert told == {
        "pull_force": ("N", 3),
        "shear_strength": ("N.m", 3),
        "surface_hardness": ("gravities", 6),
        "root_length": ("m", 3),
        "root_mass_per_core": ("kg", 3),
        "root_mass_per_area": ("kg/m2", 3),
        "soil_moisture": ("%", 3),
        "soil_temperature": ("degC", 1),
        "canopy_temperature": ("degC", 1),
        "living_cover": ("%", 1),
        "winter_injury": ("%", 1),
        "shoot_count": ("shoots", 3),
        "disease_cover": ("%", 1),
        "clippings": ("kg/m2", 1),
        "hole_closure": ("%", 1),
    }
    destructive = [name for name, one in CATALOGUE.items() if one.destructive]
    assert destructive == [
        "pull_force",
        "shear_strength",
        "root_length",
        "root_mass_per_core",
        "root_mass_per_area",
        "shoot_count",
    ]
    assert [n for n, one in CATALOGUE.items() if one.needs_instrument] == ["surface_hardness"]


@pytest.mark.parametrize("one", CATALOGUE.values(), ids=CATALOGUE.keys())
def test_a_measure_says_how_it_is_taken_and_who_says_so(one: CatalogueMeasure) -> None:
    assert CATALOGUE[one.name] is one
    assert one.label[0].isupper()
    assert one.protocol.endswith(".")
    assert ". " not in one.protocol, "one sentence"
    assert one.record
    dated = re.search(r"\b(19|20)[0-9]{2}\b", one.source)
    assert dated or "no source" in one.source or "from memory" in one.source


@pytest.mark.parametrize("one", CATALOGUE.values(), ids=CATALOGUE.keys())
def test_a_measure_has_a_scale_or_units(one: CatalogueMeasure) -> None:
    low, high = one.range
    assert low is not None
    assert high is None or low < high
    if one.rated:
        assert (one.scale, one.acceptable, one.anchor_marks) == ("1-9", 6.0, (1.0, 6.0, 9.0))
        assert (one.unit, one.units) == ("", ())
        return
    assert (one.scale, one.acceptable, one.anchor_marks) == (None, None, ())
    assert UNITS[one.unit].factor == 1.0
    assert {UNITS[unit].dimension for unit in one.units} == {KINDS[one.quantity].dimension}
    assert {reader_unit(one.quantity, "us"), reader_unit(one.quantity, "metric")} <= {*one.units}


# What was published must be a value that may be written.
@pytest.mark.parametrize(
    ("kind", "value", "unit"),
    [
        # Stier, quoted in a shear vane's manual: tears below 10 N.m, exceptional above 20 N.m.
        ("shear_strength", 10.0, "N.m"),
        ("shear_strength", 20.0, "N.m"),
        # Canaway 1990: 20 to 80 gravities under a 0.5 kg missile.
        ("surface_hardness", 20.0, "gravities"),
        ("surface_hardness", 80.0, "gravities"),
        # Sorochan and Rogers: sod is fit for harvest from 17 kgf.
        ("pull_force", 17.0, "kgf"),
        # Dionne 1999: lowest temperature at the crowns of bare turf under thin snow.
        ("canopy_temperature", -20.6, "degC"),
        # North Carolina State University 2005: shoots cease to grow above 90 degF of the soil.
        ("soil_temperature", 90.0, "degF"),
    ],
)
def test_published_values_may_be_written(kind: str, value: float, unit: str) -> None:
    one = CATALOGUE[kind]
    low, high = one.range
    assert unit in one.units
    assert low is not None
    assert low <= to_si(value, unit)
    assert high is None or to_si(value, unit) <= high


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("color", "did you mean colour?"),
        ("hardness", "did you mean surface_hardness?"),
        ("root_mass", "did you mean root_mass_per_core or root_mass_per_area?"),
        ("Pull force", "did you mean pull_force?"),
        ("pulling_force", "did you mean pull_force?"),
        ("clipings", "did you mean clippings?"),
        ("worms", "leave out 'kind' for a measure of your own"),
        ("", "leave out 'kind' for a measure of your own"),
    ],
)
def test_another_kind_is_refused_with_those_that_are_near(name: str, hint: str) -> None:
    with pytest.raises(ValueError, match="one of visual_quality, colour") as refused:
        measure_kind(name)
    allowed, _, told = str(refused.value).partition("; ")
    assert told == hint
    assert allowed == f"one of {', '.join(CATALOGUE)}"


def test_a_kind_is_found_by_its_name() -> None:
    assert measure_kind("clippings") is CATALOGUE["clippings"]


# A balance in a laboratory reads grams, in the US as elsewhere (common practice, no source).
IN_GRAMS = {"root_mass_per_core": "g", "root_mass_per_area": "g/m2", "clippings": "g/m2"}
BARE = {"from": "sheet", "dates": ["baseline"]}


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("name", CATALOGUE)
def test_a_kind_alone_makes_a_measure(name: str, system: str) -> None:
    one = CATALOGUE[name]
    made = filled({**BARE, "kind": name}, system)
    assert made.pop("kind") == name
    measure = SheetMeasure.model_validate(made)
    assert measure.per_plot == one.per_plot
    assert measure.destructive == one.destructive
    if one.rated:
        assert (measure.scale, measure.acceptable) == ((1.0, 9.0), 6.0)
        assert measure.unit_written is None
    else:
        assert measure.unit_written == (IN_GRAMS.get(name) or reader_unit(one.quantity, system))
        assert measure.unit_written == reading_unit(name, one.quantity, system)
        assert measure.unit == one.unit
        assert (measure.scale, measure.acceptable) == (None, None)


@pytest.mark.parametrize("name", CATALOGUE)
def test_filling_twice_changes_nothing_more_and_never_what_was_given(name: str) -> None:
    given = {**BARE, "kind": name}
    made = filled(given, "us")
    assert given == {**BARE, "kind": name}
    assert filled(made, "metric") == made


def test_without_a_system_only_a_unit_that_all_readers_share_is_added() -> None:
    assert "unit" not in filled({"kind": "pull_force"})
    assert "unit" not in filled({"kind": "pull_force"}, "imperial")
    assert filled({"kind": "soil_moisture"})["unit"] == "%"
    assert filled({"kind": "surface_hardness"})["unit"] == "gravities"


def test_what_the_definition_says_stays() -> None:
    written = {"kind": "pull_force", "unit": "N", "per_plot": 5, "destructive": False}
    assert filled(written, "us") == written
    rated = {"kind": "colour", "scale": "1-9", "acceptable": 7, "per_plot": 2, "destructive": True}
    assert filled(rated, "us") == rated


def test_an_empty_field_counts_as_left_out() -> None:
    made = filled({"kind": "pull_force", "unit": None, "per_plot": None}, "us")
    assert (made["unit"], made["per_plot"]) == ("lbf", 3)


@pytest.mark.parametrize("scale", ["1-9", "1 - 9", (1.0, 9.0)])
def test_six_is_acceptable_on_the_usual_scale_only(scale: object) -> None:
    assert filled({"kind": "colour", "scale": scale})["acceptable"] == 6.0
    assert "acceptable" not in filled({"kind": "colour", "scale": "0-10"})
    assert "acceptable" not in filled({"kind": "colour", "scale": (1.0, 5.0)})


def test_nothing_is_added_beside_its_contrary() -> None:
    assert "unit" not in filled({"kind": "pull_force", "scale": "1-9"}, "us")
    made = filled({"kind": "colour", "unit": "%"}, "us")
    assert "scale" not in made
    assert "acceptable" not in made


@pytest.mark.parametrize("kind", [None, "worms", 7, ["colour"]])
def test_a_measure_of_no_known_kind_stays_as_it_is(kind: object) -> None:
    written = {**BARE, "kind": kind}
    assert filled(written, "us") == written
    assert filled(BARE, "us") == BARE


def told(measure: Described) -> list[tuple[str, str, str]]:
    return [(one.field, one.found, one.hint) for one in contradictions(measure)]


@pytest.mark.parametrize(
    "measure",
    [
        Described(),
        Described(unit_written="lbf"),
        Described(scale=(0.0, 10.0)),
        Described("pull_force", unit_written="kgf"),
        Described("root_length", unit_written="in"),
        Described("root_length", unit_written="m"),
        Described("colour", scale=(1.0, 5.0)),
        Described("surface_hardness", unit_written="gravities", instrument=Missile()),
    ],
)
def test_what_agrees_with_its_kind_is_not_told(measure: Described) -> None:
    assert contradictions(measure) == []


@pytest.mark.parametrize(
    ("measure", "said"),
    [
        (
            Described("pull_force", unit_written="in"),
            ("unit", "'in'", "correct the unit, or the kind"),
        ),
        (
            Described("root_mass_per_core", unit_written="g/m2"),
            ("unit", "'g/m2'", "correct the unit, or the kind"),
        ),
        (
            Described("surface_hardness", unit_written="g", instrument=Missile()),
            ("unit", "'g'", "did you mean gravities?"),
        ),
        (
            Described("pull_force", scale=(1.0, 9.0)),
            ("scale", "'1-9'", "write 'unit: ...', or leave out 'kind' for a rating of your own"),
        ),
        (Described("colour", unit_written="%"), ("unit", "'%'", "remove the unit")),
        (
            Described("surface_hardness", unit_written="gravities"),
            (
                "instrument",
                "nothing",
                "add 'instrument: {missile: 2.25 kg, drop_height: 455 mm, drops: 1}' as yours is",
            ),
        ),
        (
            Described("pull_force", unit_written="N", instrument=Missile()),
            ("instrument", "a missile", "remove it, or name that kind"),
        ),
        (
            Described(unit_written="N", instrument=Missile()),
            ("instrument", "a missile", "remove it, or name that kind"),
        ),
    ],
)
def test_what_contradicts_its_kind_is_told(measure: Described, said: tuple[str, str, str]) -> None:
    assert told(measure) == [said]


def test_all_contradictions_are_told_with_what_is_allowed() -> None:
    measure = Described("shear_strength", unit_written="lbf", instrument=Missile())
    allowed = {one.field: one.allowed for one in contradictions(measure)}
    assert allowed == {
        "instrument": "only beside 'kind: surface_hardness'",
        "unit": "N.m, ft.lbf, in.lbf",
    }
    assert contradictions(Described("colour", unit_written="lbf")) == [
        Contradiction(
            "unit", "'lbf'", "a scale, such as 1-9: colour is a rating", "remove the unit"
        )
    ]


def hardness(*settings: float) -> Described:
    missile, height, drops = settings
    instrument = Missile(missile, height, int(drops))
    return Described("surface_hardness", unit_written="gravities", instrument=instrument)


@pytest.mark.parametrize(
    "other",
    [
        hardness(2.25, 0.455, 1),
        # 18 in are 0.4572 m, and 5 lb less a label's rounding are 2.25 kg (NIST SP 811, B.8).
        hardness(2.25, 18 * 0.0254, 1),
        hardness(4.96 * 0.45359237, 0.455, 1),
    ],
)
def test_hardness_by_one_setting_may_be_compared(other: Described) -> None:
    assert kept_apart("hardness", hardness(2.25, 0.455, 1), other) == ""


@pytest.mark.parametrize(
    ("other", "words"),
    [
        (hardness(0.5, 0.455, 1), "a missile of 0.5 kg, 1 drop from 455 mm"),
        (hardness(2.25, 0.3, 1), "a missile of 2.25 kg, 1 drop from 300 mm"),
        (hardness(2.25, 0.455, 3), "a missile of 2.25 kg, 3 drops from 455 mm"),
        (Described(unit_written="gravities"), "an instrument that is not stated"),
    ],
)
def test_hardness_by_another_setting_is_never_compared(other: Described, words: str) -> None:
    said = kept_apart("hardness", hardness(2.25, 0.455, 1), other)
    assert said == (
        f"hardness was taken by a missile of 2.25 kg, 1 drop from 455 mm and by {words}; hardness "
        "by different missiles, heights or numbers of drops does not compare"
    )
    assert words in kept_apart("hardness", other, hardness(2.25, 0.455, 1))


def test_what_has_no_instrument_is_not_kept_apart() -> None:
    pulls = Described("pull_force", unit_written="lbf")
    assert kept_apart("pull_force", pulls, Described(unit_written="N")) == ""


def test_what_tells_of_bearing_play_and_was_not_measured() -> None:
    def sheet(**fields: object) -> SheetMeasure:
        return SheetMeasure.model_validate({"from": "sheet", "dates": ["2026-04-17"], **fields})

    whole = ["surface hardness", "shear strength", "soil moisture", "disease cover"]
    assert kinds_not_measured([]) == whole
    # Shear by its unit alone; a share may be one of anything.
    own = [sheet(unit="N.m"), sheet(unit="%")]
    assert kinds_not_measured(own) == [one for one in whole if one != "shear strength"]
    assert kinds_not_measured([sheet(kind="disease_cover")]) == whole[:3]
