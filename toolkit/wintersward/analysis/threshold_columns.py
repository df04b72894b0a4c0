"""The tables about windows of green: what each holds, its key, and the unit of every column."""

from __future__ import annotations

from wintersward.analysis.columns import DATE, LEFT, MEASURE, RIGHT, Column, Table, interval

__all__ = ["THRESHOLDS"]

_WINDOW = Column("window", "text", "", "hash of the limits of hue, saturation and value")
_LIMITS = (
    Column("hue_low", "number", "degree", "lower edge of hue"),
    Column("hue_high", "number", "degree", "upper edge of hue"),
    Column("saturation_low", "number", "1", "lowest saturation"),
)
_DECLARED = Column("declared", "text", "", "yes: the window of the definition; else empty")
_KEY = ("measure", "hue_low", "hue_high", "saturation_low")

THRESHOLDS: dict[str, Table] = {
    "green_windows": Table(
        "The window of green by which each measure is scored from photos.",
        ("measure",),
        (
            MEASURE,
            _WINDOW,
            *_LIMITS,
            Column("saturation_high", "number", "1", "highest saturation"),
            Column("value_low", "number", "1", "lowest brightness"),
            Column("value_high", "number", "1", "highest brightness"),
        ),
    ),
    "window_covers": Table(
        "Cover on the primary date by other windows of green, over the plots of all treatments.",
        _KEY,
        (
            MEASURE,
            DATE,
            _WINDOW,
            *_LIMITS,
            _DECLARED,
            Column("plots", "integer", "", "plots with a photo that is used"),
            Column("mean", "number", "%", "mean cover of these plots"),
            Column("lowest", "number", "%", "cover of the plot with the least"),
            Column("highest", "number", "%", "cover of the plot with the most"),
        ),
    ),
    "window_answers": Table(
        "The primary question, asked again with other windows of green.",
        (*_KEY, "left", "right"),
        (
            MEASURE,
            DATE,
            _WINDOW,
            *_LIMITS,
            _DECLARED,
            LEFT,
            RIGHT,
            Column("difference", "number", "measure", "left minus right"),
            *interval("difference"),
            Column("verdict", "text", "", "code of the verdict, as in the table equivalence"),
        ),
    ),
}
