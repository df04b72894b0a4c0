"""Tables of temperature, light and risk: what each holds, its key, and the unit of every column."""

from __future__ import annotations

from wintersward.analysis.columns import DATE, LEFT, MEASURE, RIGHT, Column, Table
from wintersward.records.logger_sums import LOGGER_SUM_COLUMNS, REASONS

__all__ = ["CLIMATE"]

_LOGGED_PLOT = Column("plot", "text", "", "plot or whole plot in which the logger lay")
_POSITION = Column("position", "text", "", "which sensor of the plot; empty where there is one")
_LEVEL = Column("level", "text", "", "treatment of the factor that the covers are")
_PLOTS = Column("plots", "integer", "", "plots, or whole plots, with a logger that are in it")
_DEGREE_DAYS = Column("degree_days", "number", "degC d", "degree days of the day; empty: not seen")
_COUNTED = {
    "rows": "lines of the file: the sum of all that follow",
    "above": "lines above the headings",
    "headings": "lines of headings",
    "blank": "lines in which nothing stands",
    "after": "lines below the last reading without time and value",
    "used": "readings that are used",
}


def _facts(what: str) -> tuple[Column, ...]:
    """Give the columns of what a day was like."""
    return (
        Column("minimum", "number", "degC", f"lowest reading{what}"),
        Column("mean", "number", "degC", f"mean, weighted by time{what}"),
        Column("maximum", "number", "degC", f"highest reading{what}"),
        Column("amplitude", "number", "degC", f"highest less lowest reading, a difference{what}"),
    )


def _sum_columns() -> tuple[Column, ...]:
    texts = {
        "file": "file of a logger",
        "column": "heading of the column",
        "measure": "what it holds, as the definition names it",
        "plot": "plot or whole plot in which the sensor lay",
        "position": "which sensor of the plot; empty where there is one",
    }
    named = [Column(name, "text", "", text) for name, text in texts.items()]
    told = _COUNTED | {name: f"rows removed: {words}" for name, words in REASONS.items()}
    counts = [Column(n, "integer", "", told[n]) for n in LOGGER_SUM_COLUMNS if n not in texts]
    again = Column("again", "integer", "", "0, or how often the diary has this column before")
    return (*named, again, *counts)


_READ: dict[str, Table] = {
    "logger_sums": Table(
        "What became of every row of the files of loggers, column by column.",
        ("file", "column", "measure", "plot", "position", "again"),
        _sum_columns(),
    ),
    "logger_flags": Table(
        "What looks odd in the readings of loggers; nothing is removed for it.",
        ("kind", "file", "measure", "plot", "from", "to", "found"),
        (
            Column("kind", "text", "", "kind of flag"),
            Column("file", "text", "", "file in which it is seen"),
            Column("measure", "text", "", "measure; empty where it is about the whole file"),
            Column("plot", "text", "", "plot or whole plot; empty: the whole file"),
            Column("from", "text", "", "first time, by the clock of the site (ISO 8601)"),
            Column("to", "text", "", "last time, by the clock of the site (ISO 8601)"),
            Column("found", "text", "", "what is seen, in degC"),
            Column("rule", "text", "", "from when on it is flagged"),
        ),
    ),
    "daily_facts": Table(
        "What every sensor saw of every day.",
        ("measure", "date", "plot", "position"),
        (
            DATE,
            _LOGGED_PLOT,
            MEASURE,
            _POSITION,
            *_facts(""),
            Column("readings", "integer", "", "readings taken on the day"),
            Column("completeness", "number", "%", "share of the day that was seen"),
            Column("band_hours", "number", "h", "hours within the measure's 'band'; or empty"),
            Column("excluded", "text", "", "reason in the diary; empty means used"),
        ),
    ),
}

_COVERED: dict[str, Table] = {
    "under_cover": Table(
        "Every day by treatment, since the covers went on: means over plots, and less the control.",
        ("measure", "date", "level"),
        (
            DATE,
            MEASURE,
            _LEVEL,
            *_facts(", mean over plots"),
            _PLOTS,
            Column("covered", "integer", "", "of these plots, those under a cover on the day"),
            Column("more_mean", "number", "degC", "mean less that of the control, a difference"),
            Column("more_minimum", "number", "degC", "minimum less the control's, a difference"),
            Column("more_maximum", "number", "degC", "maximum less the control's, a difference"),
        ),
    ),
    "under_cover_means": Table(
        "What a day was like under a cover and on the control: means over the days on which all "
        "plots of the treatment lay under theirs.",
        ("measure", "level", "fact"),
        (
            MEASURE,
            _LEVEL,
            Column("fact", "text", "", "minimum, mean or maximum of the day"),
            Column("days", "integer", "", "days in it"),
            Column("value", "number", "degC", "mean over days of the mean over plots"),
            Column("control", "number", "degC", "the same of the control, on the same days"),
            Column("more", "number", "degC", "the first less the second"),
            Column("lower", "number", "degC", "lower quartile of it over days: no interval"),
            Column("upper", "number", "degC", "upper quartile of it over days: no interval"),
            Column(
                "blocks", "integer", "", "blocks in which both were seen; 0: not compared in any"
            ),
            Column("least", "number", "degC", "least difference within a block, mean over days"),
            Column("most", "number", "degC", "most difference within a block, mean over days"),
        ),
    ),
    "diurnal": Table(
        "The course of a day under covers, and on the control on the same days.",
        ("measure", "level", "hour"),
        (
            MEASURE,
            _LEVEL,
            Column("hour", "integer", "", "hour of the day by the clock of the site, 0 to 23"),
            Column("mean", "number", "degC", "mean over days of the mean over plots"),
            Column("lower", "number", "degC", "lower quartile over days: no interval of the mean"),
            Column("upper", "number", "degC", "upper quartile over days: no interval of the mean"),
            Column("days", "integer", "", "days in it"),
        ),
    ),
}

_SUMMED: dict[str, Table] = {
    "degree_day_sums": Table(
        "Degree days of every plot, and their sum from the day that the definition names.",
        ("date", "plot"),
        (
            DATE,
            Column("plot", "text", "", "plot or whole plot; empty: air of the weather file"),
            _DEGREE_DAYS,
            Column("sum", "number", "degC d", "sum to the end of the day; empty: a day is missing"),
        ),
    ),
    "degree_days_by_level": Table(
        "Sums of degree days by treatment: means over the same plots on all days, to the last day "
        "on which all of them have a sum.",
        ("date", "level"),
        (
            DATE,
            _LEVEL,
            Column("sum", "number", "degC d", "mean over plots of the sum to the end of the day"),
            _PLOTS,
            Column("more", "number", "degC d", "sum less that of the control"),
        ),
    ),
    "thermometer": Table(
        "When every plot reached a temperature, or a sum of degree days.",
        ("criterion", "plot"),
        (
            Column("criterion", "text", "", "what is to be reached"),
            _LOGGED_PLOT,
            Column("level", "text", "", "treatment; empty until the primary question has its data"),
            Column("start", "date", "", "day from which on it is looked for"),
            Column("day", "number", "day", "since the start; a bound where not reached in sight"),
            Column("reached", "date", "", "the day; empty: never, or not in sight"),
            Column(
                "state",
                "text",
                "",
                "reached; on or before: it may have been there on an earlier day that was not "
                "seen; after: not yet on any day; not known: seen on no day, and not on all",
            ),
            Column("last", "date", "", "last day that can be told"),
        ),
    ),
    "thermometer_gained": Table(
        "Days by which a treatment reached it earlier than the control; not adjusted.",
        ("criterion", "left", "right"),
        (
            Column("criterion", "text", "", "what is to be reached"),
            LEFT,
            RIGHT,
            Column("days", "number", "day", "positive where the left was earlier"),
            Column("lower", "number", "day", "lower end of the interval; empty: not tested"),
            Column("upper", "number", "day", "upper end of the interval; empty: not tested"),
            Column("se", "number", "day", "standard error; empty: not tested"),
            Column("df", "number", "", "degrees of freedom; empty: not tested"),
            Column("p", "number", "", "p value of this one comparison; empty: not tested"),
            Column("unit_of_test", "text", "", "experimental unit of the treatment"),
            Column("note", "text", "", "what else is to be said; empty: nothing"),
        ),
    ),
    "growth": Table(
        "The photo measure beside the sum of degree days of its plot: described, not explained.",
        ("measure", "date", "plot"),
        (
            DATE,
            Column("plot", "text", "", "plot of plan/plots.csv"),
            MEASURE,
            Column("value", "number", "measure", "mean of the used photos of the plot"),
            Column("degree_days", "number", "degC d", "sum to the end of the day"),
        ),
    ),
    "growth_by_level": Table(
        "The photo measure beside the sums of degree days by treatment: described, not explained.",
        ("measure", "date", "level"),
        (
            DATE,
            MEASURE,
            _LEVEL,
            Column("degree_days", "number", "degC d", "mean over plots, to the end of the day"),
            Column("value", "number", "measure", "mean over the same plots"),
            Column("plots", "integer", "", "plots, or whole plots, that are in it"),
        ),
    ),
}

_LIGHT: dict[str, Table] = {
    "sun_hours": Table(
        "Sun and light on every plot, month by month: an estimate; sun is that of a clear sky.",
        ("month", "plot"),
        (
            Column("plot", "text", "", "plot of plan/plots.csv"),
            Column("month", "date", "", "first day of the month"),
            Column("days", "integer", "", "days of the month within the dates of the trial"),
            Column("sun_hours", "number", "h d-1", "direct sun a day on the plot"),
            Column("open_sun_hours", "number", "h d-1", "direct sun a day with nothing around"),
            Column("open_light", "number", "mol m-2 d-1", "light a day with nothing around"),
            Column("light", "number", "mol m-2 d-1", "light a day on the plot, without a cover"),
            Column(
                "turf_light",
                "number",
                "mol m-2 d-1",
                "the same, through the cover while it lay; empty: what it lets through is not told",
            ),
            Column("lost", "number", "%", "of the light a day, what the surroundings keep off"),
            Column("covered_days", "integer", "", "of the days, those under a cover"),
            Column("factor", "text", "", "share of the energy x photons in it [umol J-1]"),
            Column("light_from", "text", "", "clear sky, or radiation of the weather file"),
        ),
    ),
}

_RISKS: dict[str, Table] = {
    "risks": Table(
        "Hours or days of a risk on each plot, from covers on to soon after they came off: counts.",
        ("risk", "measure", "plot", "position", "covered"),
        (
            Column("risk", "text", "", "the risk, as the definition names it"),
            MEASURE,
            _LOGGED_PLOT,
            _POSITION,
            Column("level", "text", "", "treatment; empty until the primary question has its data"),
            Column("covered", "text", "", "yes: the days under a cover, or no"),
            Column("counted", "number", "", "hours or days, in 'unit'"),
            Column("unit", "text", "", "h or d"),
            Column("marked_days", "integer", "", "days that have what the risk calls for"),
            Column("days", "integer", "", "days that count for the risk"),
            Column("hours_seen", "number", "h", "hours of those days that were seen"),
            Column("limit", "text", "", "what is counted, in the reader's units"),
            Column("source", "text", "", "where the limits come from"),
        ),
    ),
    "risks_by_level": Table(
        "Hours or days of each risk by treatment: over plots; a count is not a diagnosis.",
        ("risk", "measure", "level"),
        (
            Column("risk", "text", "", "the risk, as the definition names it"),
            MEASURE,
            _LEVEL,
            _PLOTS,
            Column("days", "number", "day", "days that count for the risk: mean over plots"),
            Column("counted", "number", "", "hours or days, in 'unit': mean over plots"),
            Column("fewest", "number", "", "of the plots, the fewest"),
            Column("most", "number", "", "of the plots, the most"),
            Column("under", "number", "", "of the mean, what was counted under a cover"),
            Column("marked_days", "number", "day", "days that have what the risk calls for: mean"),
            Column("unit", "text", "", "h or d"),
        ),
    ),
    "dollar_spot": Table(
        "Probability of dollar spot by the coefficients of the definition, for the air of the "
        "weather file: means of five days.",
        ("date",),
        (
            Column("date", "date", "", "last of the five days"),
            Column("humidity", "number", "%", "mean relative humidity of the five days"),
            Column("temperature", "number", "degC", "mean air temperature of the five days"),
            Column("probability", "number", "%", "empty: the equation was not made for these days"),
        ),
    ),
    "removal": Table(
        "Whether the rule for taking covers off was met, day by day; nobody took one off for it.",
        ("source", "date"),
        (
            Column("source", "text", "", "record (soil, loggers), or forecast (air)"),
            DATE,
            Column("value", "number", "degC", "mean of the day, over the plots with covers"),
            Column("threshold", "number", "degC", "mean that is to be reached"),
            Column("days_needed", "integer", "", "days in a row on which it is to be reached"),
            Column("in_a_row", "integer", "", "days in a row up to this one that reached it"),
            Column("fired", "text", "", "yes on a day on which the rule is met"),
            Column("why", "text", "", "held, or last day"),
            Column("came_off", "date", "", "day on which the last cover came off; empty: not yet"),
        ),
    ),
}

CLIMATE: dict[str, Table] = {**_READ, **_COVERED, **_SUMMED, **_LIGHT, **_RISKS}
