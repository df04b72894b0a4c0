"""Where the cautions of a report, and its ways of measuring, come from: a list of their sources."""

from __future__ import annotations

import pandas as pd

from wintersward.decisions.published import figures_for
from wintersward.report.aerating_cautions import SOURCES
from wintersward.report.cautions import cautions
from wintersward.trial.catalogue import measure_kind
from wintersward.trial.schema import Definition, SheetMeasure

__all__ = ["trade_sources"]

# Words by which a caution or a way of measuring names a source, and the source as far as it is
# known; what is not known of it is said.
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
    "Kilby": "Kilby et al. (2024) abstract, The Engineering of Sport 15, ISEA 2024 (title not "
    "noted).",
    "Karcher": "Karcher D. E., Richardson M. D. (2003) Quantifying turfgrass color using digital "
    "image analysis. Crop Science 43, 943–951. doi:10.2135/cropsci2003.9430",
    "Turfgrass Evaluation Program": "National Turfgrass Evaluation Program, guide to ratings (year "
    "not noted).",
    "New York": "New York State, Environmental Conservation Law, section 17-2103.",
    "North Carolina State University": "North Carolina State University (2005), quoted by Kent "
    "County extension (2007), on temperatures of the soil (title not noted).",
    "Pennsylvania State University": "Pennsylvania State University, pages on surface hardness "
    "(year not noted).",
    "Qu et al. 2023": "Qu et al. (2023) Frontiers in Plant Science 14, 1135918 (title not noted).",
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


def trade_sources(
    definition: Definition, photo_scores: pd.DataFrame, aerated: bool = False
) -> list[str]:
    """List the sources that the cautions, measurements and ways to aerate of a report name.

    Parameters
    ----------
    definition : Definition
        Its measures that are of a usual kind.
    photo_scores : DataFrame
        Table of a run; where it has rows, the numbers of photos are shown.
    aerated : bool
        Whether ways to aerate are shown.

    Returns
    -------
    list of str
        By name, each once; what is common practice or from memory has no source to list.
    """
    named = [caution.source for caution in cautions(definition.units)]
    for measure in definition.measures.values():
        if isinstance(measure, SheetMeasure) and measure.kind is not None:
            named.append(measure_kind(measure.kind).source)
    for figures in figures_for(definition).values():
        named += [figure.source for figure in figures]
    if not photo_scores.empty:
        named.append(_COLOUR_INDEX)
    said = " ".join(named)
    found = [text for words, text in _SOURCES.items() if words in said]
    return sorted([*found, *SOURCES], key=str.casefold) if aerated else found
