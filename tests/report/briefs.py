"""Pages of runs in every state that a brief knows, with short names and with long ones."""

from __future__ import annotations

import io
from pathlib import Path

import pandas as pd

from analysis.dated import COVER, dated_trial
from analysis.seasonal import simulated
from report.fabricate import draw_plots, fabricate, read_trial
from report.fabricate_support import declared, supporting
from wintersward.analysis import analyse
from wintersward.report.demonstrating import shown_picture
from wintersward.report.figures import deciding_picture
from wintersward.report.page import Drawn, Page
from wintersward.report.words import estimated
from wintersward.trial import Definition
from wintersward.trial.questions import Family

__all__ = ["FROZEN", "all_pages", "changes", "demonstration", "drawn", "family", "long_names"]

Tables = dict[str, pd.DataFrame]
FROZEN = {
    "frozen_at": "2026-01-12T14:05:00+00:00",
    "document": "d25a9121e942" + "0" * 52,
    "version": "0.1.0",
    "late": "",
    "damage": "",
}
_LEVELS = {
    "open": "No cover at all, left to the weather as before",
    "fleece": "Spun-bond fleece in one layer, laid from roll to roll",
    "woven": "Woven permeable cover with sewn hems and eyelets",
    "solid": "Solid tine, three eighths of an inch, at two inches",
    "hollow": "Hollow tine, three quarters of an inch, at two inches",
}


def changes(*touches: str) -> pd.DataFrame:
    """Make the table ``changes``, a row for each of what was touched."""
    names = ["field", "old", "new", "reason", "touches"]
    rows = [
        (f"analysis.primary.{i}", "old", "new", "why", touch) for i, touch in enumerate(touches)
    ]
    return pd.DataFrame(rows, columns=names)


def drawn(tables: Tables, definition: Definition) -> Page:
    """Make the page of a run, with the one picture that a brief shows."""
    held = {}
    made = []
    if not definition.layout.tested:
        made = [shown_picture(tables, definition, definition.analysis.primary.measure)]
    elif estimated(tables["primary"]):
        made = [deciding_picture(tables, definition)]
    for one in made:
        stream = io.BytesIO()
        one.figure.savefig(stream, format="svg", bbox_inches="tight", metadata={"Date": None})
        held[one.name] = Drawn(stream.getvalue(), "image/svg+xml", one.alt, one.caption)
    return Page(tables, held, definition)


def family(definition: Definition) -> Definition:
    """Ask for both covers against none."""
    compare = Family.model_validate({"each": ["fleece", "woven"], "with": "open"})
    primary = definition.analysis.primary.model_copy(update={"compare": compare})
    analysis = definition.analysis.model_copy(update={"primary": primary})
    return definition.model_copy(update={"analysis": analysis})


def long_names(definition: Definition) -> Definition:
    """Name everything as long as a person may who likes to be exact."""
    treatments = {}
    for name, factor in definition.treatments.items():
        levels = {
            level: held.model_copy(update={"label": _LEVELS[level]})
            for level, held in factor.levels.items()
        }
        label = f"What was done to the plots in the part of the trial on {name}"
        treatments[name] = factor.model_copy(update={"levels": levels, "label": label})
    measures = {
        name: held.model_copy(update={"label": f"{name.replace('_', ' ')} of the upper sward"})
        for name, held in definition.measures.items()
    }
    person = definition.people[0]
    people = [
        person.model_copy(update={"name": f"Example-Longname the {nth}", "role": "head of grounds"})
        for nth in ("First", "Second", "Third", "Fourth")
    ]
    site = definition.site.model_copy(
        update={"name": "Alder Road community ground, upper terrace beside the old mill (invented)"}
    )
    title = (
        "Winter covers of two makes and the first aeration of the year on the upper terrace of "
        "the Alder Road community soccer and lacrosse ground, second trial, 2026"
    )
    told = {
        "title": title,
        "treatments": treatments,
        "measures": measures,
        "people": people,
        "site": site,
        "report_to": "Invented County Turf Program and its committee for grounds and gardens",
        "notice": "Everything in this study is invented, the people, the places and the numbers "
        "included; it stands here to see how a page looks that has much to say.",
    }
    return definition.model_copy(update=told)


def demonstration(folder: Path) -> tuple[Tables, Definition]:
    """Make the tables of a demonstration of three covers on one area each."""
    more = "  days_gained: {measure: cover_share, level: 60 %}\n  caught_up_within: 2 points\n"
    layout = "kind: demonstration\n  plots_in_a_row: 3"
    trial = dated_trial(folder, simulated(3), layout=layout, treatments=COVER, more=more)
    return analyse(trial), trial.definition


def missing_pins() -> Tables:
    """Make the table of counted pins: of two kinds some are missing; the turf was worked since."""
    days = dict.fromkeys(("first", "last"), pd.Timestamp("2026-03-09"))
    rows = [
        {"what": what, "plots": "", "out": out, "back": out - n, "missing": n, **days}
        for what, out, n in (("bright steel pins", 292.0, 1.0), ("wooden pegs", 44.0, 3.0))
    ]
    work = ["aeration", "mowing", "rolling", "topdressing", "traffic"]
    care = pd.DataFrame({"date": pd.Timestamp("2026-04-08"), "what": work})
    care = care.assign(plots="all plots", amount="", note="")
    return {"pin_counts": pd.DataFrame(rows).assign(state="missing"), "management": care}


def _interval(tables: Tables, lower: float, upper: float) -> Tables:
    middle = (lower + upper) / 2
    primary = tables["primary"].assign(lower=lower, upper=upper, difference=middle)
    return tables | {"primary": primary}


def _unanswered(tables: Tables) -> Tables:
    numbers = tables["primary"].select_dtypes("number").columns
    primary = tables["primary"].astype(dict.fromkeys(numbers, float))
    primary[numbers] = float("nan")
    return tables | {"primary": primary}


def all_pages(folder: Path) -> dict[str, Page]:
    """Make a page in every state; the folder is for the study of a demonstration."""
    asked, whole = read_trial(), fabricate() | supporting(draw_plots())
    wordy, both = long_names(asked), declared(whole)
    late = {"frozen": pd.DataFrame([FROZEN | {"late": "three days after the covers went on"}])}
    late["changes"] = changes("primary;days_gained;caught_up", "everything")
    shown, described = demonstration(folder)
    return {
        "answered": drawn(whole, asked),
        "cannot tell": drawn(_interval(whole, -4, 11), asked),
        "not estimated": drawn(_unanswered(whole), asked),
        "planned": drawn(fabricate(primary=False), asked),
        "demonstration": drawn(shown, described),
        "demonstration, planned": Page({}, {}, described),
        "long, answered": drawn(whole | late, wordy),
        "long, cannot tell": drawn(_interval(whole, -9, 11), wordy),
        "long, a family": drawn(both | late, family(wordy)),
        "pins missing": drawn(whole | missing_pins(), asked),
        "long, pins missing": drawn(both | late | missing_pins(), family(wordy)),
        "long, not estimated": drawn(_unanswered(whole), wordy),
        "long, planned": drawn(fabricate(primary=False), wordy),
        "long, demonstration": drawn(shown, long_names(described)),
    }
