"""What the part on aeration warns of, and where its figures come from."""

from __future__ import annotations

from wintersward.report.cautions import UNSOURCED, Caution

__all__ = ["SOURCES", "aerating_cautions"]

# Yearly aims for greens, in the units of the reader; the source prints US units.
_YEARLY_SAND = {
    "us": "40 to 50 ft³ of sand per 1000 ft²",
    "metric": "12 to 15 mm of sand (40 to 50 ft³ per 1000 ft²)",
}
_SPORTS = {
    "us": "5/8 to 1 inch wide and 3 to 4 inches deep",
    "metric": "16 to 25 mm (5/8 to 1 inch) wide and 75 to 100 mm (3 to 4 inches) deep",
}

# Words by which the part names a source, and the source as far as it is known.
SOURCES = {
    "Cornell University": "Cornell University, on the aeration of turf; it quotes Pennsylvania "
    "State University on solid tines (year and title not noted).",
    "Daniels 2018": "Daniels J. (2018) The Goldilocks principle for sand topdressing. USGA, "
    "regional update of 17 August 2018.",
    "Landreth et al.": "Landreth et al. (2007–08), University of Arkansas, on core cultivation and "
    "verticutting of greens (title not noted).",
    "note of a golf course 2013": "Note of a golf course to its members (2013) on hollow tines "
    "(title not noted).",
    "O’Brien and Hartwiger 2003": "O’Brien P., Hartwiger C. (2003) on aeration and topdressing of "
    "greens, Green Section Record, as quoted in the trade in 2011; its printed table was not seen.",
    "Owen 2013": "Owen (2013), University of Massachusetts, SportsTurf, March 2013, on spring play "
    "(title not noted).",
    "SportsTurf, August 2014": "SportsTurf, August 2014, on aeration of sports fields (title not "
    "noted).",
}


def aerating_cautions(units: str) -> list[Caution]:
    """List what is to be heeded before an aeration, in the reader's units.

    Parameters
    ----------
    units : {'us', 'metric'}
        Of the definition.
    """
    return [
        Caution(
            "Not before every pin and staple is counted out of the turf or found (see Pins and "
            "staples).",
            UNSOURCED,
        ),
        Caution(
            "All of this is arithmetic. It does not tell whether the roots bear the machine: try "
            "it on a strip first, and stop where it lifts the turf.",
            UNSOURCED,
        ),
        Caution(
            "Aerate only where the turf grows; not when it is under stress, too wet or too dry.",
            "SportsTurf, August 2014; Cornell University",
        ),
        Caution(
            f"Yearly aims of 15 to 20 % of the ground and {_YEARLY_SAND[units]} are those of golf "
            "greens, not of sports fields on native soil.",
            "O’Brien and Hartwiger 2003, as quoted in 2011",
        ),
        Caution(
            f"For sports fields on native soil hollow tines {_SPORTS[units]} are named, twice a "
            "year under little use and six to eight times under heavy use.",
            "SportsTurf, August 2014",
        ),
        Caution(
            "Sand over native soil with clay can set hard: ask an agronomist before a topdressing.",
            UNSOURCED,
        ),
        Caution(
            "That holes have closed does not make a field ready. Whoever answers for it looks at "
            "the turf itself, and decides.",
            UNSOURCED,
        ),
    ]
