"""Data and how to verify: what a run was made from, who checks it how, and how it is cited."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from wintersward import __version__
from wintersward.paths import command
from wintersward.report.numbers import counted, day_text
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.trial_section import days_of

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["citation", "last_day", "provenance_context", "season_text"]

_NAME = "wintersward"
# As a reader puts a name of their own in their place.
_STUDY, _BUNDLE = "STUDY", "bundle-NNN.zip"
# What lies where in a study folder; the first that a file's name begins with.
_KINDS = (
    ("trial.yaml", "the definition: what was decided"),
    ("diary.yaml", "the diary: what happened"),
    ("plan/frozen/", "the plan as it was frozen"),
    ("plan/papers/", "the key of the point count"),
    ("plan/", "the plots, and what is known of them"),
    ("sheets/", "values written by hand"),
    ("loggers/", "weather and loggers"),
    ("photos/point_count", "points that people counted on photos"),
    ("photos/", "photos, and their list"),
    ("earlier/", "earlier seasons of the trial"),
)


def provenance_context(page: Page) -> dict[str, Any]:
    """Fill the section on the data and how to verify the page."""
    held = page.provenance
    files = [Row((name,), (digest,)) for name, digest in held.files.items()]
    return {
        "files": html_table("Input files", [Head("File"), Head("SHA-256")], files) if files else "",
        "kinds": _kinds(page),
        "count": counted(len(files), "input file"),
        "versions": held.versions,
        "own_copies": held.own_copies,
        "seed": page.definition.layout.seed,
        "bundle": _typed("bundle", _STUDY),
        "verify": _typed("verify", _BUNDLE),
        "study": _STUDY,
        "archive": _BUNDLE,
        "citation": citation(page),
        "people": [f"{one.name} ({one.role})" for one in page.definition.people],
        "season": season_text(page),
        "data_to": last_day(page),
        "version": _version(page),
        "stamp": held.files.get("trial.yaml", "")[:12],
    }


def _typed(verb: str, name: str) -> str:
    """Write a command by the program's own name.

    Notes
    -----
    `wintersward.paths.command` writes it as it is typed on the computer that asks; a page must
    have the same bytes wherever it was made, and is read elsewhere.
    """
    typed = command(verb, name)
    return _NAME + typed[typed.rindex(f" {verb} ") :]


def _kinds(page: Page) -> Any:
    """Count the input files by what they are."""
    counts: dict[str, int] = {}
    for name in page.provenance.files:
        _, what = next((one for one in _KINDS if name.startswith(one[0])), ("", "other files"))
        counts[what] = counts.get(what, 0) + 1
    if not counts:
        return ""
    heads = [Head("What"), Head("files", "", True)]
    ordered = [*dict.fromkeys(what for _, what in _KINDS), "other files"]
    rows = [Row((what,), (str(counts[what]),)) for what in ordered if what in counts]
    return html_table("What the run was made from", heads, rows)


def _version(page: Page) -> str:
    return page.provenance.versions.get(_NAME, __version__)


def citation(page: Page) -> str:
    """Write how the report is cited, ready for print.

    Parameters
    ----------
    page : Page
        Its definition names people, title and site; its observations end the season.

    Returns
    -------
    str
        People (year): title; kind of report, site, season; version. No date of printing, which
        would make another page of the same results.
    """
    definition = page.definition
    observed = page.table("observations")
    days = pd.to_datetime(observed["date"]) if not observed.empty else pd.Series(_planned(page))
    year = pd.Timestamp(days.max()).year
    names = "; ".join(one.name for one in definition.people)
    title = definition.title.rstrip(".")
    kind = "trial" if definition.layout.tested else "demonstration"
    site = f"{definition.site.name}, {definition.site.country}"
    return (
        f"{names} ({year}): {title}. Report of a winter-cover {kind}, {site}, "
        f"{season_text(page)}. Made with {_NAME} {_version(page)}."
    )


def _planned(page: Page) -> list[pd.Timestamp]:
    dates = page.definition.dates.values()
    return [pd.Timestamp(day) for days in dates for day in days_of(days)]


def season_text(page: Page) -> str:
    """Name the season by the years of its first and last planned date."""
    years = sorted({day.year for day in _planned(page)})
    if len(years) == 1:
        return f"winter and spring {years[0]}"
    return f"winter {years[0]}–{years[-1]}"


def last_day(page: Page) -> str:
    """Name the day of the last observation; empty before the first."""
    observed = page.table("observations")
    return "" if observed.empty else day_text(observed["date"].max())
