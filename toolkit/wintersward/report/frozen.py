"""The frozen plan in a report: when it was frozen, what was changed, what is exploratory."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from wintersward.analysis.results import empty
from wintersward.report.numbers import day_text, listed_words
from wintersward.report.tables import Head, Row, html_table
from wintersward.report.views import measure_view
from wintersward.trial.schema import Definition

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = ["Freeze", "exploratory_words", "freeze_of", "marked", "plan_context", "touched_words"]

_EXPLORATORY = "Exploratory"
_WORDS = {
    "primary": "the primary question",
    "days_gained": "days gained",
    "caught_up": "whether the control had caught up",
    "covariate": "the analysis with a covariate",
    "logit": "the analysis on the logit scale",
    "climate": "what was made of temperatures",
    "light": "sun and light on the plots",
    "decisions": "what is held against limits",
    "removal": "the rule for taking covers off",
    "everything": "every comparison of treatments",
}
_UNSHOWN = "That the question came before the data."
_CANNOT = "this report cannot show that the question came before the data."


@dataclass(frozen=True)
class Freeze:
    """What a run holds of the frozen plan.

    Parameters
    ----------
    frozen : DataFrame
        Table ``frozen`` of a run.
    changes : DataFrame
        Table ``changes`` of a run.
    definition : Definition
        The trial.
    """

    frozen: pd.DataFrame
    changes: pd.DataFrame
    definition: Definition

    def _cell(self, name: str) -> str:
        return "" if self.frozen.empty else str(self.frozen[name].fillna("").iloc[0])

    @property
    def damage(self) -> str:
        """What is wrong with the frozen files; empty where nothing is."""
        return self._cell("damage").rstrip(".")

    @property
    def there(self) -> bool:
        """Whether there is a frozen plan, and it is whole."""
        return bool(self._cell("frozen_at"))

    @property
    def late(self) -> str:
        """What had happened already when the plan was frozen; empty where it was in good time."""
        return self._cell("late")

    @property
    def when(self) -> str:
        """Day and time of the freeze."""
        time = dt.datetime.fromisoformat(self._cell("frozen_at")).astimezone(dt.UTC)
        return f"{day_text(time)} at {time:%H:%M} UTC"

    @property
    def touched(self) -> frozenset[str]:
        """Everything that the changes touch; see `wintersward.trial.changes.Changed`."""
        cells = self.changes["touches"].fillna("")
        return frozenset(tag for cell in cells for tag in str(cell).split(";") if tag)

    def exploratory(self, *tags: str) -> bool:
        """Tell whether a change touches any of these answers."""
        return bool(self.touched & {"everything", *tags})

    def tag(self, *tags: str) -> str:
        """Give the words behind a heading: `` (exploratory)``, or nothing."""
        return " (exploratory)" if self.exploratory(*tags) else ""

    def fields(self, *tags: str) -> str:
        """List the changed lines that touch any of these answers."""
        kept = [
            str(field)
            for field, cell in zip(
                self.changes["field"], self.changes["touches"].fillna(""), strict=True
            )
            if {"everything", *tags} & set(str(cell).split(";"))
        ]
        return listed_words(kept[:4] + ([f"{len(kept) - 4} more"] if len(kept) > 4 else []))

    def why(self, *tags: str) -> str:
        """Say why something is exploratory; empty where it is not."""
        if not self.exploratory(*tags):
            return ""
        fields = self.fields(*tags)
        return f"{_EXPLORATORY}: what this rests on was changed after the freeze ({fields})."

    @property
    def unshown(self) -> str:
        """Say in the answer's list that the order of question and data is not shown, and why."""
        if self.damage:
            return f"{_UNSHOWN} The definition was frozen, but what was frozen is damaged."
        if not self.there:
            return (
                f"{_UNSHOWN} Only a definition frozen in good time could show it; this one "
                "stayed open: nothing was frozen before the covers went on."
            )
        if self.exploratory("primary"):
            return f"{_UNSHOWN} It was changed after the plan was frozen."
        return f"{_UNSHOWN} The plan was frozen {self.late}." if self.late else ""

    @property
    def limit(self) -> str:
        """Say among the limits what the freeze cannot show; empty where it shows all."""
        if self.damage:
            return f"The frozen plan is damaged, so {_CANNOT}"
        if not self.there:
            return f"The definition was not frozen, so {_CANNOT}"
        if self.late:
            return f"The plan was frozen {self.late}, so {_CANNOT}"
        if self.exploratory("primary"):
            return f"The question was changed after the plan was frozen, so {_CANNOT}"
        return ""

    @property
    def methods(self) -> str:
        """Say in the methods which answers are exploratory; empty where none is."""
        if not self.touched:
            return ""
        tags = sorted(self.touched, key=lambda tag: (_rank(tag), tag))
        said = listed_words([touched_words(tag, self.definition) for tag in tags])
        return (
            f"The plan was changed after it was frozen, so this is exploratory: {said}. Such an "
            "answer is a lead for the next trial, whatever its interval. What was changed, and "
            "why, stands under The plan and what was changed."
        )


def _rank(tag: str) -> int:
    """Put what touches most first, single measures last."""
    order = ["everything", *_WORDS]
    return order.index(tag) if tag in order else len(order)


def freeze_of(page: Page) -> Freeze:
    """Take the freeze out of the tables of a page."""
    return Freeze(page.table("frozen"), page.table("changes"), page.definition)


def exploratory_words(changes: pd.DataFrame, definition: Definition) -> list[str]:
    """Say which answers are exploratory, for a notebook; nothing where none is.

    Parameters
    ----------
    changes : DataFrame
        Table ``changes`` of a run.
    definition : Definition
        The trial.
    """
    said = Freeze(empty("frozen"), changes, definition).methods
    return [said] if said else []


def touched_words(tag: str, definition: Definition) -> str:
    """Name what a change touches for a reader.

    Parameters
    ----------
    tag : str
        See `wintersward.trial.changes.Changed`; empty for what no answer rests on.
    definition : Definition
        The trial, for the names of its measures.
    """
    kind, _, name = tag.partition(":")
    if kind != "measure":
        return _WORDS.get(tag, tag or "no answer")
    if name in definition.measures:
        return f"all of {measure_view(definition, name).noun}"
    return f"all of {name.replace('_', ' ')}"


def plan_context(page: Page) -> dict[str, Any]:
    """Fill the section on the plan and what was changed."""
    return {"changes": _changes_table(freeze_of(page))}


def _changes_table(freeze: Freeze) -> Markup:
    if freeze.changes.empty:
        return Markup("")
    heads = [Head("What"), *(Head(name, prose=True) for name in ("As frozen", "Now", "Reason"))]
    heads += [Head("Makes exploratory")]
    rows = []
    for _, row in freeze.changes.fillna("").iterrows():
        tags = [tag for tag in str(row["touches"]).split(";") if tag]
        said = ", ".join(touched_words(tag, freeze.definition) for tag in tags)
        cells = (str(row["old"]), str(row["new"]), str(row["reason"]), said or "nothing: words")
        rows.append(Row((str(row["field"]),), cells, strong=bool(tags)))
    note = "Lines of trial.yaml by their names, and plots of plan/plots.csv by their numbers."
    return html_table("What was changed after the freeze", heads, rows, note)


# What of a section rests on which answers, where not the whole section does.
_PARTS: dict[str, dict[str, tuple[str, ...]]] = {
    "answer": {"picture": ("primary",), "glance": ("primary",)},
    "support": {
        "days_picture": ("days_gained",),
        "days_table": ("days_gained",),
        "others": ("primary", "covariate", "logit"),
        "slopes": ("primary", "covariate"),
        "seasons": ("primary",),
        "seasons_tests": ("primary",),
    },
    "exclusions": {"answers": ("primary",)},
    "decisions": {
        "readiness": ("decisions",),
        "budget": ("primary", "days_gained"),
        "next_trial": ("primary",),
        "timing": ("removal", "primary"),
    },
}
# Parts of the decisions that say themselves what they rest on.
_TAGGED = ("recovery", "aeration")
# Sections whose tables compare treatments, or rest on them, all through.
_WHOLE = ("agreement", "checks", "replication", "shares")


def marked(page: Page, section: str, context: Mapping[str, Any]) -> dict[str, Any]:
    """Mark the tables and pictures of a section that rest on what was changed.

    Parameters
    ----------
    page : Page
        Its tables tell what was changed.
    section : str
        Name of the section.
    context : mapping
        What the section is filled with.

    Returns
    -------
    dict
        The same, with ``freeze`` beside it, and the word exploratory at the head of each caption of
        what a change touches.
    """
    freeze, made = freeze_of(page), dict(context)
    made["freeze"] = freeze
    if not freeze.touched or page.waiting:
        return made
    for name, tags in _PARTS.get(section, {}).items():
        if name in made and freeze.exploratory(*tags):
            made[name] = _marked(made[name])
    if section == "results":
        made["measures"] = [
            _marked(held) if freeze.exploratory(f"measure:{held['name']}") else held
            for held in made["measures"]
        ]
    if section == "decisions":
        for name in _TAGGED:
            held = made.get(name) or {}
            if freeze.exploratory(*held.get("tags", ())):
                made[name] = _marked(held)
    if section in _WHOLE and freeze.exploratory():
        made |= {name: _marked(held) for name, held in context.items() if name != "page"}
    return made


def _marked(value: Any) -> Any:
    """Put the word before every caption inside a value."""
    if isinstance(value, Markup):
        text = str(value)
        for mark in ("<caption>", "<figcaption>"):
            text = text.replace(mark, f"{mark}{_EXPLORATORY}. ")
        return Markup(text)
    if isinstance(value, dict):
        return {name: _marked(held) for name, held in value.items()}
    if isinstance(value, list):
        return [_marked(held) for held in value]
    return value
