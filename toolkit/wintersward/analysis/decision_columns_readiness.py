"""Tables of limits, counted pins and the day covers came off: what each holds, and its key."""

from __future__ import annotations

from wintersward.analysis.columns import (
    DATE,
    LEFT,
    MEASURE,
    RIGHT,
    TREATED_LEVEL,
    Column,
    Table,
    interval,
)

__all__ = ["READINESS", "TIMING"]

_SURE = "one-sided, at the confidence 'sure'"

READINESS: dict[str, Table] = {
    "readiness": Table(
        "Each limit of readiness against the mean of each treatment, by one-sided bounds.",
        ("measure", "date", "effect", "level"),
        (
            MEASURE,
            DATE,
            Column("effect", "text", "", "treatment factor; where two act, both joined by ':'"),
            TREATED_LEVEL,
            Column("mean", "number", "measure", "estimated mean; where no model fits, the plain"),
            Column(
                "se",
                "number",
                "measure",
                "standard error of the mean less the limit: where the limit is a share of "
                "established turf, of both together",
            ),
            Column(
                "df",
                "number",
                "",
                "degrees of freedom of se: of the model; of both together by Satterthwaite",
            ),
            Column("sure", "number", "%", "confidence of each bound by itself, not adjusted"),
            Column("lower", "number", "measure", f"lower bound, {_SURE}"),
            Column("upper", "number", "measure", f"upper bound, {_SURE}"),
            Column("at", "text", "", "at least, or at most"),
            Column("limit", "number", "measure", "limit; empty: it could not be worked out"),
            Column("share", "number", "%", "share of established turf; empty: a limit as written"),
            Column("reference_mean", "number", "measure", "mean of established turf; or empty"),
            Column("reference_se", "number", "measure", "its standard error; or empty"),
            Column("reference_n", "integer", "", "readings of established turf; 0: none"),
            Column("reference", "text", "", "places where they were taken, by ';'; or empty"),
            Column("reference_date", "date", "", "day on which they were taken; or empty"),
            Column("verdict", "text", "", "met, not met, these data cannot tell, or no data"),
            Column("units", "integer", "", "experimental units in the mean"),
            Column("units_beyond", "integer", "", "of them, those that by themselves miss it"),
            Column("settle_units", "integer", "", "blocks, or plots, that would tell; 0: none"),
            Column("settle", "text", "", "what would settle it, or why nothing is told"),
            Column("source", "text", "", "where the limit comes from"),
            Column("role", "text", "", "secondary; exploratory where changed after the freeze"),
        ),
    ),
    "pin_counts": Table(
        "Pins and staples counted into the turf and out of it again.",
        ("what", "plots"),
        (
            Column("what", "text", "", "kind of pin or staple"),
            Column("plots", "text", "", "plots of these counts; empty: all counts of the kind"),
            Column("out", "number", "", "counted into the turf; empty: nobody counted"),
            Column("back", "number", "", "counted out of it; empty: nobody counted"),
            Column("missing", "number", "", "in less out; empty: one of the two is lacking"),
            Column("first", "date", "", "day of the first count"),
            Column("last", "date", "", "day of the last count"),
            Column(
                "state",
                "text",
                "",
                "all counted out, missing, more out than in, never counted out, never counted in",
            ),
        ),
    ),
}

TIMING: dict[str, Table] = {
    "cover_timing": Table(
        "The day covers came off: compared where it was dealt out by chance, else described.",
        ("kind", "factor", "left", "right", "within"),
        (
            Column("kind", "text", "", "compared, or described"),
            Column("factor", "text", "", "treatment factor whose covers came off on unlike days"),
            LEFT,
            RIGHT,
            Column("within", "text", "", "factor=treatment inside which it is taken, or empty"),
            Column("left_off", "date", "", "day on which covers came off; described: the last one"),
            Column("right_off", "date", "", "the same of the right treatment"),
            Column("rule_day", "date", "", "first day on which the rule held; empty: not seen"),
            Column("last_day", "date", "", "last day that the rule allows; empty: no rule"),
            Column(
                "days",
                "number",
                "day",
                "compared: left off less right off; described: off less the day that the rule "
                "named, or its last day",
            ),
            MEASURE,
            DATE,
            Column("difference", "number", "measure", "left minus right, of the primary measure"),
            *interval("difference"),
            Column("text", "text", "", "what else is to be said"),
        ),
    ),
}
