"""Where the position of a site may stand beside its own fields, and what stands in for it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from wintersward.handin.named_people import StandIn

__all__ = ["Trace", "rough_lines", "traces"]

_DECIMALS = 2


@dataclass(frozen=True)
class Trace(StandIn):
    """A latitude or longitude without its sign, as it may stand in a text.

    Parameters
    ----------
    name : str
        Cut or rounded to two decimals, ``43.15``: about a kilometre.
    instead : str
        The rounded value.
    """

    @property
    def pattern(self) -> re.Pattern[str]:
        """Find it with three decimals or more, or with two and a word that says what it is.

        A number of two decimals alone may be anything: an alley, a height of cut, a rating.
        """
        exact = re.escape(self.name)
        named = r"(?:(?<=latitude )|(?<=longitude )|(?<=longitude -))"
        compass = r"(?=\s*\u00b0\s*[NSEW]\b)"
        fine = rf"(?<![\d.]){exact}[0-9]+"
        return re.compile(rf"{fine}|(?<![\d.]){exact}{compass}|{named}{exact}(?!\d)")

    def told(self, found: str) -> str:
        """Say what was found: the number as it stands there."""
        return found


def traces(pairs: Iterable[tuple[float, float]]) -> list[Trace]:
    """List how positions may stand elsewhere.

    Parameters
    ----------
    pairs : iterable of tuple of float
        Latitudes and longitudes before and after [degrees].

    Examples
    --------
    >>> traces([(-77.5678, -77.6)])
    [Trace(name='77.56', instead='77.6'), Trace(name='77.57', instead='77.6')]
    >>> traces([(-77.5678, -77.6)])[0].pattern.sub("77.6", "at 77.56781 W, 77.5 and 77.56")
    'at 77.6 W, 77.5 and 77.56'
    """
    found: dict[str, Trace] = {}
    for old, new in sorted(set(pairs)):
        whole, decimals = f"{abs(old):.8f}".split(".")
        for name in (f"{whole}.{decimals[:_DECIMALS]}", f"{abs(old):.{_DECIMALS}f}"):
            found.setdefault(name, Trace(name, f"{abs(new):g}"))
    return list(found.values())


def rough_lines(text: str, shown: str, known: Iterable[Trace]) -> list[str]:
    """Tell which lines hold a number that may be the position to two decimals.

    Examples
    --------
    >>> rough_lines("seen at 43.15", "trial.yaml", [Trace("43.15", "43.2")])
    ["trial.yaml:1: '43.15' may be the position; it was left as it is"]
    """
    return [
        f"{shown}:{number}: '{one.name}' may be the position; it was left as it is"
        for number, line in enumerate(text.splitlines(), 1)
        for one in known
        if re.search(rf"(?<![\d.]){re.escape(one.name)}(?!\d)", line)
    ]
