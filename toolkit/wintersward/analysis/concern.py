"""One thing to think about before a plan is frozen, and the kinds of it in their order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

__all__ = ["KINDS", "Concern", "Found"]

# From what makes a trial useless to what makes it weaker.
KINDS = (
    "order by choice",
    "demonstration",
    "aliased",
    "no control",
    "under covers",
    "small plot",
    "too few degrees of freedom",
    "randomisation test",
    "too small to see",
    "no baseline",
    "after play",
    "aeration after play",
    "aeration before covers",
    "short covers",
    "late visits",
    "deep tines",
    "no room for samples",
    "no edge",
    "aerator between plots",
    "winter baseline",
    "nobody blind",
    "single rater",
    "thin degrees of freedom",
    "small sample",
    "photos",
    "typed seed",
)


@dataclass(frozen=True)
class Concern:
    """One thing to think about before a plan is frozen; it stops nothing.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    what : str
        What is wrong, and why it matters.
    instead : str
        What to do.
    field : str
        Dotted path in ``trial.yaml``, or a file of the study folder.

    Examples
    --------
    >>> print(Concern("no baseline", "nothing is seen before", "add a date", "measures.colour"))
    measures.colour: nothing is seen before. Instead: add a date.
    """

    kind: str
    what: str
    instead: str
    field: str

    def __str__(self) -> str:
        """Say the concern in one line."""
        return f"{self.field}: {self.what}. Instead: {self.instead}."


Found = Iterator[Concern]
