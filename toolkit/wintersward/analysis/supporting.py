"""Tables of the analyses that support the primary one: what each holds, its key, its units."""

from __future__ import annotations

from wintersward.analysis.columns import (
    DATE,
    DF,
    LEFT,
    MEASURE,
    P_ALONE,
    RIGHT,
    TREATED_LEVEL,
    UNIT_KIND,
    Column,
    T,
    Table,
    interval,
    tested,
)

__all__ = ["SUPPORTING"]

_SCOPE = Column("scope", "text", "", "factors of the analysis, joined by ':'")
_EFFECT = Column("effect", "text", "", "treatment factor, or factors joined by ':'")
_WITHIN = Column("within", "text", "", "factor=treatment inside which it is taken, or empty")
_DIFFERENCE = Column("difference", "number", "measure", "left minus right")
_UNITS = Column("units", "integer", "", "experimental units observed")
_UNIT_NAME = Column("unit_name", "text", "", "the experimental unit")
_BLOCK = Column("block", "text", "", "block around it")
_FROM = Column("first", "date", "", "first date of the analysis")
_TO = Column("last", "date", "", "last date of the analysis")
_TERM = Column("term", "text", "", "term of the model")


def _times(what: str) -> tuple[Column, ...]:
    """Give the interval columns of something measured in days."""
    return (
        Column("se", "number", "day", f"standard error of {what}"),
        DF,
        Column("lower", "number", "day", "lower end of the interval; empty where censored"),
        Column("upper", "number", "day", "upper end of the interval; empty where censored"),
    )


_SURE: dict[str, Table] = {
    "randomisation": Table(
        "Randomisation test of the primary question.",
        ("left", "right"),
        (
            MEASURE,
            DATE,
            LEFT,
            RIGHT,
            Column("statistic", "number", "", "studentised difference as observed"),
            Column("null", "text", "", "what is supposed, and what is exchanged"),
            Column("arrangements", "number", "", "arrangements that the layout allows"),
            Column("draws", "integer", "", "arrangements looked at"),
            Column("exact", "text", "", "yes: all of them; no: drawn at random"),
            Column("seed", "integer", "", "seed of the draws"),
            Column("p", "number", "", "share at least as far from zero as observed"),
            Column("smallest_p", "number", "", "the smallest p that the layout can give"),
        ),
    ),
    "equivalence": Table(
        "How differences from the control compare with a margin that the definition names.",
        ("measure", "date", "left", "right", "kind", "within"),
        (
            MEASURE,
            DATE,
            LEFT,
            RIGHT,
            Column("kind", "text", "", "matters: both ways; caught up: left not ahead of right"),
            _WITHIN,
            _DIFFERENCE,
            Column("margin", "number", "measure", "the margin"),
            Column("lower", "number", "measure", "lower end of the 1 - 2 alpha interval"),
            Column("upper", "number", "measure", "upper end of the 1 - 2 alpha interval"),
            Column("p_above", "number", "", "p value against: at or below minus the margin"),
            Column("p_below", "number", "", "p value against: at or above the margin"),
            Column("verdict", "text", "", "code of the verdict"),
        ),
    ),
    "sensitivity": Table(
        "The primary question by other analyses.",
        ("left", "right", "analysis"),
        (
            Column("analysis", "text", "", "short name of the analysis"),
            Column("text", "text", "", "the analysis, in words"),
            MEASURE,
            DATE,
            LEFT,
            RIGHT,
            Column("scale", "text", "", "what the difference is in; 'measure' for its own unit"),
            Column("difference", "number", "scale", "left minus right, on that scale"),
            Column("se", "number", "scale", "standard error"),
            DF,
            Column("lower", "number", "scale", "lower end of the interval"),
            Column("upper", "number", "scale", "upper end of the interval"),
            Column("p", "number", "", "p value; for a declared family adjusted as the primary"),
            Column("agrees", "text", "", "yes, no, or empty: same side and same conclusion"),
        ),
    ),
    "rank_differences": Table(
        "Ratings compared by ranks, left minus right, beside the comparison of their means.",
        ("measure", "date", "effect", "left", "right"),
        (
            MEASURE,
            DATE,
            _EFFECT,
            LEFT,
            RIGHT,
            Column("difference", "number", "scale", "left minus right, by ranks"),
            Column("scale", "text", "", "what the difference is in; 'measure' for its own unit"),
            Column("lower", "number", "scale", "lower end of the interval, not adjusted"),
            Column("upper", "number", "scale", "upper end of the interval, not adjusted"),
            Column("p_alone", "number", "", "p value of this one comparison by ranks"),
            Column("p", "number", "", "p value by Holm over the comparisons by ranks"),
            Column("smallest_p", "number", "", "the smallest p_alone that so many units can give"),
            Column("comparisons", "integer", "", "comparisons by ranks on all planned dates"),
            Column("mean_difference", "number", "measure", "difference of the means"),
            Column("mean_p", "number", "", "its p value, not adjusted"),
            Column("agrees", "text", "", "yes, no, or empty: where ranks can tell nothing"),
            Column("text", "text", "", "the comparison by ranks, in words"),
        ),
    ),
    "slopes": Table(
        "Slopes of the covariate in the supporting analyses that use it.",
        ("measure", "date", "covariate"),
        (
            MEASURE,
            DATE,
            Column("covariate", "text", "", "measure and date of the covariate, or hours of sun"),
            Column("slope", "number", "", "change for one unit of the covariate"),
            Column("se", "number", "", "standard error of the slope"),
            DF,
            Column("lower", "number", "", "lower end of the interval"),
            Column("upper", "number", "", "upper end of the interval"),
            P_ALONE,
        ),
    ),
}

_OVER_TIME: dict[str, Table] = {
    "structures": Table(
        "How observations of one unit on several dates were allowed to hang together.",
        ("measure", "scope", "structure", "by_date"),
        (
            MEASURE,
            _SCOPE,
            Column("structure", "text", "", "cs: alike on all dates; car1: fading with days"),
            Column("by_date", "text", "", "yes: own variance on each date; no: one variance"),
            Column("loglik", "number", "", "REML log-likelihood"),
            Column("parameters", "integer", "", "covariance parameters, those at zero too"),
            Column("m", "integer", "", "rows less independent columns of the fixed part"),
            Column("aicc", "number", "", "REML AICc"),
            Column("correlation", "number", "", "residual correlation over one day"),
            Column("verdict", "text", "", "chosen, runner-up, considered, or refused"),
            Column("reason", "text", "", "why"),
        ),
    ),
    "joint_tests": Table(
        "Tests of the model of all dates together.",
        ("measure", "scope", "term"),
        (
            MEASURE,
            _SCOPE,
            _FROM,
            _TO,
            _TERM,
            *tested(),
            UNIT_KIND,
            Column("df_design", "number", "", "error degrees of freedom of the complete layout"),
            Column("method", "text", "", "how the degrees of freedom were found"),
        ),
    ),
    "joint_differences": Table(
        "Differences in the model of all dates together, not adjusted.",
        ("measure", "scope", "date", "effect", "within", "left", "right"),
        (
            MEASURE,
            _SCOPE,
            Column("date", "text", "", "day, or 'all': averaged over the dates"),
            _EFFECT,
            _WITHIN,
            LEFT,
            RIGHT,
            _DIFFERENCE,
            *interval("difference"),
            T,
            P_ALONE,
        ),
    ),
    "season_values": Table(
        "Season averages of each unit: area under its curve over the real dates, by their span.",
        ("measure", "scope", "unit_name"),
        (
            MEASURE,
            _SCOPE,
            _FROM,
            _TO,
            _UNIT_NAME,
            _BLOCK,
            Column("dates", "integer", "", "dates observed"),
            Column("value", "number", "measure", "average over the days"),
        ),
        open_ended=True,
    ),
    "season_means": Table(
        "Season averages of the treatments.",
        ("measure", "scope", "effect", "level"),
        (MEASURE, _SCOPE, _FROM, _TO, _EFFECT, TREATED_LEVEL)
        + (Column("mean", "number", "measure", "estimated mean"), *interval("mean"), _UNITS),
    ),
    "season_differences": Table(
        "Differences between season averages, not adjusted.",
        ("measure", "scope", "effect", "within", "left", "right"),
        (MEASURE, _SCOPE, _FROM, _TO, _EFFECT, _WITHIN, LEFT, RIGHT, _DIFFERENCE)
        + (*interval("difference"), T, P_ALONE),
    ),
    "arrivals": Table(
        "The day on which each unit reached the stated level.",
        ("measure", "unit_name"),
        (
            MEASURE,
            Column("level", "number", "measure", "the stated level"),
            _UNIT_NAME,
            _BLOCK,
            Column("treatment", "text", "", "treatment of the unit"),
            Column("days", "number", "day", "days from covers off to the level, interpolated"),
            Column("day", "date", "", "the day, whole"),
            Column("censored", "text", "", "empty, or 'on or before', or 'after'"),
            Column("dipped", "text", "", "yes: fell below the level again later"),
        ),
    ),
    "days_gained": Table(
        "How many days earlier a treatment reached the stated level than the control.",
        ("measure", "left", "right"),
        (
            MEASURE,
            Column("level", "number", "measure", "the stated level"),
            LEFT,
            RIGHT,
            Column("days", "number", "day", "mean day of the right less that of the left"),
            *_times("days gained"),
            P_ALONE,
            Column("says", "text", "", "exactly, at least, at most, or cannot be told"),
            Column("left_before", "integer", "", "units of the left there at the first visit"),
            Column("left_after", "integer", "", "units of the left never there"),
            Column("right_before", "integer", "", "units of the right there at the first visit"),
            Column("right_after", "integer", "", "units of the right never there"),
            Column("units_left", "integer", "", "units of the left"),
            Column("units_right", "integer", "", "units of the right"),
        ),
    ),
}

_CHECKING: dict[str, Table] = {
    "agreement": Table(
        "How well raters agree with one another, and the eye with the photo.",
        ("measure", "against", "statistic", "form"),
        (
            MEASURE,
            Column("against", "text", "", "raters, or the measure set against"),
            Column("statistic", "text", "", "ICC, repeated-measures correlation, bias, limits"),
            Column("form", "text", "", "which form of the statistic"),
            Column("value", "number", "", "estimate"),
            Column("lower", "number", "", "lower end of the 95 % interval"),
            Column("upper", "number", "", "upper end of the 95 % interval"),
            Column("n", "integer", "", "plots and dates in it"),
            Column("text", "text", "", "what it says, in words"),
        ),
    ),
    "raters": Table(
        "Each rater against the average of the raters, date by date.",
        ("measure", "date", "rater"),
        (
            MEASURE,
            DATE,
            Column("rater", "text", "", "initials"),
            Column("severity", "number", "measure", "mean of the rater less mean of all raters"),
            Column("plots", "integer", "", "plots that all raters rated"),
        ),
    ),
    "eye_and_photo": Table(
        "Ratings beside photo scores, plot by plot.",
        ("measure", "against", "date", "plot"),
        (
            MEASURE,
            Column("against", "text", "", "measure from photos"),
            DATE,
            Column("plot", "text", "", "plot of plan/plots.csv"),
            Column("eye", "number", "", "mean of the raters"),
            Column("photo", "number", "", "mean of the photos"),
        ),
    ),
    "residuals": Table(
        "Residuals of each measure and date.",
        ("measure", "date", "unit_name"),
        (
            MEASURE,
            DATE,
            _UNIT_NAME,
            _BLOCK,
            Column("level", "text", "", "treatments of the unit, joined by ':'"),
            Column("fitted", "number", "measure", "fitted value, random terms included"),
            Column("residual", "number", "measure", "observed less fitted"),
            Column("studentised", "number", "", "residual over its standard deviation"),
        ),
    ),
    "checks": Table(
        "Checks of the assumptions; pictures come first.",
        ("measure", "date", "check"),
        (
            MEASURE,
            DATE,
            Column("check", "text", "", "normality, equal spread of treatments, additive blocks"),
            Column("test", "text", "", "name of the test"),
            Column("statistic", "number", "", "its statistic"),
            P_ALONE,
            Column("text", "text", "", "what it says, in words"),
        ),
    ),
    "block_value": Table(
        "What the blocks were worth on the primary date.",
        ("measure", "date"),
        (
            MEASURE,
            DATE,
            Column("efficiency", "number", "", "relative efficiency against no blocks"),
            Column("cv", "number", "%", "coefficient of variation: error over the mean"),
            Column("text", "text", "", "what it says, in words"),
        ),
    ),
    "replication": Table(
        "Blocks that a like trial would need for the smallest difference that matters.",
        ("purpose", "blocks"),
        (
            Column("purpose", "text", "", "difference, or equivalence"),
            Column("blocks", "integer", "", "number of blocks"),
            Column("margin", "number", "measure", "difference to be seen, or margin to lie within"),
            Column("power", "number", "", "chance to see it"),
            Column("half_width", "number", "measure", "expected half-width of the interval"),
            Column("smallest_p", "number", "", "the smallest p by randomisation"),
        ),
    ),
}

_SEASONS: dict[str, Table] = {
    "seasons_tests": Table(
        "Tests of the seasons analysed together.",
        ("measure", "term"),
        (MEASURE, _TERM, *tested(), UNIT_KIND, Column("method", "text", "", "how df were found")),
    ),
    "seasons_differences": Table(
        "Differences in each season and over the seasons, not adjusted.",
        ("measure", "season", "left", "right"),
        (
            MEASURE,
            Column("season", "text", "", "season, or 'all'"),
            LEFT,
            RIGHT,
            _DIFFERENCE,
            *interval("difference"),
            T,
            P_ALONE,
        ),
    ),
}

SUPPORTING: dict[str, Table] = {**_SURE, **_OVER_TIME, **_CHECKING, **_SEASONS}
