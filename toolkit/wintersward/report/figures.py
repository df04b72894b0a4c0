"""The pictures of a study: each with its name, alternative text and caption."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from wintersward.report.acceptable import acceptable_words, with_acceptable
from wintersward.report.averaging import over_words
from wintersward.report.block_values import BlockValues, blocks_without, gaps_text
from wintersward.report.comparing import differences, differences_alt, shown_differences
from wintersward.report.deciding import deciding, deciding_alt
from wintersward.report.demonstrating import shown_picture
from wintersward.report.grounds import grounds_picture
from wintersward.report.numbers import days_listed, level_text
from wintersward.report.picture import Picture
from wintersward.report.progress import (
    Spells,
    before_means,
    crossed,
    crossed_alt,
    crossed_effect,
    progress,
    progress_alt,
    unit_lines,
)
from wintersward.report.said import row_at
from wintersward.report.supporting_figures import supporting_pictures
from wintersward.report.views import (
    averaged_over,
    factor_label,
    in_sentence,
    main_factor,
    measure_view,
    picture_name,
    unit_kind,
)
from wintersward.report.words import estimated, matters_text, planned_rows
from wintersward.trial.schema import Definition

__all__ = ["Picture", "crossed_picture", "deciding_picture", "differences_picture"]
__all__ += ["pictures", "progress_picture"]

Tables = Mapping[str, pd.DataFrame]


def deciding_picture(tables: Tables, definition: Definition) -> Picture:
    """Make the picture of the answer to the primary question."""
    level = level_text(definition.analysis.alpha)
    primary, plot_means = tables["primary"], tables["plot_means"]
    both = "two " if len(definition.analysis.primary.pairs) == 1 else ""
    each, circles = "Marks are the single plots", ""
    if definition.layout.blocks:
        each = f"Lines join the {both}treatments of one block"
        circles = "open circles are the differences within blocks and "
    caption = (
        f"{each}; the bars are the estimated means. At the right, {circles}the filled mark is the "
        f"estimate with its {level} interval; the band holds differences below "
        f"{matters_text(definition)}."
    )
    if estimated(primary):
        rows = [row_at(primary, at) for at in planned_rows(primary, definition)]
        day, measure = rows[0]["date"], str(rows[0]["measure"])
        factor = definition.factor_of(str(rows[0]["left"]))
        over = averaged_over(definition, factor, day)
        caption += f" All values are {over}." if over else ""
        gone: dict[str, None] = {}
        for row in rows:
            pair = str(row["left"]), str(row["right"])
            gone |= dict.fromkeys(blocks_without(plot_means, measure, day, factor, *pair))
        caption = f"{caption} {gaps_text(list(gone))}".rstrip()
    figure = deciding(primary, plot_means, definition)
    return Picture("answer", figure, deciding_alt(primary, plot_means, definition), caption)


def progress_picture(
    tables: Tables, definition: Definition, measure: str, spells: Spells | None = None
) -> Picture:
    """Make the picture of a measure over the season."""
    means, plot_means = tables["means"], tables["plot_means"]
    view = measure_view(definition, measure)
    unit = unit_kind(definition, main_factor(definition))
    caption = (
        f"{view.label} over the season. Faint lines are the single {unit}s; marks are the "
        f"estimated means with {level_text(definition.analysis.alpha)} intervals."
    )
    if unit_lines(plot_means, definition, measure)["value"].isna().any():
        caption += f" A line is broken where a part of its {unit} has no value."
    figure = progress(means, plot_means, definition, measure, spells)
    made = Picture(
        picture_name("progress", measure), figure, progress_alt(means, definition, measure), caption
    )
    return with_acceptable(made, definition, measure, acceptable_words(means, definition, measure))


def crossed_picture(tables: Tables, definition: Definition, measure: str) -> Picture:
    """Make the picture of one factor within the treatments of the other."""
    means = tables["means"]
    effect = crossed_effect(means, definition, measure)
    main = main_factor(definition)
    other = next((name for name in effect.split(":") if name != main), "")
    within = in_sentence(factor_label(definition, other)) if other else "the other factor"
    caption = (
        f"{measure_view(definition, measure).label} by "
        f"{in_sentence(factor_label(definition, main))} treatment, a panel for each {within} "
        f"treatment: estimated means with {level_text(definition.analysis.alpha)} intervals."
    )
    if before_means(means, definition, measure):
        caption += f" All panels start at the means of the last date before, when {within} had not "
        caption += "begun."
    figure = crossed(means, definition, measure)
    made = Picture(
        picture_name("crossed", measure), figure, crossed_alt(means, definition, measure), caption
    )
    return with_acceptable(made, definition, measure, "")


def differences_picture(tables: Tables, definition: Definition, measure: str) -> Picture:
    """Make the picture of the differences in a measure on every date."""
    found = tables["differences"]
    shown = shown_differences(found, definition, measure)
    blocked = definition.layout.blocks > 0
    circles = ", and the difference within every block as an open circle" if blocked else ""
    caption = (
        f"Differences in {measure_view(definition, measure).noun}: estimates with their "
        f"{level_text(definition.analysis.alpha)} intervals{circles}. Right of zero the treatment "
        "named first had more."
    )
    if (shown["role"] == "secondary").any():
        caption += " Secondary intervals are adjusted for their family (see Methods)."
    if (shown["role"] == "primary").any():
        caption += " The bold line is the primary question; only it has the band of what is too "
        caption += "small to matter."
    caption += over_words(shown, definition, "differences of {name} are") + _gaps_words(
        shown, BlockValues(tables["plot_means"], measure)
    )
    figure = differences(found, tables["plot_means"], definition, measure)
    return Picture(
        picture_name("differences", measure),
        figure,
        differences_alt(found, definition, measure),
        caption,
    )


def _gaps_words(shown: pd.DataFrame, blocks: BlockValues) -> str:
    """Name the days on which blocks have no circle, because a part of them was not observed."""
    days = set()
    for _, row in shown.iterrows():
        effect, left, right = (str(row[name]) for name in ("effect", "left", "right"))
        if blocks.without(row["date"], effect, left, right):
            days.add(pd.Timestamp(str(row["date"])).date())
    if not days:
        return ""
    return (
        f" On {days_listed(sorted(days))} some blocks have no circle: not all of their plots have "
        "a value."
    )


def pictures(
    tables: Tables, definition: Definition, measure: str = "", spells: Spells | None = None
) -> list[Picture]:
    """Make every picture of a run's tables that has something to show.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Tables of a run, in SI.
    definition : Definition
        The trial.
    measure : str
        Pictures of this measure alone; empty for all, and the answer.
    spells : sequence of (date, date), optional
        Time under cover; left out, as planned.

    Returns
    -------
    list of Picture
        Before the primary question has data no picture compares treatments: until then only
        how well raters, eye and photo agree is shown.
    """
    if not definition.layout.tested:
        return _shown(tables, definition, measure, spells)
    if tables["primary"].empty:
        return supporting_pictures(tables, definition, measure, compared=False)
    leads = not measure and estimated(tables["primary"])
    made = [deciding_picture(tables, definition)] if leads else []
    grounds = tables.get("grounds")
    if leads and grounds is not None and not grounds.empty:
        made.append(grounds_picture(grounds, tables["primary"], definition))
    for name in [measure] if measure else definition.measures:
        held = tables["means"]["measure"] == name
        if not held.any():
            continue
        made.append(progress_picture(tables, definition, name, spells))
        if crossed_effect(tables["means"], definition, name):
            made.append(crossed_picture(tables, definition, name))
        if not shown_differences(tables["differences"], definition, name).empty:
            made.append(differences_picture(tables, definition, name))
    return made + supporting_pictures(tables, definition, measure)


def _shown(
    tables: Tables, definition: Definition, measure: str, spells: Spells | None
) -> list[Picture]:
    """Make the pictures of a demonstration: what was seen, and when plots got there."""
    held = set(tables["means"]["measure"])
    names = [name for name in ([measure] if measure else definition.measures) if name in held]
    made = [
        with_acceptable(shown_picture(tables, definition, name, spells), definition, name, "")
        for name in names
    ]
    return made + supporting_pictures(tables, definition, measure)
