"""What the headings of a hand-filled table may mean."""

from __future__ import annotations

import re
from collections.abc import Sequence

from wintersward.records.cells import plain
from wintersward.trial.schema import Definition, Sheet, SheetMeasure

__all__ = ["KEYS", "Names", "bare", "key"]

# What every table needs, and what a reading may also need.
KEYS = ("date", "plot")
_ALSO = ("rater", "sample", "repeat")


def key(heading: str) -> str:
    """Fold capitals, spaces, hyphens and underscores of a heading.

    Examples
    --------
    >>> key("Pull  Force"), key("pull-force")
    ('pull_force', 'pull_force')
    """
    return re.sub(r"[\s_-]+", "_", heading.strip().casefold()).strip("_")


def bare(heading: str) -> str:
    """Cut a remark in brackets, such as a unit, off the end of a heading.

    Examples
    --------
    >>> bare("Pull force (lbf)")
    'Pull force'
    """
    return re.sub(r"\s*[\[(][^\[\]()]*[\])]\s*$", "", heading)


# Where the values of measures come from that stand on no sheet.
_ELSEWHERE = {"photos": "scored from photos", "logger": "read from loggers"}


class Names:
    """What the headings of one table may mean.

    Parameters
    ----------
    definition : Definition
        Its measures from sheets are looked for.
    sheet : Sheet or None
        What the diary says about the table; a heading given there stands for its name alone.

    Notes
    -----
    A heading means date, plot, rater, sample, repeat or a measure: by the heading that the diary
    gives, else by the name, else by the measure's label. Capitals, spaces, hyphens and
    underscores make no difference, and a unit may follow in brackets: ``Pull force (lbf)`` is
    the measure ``pull_force``.
    """

    def __init__(self, definition: Definition, sheet: Sheet | None) -> None:
        measures = definition.measures
        self.wanted = {n: m for n, m in measures.items() if isinstance(m, SheetMeasure)}
        self.elsewhere = {
            n: _ELSEWHERE[m.from_] for n, m in measures.items() if n not in self.wanted
        }
        self.known = (*KEYS, *_ALSO, *self.wanted)
        # What else the diary gives a heading to, which is told where it stands, hides no column.
        given = sheet.columns if sheet else {}
        self.given = {n: plain(h) for n, h in given.items() if n in (*self.known, *measures)}
        self._given: dict[str, list[str]] = {}
        self._labels: dict[str, list[str]] = {}
        for name, heading in self.given.items():
            self._given.setdefault(heading.casefold(), []).append(name)
        free = [name for name in self.known if name not in self.given]
        self._names = {key(name): name for name in free}
        for name in free:
            for label in self.keys(name)[1:]:
                self._labels.setdefault(label, []).append(name)
        self._elsewhere = {key(name) for name in self.elsewhere}

    def keys(self, name: str) -> list[str]:
        """List what stands for a name, folded: the name, and of a measure also the label."""
        label = self.wanted[name].label if name in self.wanted else None
        said = [key(name)] + ([key(label), key(bare(label))] if label else [])
        return [one for one in dict.fromkeys(said) if one]

    def meant(self, heading: str) -> Sequence[str]:
        """Tell what a heading means: one name, nothing, or several where it is not clear."""
        if heading.casefold() in self._given:
            return self._given[heading.casefold()]
        keys = (key(heading), key(bare(heading)))
        for one in keys:
            if one in self._names:
                return [self._names[one]]
        if not self._elsewhere.isdisjoint(keys):
            return []
        return next((self._labels[one] for one in keys if one in self._labels), [])

    def places(self, headings: Sequence[str]) -> dict[str, list[int]]:
        """Find the columns of every name that stands among headings, counted from 0."""
        found: dict[str, list[int]] = {}
        for at, heading in enumerate(headings):
            for name in self.meant(heading) if heading else ():
                found.setdefault(name, []).append(at)
        return found
