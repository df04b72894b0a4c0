"""What was observed: sheets and photo files become one table of observations."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wintersward.lazy import load

if TYPE_CHECKING:
    from wintersward.records.exclusions import excluded
    from wintersward.records.flags import FLAG_COLUMNS, FLAG_KINDS, flag_table, flag_words
    from wintersward.records.logger_guess import LoggerGuess, guess_logger
    from wintersward.records.logger_sums import (
        LOGGER_FLAG_KINDS,
        LoggersRead,
        LoggerSums,
        logger_flag_table,
        logger_sums_table,
    )
    from wintersward.records.loggers import read_loggers
    from wintersward.records.observations import (
        COLUMNS,
        REPEAT,
        counts,
        first_looks,
        joined,
        outstanding,
    )
    from wintersward.records.photo_files import photo_index, untold_photos
    from wintersward.records.sheets import read_sheets
    from wintersward.records.sums import SheetsRead, TableSums, settled, sums_table
    from wintersward.records.weather import read_weather

_HOMES = {
    "COLUMNS": "observations",
    "FLAG_COLUMNS": "flags",
    "FLAG_KINDS": "flags",
    "LOGGER_FLAG_KINDS": "logger_sums",
    "LoggerGuess": "logger_guess",
    "LoggerSums": "logger_sums",
    "LoggersRead": "logger_sums",
    "REPEAT": "observations",
    "SheetsRead": "sums",
    "TableSums": "sums",
    "counts": "observations",
    "excluded": "exclusions",
    "first_looks": "observations",
    "flag_table": "flags",
    "flag_words": "flags",
    "guess_logger": "logger_guess",
    "joined": "observations",
    "logger_flag_table": "logger_sums",
    "logger_sums_table": "logger_sums",
    "outstanding": "observations",
    "photo_index": "photo_files",
    "read_loggers": "loggers",
    "read_sheets": "sheets",
    "read_weather": "weather",
    "settled": "sums",
    "sums_table": "sums",
    "untold_photos": "photo_files",
}

__all__ = ["COLUMNS", "REPEAT", "counts", "excluded", "first_looks", "joined", "outstanding"]
__all__ += ["FLAG_COLUMNS", "FLAG_KINDS", "flag_table", "flag_words"]
__all__ += ["photo_index", "read_sheets", "untold_photos"]
__all__ += ["SheetsRead", "TableSums", "settled", "sums_table"]
__all__ += [
    "LOGGER_FLAG_KINDS",
    "LoggerGuess",
    "LoggerSums",
    "LoggersRead",
    "guess_logger",
    "read_loggers",
]
__all__ += ["logger_flag_table", "logger_sums_table", "read_weather"]


def __getattr__(name: str) -> Any:
    """Load a name from its module when it is first asked for."""
    return load(__name__, _HOMES, name)
