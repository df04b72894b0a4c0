"""The pictures of the supporting analyses: arrivals, residuals, raters, eye and photo."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from wintersward.analysis.results import empty
from wintersward.report.agreeing import rater_gaps
from wintersward.report.agreement_figures import (
    eye_against_photo,
    eye_against_photo_alt,
    severity,
    severity_alt,
)
from wintersward.report.arrival_figures import arrivals, arrivals_alt
from wintersward.report.limits_figures import limits, limits_alt
from wintersward.report.picture import Picture
from wintersward.report.point_figures import count_pictures
from wintersward.report.residual_figures import residuals, residuals_alt
from wintersward.report.threshold_figures import threshold_pictures
from wintersward.report.variance_figures import shares_picture
from wintersward.report.views import main_factor, measure_view, picture_name, stands_on
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import Definition

__all__ = ["agreement_pictures", "arrivals_picture", "residuals_picture", "supporting_pictures"]

Tables = Mapping[str, pd.DataFrame]
_COUNTED = ("point_counts", "point_agreement", "calibration")


def _table(tables: Tables, name: str) -> pd.DataFrame:
    return tables[name] if name in tables else empty(name)


def arrivals_picture(tables: Tables, definition: Definition) -> Picture:
    """Make the picture of the days on which the units reached the stated level."""
    found = _table(tables, "arrivals")
    off = dates_meant(definition.dates, "covers_off")[0]
    kind = stands_on(definition, main_factor(definition), off)
    order = "blocks" if definition.layout.blocks else "plots"
    caption = (
        f"A mark is the day on which one {kind} reached the level, between visits by a straight "
        "line. An open mark with an arrow is a bound: to the left, it was there already at the "
        "first visit; to the right, it was not there at the last. Marks of one treatment stand one "
        f"below the other in the order of their {order}; their height tells nothing else."
    )
    return Picture(
        "arrivals", arrivals(found, definition), arrivals_alt(found, definition), caption
    )


def residuals_picture(tables: Tables, definition: Definition, measure: str) -> Picture:
    """Make the picture of what the models of a measure leave unexplained."""
    found = _table(tables, "residuals")
    caption = (
        f"{measure_view(definition, measure).label}: what the models leave unexplained. Look for a "
        "block, a date or a treatment whose marks lie mostly on one side or spread more, for a "
        "bend or a funnel at the lower left, and for marks far off the line at the lower right."
    )
    figure, alt = residuals(found, definition, measure), residuals_alt(found, definition, measure)
    return Picture(picture_name("residuals", measure), figure, alt, caption)


def agreement_pictures(tables: Tables, definition: Definition, measure: str) -> list[Picture]:
    """Make the pictures of the raters of a measure, and of the eye beside the photo.

    Returns
    -------
    list of Picture
        Those that have something to show; treatments play no part in them.
    """
    raters, pairs = _table(tables, "raters"), _table(tables, "eye_and_photo")
    found, view, made = _table(tables, "agreement"), measure_view(definition, measure), []
    if (raters["measure"] == measure).any():
        two = not rater_gaps(raters[raters["measure"] == measure]).empty
        apart = "one rater lies from the other" if two else "each rater lies from their mean"
        caption = f"{view.label}: how far {apart}. A line that slopes is a rater who drifts."
        figure = severity(raters, definition, measure)
        alt = severity_alt(raters, definition, measure)
        made.append(Picture(picture_name("raters", measure), figure, alt, caption))
    own = pairs[pairs["measure"] == measure]
    for against in dict.fromkeys(own["against"].astype(str)):
        photo = measure_view(definition, against).noun
        caption = (
            f"{view.label} by eye against {photo} from photos, a panel a date; the line has the "
            "slope that all dates share. Pale dots are the other dates."
        )
        asked = (definition, measure, against)
        figure = eye_against_photo(pairs, *asked)
        alt = eye_against_photo_alt(pairs, found, *asked)
        name = picture_name("agreement", f"{measure}_{against}")
        made.append(Picture(name, figure, alt, caption))
        held = found[(found["measure"] == measure) & (found["against"] == against)]
        if (held["statistic"] == "limits").any():
            caption = (
                f"Eye less photo against the mean of both, for {view.noun}: the bias and the "
                "limits between which about 95 of 100 single differences lie."
            )
            name = picture_name("limits", f"{measure}_{against}")
            figure = limits(pairs, found, *asked)
            made.append(Picture(name, figure, limits_alt(pairs, found, *asked), caption))
    return made


def supporting_pictures(
    tables: Tables, definition: Definition, measure: str = "", compared: bool = True
) -> list[Picture]:
    """Make every picture of the supporting analyses that has something to show.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Tables of a run, in SI.
    definition : Definition
        The trial.
    measure : str
        Pictures of this measure alone; empty for all.
    compared : bool
        Whether treatments may be compared yet; if not, only agreement is shown.
    """
    made = []
    reached, left = _table(tables, "arrivals"), _table(tables, "residuals")
    if compared and not reached.empty and measure in ("", str(reached["measure"].iloc[0])):
        made.append(arrivals_picture(tables, definition))
    for name in [measure] if measure else definition.measures:
        if compared and (left["measure"] == name).any():
            made.append(residuals_picture(tables, definition, name))
        made += agreement_pictures(tables, definition, name)
        counts, agreed, lines = (_table(tables, one) for one in _COUNTED)
        made += count_pictures(counts, agreed, lines, definition, name)
    if measure in ("", definition.analysis.primary.measure):
        covers, answers = (_table(tables, one) for one in ("window_covers", "window_answers"))
        made += threshold_pictures(covers, answers, definition)
    shares, plans = (_table(tables, one) for one in ("variance_shares", "variance_plans"))
    if compared and not measure and not shares.empty:
        made.append(shares_picture(shares, plans, definition))
    return made
