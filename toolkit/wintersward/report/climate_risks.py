"""Risks in words and tables: what was counted by treatment, by which limit, and who says so."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import pandas as pd
from markupsafe import Markup

from wintersward.climate.risk import RISKS
from wintersward.report.climate_counts import UNITS, risk_label, soon_after
from wintersward.report.climate_views import Degrees, ends_of, held_levels
from wintersward.report.numbers import counted, day_text, listed_words, text
from wintersward.report.said import Sentence, number, row_at, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import level_label, measure_view
from wintersward.trial.climate import DollarSpot
from wintersward.trial.schema import Definition

__all__ = ["counted_by_plot", "dollar_spot_words", "limit_words", "risks_table", "snow_days"]
__all__ += ["unseen_words"]

_NAME = "risks_by_level"
_TAIL = "; a count is not a diagnosis."
# Days that differ by less, as where a plot was not seen for a while, are the same days.
_SAME_DAYS = 1.0
_DISEASE = "disease_cover"
_UNSEEN = (
    "Disease was not a measure of this trial: whether snow mould came, nothing here tells. Look "
    "when covers come off, and again after 7 and 14 days (common practice, no source)."
)


def risks_table(counts: pd.DataFrame, definition: Definition) -> Markup:
    """Show what was counted of each risk, by treatment.

    Parameters
    ----------
    counts : DataFrame
        The table ``risks_by_level`` of a run.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        Empty without rows.
    """
    if counts.empty:
        return Markup("")
    soon = soon_after(definition)
    heads = [Head("Risk"), Head("Treatment"), Head("a plot, on average", "", True)]
    heads += [Head("of these under a cover", "", True), Head("fewest to most of a plot", "", True)]
    heads += [Head("days marked", "", True), Head("plots", "", True)]
    rows = []
    for at in _in_order(counts, definition):
        row = row_at(counts, at)
        unit = UNITS[str(row["unit"])]
        shown = {n: _amount(value_at(counts, at, n)) for n in ("counted", "under")}
        ends = {n: text(value_at(counts, at, n), 0) for n in ("fewest", "most")}
        said = {n: number(_NAME, counts, at, n, one) for n, one in (shown | ends).items()}
        days = number(_NAME, counts, at, "marked_days", _amount(float(row["marked_days"])))
        plots = number(_NAME, counts, at, "plots", f"{value_at(counts, at, 'plots'):.0f}")
        span = Sentence("{fewest} to {most}", said)
        cells: tuple[Cell, ...] = (said["counted"], said["under"], span, days, plots)
        label = f"{risk_label(str(row['risk']))} [{unit}]{_sensor(counts, row, definition)}"
        rows.append(Row((label, level_label(definition, str(row["level"]))), cells))
    note = (
        f"From covers on to {soon} days after they came off. Days marked are those with so many "
        "hours as the limit names, or with any; of days, those in a spell."
    )
    after = counts.loc[counts["risk"] == "frost_after_uncovering", "days"]
    if len(after) and after.max() - after.min() > _SAME_DAYS:
        note += (
            " Covers came off on several days, and plots with no cover count the days after each: "
            "hours of frost are of unlike numbers of days."
        )
    return html_table("Risks counted, by treatment", heads, rows, note)


def snow_days(events: pd.DataFrame, spells: Sequence[tuple[dt.date, dt.date]]) -> list[str]:
    """List the days on which snow came while covers lay, by the diary.

    Parameters
    ----------
    events : DataFrame
        The table ``cover_events`` of a run.
    spells : sequence of (date, date)
        Time under cover.
    """
    days = pd.to_datetime(events.loc[events["what"] == "snow", "date"]).dt.date
    under = [day for day in sorted(set(days)) if any(on <= day < off for on, off in spells)]
    return [day_text(day) for day in under]


def unseen_words(counts: pd.DataFrame, definition: Definition, snow: Sequence[str]) -> list[str]:
    """Say what the counts of snow mould cannot tell: hours under snow, and whether it came.

    Parameters
    ----------
    counts : DataFrame
        The table ``risks`` of a run.
    definition : Definition
        The trial.
    snow : sequence of str
        Days on which snow came, as `snow_days` gives them.
    """
    said, held = [], set(counts["risk"])
    if "grey_snow_mould" in held and snow:
        said.append(
            f"By the diary snow came on {listed_words(snow)}, while covers lay; how long it lay "
            "stands in notes alone, so that hours under snow are not counted apart."
        )
    elif "grey_snow_mould" in held:
        said.append("The diary tells of no snow that came while covers lay.")
    looked = any(getattr(one, "kind", None) == _DISEASE for one in definition.measures.values())
    if held & {"grey_snow_mould", "pink_snow_mould"} and not looked:
        said.append(_UNSEEN)
    return said


def _in_order(counts: pd.DataFrame, definition: Definition) -> list[int]:
    levels = held_levels(definition, counts["level"])
    order = counts.assign(
        _risk=[list(RISKS).index(str(one)) for one in counts["risk"]],
        _level=[levels.index(str(one)) for one in counts["level"]],
    )
    return [int(at) for at in order.sort_values(["_risk", "measure", "_level"]).index]


def _sensor(counts: pd.DataFrame, row: pd.Series, definition: Definition) -> str:
    """Name the measure where there are several."""
    if counts["measure"].nunique() < 2:
        return ""
    return f", {measure_view(definition, str(row['measure'])).noun}"


def _amount(value: float) -> str:
    """Write a mean count: whole from ten on, else with one decimal where it is not whole."""
    return text(value, 0 if value >= 10 or value == round(value) else 1)


def limit_words(counts: pd.DataFrame) -> list[tuple[str, str, str]]:
    """Say of each risk that was counted what was counted, and where its limits come from.

    Parameters
    ----------
    counts : DataFrame
        The table ``risks`` of a run.

    Returns
    -------
    list of (str, str, str)
        Name, a sentence, source.
    """
    told = counts.drop_duplicates("risk").set_index("risk")
    return [
        (risk_label(name), f"{str(told['limit'][name]).removesuffix(_TAIL)}.", told["source"][name])
        for name in RISKS
        if name in told.index
    ]


def counted_by_plot(counts: pd.DataFrame, definition: Definition) -> Markup:
    """List what was counted on every plot, for few plots.

    Parameters
    ----------
    counts : DataFrame
        The table ``risks`` of a run; rows without a treatment are left out.
    definition : Definition
        The trial.
    """
    told = counts[counts["level"].fillna("") != ""]
    if told.empty:
        return Markup("")
    heads = [Head("Risk"), Head("Plot"), Head("Treatment"), Head("Days")]
    heads += [Head("counted", "", True), Head("days marked", "", True)]
    rows = []
    for name in RISKS:
        for at in map(int, told.index[told["risk"] == name]):
            row = row_at(told, at)
            days = "under a cover" if row["covered"] == "yes" else "open"
            cells: tuple[Cell, ...] = (
                level_label(definition, str(row["level"])),
                days,
                number("risks", told, at, "counted", text(value_at(told, at, "counted"), 0)),
                number("risks", told, at, "marked_days", f"{row['marked_days']:.0f}"),
            )
            head = f"{risk_label(name)} [{UNITS[str(row['unit'])]}]{_sensor(told, row, definition)}"
            rows.append(Row((head, str(row["plot"])), cells))
    return html_table("Risks counted, plot by plot", heads, rows)


def _spot(definition: Definition) -> DollarSpot | None:
    return definition.climate.dollar_spot if definition.climate is not None else None


def _spot_source(definition: Definition) -> str:
    spot = _spot(definition)
    return spot.source if spot is not None and spot.source else "no source given"


def dollar_spot_words(days: pd.DataFrame, definition: Definition) -> Sentence:
    """Say how likely dollar spot was by the coefficients of the definition.

    Parameters
    ----------
    days : DataFrame
        The table ``dollar_spot`` of a run, in SI.
    definition : Definition
        The trial.

    Returns
    -------
    Sentence
        Empty without rows.
    """
    if days.empty:
        return Sentence("")
    begin = (
        f"Dollar spot: by the coefficients that the definition gives ({_spot_source(definition)}), "
        "and means of five days of the humidity and the air of the weather file, "
    )
    end = " It is the air of a station, not that under a cover. Pesticides: by their label, and by "
    end += "licensed applicators."
    if days["probability"].isna().all():
        form = "nothing can be told, since no mean of the air lay where the equation was made for."
        return Sentence(begin + form + end)
    degrees, (_, at) = Degrees(definition.units), ends_of(days["probability"])
    air = text(degrees.value(value_at(days, at, "temperature")), 1)
    shown = {"probability": text(value_at(days, at, "probability"), 0), "temperature": air}
    shown["humidity"] = text(value_at(days, at, "humidity"), 0)
    parts: dict[str, object] = {
        name: number("dollar_spot", days, at, name, one) for name, one in shown.items()
    }
    parts |= {"day": day_text(days["date"].loc[at]), "unit": degrees.unit}
    form = "its probability was highest on {day}, with {probability} % (humidity {humidity} %, air "
    form += "{temperature} {unit})."
    spot = _spot(definition)
    if spot is not None and spot.act_at is not None:
        mark = spot.act_at
        many = counted(int((days["probability"] >= mark).sum()), "day")
        form += f" It was {mark:g} % or more, the mark of the definition, on {many}."
    return Sentence(begin + form + end, parts)
