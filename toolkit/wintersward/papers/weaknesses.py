"""What a plan can be expected to see, and its known weaknesses, in the words of a paper."""

from __future__ import annotations

import re

import pandas as pd

from wintersward.analysis import expectation_words, plan_concerns
from wintersward.design import place_concerns
from wintersward.report.numbers import day_text
from wintersward.report.views import factor_label, in_sentence, level_label, measure_view
from wintersward.trial import Definition

__all__ = ["prospects", "weaknesses"]

# Where to look in the file is of no use on a paper that is signed.
_POINTER = re.compile(r" \(see 'planning'\)|, as 'planning' in trial\.yaml says")
_NOT_OWN = (" that is not your own", " that was not measured here")
_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")
# Concerns about a comparison, of which a demonstration has none.
_OF_COMPARISON = ("no control", "after play")
_PRIMARY_DATE = ", the primary date among them,"
# Concerns that call treatments and factors by their names in the file, common words among them.
_NAMING = ("no control", "aliased", "aerator between plots")


def prospects(definition: Definition, plots: pd.DataFrame) -> list[str]:
    """Say what a trial can be expected to see; nothing of it tells how to write the file.

    Parameters
    ----------
    definition : Definition
        The trial.
    plots : DataFrame
        ``plan/plots.csv``.

    Returns
    -------
    list of str
        The sentences of `wintersward.analysis.expectation_words`; none for a demonstration, which
        is not judged.
    """
    if not definition.layout.tested:
        return []
    told = expectation_words(definition, for_paper=True, plots=plots)
    return [_for_paper(words) for words in told]


def weaknesses(
    definition: Definition, plots: pd.DataFrame, values: pd.DataFrame | None = None
) -> list[str]:
    """Name the known weaknesses of a plan, the worst first.

    Parameters
    ----------
    definition : Definition
        The trial.
    plots : DataFrame
        ``plan/plots.csv``.
    values : DataFrame, optional
        What is known of each plot before treatment: index plot, numbers or words.

    Returns
    -------
    list of str
        A sentence each, with labels for names and days as they are written in a letter; what the
        plots have no room for comes last.
    """
    said = []
    for one in plan_concerns(definition, plots, values):
        if not definition.layout.tested and one.kind in _OF_COMPARISON:
            continue
        words = one.what if definition.layout.tested else _unjudged(one.what)
        if not words:
            continue
        words = _labelled(definition, words, one.kind in _NAMING)
        words = _DAY.sub(lambda found: day_text(found[0]), _for_paper(words))
        said.append(f"{words[:1].upper()}{words[1:]}.")
    # What to do instead stands behind the last semicolon; no other concern tells it here either.
    rooms = [one.rpartition("; ")[0] for one in place_concerns(plots, definition)]
    return said + [f"{_labelled(definition, one, False)}." for one in rooms]


def _for_paper(words: str) -> str:
    return _POINTER.sub("", words).replace(*_NOT_OWN)


def _unjudged(words: str) -> str:
    """Leave out what is said of a primary question, by which no demonstration is judged."""
    clauses = words.replace(_PRIMARY_DATE, "").split("; ")
    return "; ".join(one for one in clauses if "primary" not in one)


def _labelled(definition: Definition, words: str, every: bool) -> str:
    """Put labels for names in the file; labels stay as they are.

    Parameters
    ----------
    definition : Definition
        The trial.
    words : str
        What names stand in.
    every : bool
        Also for names that could be common words, such as ``open``.
    """
    labels = {name: measure_view(definition, name).noun for name in definition.measures}
    for name, factor in definition.treatments.items():
        labels[name] = in_sentence(factor_label(definition, name))
        labels |= {level: in_sentence(level_label(definition, level)) for level in factor.levels}
    names = [name for name in labels if every or "_" in name]
    known = sorted([*names, *labels.values()], key=len, reverse=True)
    either = "|".join(re.escape(one) for one in known)

    def put(found: re.Match[str]) -> str:
        # A label that begins with a capital is a label all the same.
        return labels[found[0]] if found[0] in names else found[0]

    return re.sub(rf"(?i)(?<![\w-])(?:{either})(?![\w-])", put, words)
