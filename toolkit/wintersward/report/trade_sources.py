"""The sources of a report's cautions, of its counts and advice, and of its ways of measuring."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from wintersward.analysis.results import empty
from wintersward.decisions.aeration import SAND_SOURCE
from wintersward.decisions.published import figures_for
from wintersward.report.aerating_cautions import SOURCES, aerating_cautions
from wintersward.report.aerating_days import day_words
from wintersward.report.cautions import cautions
from wintersward.trial.catalogue import measure_kind
from wintersward.trial.schema import Definition, LoggerMeasure, SheetMeasure

__all__ = ["trade_sources"]

Table = Callable[[str], pd.DataFrame]

# Words by which the page names a source, and the source as far as it is known; what is not known
# of it is said.
_SOURCES = {
    "ASTM F1702": "ASTM F1702, scope (edition not noted).",
    "ASTM F1936": "ASTM F1936-19 Standard specification for impact attenuation of turf playing "
    "systems as measured in the field.",
    "Beasley and Wilkinson": "Beasley and Wilkinson (2007), on the roots of sod before and after "
    "harvest (title not noted).",
    "Connecticut": "Connecticut, state law on pesticides at schools up to grade 8 (section not "
    "noted).",
    "Dionne": "Dionne J. et al., HortScience abstract on protective covers of Poa annua greens, "
    "journals.ashs.org (year not noted).",
    "Hamilton and Raley": "Hamilton and Raley (2004), Pennsylvania State University, on covers of "
    "a green (title not noted).",
    "Henderson 2007": "Henderson J. (2007) abstract P34906, annual meetings of ASA, CSSA and SSSA, "
    "a-c-s.confex.com.",
    "and 2009": "Henderson J. (2009) Late fall sod installation produces equivalent or greater "
    "rooting strength of Poa pratensis than typical spring installations during the subsequent "
    "growing season. Applied Turfgrass Science. doi:10.1094/ATS-2009-0724-01-RS",
    "Hoffman": "Hoffman et al. (2014) Crop Science, as told in Golf Course Management, May 2014 "
    "(title not noted).",
    "Ineichen and Perez": "Ineichen P., Perez R. (2002) A new airmass independent formulation for "
    "the Linke turbidity coefficient. Solar Energy 73, 151–157 (light under a clear sky).",
    "Kansas State": "Kansas State University (2011), on grey snow mould (title not noted).",
    "Kilby": "Kilby et al. (2024) abstract, The Engineering of Sport 15, ISEA 2024 (title not "
    "noted).",
    "Karcher": "Karcher D. E., Richardson M. D. (2003) Quantifying turfgrass color using digital "
    "image analysis. Crop Science 43, 943–951. doi:10.2135/cropsci2003.9430",
    "Leinauer": "Leinauer B. (2015) abstract, annual meetings of ASA, CSSA and SSSA, on the "
    "reliability of ratings of turf (title not noted).",
    "Turfgrass Evaluation Program": "National Turfgrass Evaluation Program, guide to ratings (year "
    "not noted).",
    "NC State Extension": "NC State Extension, page on grey snow mould, "
    "content.ces.ncsu.edu/gray-snow-mold-in-turf (year not noted).",
    "New York": "New York State, Environmental Conservation Law, section 17-2103.",
    "North Carolina State University": "North Carolina State University (2005), quoted by Kent "
    "County extension (2007), on temperatures of soil and growth (title not noted).",
    "a note on turf of 2011": "Note on turf (2011), on pink snow mould (title not noted).",
    "Pennsylvania State University": "Pennsylvania State University, pages on surface hardness "
    "(year not noted).",
    "Qu et al. 2023": "Qu et al. (2023) Frontiers in Plant Science 14, 1135918 (title not noted).",
    "Reda and Andreas": "Reda I., Andreas A. (2004) Solar position algorithm for solar radiation "
    "applications. Solar Energy 76, 577–589. doi:10.1016/j.solener.2003.12.003 (where the sun "
    "stands).",
    # Its address ends with ?p=1830.
    "Rutgers": "Rutgers Cooperative Extension (2013) Plant & Pest Advisory, note 1830 on snow "
    "mould, plant-pest-advisory.rutgers.edu.",
    "Sitko et al.": "Sitko et al. (2018), Cornell University, on surface hardness (title not "
    "noted).",
    "Stier": "Stier, on the shear vane, quoted in an instrument’s manual (year not noted).",
    "Vavrek": "Vavrek B. (2013) Covers can cure the winterkill blues. USGA Course Care, regional "
    "update of 14 April 2013.",
}
_COLOUR_INDEX = "Karcher and Richardson 2003"
# What the tables of sun and light, and advice on raters, rest on.
_SUN = "Reda and Andreas 2004; Ineichen and Perez 2002"
_RELIABILITY = "Leinauer 2015"


def trade_sources(definition: Definition, table: Table = empty) -> list[str]:
    """List the sources that the cautions, counts, measurements and ways to aerate name.

    Parameters
    ----------
    definition : Definition
        Its measures that are of a usual kind.
    table : callable, optional
        Gives a table of the run by its name, empty where it was not written. What a run does not
        show, such as scores of photos, counts of risks or ways to aerate, names no source.

    Returns
    -------
    list of str
        By name, each once; what is common practice or from memory has no source to list.
    """
    named = [caution.source for caution in cautions(definition.units)]
    for measure in definition.measures.values():
        if isinstance(measure, SheetMeasure) and measure.kind is not None:
            named.append(measure_kind(measure.kind).source)
        elif isinstance(measure, LoggerMeasure):
            named.append(measure.logged.source)
    for figures in figures_for(definition).values():
        named += [figure.source for figure in figures]
    named += _counted(table)
    found = _listed(_SOURCES, named) + _aerating(table("aeration_options"), definition)
    return sorted(found, key=str.casefold)


def _counted(table: Table) -> list[str]:
    """Tell which sources the scores, counts, estimates and advice of a run name."""
    named = [str(one) for one in table("risks")["source"].unique()]
    if not table("photo_scores").empty:
        named.append(_COLOUR_INDEX)
    if not table("sun_hours").empty:
        named.append(_SUN)
    if (table("next_trial")["advice"] == "raters").any():
        named.append(_RELIABILITY)
    return named


def _aerating(options: pd.DataFrame, definition: Definition) -> list[str]:
    """List the sources that the part on ways to aerate names."""
    if options.empty:
        return []
    named = [caution.source for caution in aerating_cautions(definition.units)]
    named += [SAND_SOURCE, *map(str, day_words(options, definition))]
    return _listed(SOURCES, named)


def _listed(sources: dict[str, str], named: list[str]) -> list[str]:
    said = " ".join(named)
    return [text for words, text in sources.items() if words in said]
