"""What every report warns of, with the source of each caution."""

from __future__ import annotations

from dataclasses import dataclass

from wintersward.trial.schema import Definition, SheetMeasure

__all__ = ["UNCHECKED", "UNSOURCED", "Caution", "cautions", "measures_hardness"]

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
_FUNGUS = {"us": "35 to 55 °F (2 to 13 °C)", "metric": "2 to 13 °C (35 to 55 °F)"}
_SUNNY = {"us": "50 °F", "metric": "10 °C"}


def cautions(units: str, hardness: bool = True) -> list[Caution]:
    """List the cautions in the reader's units.

    Parameters
    ----------
    units : {'us', 'metric'}
        Of the definition.
    hardness : bool
        Whether hardness is a measure of the trial; where it is none, the first caution says so.

    Returns
    -------
    list of Caution
        The same in every report, but for that.
    """
    return [
        _hard_ground(hardness),
        Caution(
            "Whether a field is opened is decided by the person responsible for it, under the "
            "rules of the league and of the place. This report does not decide it.",
            UNSOURCED,
        ),
        Caution(
            "Local codes, the rules of school, town and league, and licences for whoever applies, "
            "tests or advises come before anything here.",
            UNSOURCED,
        ),
        *_covers(units),
        *_before_play(),
        *_work(),
        Caution(
            "Snow mould may be worse under covers: look under them. Pink snow mould needs no snow; "
            f"it grows in the wet at {_FUNGUS[units]}.",
            "Dionne, HortScience abstract, of straw and mats; Rutgers Plant & Pest Advisory 2013",
        ),
    ]


def measures_hardness(definition: Definition) -> bool:
    """Tell whether a measure of a trial is the hardness of its ground."""
    return any(
        isinstance(measure, SheetMeasure) and measure.difference_kind == "deceleration"
        for measure in definition.measures.values()
    )


def _hard_ground(hardness: bool) -> Caution:
    untold = "" if hardness else "; this report says nothing of its hardness"
    # Scope, section 1.4: that no injury can occur where the limit is kept is not implied.
    return Caution(
        f"Frozen, dry, bare or compacted ground is hard, green or not{untold}. A hardness reading "
        "within a limit does not mean that no injury can occur.",
        "after ASTM F1936-19, scope, section 1.4",
    )


def _covers(units: str) -> list[Caution]:
    """Warn of covers in wind and sun, and of snow on them."""
    return [
        Caution(
            "A cover in wind is a sail. Keep to the wind limit of its maker, have enough people, "
            "stop when gusts come; a wet cover is heavy, lift it together. Nobody walks or plays "
            "on a laid cover.",
            UNSOURCED,
        ),
        Caution(
            f"Watch the temperature under covers on sunny days forecast above {_SUNNY[units]}, "
            "that of the soil too, and open or take off covers for the day on warm sunny days.",
            "Vavrek 2013, USGA",
        ),
        Caution("Clearing snow tears covers.", UNSOURCED),
    ]


def _before_play() -> list[Caution]:
    """Warn of what may lie or stand in the turf when people play."""
    return [
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
            "Corner posts, strings, labels, photo frames and markers of this trial are out of the "
            "turf before anyone plays: count them like pins.",
            UNSOURCED,
        ),
    ]


def _work() -> list[Caution]:
    """Warn of machines, of what lies buried, and of what law forbids."""
    return [
        Caution(
            "Before posts, pins or tines go in, have buried pipes and cables marked, besides "
            "irrigation heads.",
            UNSOURCED,
        ),
        Caution(
            "Lock machinery out before hands go near tines; wear eye and foot protection.",
            UNSOURCED,
        ),
        Caution("No machinery on frozen or saturated turf.", UNSOURCED),
        Caution("No feet or play on frosted turf.", UNSOURCED),
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
    ]
