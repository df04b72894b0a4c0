"""What the section on the photos is filled with."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.photos import GreenWindow
from wintersward.report import accounts
from wintersward.report.numbers import counted, day_text, listed_words
from wintersward.report.photo_flags import PHOTO_CHECKS, flag_kinds
from wintersward.report.photo_sheets import OVERLAY, SHEET
from wintersward.report.said import number
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import measure_view
from wintersward.scored import window_of
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition, PhotoMeasure

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["photos_context"]

Context = dict[str, Any]
_UNTOLD = "not told by the files"
# Column of the table photo_scores: what it is called, its unit, its decimals.
_NUMBERS = {
    "cover": ("Green cover", "%", 1),
    "cover_se": ("Its standard error, estimated from one photo", "points", 1),
    "colour_index": ("Dark green colour index", "", 3),
    "colour_index_sd": ("Spread of the index within the photo", "", 3),
    "patchiness": ("Patchiness", "points", 1),
    "largest_bare_patch": ("Largest bare patch", "%", 1),
    "clipped": ("Pixels where the camera's scale ended", "%", 1),
}


def photos_context(page: Page) -> Context:
    """Tell how many photos were scored, by which window, what was flagged, and show them."""
    scores = page.table("photo_scores")
    photos = scores.drop_duplicates("path")
    flagged = accounts.flagged_table(scores, page.table("observations"), values=not page.waiting)
    return {
        "uses": any(isinstance(m, PhotoMeasure) for m in page.definition.measures.values()),
        "overlay": page.figure(OVERLAY, "photos"),
        **_sheets(page),
        "count": counted(len(photos), "photo") if len(photos) else "",
        "flagged": flagged,
        "flags": counted(int((photos["flags"].fillna("") != "").sum()), "photo"),
        "windows": _windows(page.definition),
        "visits": _visits(photos),
        "checks": _checks(photos),
        "unflagged": _unflagged(photos),
        "ranges": _ranges(scores, page.definition, page.waiting),
    }


def _sheets(page: Page) -> Context:
    """Give the sheet of the primary question's date, else the latest, and the others."""
    names = sorted(name for name in page.figures if name.startswith(SHEET))
    primary = page.definition.analysis.primary.on
    day = dates_meant(page.definition.dates, primary)[0]
    first = f"{SHEET}_{day}" if f"{SHEET}_{day}" in names else (names[-1] if names else "")
    others = [name for name in names if name != first]
    return {
        "sheet": page.figure(first, "photos sheet"),
        "sheets": [page.figure(name, "photos sheet") for name in others],
        "other_dates": counted(len(others), "other date"),
    }


def _windows(definition: Definition) -> list[str]:
    """Say which colours count as green for which measures, each window with its fingerprint."""
    used: dict[GreenWindow, list[str]] = {}
    for name, measure in definition.measures.items():
        if isinstance(measure, PhotoMeasure):
            used.setdefault(window_of(measure), []).append(measure_view(definition, name).noun)
    return [
        f"for {listed_words(nouns)}, {_window_words(window)} (fingerprint of these limits: "
        f"{window.hash()})"
        for window, nouns in used.items()
    ]


def _window_words(window: GreenWindow) -> str:
    limits = (("hue", window.hue, " degrees"), ("saturation", window.saturation, ""))
    parts = [
        f"{name} {low:g} to {high:g}{unit}"
        for name, (low, high), unit in (*limits, ("brightness", window.value, ""))
    ]
    return listed_words(parts)


def _visits(photos: pd.DataFrame) -> Markup:
    """Count the photos of each visit, with the cameras that took them."""
    if photos.empty:
        return Markup("")
    lines = []
    for day, here in photos.groupby("date", sort=True):
        cameras = here["camera"].fillna("").value_counts()
        told = [
            f"{name or _UNTOLD}" + (f" ({many})" if len(cameras) > 1 else "")
            for name, many in cameras.items()
        ]
        flagged = int((here["flags"].fillna("") != "").sum())
        cells = (str(len(here)), str(here["plot"].nunique()), "; ".join(told), str(flagged))
        lines.append(Row((day_text(day),), cells))
    heads = [Head("Date"), Head("Photos", "", True), Head("Plots", "", True)]
    heads += [Head("Camera"), Head("Flagged", "", True)]
    return html_table("Photos of each visit", heads, lines)


def _checks(photos: pd.DataFrame) -> Markup:
    """Say what each check that flagged a photo asks, and how many it flagged."""
    found = photos["flags"].fillna("").map(flag_kinds).explode().dropna().value_counts()
    if found.empty:
        return Markup("")
    order = [*(kind for kind in PHOTO_CHECKS if kind in found.index)]
    order += sorted(kind for kind in found.index if kind not in PHOTO_CHECKS)
    lines = [Row((kind,), (PHOTO_CHECKS.get(kind, ""), str(found[kind]))) for kind in order]
    heads = [Head("Check"), Head("Flags a photo where", "", False, "", True)]
    return html_table("What the checks noticed", [*heads, Head("Photos", "", True)], lines)


def _unflagged(photos: pd.DataFrame) -> str:
    """Name the checks that flagged nothing."""
    found = set(photos["flags"].fillna("").map(flag_kinds).explode().dropna())
    return listed_words([kind for kind in PHOTO_CHECKS if kind not in found])


def _ranges(scores: pd.DataFrame, definition: Definition, waiting: bool) -> list[Markup]:
    """Show from where to where the numbers of the photos go, whatever the treatment."""
    made = []
    windows = {
        window_of(m): None for m in definition.measures.values() if isinstance(m, PhotoMeasure)
    }
    known = {window.hash(): window for window in windows}
    for name, here in scores.groupby("window", sort=False):
        lines = []
        for column, (label, unit, decimals) in _NUMBERS.items():
            values = pd.to_numeric(here[column]).dropna()
            # How green the photos are is not shown while the comparison waits; an error of one
            # photo would pass in a demonstration for that of its one area.
            early = waiting and column.startswith("cover")
            untested = column == "cover_se" and not definition.layout.tested
            if values.empty or early or untested:
                continue
            ends = [
                number("photo_scores", scores, at, column, f"{float(values.loc[at]):.{decimals}f}")
                for at in (int(str(values.idxmin())), int(str(values.idxmax())))
            ]
            lines.append(Row((label, unit or "–"), (*ends, str(len(values)))))
        heads = [Head("Number of a photo"), Head("Unit"), Head("Lowest", "", True)]
        heads += [Head("Highest", "", True), Head("Photos", "", True)]
        which = f", {_window_words(known[name])}" if len(known) > 1 and name in known else ""
        made.append(html_table(f"The photos' numbers, over all photos{which}", heads, lines))
    return made
