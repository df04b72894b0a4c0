"""What the sections of the supporting analyses are filled with."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from wintersward.report import (
    agreeing,
    arriving,
    catching_up,
    certainty,
    checking,
    covariate_words,
    dates_together,
    glance,
    hole_lead,
    meanings,
    noting,
    seasonal,
    second_question,
)
from wintersward.report.comparisons import in_order
from wintersward.report.numbers import day_text, level_text
from wintersward.report.said import Sentence
from wintersward.report.views import measure_view, picture_name
from wintersward.report.words import waiting

if TYPE_CHECKING:
    from wintersward.report.page import Page

__all__ = [
    "agreement_context",
    "answer_context",
    "checks_context",
    "notes_of",
    "randomised",
    "replication_context",
    "support_context",
    "together_context",
]

Context = dict[str, Any]


def notes_of(page: Page, kind: str, measure: str = "") -> list[str]:
    """List what the analysis notes about one supporting analysis, each once.

    Parameters
    ----------
    page : Page
        With the table ``notes``.
    kind : str
        A note belongs to an analysis by its code or by its first words.
    measure : str
        Of this measure alone; empty for all.
    """
    return noting.supporting_notes(page.table("notes"), page.definition, kind, measure)


def randomised(page: Page) -> list[Sentence]:
    """Say what the draw alone tells, below the answer; why not, where there is an answer."""
    said = certainty.draw_words(page.table("randomisation"), page.definition)
    if not said and page.answered:
        return [Sentence("No randomisation test could be made of these data.")]
    return said


def answer_context(page: Page) -> Context:
    """Fill what stands under the answer: the draw, the second question, what was set aside."""
    if not page.answered:
        none: Context = {"second": [], "put_back": "", "glance": "", "field": []}
        return {"randomised": randomised(page), **none}
    primary = page.table("primary")
    return {
        "glance": glance.glance_table(
            page.table("means"), page.table("differences"), primary, page.definition
        ),
        "randomised": randomised(page),
        "second": [
            *second_question.second_words(
                page.table("differences"), page.definition, page.table("tests")
            ),
            *hole_lead.hole_lead_words(
                page.table("closure_gained"), page.table("closure"), page.definition
            ),
        ],
        "put_back": meanings.exclusions_effect(primary, page.definition),
        "field": _on_the_field(page),
    }


def _on_the_field(page: Page) -> list[tuple[str, Sentence]]:
    """Say of the treatments asked about how many days they gained, and who had caught up.

    Returns
    -------
    list of tuple
        What a change after freezing would touch, and the sentence.
    """
    definition, primary = page.definition, page.table("primary")
    asked = set(zip(primary["left"], primary["right"], strict=True))

    def own(table: pd.DataFrame) -> pd.DataFrame:
        pairs = zip(table["left"], table["right"], strict=True)
        # An empty list would choose no columns.
        return table[pd.Series([pair in asked for pair in pairs], table.index, dtype=bool)]

    gained, equivalence = own(page.table("days_gained")), own(page.table("equivalence"))
    days = arriving.days_gained_words(gained, page.table("arrivals"), definition)
    if gained["days"].notna().any():
        days[-1] = Sentence("{said} {read}", {"said": days[-1], "read": _read_off(page)})
    return [("days_gained", one) for one in days] + [
        ("caught_up", one) for one in _leads(page, equivalence)
    ]


def _leads(page: Page, equivalence: pd.DataFrame) -> list[Sentence]:
    """Say how far the control was behind, and apart by what may have changed that."""
    definition, tests = page.definition, page.table("tests")
    whole = equivalence[equivalence["within"].fillna("") == ""]
    said = []
    for at in in_order(whole[whole["kind"] == "caught up"], definition):
        (lead,) = catching_up.caught_up_words(whole.loc[[at]], definition)
        apart = catching_up.apart_words(page.table("equivalence"), at, definition, tests)
        parts = {"lead": lead, "apart": apart}
        said.append(Sentence("{lead} {apart}", parts) if str(apart) else lead)
    return said


def _read_off(page: Page) -> str:
    """Say what days of arrival are read off, and which of them take in recovery."""
    visits = _days_visits(page)
    read = arriving.read_off_words(visits, page.definition)
    late = arriving.recovery_words(page.definition, max(visits)) if visits else []
    return "".join([read, *(f"; those {words}" for words in late), "."]) if read else ""


def _days_visits(page: Page) -> list[str]:
    """List the days on which the measure of the days gained was observed."""
    asked = page.definition.analysis.days_gained
    return _visits(page, asked.measure) if asked else []


def _visits(page: Page, measure: str) -> list[str]:
    """List the days of a measure, as ISO dates."""
    seen = page.table("plot_means")
    days = pd.to_datetime(seen.loc[seen["measure"] == measure, "date"]).unique()
    return sorted(str(day)[:10] for day in days)


def support_context(page: Page) -> Context:
    """Fill what stands behind the answer: margins, days gained, averages, other analyses."""
    definition, table = page.definition, page.table
    analysis = definition.analysis
    equivalence, gained = table("equivalence"), table("days_gained")
    measure = analysis.primary.measure
    return {
        "waiting": waiting(definition, table("counts")) if page.waiting else "",
        "answered": page.answered,
        "margins": meanings.margin_words(equivalence, definition),
        "uses_inner": _uses_inner(equivalence),
        "inner": level_text(2 * analysis.alpha),
        "outer": level_text(analysis.alpha),
        "asks_caught_up": analysis.caught_up_within is not None,
        "drawn": certainty.randomisation_words(table("randomisation"), definition),
        "caught_up": catching_up.caught_up_words(equivalence, definition),
        "caught_up_count": catching_up.caught_up_count(equivalence),
        "averaged": _averaged(page),
        "asks_days": analysis.days_gained is not None,
        "days": arriving.days_gained_words(gained, table("arrivals"), definition),
        "read_off": arriving.read_off_words(_days_visits(page), definition),
        "days_picture": page.figure("arrivals"),
        "days_table": arriving.days_gained_table(gained, definition),
        "dipped": arriving.dipped_words(table("arrivals"), definition),
        "days_notes": notes_of(page, "days gained"),
        "season": seasonal.season_words(
            table("season_differences"), definition, measure, _visits(page, measure)
        ),
        "noun": measure_view(definition, measure).noun,
        "other_words": certainty.sensitivity_words(
            table("sensitivity"), table("primary"), definition
        ),
        "others": certainty.sensitivity_table(table("sensitivity"), definition, table("primary")),
        "slope_heading": covariate_words.slope_heading(definition),
        "slope": covariate_words.slope_words(table("slopes"), definition),
        "slopes": covariate_words.slopes_table(table("slopes"), definition),
        "other_notes": notes_of(page, "sensitivity"),
        "seasons_words": seasonal.seasons_words(table("seasons_differences"), definition),
        "seasons": seasonal.seasons_differences_table(table("seasons_differences"), definition),
        "seasons_tests": seasonal.seasons_tests_table(table("seasons_tests"), definition),
        "seasons_notes": notes_of(page, "seasons"),
    }


def _averaged(page: Page) -> str:
    """Say what the numbers of the last days are averaged over."""
    dates = page.table("means")["date"]
    return arriving.averaging_words(page.definition, dates.max()) if len(dates) else ""


def _uses_inner(equivalence: pd.DataFrame) -> bool:
    """Tell whether a verdict rests on the narrower interval of the one-sided tests."""
    rows = equivalence[equivalence["kind"] == "matters"]
    return bool((~rows["verdict"].isin(["beyond", "size open"])).any())


def together_context(page: Page, measure: str) -> Context:
    """Fill what one measure has to say over all its dates: season averages, one model."""
    definition, table = page.definition, page.table
    structures, joint = table("structures"), table("joint_differences")
    season = table("season_differences")
    compared = table("means")
    dates = pd.to_datetime(compared.loc[compared["measure"] == measure, "date"]).nunique()
    return {
        "season_words": seasonal.season_words(season, definition, measure, _visits(page, measure)),
        "season_means": seasonal.season_means_table(table("season_means"), definition, measure),
        "season": seasonal.season_differences_table(season, definition, measure),
        "season_notes": notes_of(page, "season average", measure),
        "chosen": dates_together.structure_words(structures, definition, measure),
        "structures": dates_together.structures_table(structures, definition, measure),
        "tests": dates_together.joint_tests_table(table("joint_tests"), definition, measure),
        "overall": dates_together.joint_differences_table(joint, definition, measure),
        "each": dates_together.joint_differences_table(joint, definition, measure, each=True),
        "notes": notes_of(page, "dates together", measure),
        "could": dates > 1 and definition.layout.tested,
    }


def agreement_context(page: Page) -> Context:
    """Fill how raters agree with one another, and the eye with the photo."""
    definition, agreement = page.definition, page.table("agreement")
    pairs = list(agreement[["measure", "against"]].drop_duplicates().itertuples(index=False))
    measures = []
    for name in definition.measures:
        parts = [str(against) for measure, against in pairs if measure == name]
        if not parts:
            continue
        measures.append(
            {
                "label": measure_view(definition, name).label,
                "noun": measure_view(definition, name).noun,
                "tables": [
                    agreeing.agreement_table(agreement, definition, name, against)
                    for against in parts
                ],
                "words": [
                    said
                    for against in parts
                    for said in agreeing.agreement_words(agreement, name, against)
                ],
                "few": _agreement_few(page, name, parts),
                "raters": agreeing.raters_table(page.table("raters"), definition, name),
                "pictures": _pictures(page, name),
            }
        )
    return {"measures": measures}


def _agreement_few(page: Page, measure: str, against: list[str]) -> list[str | Sentence]:
    """Say in a few sentences how raters, eye and photo agree, and how reliable one visit is."""
    said: list[str | Sentence] = [
        agreeing.rater_words(page.table("raters"), page.definition, measure)
    ]
    for _, words in (
        agreeing.agreement_words(page.table("agreement"), measure, "raters", few=True)
        if "raters" in against
        else []
    ):
        # The first clause answers; what it takes for granted stands with the numbers.
        first = words.split(";")[0]
        said.append(f"{first[:1].upper()}{first[1:]}.")
    said += agreeing.eye_words(page.table("agreement"), page.definition, measure)
    return [words for words in said if str(words)]


def _pictures(page: Page, measure: str) -> list[Any]:
    """Gather the pictures of agreement of one measure: raters first, then eye and photo."""
    names = [picture_name("raters", measure)]
    for kind in ("agreement", "limits"):
        others = (picture_name(kind, f"{measure}_{one}") for one in page.definition.measures)
        names += others
    return [page.figure(name) for name in names if name in page.figures]


def checks_context(page: Page) -> Context:
    """Fill the checks of each measure: residual pictures first, tests second."""
    definition, checks = page.definition, page.table("checks")
    measures = []
    for name in definition.measures:
        picture = page.figure(picture_name("residuals", name))
        if picture:
            measures.append({"label": measure_view(definition, name).label, "picture": picture})
    return {
        "measures": measures,
        "words": checking.checks_words(checks, definition),
        "table": checking.checks_table(checks, definition),
        "waiting": page.waiting,
    }


def _primary_day(page: Page) -> str:
    return day_text(page.table("primary")["date"].iloc[0])


def replication_context(page: Page) -> Context:
    """Fill what the blocks were worth, and how many a like trial would need."""
    definition = page.definition
    worth = checking.block_value_words(page.table("block_value"), definition)
    table = checking.replication_table(page.table("replication"), definition)
    primary = definition.analysis.primary
    return {
        "worth": worth,
        "words": checking.replication_words(page.table("replication"), definition),
        "table": table,
        "waiting": page.waiting,
        "noun": measure_view(definition, primary.measure).noun,
        "day": "" if page.table("primary").empty else _primary_day(page),
    }
