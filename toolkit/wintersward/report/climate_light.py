"""Sun and light in words and tables: an estimate for a clear sky, month by month."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pandas as pd
from markupsafe import Markup

from wintersward.analysis.sun_hours import MEASURED
from wintersward.climate.light import CONVERSIONS
from wintersward.report.climate_views import climate_factor, ends_of, held_levels
from wintersward.report.numbers import day_text, listed_words, text
from wintersward.report.said import Said, Sentence, number, value_at
from wintersward.report.tables import Cell, Head, Row, html_table
from wintersward.report.views import in_sentence, level_label
from wintersward.trial.schema import Definition

__all__ = ["basis_words", "cover_light_words", "factor_words", "light_table", "lost_words"]
__all__ += ["turf_light_table"]

_NAME = "sun_hours"
_LIGHT = "mol m⁻² d⁻¹"


def basis_words(hours: pd.DataFrame) -> str:
    """Say what sun and light rest on: a clear sky, or radiation that was measured.

    Parameters
    ----------
    hours : DataFrame
        The table ``sun_hours`` of a run.
    """
    measured = hours.loc[hours["light_from"] == MEASURED, "month"]
    clear = "An estimate for a clear sky from where the sun stands and what stands around"
    if measured.empty:
        return f"{clear}, not measured; measured light would be lower."
    months = listed_words([_month(one) for one in sorted(measured.unique())])
    return (
        f"{clear}. The light of {months} is that of the radiation in the weather file, of which "
        "each plot has the share that it would have of a clear sky's."
    )


def lost_words(hours: pd.DataFrame, definition: Definition) -> Sentence:
    """Say how much of the light the surroundings take, on the plots with least and most of it.

    Parameters
    ----------
    hours : DataFrame
        The table ``sun_hours`` of a run.
    definition : Definition
        The trial.

    Returns
    -------
    Sentence
        Of the month in which most is lost; empty without rows, or where nothing stands around.
    """
    known = hours["lost"].dropna()
    around = [one.name for one in definition.site.shade]
    if known.empty or not around:
        return Sentence("")
    _, worst = ends_of(known)
    month = hours["month"].loc[worst]
    least, _ = ends_of(hours.loc[hours["month"] == month, "lost"])
    ends = {"most": worst, "least": least}
    parts: dict[str, object] = {
        name: number(_NAME, hours, at, "lost", text(value_at(hours, at, "lost"), 0))
        for name, at in ends.items()
    }
    parts |= {f"{name}_plot": str(hours["plot"].loc[at]) for name, at in ends.items()}
    parts |= {"around": listed_words(around), "month": _month(month)}
    return Sentence(
        "What stands around ({around}) takes most in {month}: an estimated {most} % of the light "
        "of plot {most_plot}, and {least} % of that of plot {least_plot}.",
        parts,
    )


def light_table(hours: pd.DataFrame) -> Markup:
    """Show sun and light month by month: of the plot with least, the one with most, the open.

    Parameters
    ----------
    hours : DataFrame
        The table ``sun_hours`` of a run.

    Returns
    -------
    Markup
        Empty without rows.
    """
    if hours.empty:
        return Markup("")
    heads = [Head("Month")]
    groups = [
        ("sun_hours", "open_sun_hours", "Direct sun", "h a day"),
        ("light", "open_light", "Light", _LIGHT),
    ]
    for _, _, group, unit in groups:
        heads += [Head(one, unit, True, group) for one in ("least", "most", "nothing around")]
    heads += [Head(one, "%", True, "Light lost") for one in ("least", "most")]
    rows = []
    for month, here in hours.groupby("month", sort=True):
        cells: list[Cell] = []
        for own, opened, _, _ in groups:
            ends = ends_of(here[own])
            cells += [_cell(hours, at, own, 1) for at in ends]
            cells.append(_cell(hours, ends[0], opened, 1))
        cells += [_cell(hours, at, "lost", 0) for at in ends_of(here["lost"].fillna(0.0))]
        rows.append(Row((_month(month),), tuple(cells)))
    note = "Of all plots the one with least and the one with most, without covers."
    return html_table("Sun and light, month by month", heads, rows, note)


def turf_light_table(
    hours: pd.DataFrame, plots: pd.DataFrame | None, definition: Definition
) -> Markup:
    """Show the light that came through to the turf in the months with covers, by treatment.

    Parameters
    ----------
    hours : DataFrame
        The table ``sun_hours`` of a run.
    plots : DataFrame
        ``plan/plots.csv``.
    definition : Definition
        The trial.

    Returns
    -------
    Markup
        Empty where no cover lay, or nothing tells what covers let through.
    """
    factor = climate_factor(definition)
    if plots is None or factor not in plots:
        return Markup("")
    told = hours.assign(level=hours["plot"].map(plots.set_index("plot")[factor]))
    covered = told[told["covered_days"] > 0]
    months = sorted(covered.loc[covered["turf_light"].notna(), "month"].unique())
    clear = bool((told.loc[told["month"].isin(months), "light_from"] != MEASURED).all())
    group = "Light on the turf, clear sky" if clear else "Light on the turf"
    heads = [Head("Month"), Head("Treatment"), Head("least", _LIGHT, True, group)]
    heads += [Head("most", _LIGHT, True, group)]
    heads += [Head("covered", "days", True), Head("of", "days", True)]
    rows = []
    for month in months:
        here = told[(told["month"] == month) & told["turf_light"].notna()]
        for level in held_levels(definition, here["level"]):
            own = here[here["level"] == level]
            cells: list[Cell] = [
                _cell(hours, at, "turf_light", 1) for at in ends_of(own["turf_light"])
            ]
            _, at = ends_of(own["covered_days"])
            cells += [_cell(hours, at, name, 0) for name in ("covered_days", "days")]
            rows.append(Row((_month(month), level_label(definition, level)), tuple(cells)))
    if not rows:
        return Markup("")
    note = (
        "While a cover lay, the share that the definition names came through. Dew, frost, dirt, "
        "and snow on cover or turf are left out."
    )
    return html_table("Light on the turf, by treatment", heads, rows, note)


def cover_light_words(
    hours: pd.DataFrame,
    plots: pd.DataFrame | None,
    definition: Definition,
    snow: Sequence[str] = (),
) -> list[Sentence]:
    """Say how much of the light covers kept back, by the definition.

    Parameters
    ----------
    hours : DataFrame
        The table ``sun_hours`` of a run.
    plots : DataFrame, optional
        ``plan/plots.csv``; without it, as while a comparison waits, only what the definition says.
    definition : Definition
        The trial.
    snow : sequence of str
        Days from which on snow lay, by the diary.

    Returns
    -------
    list of Sentence
        Empty where the definition gives no share of light.
    """
    factor = definition.treatments[climate_factor(definition)]
    shares = {name: one.light for name, one in factor.levels.items() if one.light is not None}
    if not shares:
        return []
    kept = [
        f"{in_sentence(level_label(definition, name))} {'' if at else 'is taken to keep back '}"
        f"{100 - share:g} %"
        for at, (name, share) in enumerate(shares.items())
    ]
    said = [
        Sentence(
            "While it lay, {kept} of the light, by the definition; nobody measured it here.",
            {"kept": listed_words(kept)},
        )
    ]
    if plots is not None and climate_factor(definition) in plots:
        said += _through(hours, plots, definition, list(shares))
    lay = f" (by the diary from {listed_words(list(snow))} on)" if snow else ""
    words = f"Cloud, and snow on covers or turf{lay}, took more, from open plots too."
    return [*said, Sentence("{words}", {"words": words})]


def _through(
    hours: pd.DataFrame, plots: pd.DataFrame, definition: Definition, covers: list[str]
) -> list[Sentence]:
    """Say for the month that was covered most how much light came through."""
    factor = climate_factor(definition)
    told = hours.assign(level=hours["plot"].map(plots.set_index("plot")[factor]))
    covered = told[(told["covered_days"] > 0) & told["turf_light"].notna()]
    if covered.empty:
        return []
    months = (covered["covered_days"] / covered["days"]).groupby(covered["month"]).mean()
    here = told[told["month"] == months.idxmax()]
    control = definition.treatments[factor].control
    spans = {
        level: _span(hours, here[here["level"] == level])
        for level in [*held_levels(definition, here["level"])]
        if level in covers or level == control
    }
    beside = spans.pop(control, None)
    if beside is None or not spans:
        return []
    clear = (here["light_from"] != MEASURED).all()
    names = [f"s{at}" for at in range(len(spans))]
    labels = [in_sentence(level_label(definition, level)) for level in spans]
    listed = listed_words([f"{{{n}}} under {{{n}_of}}" for n in names])
    parts: dict[str, object] = dict(zip(names, spans.values(), strict=True))
    parts |= {f"{n}_of": label for n, label in zip(names, labels, strict=True)}
    parts |= {"beside": beside, "unit": _LIGHT, "month": _month(here["month"].iloc[0])}
    parts["sky"] = "under a clear sky" if clear else "by the radiation of the weather file"
    form = "For {month} {sky} that is " + listed + " in place of {beside} {unit}."
    return [Sentence(form, parts)]


def _span(hours: pd.DataFrame, own: pd.DataFrame) -> Sentence:
    """Write the least and the most light on the turf of some plots."""
    least, most = ends_of(own["turf_light"])
    low, high = (_cell(hours, at, "turf_light", 0) for at in (least, most))
    same = str(low) == str(high)
    return Sentence("{low}" if same else "{low} to {high}", {"low": low, "high": high})


def factor_words(hours: pd.DataFrame) -> str:
    """Say by which number energy was turned into light; empty without rows."""
    said = []
    for name in dict.fromkeys(hours["factor"].dropna().astype(str)):
        known = CONVERSIONS.get(name)
        source = f" ({known.source})" if known else ""
        share, photons = name.split(" x ")
        said.append(f"{share} of the energy of the sun times {photons} µmol J⁻¹{source}")
    if not said:
        return ""
    return (
        f"Light is that which plants use: {in_sentence(listed_words(said))}. Two such numbers are "
        "in use, which differ by 12 %."
    )


def _month(month: object) -> str:
    return day_text(month).partition(" ")[2]


def _cell(hours: pd.DataFrame, at: int, column: str, decimals: int) -> Said | str:
    value = value_at(hours, at, column)
    shown = text(value, decimals)
    return number(_NAME, hours, at, column, shown) if math.isfinite(value) else "–"
