"""The loggers of the example as they were read out: two makes, and the blemishes that files have.

Everything in them is invented. The ground's own loggers (blocks 1, 3 and 5) write degF by the local
clock, summer time included; those lent by the county's program (blocks 2, 4 and 6) write degC by
the clock of the winter all season. Each lies in one whole plot and has two sensors. Each blemish is
planted on purpose, in a place that is written here; `blemish_table` lists them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from field_model import SEED
from heat_balance import MEASURES, STANDARD, ZONE, Temperatures

__all__ = ["FIRST", "LAST", "blemish_table", "file_names", "make_of", "read_out", "write_loggers"]

# What reads soil and canopy draws its noise from a stream of its own for each sensor.
_NOISE_STREAM = 8
_NOISE = dict(zip(MEASURES, (0.05, 0.1), strict=True))  # standard deviation [degC]

FIRST = pd.Timestamp("2026-01-15 11:00", tz=STANDARD)
LAST = pd.Timestamp("2026-04-18 08:00", tz=STANDARD)
_HOUR = pd.Timedelta(hours=1)


@dataclass(frozen=True)
class Make:
    """How a make of loggers writes its files.

    Parameters
    ----------
    above : str
        A line above the headings; ``{plot}`` stands for the whole plot.
    headings : str
        The line of headings.
    columns : (str, str)
        Headings of soil and canopy.
    end : str
        What stands in the last line, behind the readings; empty where there is none.
    step : float [unit of the file]
        What its last digit counts in.
    """

    above: str
    headings: str
    columns: tuple[str, str]
    end: str
    step: float


OWN = Make(
    "Alder Road ground: whole plot {plot}",
    'Count,Day,Time,"Soil 4 in, degF","Canopy, degF"',
    ("Soil 4 in, degF", "Canopy, degF"),
    "end of readings",
    0.1,
)
LENT = Make(
    "lent by the county; {plot}; UTC-05:00",
    "read_at,soil_degC,canopy_degC",
    ("soil_degC", "canopy_degC"),
    "",
    0.05,
)

# Where files are not as they should be: whole plots, and times by the clock of the winter. Without
# power a logger was between its last reading and the next one.
_NO_POWER = ("5A", "2026-04-07 08:00", "2026-04-10 08:00")
_SWAPPED = "3B"
_DRIFTING, _DRIFT = "4C", pd.Timedelta(minutes=12)
_STUCK = ("6A", "soil_temperature", "2026-03-28 12:00", "2026-03-29 06:00")
_SPIKES = (
    ("1C", "canopy_temperature", "2026-02-05 14:00", 55.0),
    ("3A", "soil_temperature", "2026-03-30 03:00", 21.5),
    ("4A", "canopy_temperature", "2026-01-30 02:00", 48.65),
)
_NOT_READ, _CODE = "2A", "-888.88"
_NOT_READ_AT = ("2026-02-24 06:00", "2026-03-12 03:00", "2026-04-02 22:00")
_COLUMNS = ["file", "kind", "column", "plot", "measure", "from", "to", "readings", "reason"]
_COLUMNS += ["found_by"]
# Read out in February and in April; the second file begins two days before the first one ends.
_TWICE, _FIRST_ENDS, _SECOND_BEGINS = "6C", "2026-02-20 10:00", "2026-02-18 11:00"


def make_of(block: str) -> Make:
    """Tell of which make the loggers of a block are."""
    return OWN if int(block) % 2 else LENT


def file_names(plot: str) -> list[str]:
    """List the files of a whole plot, from ``loggers/`` on."""
    if plot == _TWICE:
        return [f"{plot}_february.csv", f"{plot}_april.csv"]
    return [f"{plot}.csv"]


def read_out(truth: Temperatures, seed: int = SEED) -> dict[str, pd.DataFrame]:
    """Let every logger read each hour, by its own clock.

    Parameters
    ----------
    truth : Temperatures
        What is true.
    seed : int
        Of numpy's PCG64 generator.

    Returns
    -------
    dict of str to DataFrame
        By whole plot: shown (time of the logger's clock, UTC-05:00), soil_temperature and
        canopy_temperature [degC] with their noise and blemishes, as text where a file holds text.
    """
    shown = pd.date_range(FIRST, LAST, freq=_HOUR, unit="us")
    found = {}
    for number, whole in enumerate(truth.wholes["plot"]):
        true = shown
        if whole == _DRIFTING:
            share = (shown - FIRST) / (LAST + _DRIFT - FIRST)
            true = (shown - share * _DRIFT).as_unit("us")
        table = pd.DataFrame({"shown": shown})
        for at, measure in enumerate(MEASURES):
            rng = np.random.default_rng([seed, _NOISE_STREAM, number, at])
            noise = rng.normal(0, _NOISE[measure], len(shown))
            table[measure] = truth.at(true.tz_convert("UTC"), measure, whole) + noise
        found[whole] = _blemished(table, whole)
    return found


def _blemished(table: pd.DataFrame, whole: str) -> pd.DataFrame:
    """Plant what befell a logger."""
    shown = table["shown"]
    for plot, measure, when, value in _SPIKES:
        if plot == whole:
            table.loc[shown == _at(when), measure] = value
    plot, measure, first, last = _STUCK
    if plot == whole:
        still = table.loc[shown == _at(first), measure].item()
        table.loc[_between(shown, first, last), measure] = still
    if whole == _NO_POWER[0]:
        lost = (shown > _at(_NO_POWER[1])) & (shown < _at(_NO_POWER[2]))
        table = table[~lost].reset_index(drop=True)
    return table


def _at(when: str) -> pd.Timestamp:
    return pd.Timestamp(when, tz=STANDARD)


def _between(shown: pd.Series, first: str, last: str) -> pd.Series:
    return (shown >= _at(first)) & (shown <= _at(last))


def write_loggers(folder: Path, truth: Temperatures) -> None:
    """Write the file of every logger; the same files each time.

    Parameters
    ----------
    folder : Path
        Of the study; files go into its ``loggers/``.
    truth : Temperatures
        What is true.
    """
    blocks = truth.wholes.set_index("plot")["block"]
    place = folder / "loggers"
    place.mkdir(parents=True, exist_ok=True)
    for whole, table in read_out(truth).items():
        make = make_of(blocks[whole])
        parts = [table]
        if whole == _TWICE:
            shown = table["shown"]
            parts = [table[shown <= _at(_FIRST_ENDS)], table[shown >= _at(_SECOND_BEGINS)]]
        for name, part in zip(file_names(whole), parts, strict=True):
            lines = [make.above.format(plot=whole), make.headings, *_lines(make, part, whole)]
            lines += [make.end] if make.end else []
            (place / name).write_bytes(("\n".join(lines) + "\n").encode("utf-8"))


def _lines(make: Make, table: pd.DataFrame, whole: str) -> list[str]:
    """Write the readings of one file."""
    columns = [_written(make, table[measure]) for measure in MEASURES]
    if whole == _SWAPPED:
        columns.reverse()
    shown = table["shown"]
    if whole == _NOT_READ:
        lost = shown.isin([_at(when) for when in _NOT_READ_AT])
        columns = [column.mask(lost, _CODE) for column in columns]
    if make is OWN:
        local = shown.dt.tz_convert(ZONE)
        times = local.dt.strftime("%m/%d/%Y,%I:%M:%S %p")
        heads = [f"{count},{time}" for count, time in enumerate(times, 1)]
    else:
        heads = shown.dt.strftime("%Y-%m-%d %H:%M").tolist()
    return [f"{head},{soil},{canopy}" for head, soil, canopy in zip(heads, *columns, strict=True)]


def _written(make: Make, values: pd.Series) -> pd.Series:
    """Write temperatures in the unit and with the digits of a make."""
    shown = values * 1.8 + 32 if make is OWN else values
    digits = 1 if make is OWN else 2
    counted = (shown / make.step).round().astype("int64")  # a zero has no sign
    return (counted * make.step).map(f"{{:.{digits}f}}".format)


def blemish_table(truth: Temperatures) -> pd.DataFrame:
    """List every blemish that was planted.

    Parameters
    ----------
    truth : Temperatures
        What is true.

    Returns
    -------
    DataFrame
        Columns file, kind, column, plot, measure (which was truly measured in this column), from
        and to (UTC-05:00, as the logger has it), readings (how many are concerned, or lacking),
        reason (as what they are removed, a name of `wintersward.records.logger_sums.REASONS`; empty
        where none is removed), found_by.
    """
    blocks = truth.wholes.set_index("plot")["block"]
    return pd.DataFrame(
        [
            (
                f"loggers/{file_names(plot)[-1]}",
                kind,
                make_of(blocks[plot]).columns[MEASURES.index(measure) ^ (plot == _SWAPPED)],
                plot,
                measure,
                first,
                last,
                readings,
                reason,
                found_by,
            )
            for kind, plot, measure, first, last, readings, reason, found_by in _planted()
        ],
        columns=_COLUMNS,
    )


def _planted() -> Iterator[tuple[str, str, str, str, str, int, str, str]]:
    """Give each blemish: what, where, from when until when, how many, and what becomes of it."""
    for plot, measure, when, _ in _SPIKES:
        yield "spike", plot, measure, when, when, 1, "spike", "sums: spike"
    plot, measure, first, last = _STUCK
    yield "stuck sensor", plot, measure, first, last, _hours(first, last) + 1, "", "flag: flat line"
    whole = tuple(f"{end.tz_localize(None):%Y-%m-%d %H:%M}" for end in (FIRST, LAST))
    plot, *gap = _NO_POWER
    for measure in MEASURES:
        for when in _NOT_READ_AT:
            told = (1, "declared_missing", "sums: declared missing; diary: missing")
            yield "code for no value", _NOT_READ, measure, when, when, *told
        again = (_SECOND_BEGINS, _FIRST_ENDS)
        told = (_hours(*again) + 1, "repeated", "sums: repeated")
        yield "read out twice", _TWICE, measure, *again, *told
        yield "no power", plot, measure, *gap, _hours(*gap) - 1, "", "flag: gap"
        told = (_hours(*whole) + 1, "", "flag: swapped sensors; diary: columns")
        yield "swapped sensors", _SWAPPED, measure, *whole, *told
        told = (_hours(*whole) + 1, "", "flag: clock drift; diary: clock")
        yield "drifting clock", _DRIFTING, measure, *whole, *told


def _hours(first: str, last: str) -> int:
    return int((_at(last) - _at(first)) / _HOUR)
