"""What is wrong with the work in the field that a plan asks for: days, tines, people, photos.

What is said here is common practice, no source.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator

from wintersward.analysis.concern import Concern, Found
from wintersward.design.spots import SPACING_M
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, LoggerMeasure, PhotoMeasure, SheetMeasure
from wintersward.units import from_si

__all__ = ["FIELD_CHECKS", "in_feet"]

# Common practice, no source: days that covers lie before anything is to be seen of them; days
# after the first event from which play is all that is seen; the deepest tine [m]; the alley in
# which an aerator turns [m]; the latitude from which ground freezes [degrees], and the months in
# which it does, north and south.
SHORT_DAYS = 7
LONG_AFTER_DAYS = 28
DEEPEST_M = 12 * 0.0254
TURNING_M = 6 * 0.3048
_FREEZES_FROM = 40.0
_MIDWINTER = {1: (12, 1, 2), -1: (6, 7, 8)}
# Parts of the roles of those who know which plots were covered.
_KNOWING = ("grounds", "agent")


def in_feet(definition: Definition, sides: list[float]) -> str:
    """Write lengths [m] in the reader's unit, such as ``10 by 6 ft``."""
    unit = "ft" if definition.units == "us" else "m"
    return " by ".join(f"{from_si(side, unit):.3g}" for side in sides) + f" {unit}"


def _aerations(definition: Definition) -> Iterator[tuple[str, dt.date]]:
    """Give the factors with tines, and the day on which each begins."""
    for name, factor in definition.treatments.items():
        if any(level.tine is not None for level in factor.levels.values()):
            yield name, dates_meant(definition.dates, factor.applied or "covers_on")[0]


def _aeration_days(definition: Definition) -> Found:
    on = dates_meant(definition.dates, "covers_on")[0]
    event = definition.dates.get("first_event")
    tined = dict(_aerations(definition))
    covered = any(name not in tined for name in definition.treatments)
    for name, day in tined.items():
        field = f"treatments.{name}.applied"
        if isinstance(event, dt.date) and day > event:
            yield Concern(
                "aeration after play",
                f"{name} begins on {day}, after the first event ({event}): by then play has worn "
                "the plots, and nothing of it is seen before the field is needed",
                "aerate before the first event, or leave this factor to a trial of its own",
                field,
            )
        if covered and day <= on:
            yield Concern(
                "aeration before covers",
                f"{name} begins on {day}, before the covers have lain ({on}): what covers do is "
                "then seen on aerated turf alone",
                "if the first aeration comes after the covers, name its day under 'applied'; if "
                "it is meant so, say so in the question",
                field,
            )


def _days(definition: Definition) -> Found:
    on, off = (dates_meant(definition.dates, word)[0] for word in ("covers_on", "covers_off"))
    lain = (off - on).days
    if lain < SHORT_DAYS:
        yield Concern(
            "short covers",
            f"covers lie for {lain} {'day' if lain == 1 else 'days'} only ({on} to {off}), too "
            "short for turf to grow under them",
            f"look at both dates; leave covers on for {SHORT_DAYS} days or more",
            "dates.covers_off",
        )
    event = definition.dates.get("first_event")
    if not isinstance(event, dt.date):
        return
    for name, measure in definition.measures.items():
        days = dates_meant(definition.dates, measure.dates)
        after = [day for day in days if day > on]
        # The primary measure is told of by its primary date.
        if name != definition.analysis.primary.measure and after and min(after) > event:
            yield Concern(
                "late visits",
                f"{name} is first observed on {min(after)}, after the first event ({event}): play "
                "and treatment are then seen together",
                "add a date between covers_off and first_event",
                f"measures.{name}.dates",
            )
        elif days and (max(days) - event).days > LONG_AFTER_DAYS:
            yield Concern(
                "late visits",
                f"the last visit, {max(days)}, is {(max(days) - event).days} days after the first "
                f"event ({event}): by then play has more to do with it than a winter cover",
                "look at the date; log the play on each plot if you mean it",
                f"measures.{name}.dates",
            )


def _tines(definition: Definition) -> Found:
    unit = "in" if definition.units == "us" else "cm"
    for name, factor in definition.treatments.items():
        for key, level in factor.levels.items():
            if level.tine is not None and level.tine.depth > DEEPEST_M + 1e-9:
                depth, most = (from_si(one, unit) for one in (level.tine.depth, DEEPEST_M))
                yield Concern(
                    "deep tines",
                    f"{level.label} goes {depth:.3g} {unit} deep, and few aerators reach "
                    f"{most:.3g} {unit}",
                    "look at the number and its unit",
                    f"treatments.{name}.levels.{key}.tine.depth",
                )


def _room(definition: Definition) -> Found:
    """Count what is taken out of a plot over the season against what there is to take from."""
    layout = definition.layout
    sides = [side - 2 * layout.edge_left_out for side in layout.plot_size]
    fit = int(sides[0] * sides[1] / SPACING_M**2)
    taken = {
        name: measure.per_plot * len(dates_meant(definition.dates, measure.dates))
        for name, measure in definition.measures.items()
        if isinstance(measure, SheetMeasure) and measure.destructive
    }
    many = sum(taken.values())
    apart = "6 in" if definition.units == "us" else "15 cm"
    if many > fit:
        yield Concern(
            "no room for samples",
            f"{' and '.join(taken)} take {many} samples out of every plot over the season, and "
            f"the {in_feet(definition, sides)} inside its edge hold {fit} that are "
            f"{apart} apart",
            "take fewer samples, on fewer dates, or make the plots larger",
            f"measures.{next(iter(taken))}.per_plot",
        )


def _edges(definition: Definition) -> Found:
    layout = definition.layout
    if layout.alley == 0 and layout.edge_left_out == 0:
        yield Concern(
            "no edge",
            "plots touch and are observed up to their edge, where the next treatment reaches over",
            "leave out an edge of 1 ft (0.3 m) in each plot, or leave an alley between plots",
            "layout.edge_left_out",
        )
    tined = [name for name, _ in _aerations(definition)]
    if not tined or layout.alley >= TURNING_M - 1e-9 or layout.kind == "strip plot":
        return
    apart = f"plots are {in_feet(definition, [layout.alley])} apart"
    if layout.kind == "split plot" and layout.subplot in tined:
        apart = f"subplots of {tined[0]} touch, and whole {apart}"
    yield Concern(
        "aerator between plots",
        f"{apart}: an aerator may be too wide for one plot, or not turn without running over the "
        "next",
        f"try it on the spot; where it does not, leave alleys of {in_feet(definition, [TURNING_M])}"
        " or take a strip plot, in which it drives straight across",
        "layout.alley",
    )


def _winter_baseline(definition: Definition) -> Found:
    latitude = definition.site.latitude
    if latitude is None or abs(latitude) <= _FREEZES_FROM:
        return
    on = dates_meant(definition.dates, "covers_on")[0]
    name = definition.analysis.primary.measure
    if isinstance(definition.measures[name], LoggerMeasure):
        return  # a temperature shows itself in frozen ground as well
    days = [day for day in dates_meant(definition.dates, definition.measures[name].dates)]
    days = [day for day in days if day <= on]
    winter = _MIDWINTER[1 if latitude > 0 else -1]
    if days and all(day.month in winter for day in days):
        yield Concern(
            "winter baseline",
            f"{name} is first observed on {min(days)}, in mid-winter at latitude {latitude:g}: the "
            "ground may be frozen or under snow, and then shows nothing",
            "take the baseline in autumn, before the ground freezes; if that is past, take it on "
            "the last clear day before covers go on, and if there is none, say so in the diary "
            "and go without",
            f"measures.{name}.dates",
        )


def _blind(definition: Definition) -> Found:
    roles = {person.initials: person.role.lower() for person in definition.people}
    for name, measure in definition.measures.items():
        if not isinstance(measure, SheetMeasure) or not measure.scale or not measure.raters:
            continue
        if all(any(part in roles[one] for part in _KNOWING) for one in measure.raters):
            yield Concern(
                "nobody blind",
                f"all who rate ({', '.join(measure.raters)}) know which plots were covered, and "
                "an eye that knows sees what it expects",
                "ask whether someone who did not lay covers can rate as well, from a sheet "
                "without treatments",
                f"measures.{name}.raters",
            )


def _photos(definition: Definition) -> Found:
    """Say once for all photo measures what their photos leave open."""
    photos = {
        name: measure
        for name, measure in definition.measures.items()
        if isinstance(measure, PhotoMeasure)
    }
    primary = photos.get(definition.analysis.primary.measure)
    bare = [name for name, measure in photos.items() if measure.quadrat is None]
    said, instead, field = [], [], ""
    if bare:
        said.append(f"{' and '.join(bare)}: nothing tells how much of a plot a photo shows")
        instead.append("give its sides as 'quadrat'")
        field = f"measures.{bare[0]}.quadrat"
    if primary is not None and primary.per_plot == 1:
        asked = "the primary question" if definition.layout.tested else "the question"
        said.append(f"{asked} rests on one photo of each plot, and one that fails leaves none")
        more = "; more help only a little, since blocks and not photos tell treatments apart"
        instead.append(
            f"take two or three photos of each plot{more if definition.layout.tested else ''}"
        )
        field = field or f"measures.{definition.analysis.primary.measure}.per_plot"
    if said:
        yield Concern("photos", "; ".join(said), ", and ".join(instead), field)


FIELD_CHECKS: list[Callable[[Definition], Found]] = [
    _aeration_days,
    _days,
    _tines,
    _room,
    _edges,
    _winter_baseline,
    _blind,
    _photos,
]
