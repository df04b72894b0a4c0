"""The photos of a trial as pictures of a run: what counts as green, and a sheet for each date."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import pandas as pd
from PIL import Image

from wintersward.photos.decoding import open_photo
from wintersward.photos.overlays import overlay
from wintersward.photos.sheets import JPEG_QUALITY, Example, SheetRow, contact_sheet
from wintersward.report.numbers import counted, day_text, text
from wintersward.report.photo_flags import flag_kinds
from wintersward.report.views import level_label
from wintersward.scored import window_of
from wintersward.trial.dates import dates_meant

if TYPE_CHECKING:
    from wintersward.study import Trial

__all__ = ["OVERLAY", "SHEET", "PhotoPicture", "photo_pictures"]

OVERLAY, SHEET = "photo_overlay", "photo_sheet"
"""How the names of the pictures begin."""

# The page travels by mail: all sheets together, and the photos that they have room for.
_SHEETS_BYTES, _MOST_PHOTOS = 850_000, 700
_THUMB_PX, _LEAST_PX, _STEP_PX = 150, 80, 10
_COLUMNS = 6
_OVERLAY_PX, _OVERLAY_PART_PX = 1120, 280


@dataclass(frozen=True)
class PhotoPicture:
    """A picture made of photos, with its words.

    Parameters
    ----------
    name : str
        Of its file, without an ending.
    image : PIL.Image.Image
        RGB.
    alt : str
        Its message with numbers, for those who do not see it.
    caption : str
        What to see in it.
    """

    name: str
    image: Image.Image
    alt: str
    caption: str


def photo_pictures(trial: Trial) -> Iterator[PhotoPicture]:
    """Draw the photos of a trial: one as the rule sees it, and a sheet for each date.

    Parameters
    ----------
    trial : Trial
        The study.

    Yields
    ------
    PhotoPicture
        First the middle of a photo with what counts as green, the middle photo by green cover
        of all, or of the primary date once that has its data; then for each date the first photo
        of each plot and every photo that a check flagged. Once the primary question has its data
        a sheet is grouped by the treatments that were there on the day, with the green cover
        below each photo; before, photos stand by plot number. Nothing where there are no photos.
    """
    scores = trial.photo_scores().drop_duplicates("path")
    scores = scores.assign(flags=scores["flags"].fillna(""))
    if scores.empty:
        return
    yield _overlaid(trial, scores)
    first = ~scores.sort_values("sample", kind="stable").duplicated(["date", "plot"])
    shown = scores[first.reindex(scores.index) | (scores["flags"] != "")]
    days, left_out = _days(shown)
    gone = _set_aside(trial)
    for day in days:
        note = "" if day != days[0] or not left_out else _left_out(left_out)
        yield _sheet(trial, shown[shown["date"] == day], gone, _SHEETS_BYTES // len(days), note)


def _overlaid(trial: Trial, scores: pd.DataFrame) -> PhotoPicture:
    """Show by what rule pixels count, on a photo that is neither bare nor full."""
    asked = dates_meant(trial.definition.dates, trial.definition.analysis.primary.on)[0]
    own = scores[(scores["date"] == pd.Timestamp(asked)) & trial.ready]
    among, of = (scores, "all photos") if own.empty else (own, "all photos of that day")
    middle = among.sort_values(["cover", "path"], kind="stable").iloc[(len(among) - 1) // 2]
    path = trial.folder / str(middle["path"])
    width, high = open_photo(path).image.size
    share = min(1.0, _OVERLAY_PART_PX / max(width, high))
    edge = (1 - share) / 2
    window = window_of(next(iter(trial.photo_measures.values())))
    made = overlay(path, window, (edge, edge, 1 - edge, 1 - edge), _OVERLAY_PX)
    which = f"plot {middle['plot']} on {day_text(middle['date'])}"
    alt = (
        f"The middle of a photo of {which}, enlarged: lines part what counts as green, "
        f"{text(made.green, 1)} % of it, from what does not, and dots mark "
        f"{text(made.borderline, 1)} % of the pixels as borderline."
    )
    chosen = f"The middle of a photo of {which}, the middle one of {of} by green cover."
    return PhotoPicture(OVERLAY, made.image, alt, f"{chosen} {made.caption}")


def _days(shown: pd.DataFrame) -> tuple[list[pd.Timestamp], int]:
    """List the dates that have a sheet, the latest where there is no room for all."""
    days = sorted(shown["date"].unique())
    counts = shown["date"].value_counts()
    kept: list[pd.Timestamp] = []
    for day in reversed(days):
        if kept and counts[[*kept, day]].sum() > _MOST_PHOTOS:
            break
        kept.append(pd.Timestamp(day))
    return kept[::-1], len(days) - len(kept)


def _left_out(dates: int) -> str:
    which, have = counted(dates, "date").capitalize(), "has" if dates == 1 else "have"
    return f" {which} before this one {have} no sheet: the page has no room."


def _set_aside(trial: Trial) -> set[str]:
    observed = trial.observations()
    return set(observed.loc[observed["excluded"].fillna("") != "", "source"].astype(str))


def _sheet(
    trial: Trial, scores: pd.DataFrame, gone: set[str], most_bytes: int, note: str
) -> PhotoPicture:
    """Lay out the photos of one date."""
    day = scores["date"].iloc[0]
    parts = _rows(trial, scores, day)
    rows = [
        SheetRow(heading, [_example(trial, row, gone) for _, row in part.iterrows()])
        for heading, part in parts
    ]
    thumb = _THUMB_PX
    image = contact_sheet(rows, _COLUMNS, thumb, trial.ready)
    while _bytes(image) > most_bytes and thumb > _LEAST_PX:
        thumb -= _STEP_PX
        image = contact_sheet(rows, _COLUMNS, thumb, trial.ready)
    headings = [heading for heading, _ in parts if heading]
    return PhotoPicture(
        f"{SHEET}_{pd.Timestamp(day).date()}",
        image,
        _alt(scores, headings, trial.ready),
        _caption(scores, headings, trial.ready) + note,
    )


def _rows(trial: Trial, scores: pd.DataFrame, day: pd.Timestamp) -> list[tuple[str, pd.DataFrame]]:
    """Part the photos of a date by the treatments that were on their plots.

    A visit on a treatment's first day was before it.
    """
    ordered = scores.sort_values(["plot", "sample"], kind="stable")
    there = [name for name in trial.factors if trial.begins(name) < day.date()]
    if not trial.ready or not there:
        return [("", ordered)]
    plots = trial.plots.set_index("plot")
    parts = []
    for levels in product(*(list(trial.factors[name].levels) for name in there)):
        held = plots[(plots[there] == list(levels)).all(axis=1)].index
        part = ordered[ordered["plot"].isin(held)]
        if not part.empty:
            parts.append((level_label(trial.definition, ":".join(levels)), part))
    return parts


def _example(trial: Trial, row: pd.Series, gone: set[str]) -> Example:
    picture = open_photo(trial.folder / str(row["path"]), 2 * _THUMB_PX).image
    picture.thumbnail((2 * _THUMB_PX, 2 * _THUMB_PX), Image.Resampling.LANCZOS)
    return Example(
        picture,
        str(row["plot"]) + (f", photo {row['sample']}" if int(row["sample"]) > 1 else ""),
        float(row["cover"]) if pd.notna(row["cover"]) else None,
        "set aside in the diary" if str(row["path"]) in gone else "",
        ", ".join(flag_kinds(str(row["flags"]))),
    )


def _bytes(image: Image.Image) -> int:
    stream = io.BytesIO()
    image.save(stream, "JPEG", quality=JPEG_QUALITY, optimize=True)
    return len(stream.getvalue())


def _alt(scores: pd.DataFrame, headings: list[str], ready: bool) -> str:
    """Tell how many photos a sheet holds, and the least and the most green of them."""
    said = f"{counted(len(scores), 'photo').capitalize()} of {day_text(scores['date'].iloc[0])}"
    said += f", grouped by treatment: {'; '.join(headings)}." if headings else ", by plot number."
    flagged = int((scores["flags"] != "").sum())
    said += (
        f" {counted(flagged, 'photo').capitalize()} flagged." if flagged else " None is flagged."
    )
    ranked = scores.dropna(subset="cover").sort_values("cover", kind="stable")
    if not ready or ranked.empty:
        return said
    ends = [
        f"{text(float(one['cover']), 0)} % on plot {one['plot']}"
        for one in (ranked.iloc[0], ranked.iloc[-1])
    ]
    return f"{said} Green cover goes from {ends[0]} to {ends[1]}."


def _caption(scores: pd.DataFrame, headings: list[str], ready: bool) -> str:
    """Say what a sheet shows and how to read it."""
    day = day_text(scores["date"].iloc[0])
    if not ready:
        said = (
            f"Photos of {day} by plot number. Treatments and green cover come beside them once the "
            "primary question has its data."
        )
    elif headings:
        said = f"Photos of {day}, grouped by treatment"
    else:
        said = f"Photos of {day}, before any treatment was there"
    if ready:
        said += "; below each its plot and green cover in percent."
    if (scores["flags"] != "").any():
        said += " A black frame marks what a check flagged; the reason stands below it."
    return said
