"""Tables of recovery after an aeration: what each holds, its key, and the unit of every column."""

from __future__ import annotations

from wintersward.analysis.columns import DATE, LEFT, MEASURE, P_ALONE, RIGHT, Column, Table

__all__ = ["RECOVERY"]

_PLOT = Column("plot", "text", "", "plot of plan/plots.csv")
_UNIT_NAME = Column("unit_name", "text", "", "the experimental unit")
_BLOCK = Column("block", "text", "", "block around it; empty where there is none")
_LEVEL = Column(
    "level", "number", "%", "closed holes, or share of the unit's own value before the aeration"
)
_EFFECT = Column("effect", "text", "", "factor whose treatments are compared; two joined by ':'")
_WITHIN = Column(
    "within", "text", "", "treatment of the other factor inside which they are; empty: none"
)


def _times() -> tuple[Column, ...]:
    return (
        Column("se", "number", "day", "standard error of the days"),
        Column("df", "number", "", "degrees of freedom of the error"),
        Column("lower", "number", "day", "lower end of the interval, not adjusted"),
        Column("upper", "number", "day", "upper end of the interval, not adjusted"),
    )


RECOVERY: dict[str, Table] = {
    "closure": Table(
        "Closed holes, and green cover, of every plot by the time since its aeration: described.",
        ("measure", "date", "plot"),
        (
            _PLOT,
            DATE,
            MEASURE,
            Column("days", "integer", "day", "days since the aeration; below zero: before it"),
            Column(
                "degree_days",
                "number",
                "degC d",
                "degree days from the end of the day of the aeration to that of the visit; empty: "
                "not known",
            ),
            Column("value", "number", "measure", "mean of the used observations of the plot"),
        ),
        open_ended=True,
    ),
    "closure_times": Table(
        "Days from the aeration until each unit had closed its holes, or was green again.",
        ("measure", "unit_name"),
        (
            MEASURE,
            _UNIT_NAME,
            _BLOCK,
            _LEVEL,
            Column("goal", "number", "measure", "the value that this is for the unit"),
            Column("days", "number", "day", "days from the aeration to it, interpolated; or bound"),
            Column(
                "censored",
                "text",
                "",
                "empty; 'on or before', 'after' where days are a bound; or 'not known'",
            ),
            Column("last_below", "number", "day", "last visit before it; empty: none, not known"),
            Column("first_there", "number", "day", "first visit at or after it; empty: none"),
        ),
        open_ended=True,
    ),
    "closure_gained": Table(
        "How many days sooner the holes closed, or turf was green again, than with the control.",
        ("measure", "effect", "within", "left", "right"),
        (
            MEASURE,
            _LEVEL,
            _EFFECT,
            _WITHIN,
            LEFT,
            RIGHT,
            Column("days", "number", "day", "mean days of the right less those of the left"),
            *_times(),
            P_ALONE,
            Column("says", "text", "", "exactly, at least, at most, or cannot be told"),
            Column("left_before", "integer", "", "units of the left there at the first visit"),
            Column("left_after", "integer", "", "units of the left not there at the last visit"),
            Column("right_before", "integer", "", "units of the right there at the first visit"),
            Column("right_after", "integer", "", "units of the right not there at the last visit"),
            Column("units_left", "integer", "", "units of the left"),
            Column("units_right", "integer", "", "units of the right"),
            Column("visits_low", "number", "day", "fewest days that the visits alone allow"),
            Column("visits_high", "number", "day", "most days that the visits alone allow"),
            Column(
                "apart", "number", "day", "longest time between the two visits around a unit's day"
            ),
            Column("note", "text", "", "what else is to be said; empty: nothing"),
        ),
    ),
    "closure_contrast": Table(
        "How much a difference between tines depends on the covers, on each date after aeration.",
        ("measure", "date", "left", "right"),
        (
            MEASURE,
            DATE,
            Column("left", "text", "", "treatment: and the difference of the other factor in it"),
            Column("right", "text", "", "the same of the control"),
            Column("difference", "number", "measure", "difference of the left less that right"),
            Column("se", "number", "measure", "standard error of the difference"),
            Column("df", "number", "", "degrees of freedom; Kenward and Roger (1997)"),
            Column("lower", "number", "measure", "lower end of the interval, as adjusted"),
            Column("upper", "number", "measure", "upper end of the interval, as adjusted"),
            Column("p", "number", "", "p value, adjusted by Holm"),
            Column("gap_left", "number", "measure", "difference of the other factor in the left"),
            Column("gap_right", "number", "measure", "the same in the right"),
            Column("full", "text", "", "treatment in which all of both have 100 %; empty: none"),
            Column("unit_of_test", "text", "", "experimental unit of the two factors together"),
            Column("note", "text", "", "how it is adjusted, and what else is to be said"),
        ),
    ),
}
