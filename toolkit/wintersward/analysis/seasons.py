"""The seasons of one trial together: the primary measure on the primary date of each.

Notes
-----
Season and treatments are fixed. Random are the terms of the layout within each season. Where the
same plots are used again, what lies in the ground comes back too: the layout's terms and the plots
are then crossed with the seasons. The answer is about these seasons; two or three of them are too
few to speak of winters to come. `analyse_seasons` takes any grouping in the place of the seasons.
Several grounds are fixed as well, and crossed with treatments and seasons.

References
----------
Cochran W. G. and Cox G. M. (1957) Experimental Designs, 2nd edition, chapter 14: analysis of the
results of a series of experiments (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from wintersward import design
from wintersward.analysis.model import model_for
from wintersward.analysis.results import empty
from wintersward.analysis.scopes import control_last, notes_table
from wintersward.analysis.skeleton import Skeleton, skeleton_for
from wintersward.analysis.together import pair_rows
from wintersward.analysis.units import Notes, unit_names
from wintersward.errors import WinterswardError, listed
from wintersward.models import MixedFit, fit_mixed
from wintersward.study import Trial
from wintersward.trial import Definition, read_definition
from wintersward.trial.catalogue import kept_apart
from wintersward.trial.dates import dates_meant
from wintersward.trial.schema import LoggerMeasure, SheetMeasure

__all__ = ["EARLIER", "Seasons", "analyse_seasons", "season_of", "seasons_together"]

EARLIER = "earlier"
OTHER_GROUND = "other_ground.txt"
_FILES = ("trial.yaml", "plots.csv", "plot_means.csv")
_PLACES = ("block", "whole_plot", "row", "column")
_GROUND = ["plot", "whole_plot", "block", "x_m", "y_m", "width_m", "length_m"]
_LEAST_DF = 8
_FALL = 2.0


@dataclass(frozen=True)
class Seasons:
    """The seasons in one model.

    Parameters
    ----------
    fit : MixedFit
        The model.
    by_season : bool
        Whether each season has its own residual variance.
    reason : str
        Why.
    spread : dict of str to float [unit of the values, squared]
        Residual variance of each season analysed by itself; those that cannot be are absent.
    """

    fit: MixedFit
    by_season: bool
    reason: str
    spread: dict[str, float]


@dataclass(frozen=True)
class _Season:
    """One season as it enters: its units and where they lay."""

    name: str
    definition: Definition
    plots: pd.DataFrame
    skeleton: Skeleton
    data: pd.DataFrame
    moved: bool = False


def season_of(definition: Definition) -> str:
    """Name the season of a definition: the year of its primary date."""
    return str(dates_meant(definition.dates, definition.analysis.primary.on)[0].year)


def analyse_seasons(
    frame: pd.DataFrame,
    factors: Sequence[str],
    around: Sequence[str] = ("block",),
    unit: str = "plot",
    same_ground: bool = False,
) -> Seasons:
    """Analyse several seasons of one trial in one model.

    Parameters
    ----------
    frame : DataFrame
        One row an experimental unit and season: season, the factors, value, and the columns of
        `around` and `unit`.
    factors : sequence of str
        Treatment factors, and the ground where there are several.
    around : sequence of str
        Random terms of the layout, without the residual.
    unit : str
        Column that names the experimental units.
    same_ground : bool
        Whether a unit of one name is the same piece of ground in every season.

    Returns
    -------
    Seasons

    Raises
    ------
    WinterswardError
        Where the data cannot bear the model.

    Notes
    -----
    Each season gets its own residual variance only where every season has 8 residual degrees of
    freedom or more by itself and AICc (same fixed part, restricted likelihood) falls by more
    than 2.
    """
    fixed = " * ".join([*factors, "season"])
    random = [f"{term}:season" for term in around]
    if same_ground:
        random = [*around, *random, unit]
    one = fit_mixed(frame, "value", fixed, random)
    spread, least = {}, None
    for season, rows in frame.groupby("season", observed=True, sort=True):
        own, df = _alone(rows, factors, around)
        least = df if least is None else min(least, df)
        if own is not None:
            spread[str(season)] = own
    if least is None or least < _LEAST_DF:
        reason = f"one residual variance: a season has fewer than {_LEAST_DF} degrees of freedom"
        return Seasons(one, False, reason, spread)
    try:
        each = fit_mixed(frame, "value", fixed, random, variance_by="season")
    except WinterswardError as error:
        return Seasons(one, False, f"one residual variance: {error}", spread)
    falls = one.aicc - each.aicc
    if falls > _FALL:
        return Seasons(each, True, f"a variance for each season: AICc lower by {falls:.1f}", spread)
    way = f"fall by {falls:.1f} only" if falls > 0 else f"rise by {-falls:.1f}"
    return Seasons(one, False, f"one residual variance: with one a season AICc would {way}", spread)


def _alone(
    rows: pd.DataFrame, factors: Sequence[str], around: Sequence[str]
) -> tuple[float | None, int]:
    """Give residual variance and degrees of freedom of one season, all its terms fixed."""
    data = rows.copy()
    terms = []
    for i, term in enumerate(around):
        data[f"around_{i}"] = unit_names(data, term)
        terms.append(f"around_{i}")
    for factor in factors:
        data[factor] = data[factor].astype(str)
    try:
        fit = fit_mixed(data, "value", " + ".join([*terms, " * ".join(factors)]))
    except WinterswardError:
        return None, 0
    return fit.variances["residual"], fit.rows - fit.columns


def seasons_together(trial: Trial) -> dict[str, pd.DataFrame]:
    """Analyse the primary question of this season and of the earlier ones in one model.

    Earlier seasons lie in ``earlier/SEASON/``: that season's ``trial.yaml``, ``plots.csv`` and
    ``plot_means.csv``, as `wintersward.runs.season` puts them there.

    Returns
    -------
    dict of str to DataFrame
        ``seasons_tests``, ``seasons_differences`` and ``notes`` with the columns of
        `wintersward.analysis.results.TABLES`; empty without an earlier season, and until the
        primary question has data.
    """
    made = {name: empty(name) for name in ("seasons_tests", "seasons_differences", "notes")}
    if not trial.ready or not (trial.folder / EARLIER).is_dir():
        return made
    measure = trial.definition.analysis.primary.measure
    now = _this_season(trial)
    seasons, notes = _earlier(trial, now)
    if not seasons:
        return made | {"notes": notes_table(measure, trial.primary_date, notes)}
    seasons = sorted([*seasons, now], key=lambda season: _primary_date(season.definition))
    apart = _ground(seasons)
    notes += apart
    factors = list(now.skeleton.factors)
    frame = pd.concat(
        [control_last(trial, s.data, factors).assign(season=s.name) for s in seasons],
        ignore_index=True,
    )
    if now.skeleton.grounds:
        frame["ground"] = pd.Categorical(frame["ground"], now.skeleton.grounds)
    frame["season"] = pd.Categorical(frame["season"], [season.name for season in seasons])
    unit = now.skeleton.unit_column
    try:
        crossed = now.skeleton.crossed
        found = analyse_seasons(frame, crossed, now.skeleton.random, unit, not apart)
    except WinterswardError as error:
        notes.append(("seasons", f"seasons together: not analysed: {error}"))
        return made | {"notes": notes_table(measure, trial.primary_date, notes)}
    level = 1 - trial.definition.analysis.alpha
    made["seasons_differences"] = _differences(measure, found.fit, factors, level)
    try:
        made["seasons_tests"] = _tests(measure, found.fit, now.skeleton)
    except WinterswardError as error:
        notes.append(("no tests", f"seasons together: terms not tested: {error}"))
    notes += _said(found, [season.name for season in seasons], not apart)
    return made | {"notes": notes_table(measure, trial.primary_date, notes)}


def _primary_date(definition: Definition) -> pd.Timestamp:
    return pd.Timestamp(dates_meant(definition.dates, definition.analysis.primary.on)[0])


def _this_season(trial: Trial) -> _Season:
    measure = trial.definition.analysis.primary.measure
    model = model_for(trial, measure, trial.primary_date)
    name = season_of(trial.definition)
    plain = model.data[["unit_name", "unit_kind", *model.skeleton.factors, "value"]]
    data = _placed(plain, trial.plots, model.skeleton)
    return _Season(name, trial.definition, trial.plots, model.skeleton, data)


def _earlier(trial: Trial, now: _Season) -> tuple[list[_Season], Notes]:
    """Read the earlier seasons; one that does not fit this one is left out, with a note."""
    found: list[_Season] = []
    notes: Notes = []
    for folder in sorted((trial.folder / EARLIER).iterdir()):
        if not folder.is_dir() or folder.name.startswith("."):
            continue
        try:
            season = _read(folder)
            wrong = _unlike(season, now)
            if season.name in {now.name, *(other.name for other in found)}:
                wrong = "its folder has the name of another season"
        except WinterswardError as error:
            wrong = " ".join(str(error).split("\n"))
        if wrong:
            text = f"seasons together: {EARLIER}/{folder.name} is left out: {wrong}"
            notes.append(("seasons", text))
        else:
            found.append(season)
    return found, notes


def _read(folder: Path) -> _Season:
    """Read the copies of an earlier season."""
    missing = [name for name in _FILES if not (folder / name).is_file()]
    if missing:
        raise WinterswardError(f"{listed(missing)} not there")
    definition, problems = read_definition(folder)
    if definition is None:
        raise WinterswardError(problems)
    plots, problems = design.read_plots(folder / "plots.csv", definition)
    if plots is None:
        raise WinterswardError(problems)
    date = _primary_date(definition)
    skeleton = skeleton_for(definition, date.date())
    means = pd.read_csv(folder / "plot_means.csv", dtype=str, keep_default_na=False)
    wanted = ["measure", "date", "unit_name", "unit_kind", "value", *skeleton.factors]
    lacking = [name for name in wanted if name not in means.columns]
    if lacking:
        raise WinterswardError(f"plot_means.csv: no column {listed(lacking)}")
    asked = definition.analysis.primary.measure
    rows = means[(means["measure"] == asked) & (means["date"] == str(date.date()))]
    data = rows[["unit_name", "unit_kind", *skeleton.factors]].reset_index(drop=True)
    data["value"] = pd.to_numeric(rows["value"], errors="coerce").to_numpy(dtype=float)
    if data.empty or (data[list(skeleton.factors)] == "").any(axis=None):
        raise WinterswardError("plot_means.csv: its primary question had no complete data yet")
    if data["value"].isna().any():
        raise WinterswardError("plot_means.csv: a value of the primary question is no number")
    placed = _placed(data, plots, skeleton)
    moved = (folder / OTHER_GROUND).exists()
    return _Season(folder.name, definition, plots, skeleton, placed, moved)


def _placed(data: pd.DataFrame, plots: pd.DataFrame, skeleton: Skeleton) -> pd.DataFrame:
    """Join to each unit the places that are the same for all its plots, and its own columns."""
    text = plots.astype({c: str for c in ["plot", *_PLACES]})
    text["unit_name"] = unit_names(text, skeleton.unit_column)
    held = (*_PLACES, "ground") if skeleton.grounds else _PLACES
    places = [c for c in ("plot", *held) if text.groupby("unit_name")[c].nunique().eq(1).all()]
    joined = data.merge(text[["unit_name", *places]].drop_duplicates(), on="unit_name", how="left")
    if joined[places].isna().any(axis=None):
        gone = joined.loc[joined[places].isna().any(axis=1), "unit_name"]
        raise WinterswardError(f"plot_means.csv: {listed(gone)} are not in plots.csv")
    return joined


def _unlike(season: _Season, now: _Season) -> str:
    """Say why an earlier season cannot be set beside this one; empty where it can."""
    primaries = [s.definition.analysis.primary for s in (season, now)]
    if primaries[0].measure != primaries[1].measure:
        return f"its primary measure was {primaries[0].measure}"
    measure = primaries[1].measure
    units = [s.definition.measures[measure].unit for s in (season, now)]
    if units[0] != units[1]:
        return f"{measure} was in {units[0]}, and is now in {units[1]}"
    before, after = (s.definition.measures[measure] for s in (season, now))
    if isinstance(before, SheetMeasure) and isinstance(after, SheetMeasure):
        apart = kept_apart(measure, before, after)
        if apart:
            return apart
    if isinstance(before, LoggerMeasure) and isinstance(after, LoggerMeasure):
        taken = [(one.what, one.depth, one.daily) for one in (before, after)]
        if taken[0] != taken[1]:
            return f"{measure} was another temperature, at another depth or of another hour"
    if season.skeleton.factors != now.skeleton.factors:
        return f"its treatments were {listed(season.skeleton.factors)}"
    for factor in now.skeleton.factors:
        levels = [set(s.definition.treatments[factor].levels) for s in (season, now)]
        if levels[0] != levels[1]:
            return f"the treatments of {factor} were {listed(sorted(levels[0]))}"
    if season.skeleton.grounds != now.skeleton.grounds:
        return f"its grounds were {listed(season.skeleton.grounds or ['one'])}"
    random = [(s.skeleton.random, s.skeleton.unit_kind) for s in (season, now)]
    return "" if random[0] == random[1] else "its layout was another one"


def _ground(seasons: Sequence[_Season]) -> Notes:
    """Tell whether all seasons lay on the same plots of the same ground; no note if they did."""
    latest = seasons[-1]
    for season in seasons[:-1]:
        sites = [s.definition.site for s in (season, latest)]
        places = [(site.name, site.latitude, site.longitude) for site in sites]
        tables = [s.plots[_GROUND].reset_index(drop=True) for s in (season, latest)]
        if season.moved or places[0] != places[1] or not tables[0].equals(tables[1]):
            text = f"seasons together: {season.name} is taken as on other ground than {latest.name}"
            return [("seasons-ground", text)]
    return []


def _tests(measure: str, fit: MixedFit, skeleton: Skeleton) -> pd.DataFrame:
    tests = fit.anova()[["term", "f", "df_num", "df_den", "p"]].copy()
    around = {t.name: t.unit_kind for t in skeleton.terms if t.role == "random"}
    kinds = {"season": f"{next(iter(around.values()), skeleton.unit_kind)} in each season"}
    for term in skeleton.terms:
        if term.role in ("treatment", "ground"):
            kinds[term.name] = term.unit_kind
            kinds[f"{term.name}:season"] = f"{term.unit_kind} in each season"
    contained = {term for n in fit.notes if n.code == "containment-df" for term in n.about}
    tests["unit_kind"] = [kinds[term] for term in tests["term"]]
    method = f"Kenward-Roger, {fit.information} information"
    tests["method"] = ["containment" if t in contained else method for t in tests["term"]]
    return tests.assign(measure=measure)[list(empty("seasons_tests").columns)]


def _differences(measure: str, fit: MixedFit, factors: Sequence[str], level: float) -> pd.DataFrame:
    each = pair_rows(fit, factors, level, by="season")
    overall = pair_rows(fit, factors, level).assign(season="all")
    rows = pd.concat([each, overall], ignore_index=True)
    rows = rows[rows["within"] == ""].assign(measure=measure)
    return rows[list(empty("seasons_differences").columns)].reset_index(drop=True)


def _said(found: Seasons, names: Sequence[str], same: bool) -> Notes:
    """Tell what was put together and how the seasons differ in their spread."""
    said = [
        (
            "seasons",
            f"{listed(names)}: the answer is about these seasons; {len(names)} seasons are too few"
            " to speak of winters to come",
        ),
        ("seasons-variance", found.reason),
    ]
    if found.spread:
        spread = listed(f"{name} {value**0.5:.3g}" for name, value in found.spread.items())
        text = f"standard deviation of a unit, each season analysed by itself: {spread}"
        said.append(("seasons-spread", text))
    if same:
        text = (
            "site, plots and blocks of all seasons are the same, so their ground is taken as the"
            f" same; where it was not, put a file {OTHER_GROUND} into {EARLIER}/ and the season"
        )
        said.append(("seasons-plots", text))
        text = (
            "what the covers of earlier seasons left behind in a plot (carry-over) cannot be told"
            " from what this season's did"
        )
        said.append(("seasons-carry-over", text))
    said += [(note.code, note.text) for note in found.fit.notes]
    return [(code, f"seasons together: {text}") for code, text in said]
