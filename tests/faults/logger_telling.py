"""What a broken file of a logger is: files, how the diary says they are read, what is told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from records.logger_studies import entry, rows, value

__all__ = ["LoggerCase", "alone", "entry", "rows", "value"]


@dataclass(frozen=True)
class LoggerCase:
    """Files in the folder of loggers, entries of the diary, and the lines that are told.

    Parameters
    ----------
    files : mapping of str to str or bytes
        From the name of a file to what stands in it.
    entries : sequence of dict
        What the diary says under ``loggers``.
    told : sequence of str
        Every problem, in order.
    readings : int
        How many readings are used all the same.
    """

    files: Mapping[str, str | bytes]
    entries: Sequence[dict[str, Any]]
    told: Sequence[str]
    readings: int = 0


def alone(content: str | bytes, told: Sequence[str], readings: int = 0, **how: Any) -> LoggerCase:
    """Make a case of one file of soil temperatures."""
    return LoggerCase({"soil.csv": content}, [entry(**how)], told, readings)
