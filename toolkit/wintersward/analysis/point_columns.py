"""The tables of a point count: what each holds, its key, and the unit of every column."""

from __future__ import annotations

from wintersward.analysis.columns import DATE, MEASURE, Column, Table

__all__ = ["POINTS"]

_POINTS_UNIT = "points"

POINTS: dict[str, Table] = {
    "point_counts": Table(
        "Photos on which people counted points: what they saw, and the score.",
        ("measure", "photo", "rater"),
        (
            MEASURE,
            Column("photo", "integer", "", "number of the photo in the key of the point count"),
            DATE,
            Column("plot", "text", "", "plot of plan/plots.csv"),
            Column("sample", "integer", "", "number of the photo in the plot"),
            Column("rater", "text", "", "initials of who counted; empty where nobody is named"),
            Column("points", "integer", "", "crosses looked at"),
            Column("green", "integer", "", "of these on green leaf"),
            Column("unsure", "integer", "", "of these not to be told, left out of the share"),
            Column("counted", "number", "%", "green in percent of the crosses that were told"),
            Column("scored", "number", "%", "score of the photo"),
            Column("excluded", "text", "", "reason in the diary; empty means used"),
        ),
    ),
    "point_agreement": Table(
        "How far the scores of photos lie from what people counted.",
        ("measure", "what", "form"),
        (
            MEASURE,
            Column("what", "text", "", "photos, bias, sd, share, limits, ICC"),
            Column("form", "text", "", "of which differences, or which end"),
            Column("value", "number", "", "estimate: points; % for a share; a count of photos"),
            Column("lower", "number", "", "lower end of the 95 % interval"),
            Column("upper", "number", "", "upper end of the 95 % interval"),
            Column("n", "integer", "", "photos in it"),
            Column("points", "integer", "", "crosses in it, those of one rater a photo"),
            Column("text", "text", "", "what it says, in words"),
        ),
    ),
    "calibration": Table(
        "Whether scores can be put on the scale of the point count; the answer never is.",
        ("measure",),
        (
            MEASURE,
            Column("done", "text", "", "yes, or no"),
            Column("photos", "integer", "", "photos counted and used"),
            Column("points", "integer", "", "crosses told, those of one rater a photo"),
            Column("intercept", "number", "%", "count at a score of 0"),
            Column("slope", "number", "", "rise of the count for one point of score"),
            Column("slope_se", "number", "", "standard error of the slope"),
            Column("low", "number", "%", "lowest score among the photos counted"),
            Column("high", "number", "%", "highest score among the photos counted"),
            Column("error_before", "number", _POINTS_UNIT, "root mean square, score less count"),
            Column(
                "error_after",
                "number",
                _POINTS_UNIT,
                "the same of calibrated scores, each photo by the line of the others",
            ),
            Column("text", "text", "", "done, or why not"),
        ),
    ),
}
