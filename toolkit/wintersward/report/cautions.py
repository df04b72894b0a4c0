"""What every report warns of, with the source of each caution."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["UNCHECKED", "UNSOURCED", "Caution", "cautions"]

UNSOURCED = "common practice, no source"
UNCHECKED = "trade account, not checked"


@dataclass(frozen=True)
class Caution:
    """One caution.

    Parameters
    ----------
    text : str
        What to heed.
    source : str
        Where it comes from; `UNSOURCED` where nobody can be named, `UNCHECKED` where somebody
        said so in the trade and nobody has looked further.
    """

    text: str
    source: str


# In SI and US units as each source prints them; the other unit is computed.
_WIND = {"us": "10 to 15 mph", "metric": "16 to 24 km/h (10 to 15 mph)"}
_FUNGUS = {"us": "36 to 55 °F (2 to 13 °C)", "metric": "2 to 13 °C"}
_SUNNY = {"us": "50 °F", "metric": "10 °C"}


def cautions(units: str) -> list[Caution]:
    """List the cautions in the reader's units.

    Parameters
    ----------
    units : {'us', 'metric'}
        Of the definition.

    Returns
    -------
    list of Caution
        The same in every report.
    """
    return [
        Caution(
            "Passing a limit does not mean that no injury can occur.",
            "wording of ASTM F1936, as quoted by ASTM",
        ),
        Caution(
            "Whether a field is opened is decided by the person responsible for it, under the "
            "rules of the league and of the place. This report does not decide it.",
            UNSOURCED,
        ),
        Caution(
            "Covers act as sails. One account tells of crews of two to eight people in winds of "
            f"{_WIND[units]}; that is no limit to rely on. Check the limit of the cover's maker, "
            "and stop when gusts come.",
            UNCHECKED,
        ),
        Caution("Anchor with pins or staples of a high-visibility colour.", UNCHECKED),
        Caution(
            "Prefer bright steel ones, since a magnet finds steel only. Non-metal and stainless "
            "pins are found by count, by eye and by hand along every edge of a cover.",
            UNSOURCED,
        ),
        Caution(
            "Count pins and staples in and out, each kind by itself and with the broken ones; "
            "then sweep with a magnet, before anyone plays.",
            UNSOURCED,
        ),
        Caution(
            "Before aerating, mark irrigation heads; lock machinery out before hands go near "
            "tines; wear eye and foot protection.",
            UNSOURCED,
        ),
        Caution(
            "Pesticides only as the label says, by a licensed applicator, under local law; some "
            "places forbid them on school grounds.",
            "an example from the US: the state law of Connecticut, for schools up to grade 8",
        ),
        Caution(
            "Fertiliser only on days on which local law allows it; some places forbid it on turf "
            "in winter.",
            "an example from the US: the state law of New York (Environmental Conservation Law "
            "17-2103), from 1 December to 1 April",
        ),
        Caution(
            "Snow mould may be worse under covers: look under them. Pink snow mould needs no snow; "
            f"it grows in the wet at {_FUNGUS[units]}.",
            "Dionne, HortScience abstract, of straw and mats; Rutgers Plant & Pest Advisory 2013",
        ),
        Caution(
            f"Watch the temperature under covers on sunny days forecast above {_SUNNY[units]}, and "
            "take covers off on warm sunny days.",
            "Vavrek 2013, USGA",
        ),
        Caution("No machinery on frozen or saturated turf.", UNSOURCED),
        Caution("Clearing snow tears covers.", UNSOURCED),
    ]
