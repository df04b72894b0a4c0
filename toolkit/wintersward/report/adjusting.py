"""Which comparisons belong together, and how their p values and intervals are adjusted."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from wintersward.report.numbers import counted, listed_words
from wintersward.report.views import in_sentence
from wintersward.report.words import FAMILIES
from wintersward.trial.schema import Definition

__all__ = ["adjust_note", "adjust_words", "counted_words", "family_text", "letters_note"]
__all__ += ["over_dates_words"]

# What is taken over dates: season averages, all dates in one model, seasons together.
_OVER_DATES = (
    *("joint_tests", "joint_differences", "season_differences"),
    *("seasons_tests", "seasons_differences"),
)


def adjust_words(definition: Definition, adjust: str = "") -> str:
    """Say which comparisons are adjusted together, and what stands alone.

    Parameters
    ----------
    definition : Definition
        The trial.
    adjust : str
        How the comparisons of the primary question are adjusted, as the table ``primary`` says;
        empty while there is no answer.
    """
    pairs = definition.analysis.primary.pairs
    said = "The primary question, as the definition names it, stands alone; it is not adjusted. "
    if len(pairs) > 1:
        method = f", adjusted together by {FAMILIES[adjust]}" if adjust in FAMILIES else ""
        said = (
            f"The {counted(len(pairs), 'comparison')} of the primary question are one "
            f"question{method}; "
            "nothing else is adjusted with them. "
        )
    more = ""
    if len(definition.treatments) > 1:
        more = (
            ", averaged over the other factor and within each of its treatments, and how far the "
            "difference of one factor depends on the other"
        )
    share = f"{100 * (1 - definition.analysis.alpha):g}"
    return (
        f"{said}All other comparisons are secondary. Those of one measure are one family, on every "
        "planned date, whether it has been visited yet or not: every pair of treatments"
        f"{more}. In a family, p is adjusted by Holm's method and intervals by Bonferroni's, so "
        f"that all intervals of a family hold their true differences at once in {share} of 100 "
        "such trials. Measures are not adjusted for one another."
    )


def family_text(row: pd.Series) -> str:
    """Name the family of a row of the table ``differences``: how many, and which comparisons."""
    return f"family of {int(row['comparisons'])} ({in_sentence(str(row['family']))})"


def _families(rows: pd.DataFrame) -> list[str]:
    secondary = rows[(rows["role"] == "secondary") & (rows["family"].fillna("") != "")]
    return list(dict.fromkeys(family_text(row) for _, row in secondary.iterrows()))


def _sizes(rows: pd.DataFrame) -> list[str]:
    return [str(int(size)) for size in rows.loc[rows["role"] == "secondary", "comparisons"]]


def adjust_note(rows: pd.DataFrame, definition: Definition) -> str:
    """Say what is adjusted in a table of differences, over which family, and what is not.

    Parameters
    ----------
    rows : DataFrame
        Rows of the table ``differences``.
    definition : Definition
        The trial.
    """
    notes = []
    if families := _families(rows):
        # Where a table holds rows of several families, each row belongs to one of them.
        over = " or ".join(f"the {family}" for family in families)
        many = " or ".join(dict.fromkeys(_sizes(rows)))
        notes.append(
            f"p by Holm, intervals by Bonferroni, over {over}. The interval guards against all "
            f"{many} comparisons at once more strictly than p does; where they differ, take it as "
            "not settled."
        )
    if (rows["role"] == "primary").any():
        if len(definition.analysis.primary.pairs) == 1:
            notes.append("The primary question stands alone and is not adjusted.")
        else:
            notes.append("The comparisons of the primary question are a family by themselves.")
    if (rows["role"] == "secondary").any():
        primary = (rows["role"] == "primary").any()
        notes.append("All other comparisons are secondary." if primary else "All are secondary.")
    return " ".join(notes)


def letters_note(differences: pd.DataFrame, measure: str, without: str = "") -> str:
    """Say what the letters beside means tell, and in which family.

    Parameters
    ----------
    differences : DataFrame
        The table, which names the families.
    measure : str
        What was observed.
    without : str
        On which days no letters stand, and why, in sentences.
    """
    within = differences["within"].fillna("") != ""
    families = _families(differences[(differences["measure"] == measure) & ~within])
    over = f", over the {families[0]}" if families else ""
    return (
        "These data cannot tell apart two treatments of one date that share a letter (by Holm"
        f"{over}); that does not say that they are alike. Intervals of differences, in the "
        "figure and in the appendix, are Bonferroni's: they guard against all comparisons at once "
        "more strictly than letters do. Where two treatments share no letter and the interval of "
        "their difference still holds zero, take it as not settled."
        + (f" {without}" * bool(without))
    )


def counted_words(
    tests: pd.DataFrame, differences: pd.DataFrame, alpha: float, by_ranks: int = 0
) -> str:
    """Say how many tests the report holds, so that the odd small p is seen in proportion.

    A secondary copy of a primary comparison is not counted: it asks nothing new.
    """
    secondary = differences[differences["role"] == "secondary"]
    asked = ["measure", "date", "effect", "left", "right"]
    first = differences.loc[differences["role"] == "primary", asked]
    known = set(first.itertuples(index=False, name=None))
    overall = secondary["within"].fillna("") == ""
    rows = list(secondary[asked].itertuples(index=False, name=None))
    copy = overall & pd.Series([row in known for row in rows], index=secondary.index, dtype=bool)
    crossed = secondary["effect"].astype(str).str.contains(":")
    pairs, deeper = int((~crossed & ~copy).sum()), int(crossed.sum())
    if not pairs and tests.empty:
        return ""
    share = round(1 / alpha)
    parts = [counted(len(tests), "F test"), counted(pairs, "comparison")]
    parts += [counted(deeper, "difference of differences", "differences of differences")][:deeper]
    parts += [counted(by_ranks, "comparison by ranks", "comparisons by ranks")][:by_ranks]
    return (
        f"Of single dates this report holds {listed_words(parts)} besides the primary one. "
        f"Were no treatment different from any other, about one in {share} unadjusted p values "
        f"would still lie below {alpha:g}. Secondary comparisons are therefore leads to follow up, "
        "not answers."
    )


def over_dates_words(tables: Mapping[str, pd.DataFrame]) -> str:
    """Say how many tests season averages and models of all dates hold beside those of dates.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Those of a run; one that is not there counts as empty.

    Returns
    -------
    str
        Empty where they hold none.
    """
    held = {
        name: int(tables[name]["p"].notna().sum()) if name in tables else 0 for name in _OVER_DATES
    }
    tests = sum(many for name, many in held.items() if name.endswith("_tests"))
    apart = sum(held.values()) - tests
    if not tests and not apart:
        return ""
    parts = [counted(tests, "more F test")] if tests else []
    parts += [counted(apart, "more difference")] if apart else []
    return f"Season averages and models of all dates hold {listed_words(parts)}, none adjusted."
