"""What is usually measured in a trial on turf, and where each way of taking it comes from.

A source names author and year, or says that there is none: "common practice, no source" where the
trade does it so, "from memory" where a source exists that was not read.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from wintersward.units import KINDS, sheet_units

__all__ = ["USUAL_MEASURES", "CatalogueMeasure"]

# Where a text points to a line of the definition.
_IN_FILE = re.compile(r" \(in the definition(, as '[a-z_]+')?\)")
_NO_SOURCE = "common practice, no source"
_SCALE = (1.0, 9.0)
_ACCEPTABLE = 6.0
_SHARE = (0.0, 100.0)
_AMOUNT = (0.0, None)


@dataclass(frozen=True)
class CatalogueMeasure:
    """A measure that a definition may name as a ``kind``.

    Parameters
    ----------
    name : str
        As it stands after ``kind``.
    label : str
        For a reader.
    quantity : str
        One of `wintersward.units.KINDS`; empty for a rating.
    range : tuple of float or None
        Lowest and highest value that may be written, in the unit of ``unit``; None where open.
    protocol : str
        How it is taken, in one sentence.
    record : str
        Settings and circumstances to write down beside the values.
    source : str
        Author and year, "common practice, no source" or "from memory".
    per_plot : int
        Usual number of readings in one plot on one date.
    destructive : bool
        Whether it takes turf away.
    needs_instrument : bool
        Whether values mean nothing without the settings of the instrument.
    usual_unit : str
        Unit in which it is read in every country; empty where that is the reader's own.
    """

    name: str
    label: str
    quantity: str
    range: tuple[float | None, float | None]
    protocol: str
    record: str
    source: str
    per_plot: int = 1
    destructive: bool = False
    needs_instrument: bool = False
    usual_unit: str = ""

    @property
    def rated(self) -> bool:
        """Whether it is a mark on a scale rather than an amount."""
        return not self.quantity

    @property
    def scale(self) -> str | None:
        """Lowest and highest mark as a definition has them, ``1-9``; None for an amount."""
        return f"{self.range[0]:g}-{self.range[1]:g}" if self.rated else None

    @property
    def acceptable(self) -> float | None:
        """The lowest mark that is acceptable by convention; None for an amount."""
        return _ACCEPTABLE if self.rated else None

    @property
    def anchor_marks(self) -> tuple[float, ...]:
        """Marks that the user describes in words of their own; none for an amount."""
        low, high = self.range
        return (low or 0.0, _ACCEPTABLE, high or 0.0) if self.rated else ()

    @property
    def record_on_paper(self) -> str:
        """What to write down, without pointers to lines of a definition, which a paper is not."""
        return _IN_FILE.sub("", self.record)

    @property
    def unit(self) -> str:
        """Unit inside files (SI, or a ratio as it is); empty for a rating."""
        return KINDS[self.quantity].si if self.quantity else ""

    @property
    def units(self) -> tuple[str, ...]:
        """Units that may be written for it; none for a rating."""
        return tuple(sheet_units(self.quantity)) if self.quantity else ()


_RATER = (
    "your own words for the marks 1, 6 and 9 (in the definition, as 'anchors'), rater, time of "
    "day, sky (clear or cloudy), days since mowing"
)
_RATED_SOURCE = (
    "scale: National Turfgrass Evaluation Program, rating guide (9 ideal, 6 acceptable); of 12 "
    "scientists asked, one each took 7, 5 and 4 as acceptable, so write your anchor words down; "
    "rater, date and layout to be logged: Qu et al. 2023, Frontiers in Plant Science 14, 1135918"
)
# A laboratory balance reads grams (common practice, no source).
_GRAMS, _GRAMS_PER_AREA = "g", "g/m2"
_CORES = "root length and mass before and after harvest of sod: Beasley and Wilkinson 2007; "

_RATINGS = (
    CatalogueMeasure(
        "visual_quality",
        "Visual quality",
        "",
        _SCALE,
        "Walk the plots in the printed order with the sun behind you, and give each plot one mark "
        "for colour, density, evenness and damage taken together.",
        _RATER,
        _RATED_SOURCE,
    ),
    CatalogueMeasure(
        "colour",
        "Colour",
        "",
        _SCALE,
        "With the sun behind you give each plot one mark for how green its leaves are, from straw "
        "to the deepest green that you would wish for, and pass over gaps.",
        _RATER,
        _RATED_SOURCE,
    ),
    CatalogueMeasure(
        "density",
        "Density",
        "",
        _SCALE,
        "Look straight down and give each plot one mark for how closely its living shoots stand, "
        "whatever their colour; bare and dead turf counts as none.",
        _RATER + ", mowing height",
        _RATED_SOURCE + "; what is looked at: from memory",
    ),
    CatalogueMeasure(
        "spring_green_up",
        "Spring green-up",
        "",
        _SCALE,
        "While the turf wakes from winter, give each plot one mark for how far its colour has come "
        "from straw (1) to fully green (9), however deep the green of its grasses.",
        _RATER + ", date of the last snow or cover",
        "rated from 1 to 9 while the turf leaves dormancy: National Turfgrass Evaluation Program, "
        "guide to ratings, section on spring green-up; the rest from memory",
    ),
    CatalogueMeasure(
        "sod_seams",
        "Sod seams",
        "",
        _SCALE,
        "Follow all seams between strips of sod inside the edge strip, and give the plot one mark "
        "from open gaps to seams that can no longer be found.",
        "your own words for the marks 1, 6 and 9 (in the definition, as 'anchors'), rater, date of "
        "laying, width of the strips",
        _NO_SOURCE,
    ),
)

_STRENGTHS = (
    CatalogueMeasure(
        "pull_force",
        "Pull force",
        "force",
        _AMOUNT,
        "Set the frame into the turf, pull it straight up and steadily until the turf lets go, and "
        "write the highest force.",
        "size and depth of the frame, gauge with serial number and date of calibration, soil "
        "moisture of the same hour",
        "upward pull of frames, highest force: Henderson 2007 (abstract) and 2009; number in a "
        "plot: from memory",
        per_plot=3,
        destructive=True,
    ),
    CatalogueMeasure(
        "shear_strength",
        "Shear strength",
        "torque",
        _AMOUNT,
        "Press the vane in to its full depth, turn it steadily until the turf tears, and write the "
        "highest torque.",
        "vane (diameter, blades, load), serial number and date of calibration, soil moisture of "
        "the same hour; values of different vanes do not compare",
        "at least three readings with soil moisture, and grades that hold for one instrument: "
        "Stier, quoted in an instrument's manual without a year; turning and writing: from memory",
        per_plot=3,
        destructive=True,
    ),
    CatalogueMeasure(
        "surface_hardness",
        "Surface hardness",
        "deceleration",
        _AMOUNT,
        "Stand the tube upright on a spot that was not hit before, let the missile fall from its "
        "mark as often as the definition says, and write the peak of the last drop.",
        "missile mass, drop height and number of drops (in the definition, as 'instrument'), "
        "serial number and date of calibration, soil moisture of the same hour",
        "2.25 kg from 455 mm, six spots averaged, first drop: Pennsylvania State University, "
        "pages on surface hardness; three drops: Sitko et al. 2018; never compared across missile "
        "mass, drop height or method: ASTM F1702, scope",
        per_plot=6,
        needs_instrument=True,
    ),
)

_ROOTS = (
    CatalogueMeasure(
        "root_length",
        "Root length",
        "depth",
        _AMOUNT,
        "Wash a core free of soil, let the roots hang straight, and measure the longest from the "
        "crown to its tip.",
        "width and depth of the core (2 in by 6 in is usual)",
        _CORES + "size and number of cores: from memory",
        per_plot=3,
        destructive=True,
    ),
    CatalogueMeasure(
        "root_mass_per_core",
        "Root mass per core",
        "mass",
        _AMOUNT,
        "Wash a core free of soil, cut the roots off below the crown, dry them until they lose no "
        "more weight, and weigh them.",
        "width and depth of the core, temperature and hours of drying, balance",
        _CORES + "size and number of cores, drying: from memory",
        per_plot=3,
        destructive=True,
        usual_unit=_GRAMS,
    ),
    CatalogueMeasure(
        "root_mass_per_area",
        "Root mass per area",
        "areal mass",
        _AMOUNT,
        "Take the dry mass of the roots of a core as for root mass per core, and divide it by the "
        "area of the core's mouth.",
        "width and depth of the core, temperature and hours of drying, balance",
        _CORES + "size and number of cores, drying: from memory",
        per_plot=3,
        destructive=True,
        usual_unit=_GRAMS_PER_AREA,
    ),
)

_CONDITIONS = (
    CatalogueMeasure(
        "soil_moisture",
        "Soil moisture",
        "share",
        _SHARE,
        "Push the probe straight in to its full length, away from stones and holes, and write the "
        "share of water by volume.",
        "length of the rods, soil setting and calibration of the probe, hours since rain or water",
        "from memory",
        per_plot=3,
    ),
    CatalogueMeasure(
        "soil_temperature",
        "Soil temperature",
        "temperature",
        (-30.0, 60.0),
        "Push the thermometer in to the same depth in every plot, wait until the reading stands, "
        "and go round at the same time of day on every visit.",
        "depth (4 in, that is 10 cm, is usual), thermometer, time of day, sky",
        "depth on which growth limits rest: North Carolina State University 2005, quoted by Kent "
        "County extension 2007; the rest from memory",
    ),
    CatalogueMeasure(
        "canopy_temperature",
        "Canopy temperature",
        "temperature",
        (-50.0, 80.0),
        "Hold the shaded sensor among the leaves at the height of the crowns, under the cover "
        "where one lies, and write the reading once it stands.",
        "sensor and its shade, time of day, sky, whether a cover lay",
        "sunny days under covers are those to watch: Vavrek 2013; height and shade of the sensor: "
        "from memory",
    ),
)

_GROUND = (
    CatalogueMeasure(
        "living_cover",
        "Living cover by eye",
        "share",
        _SHARE,
        "Look straight down and estimate which share of the plot inside the edge strip living turf "
        "covers, whatever its shade of green; bare ground, dead turf and weeds count as none.",
        "rater, time of day, sky (clear or cloudy), days since mowing",
        "a share estimated by eye, in spring, summer and autumn: National Turfgrass Evaluation "
        "Program, guide to ratings, section on living ground cover; the rest from memory",
    ),
    CatalogueMeasure(
        "winter_injury",
        "Winter injury",
        "share",
        _SHARE,
        "Once unharmed turf nearby is green, estimate which share of the plot inside the edge "
        "strip is dead or thinned from winter; disease that you can name goes under disease cover.",
        "rater, what did the harm (ice, cold, drought, traffic, unknown), how crowns and new "
        "leaves looked, days since snow or covers went",
        _NO_SOURCE,
    ),
    CatalogueMeasure(
        "shoot_count",
        "Shoot count",
        "count",
        _AMOUNT,
        "Cut a plug of known size, part it, and count every living shoot on it.",
        "diameter of the plug, the same for all; who counted; how long the plug was kept, and how "
        "cold",
        _NO_SOURCE,
        per_plot=3,
        destructive=True,
    ),
    CatalogueMeasure(
        "disease_cover",
        "Disease cover",
        "share",
        _SHARE,
        "Estimate which share of the plot inside the edge strip shows the disease, and count its "
        "patches.",
        "disease, number of patches, who confirmed the cause and how",
        "from memory",
    ),
    CatalogueMeasure(
        "clippings",
        "Clippings",
        "areal mass",
        _AMOUNT,
        "Mow one pass of known width and length, gather all clippings, dry them at 60 degC "
        "(140 degF) for 24 hours, weigh them, and divide by the area of the pass.",
        "width and length of the pass, mowing height, days since the last mowing, temperature and "
        "hours of drying",
        "one pass of known area, dried at 60 degC for 24 hours: Hamilton and Raley 2004",
        usual_unit=_GRAMS_PER_AREA,
    ),
    CatalogueMeasure(
        "hole_closure",
        "Hole closure",
        "share",
        _SHARE,
        "Count in the quadrat the aeration holes that turf has closed, as a share of all its holes "
        "on the day of aeration; or, on every plot and date alike, measure the widths of ten "
        "marked holes and write the share of their area that is closed.",
        "which of the two; place and size of the quadrat, number of its holes on the day of "
        "aeration",
        _NO_SOURCE,
    ),
)

USUAL_MEASURES = (*_RATINGS, *_STRENGTHS, *_ROOTS, *_CONDITIONS, *_GROUND)
