"""Every model of a run, one row each: what is in it, and what its error rests on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, NamedTuple

import pandas as pd
from markupsafe import Markup

from wintersward.report.dates_together import structure_text, term_text
from wintersward.report.noting import place_text
from wintersward.report.numbers import day_text, days_listed, df_text, listed_words
from wintersward.report.seasonal import period_text
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import factor_label, in_sentence, measure_view
from wintersward.trial.schema import Definition

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["models_table", "versions_words"]

# Libraries that compute numbers of the results; the others read files or make the page.
_COMPUTING = ("formulaic", "numpy", "pandas", "pillow", "pvlib", "scikit-image", "scipy")


class _Model(NamedTuple):
    """A model of one measure: what it is called, when, and the cells of its row."""

    name: str
    measure: str
    when: str
    cells: tuple[str, ...]


def models_table(page: Page) -> Markup:
    """List the models as they were run.

    Parameters
    ----------
    page : Page
        With the tables ``primary``, ``skeleton``, ``tests``, ``structures`` and ``joint_tests``.

    Returns
    -------
    Markup
        The primary question, then the models of single dates, then those of all dates; measures
        with the same terms on the same dates stand in one row, in the definition's order. Empty
        before anything was analysed.
    """
    rows = [*_primary(page), *_merged(page, _single(page)), *_merged(page, _together(page))]
    if not rows:
        return Markup("")
    names = ("Model", "Measures and dates", "Fixed terms", "Random terms", "Error between")
    note = (
        "Fixed terms are estimated as they are; random terms stand for what varies around the "
        "units. The degrees of freedom (df) of every test stand beside it, in its own table."
    )
    heads = [*map(Head, names), Head("df, or how found")]
    return html_table("Models as they were run", heads, rows, note)


def _primary(page: Page) -> Iterator[Row]:
    primary, definition = page.table("primary"), page.definition
    planned = primary[(primary["which"] == "as planned") & primary["difference"].notna()]
    for (measure, day), rows in planned.groupby(["measure", "date"], sort=False):
        factor = definition.factor_of(str(rows["left"].iloc[0]))
        method = _once(rows["method"])
        # What units are compared within is fixed in this model, and random in those of dates.
        places = _places(page, str(measure), day, "random")
        within = method.partition(" within ")[2]
        held = [one for one in places if one in within]
        named = _terms([*held, factor_label(definition, factor)])
        how = f"{named[:1].upper()}{named[1:]}: {method}"
        units = _once(f"{kind}s" for kind in rows["unit_kind"].astype(str))
        dfs = _once(df_text(float(one)) for one in rows["df"])
        what = f"{measure_view(definition, str(measure)).label}, {day_text(day)}"
        yield Row(("The primary question", what), (how, "none", units, dfs), strong=True)


def _places(page: Page, measure: str, day: object, role: str) -> list[str]:
    """Name what the model of a date holds in one role, by the table ``skeleton``."""
    skeleton = page.table("skeleton")
    here = skeleton[(skeleton["measure"] == measure) & (skeleton["role"] == role)]
    here = here[pd.to_datetime(here["date"]) == pd.Timestamp(str(day))]
    if role == "residual":
        return [f"{kind}s" for kind in here["unit_kind"].astype(str)]
    return [place_text(page.definition, str(term)) for term in here["term"]]


def _merged(page: Page, models: Iterable[_Model]) -> Iterator[Row]:
    """Put measures with the same model on the same dates into one row."""
    merged: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    for one in models:
        merged.setdefault((one.name, one.when, one.cells), []).append(one.measure)
    for (name, when, cells), measures in sorted(merged.items(), key=lambda held: held[0][0]):
        labels = [measure_view(page.definition, measure).label for measure in measures]
        named = listed_words([*labels[:1], *map(in_sentence, labels[1:])])
        yield Row((name, f"{named}, {when}"), cells)


def _single(page: Page) -> Iterator[_Model]:
    """Tell the models of single dates, dates with the same terms together."""
    skeleton, tests, definition = page.table("skeleton"), page.table("tests"), page.definition
    for measure in definition.measures:
        groups: dict[tuple[str, ...], list[dt.date]] = {}
        for day, rows in skeleton[skeleton["measure"] == measure].groupby("date", sort=True):
            kinds = {role: rows[rows["role"] == role] for role in ("random", "residual")}
            fixed = rows[rows["role"].isin(["treatment", "ground"])]["term"].astype(str)
            here = tests[(tests["measure"] == measure) & (tests["date"] == day)]
            cells: tuple[str, ...] = (
                _terms([factor_label(definition, one) for one in _in_order(definition, fixed)]),
                _terms([place_text(definition, str(one)) for one in kinds["random"]["term"]]),
                _terms([f"{one}s" for one in kinds["residual"]["unit_kind"].astype(str)]),
                _once(here["method"]) or "none tested",
            )
            groups.setdefault(cells, []).append(pd.Timestamp(str(day)).date())
        for terms, days in groups.items():
            yield _Model("Single dates", measure, days_listed(days), terms)


def _together(page: Page) -> Iterator[_Model]:
    """Tell the models of all dates, with the form that was chosen for the dates of one unit."""
    structures, tests = page.table("structures"), page.table("joint_tests")
    definition = page.definition
    chosen = structures[structures["verdict"] == "chosen"]
    for measure in definition.measures:
        for _, row in chosen[chosen["measure"] == measure].iterrows():
            scope = str(row["scope"])
            here = tests[(tests["measure"] == measure) & (tests["scope"] == scope)]
            if here.empty:
                continue
            terms = _in_order(definition, here["term"].astype(str))
            cells = (
                _terms([term_text(definition, one) for one in terms]),
                _dated(page, measure, here["first"].iloc[0]),
                f"dates of one unit, {structure_text(row)}",
                _once(here["method"]),
            )
            name = f"All dates, {in_sentence(factor_label(definition, scope))}"
            yield _Model(name, measure, period_text(here.iloc[0]), cells)


def _dated(page: Page, measure: str, first: object) -> str:
    """List the random terms of all dates: those of their first date, also from date to date."""
    around, units = (_places(page, measure, first, role) for role in ("random", "residual"))
    also = f"{listed_words(around)}, also from date to date; " if around else ""
    return also + _once(units)


def _in_order(definition: Definition, terms: Iterable[str]) -> list[str]:
    """Put single terms first, factors as the definition has them, ground and date behind."""
    names = [*definition.treatments, "ground", "date"]

    def rank(term: str) -> tuple[int, list[int]]:
        parts = term.split(":")
        known = [names.index(one) if one in names else len(names) for one in parts]
        return len(parts), sorted(known)

    return sorted(terms, key=rank)


def _terms(words: list[str]) -> str:
    """List terms, the first as it is, of the others the first letter small."""
    return ", ".join([*words[:1], *map(in_sentence, words[1:])]) or "none"


def _once(words: Iterable[object]) -> str:
    """List what was said, each once."""
    return listed_words(list(dict.fromkeys(str(one) for one in words)) or [""])


def versions_words(versions: Mapping[str, str]) -> str:
    """Say by what the numbers were computed.

    Parameters
    ----------
    versions : mapping of str to str
        Of every library that takes part in the run; empty by hand in a notebook.

    Examples
    --------
    >>> versions_words({"wintersward": "0.1.0", "scipy": "1.17.1", "jinja2": "3.1.6"})
    'The numbers were computed by wintersward 0.1.0 with scipy 1.17.1.'
    """
    own = versions.get("wintersward", "")
    if not own:
        return ""
    others = [f"{name} {versions[name]}" for name in _COMPUTING if name in versions]
    beside = f" with {listed_words(others)}" if others else ""
    return f"The numbers were computed by wintersward {own}{beside}."
