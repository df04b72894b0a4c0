"""The one loop: every measure, every date, into the long tables of results."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from typing import Any

import pandas as pd
from scipy import stats

from wintersward import records
from wintersward.analysis.agreement import agreement
from wintersward.analysis.days_gained import days_gained
from wintersward.analysis.demonstrated import demonstrated, shown_means, shown_tables
from wintersward.analysis.diary_tables import happened_tables, lost_words, weather_tables
from wintersward.analysis.equivalence import equivalence
from wintersward.analysis.families import contrasts, held_together, lettered, means
from wintersward.analysis.freeze import freeze_tables
from wintersward.analysis.grounds import grounds_apart
from wintersward.analysis.model import TrialModel, model_for
from wintersward.analysis.point_counts import point_counts
from wintersward.analysis.primary import answered, primary
from wintersward.analysis.randomisation import randomisation_test
from wintersward.analysis.rating_ranks import rating_ranks
from wintersward.analysis.record_tables import record_tables
from wintersward.analysis.replication import replication
from wintersward.analysis.residual_checks import residual_checks
from wintersward.analysis.results import OF_OTHER_STAGES, TABLES, empty
from wintersward.analysis.season_average import season_averages
from wintersward.analysis.seasons import seasons_together
from wintersward.analysis.sensitivity import sensitivity
from wintersward.analysis.thresholds import thresholds
from wintersward.analysis.together import dates_together
from wintersward.analysis.variance_shares import variance_shares
from wintersward.errors import WinterswardError
from wintersward.study import Trial

__all__ = ["analyse"]


def analyse(trial: Trial) -> dict[str, pd.DataFrame]:
    """Analyse every measure on every date that has data, and the primary question by itself.

    Returns
    -------
    dict of str to DataFrame
        The tables of `wintersward.analysis.results.TABLES`, without those of the other
        stages: photo_scores, what `wintersward.analysis.climate` and what
        `wintersward.decisions` give. Until the primary question has
        data the tables that compare treatments are empty. Of a demonstration only those of
        ``DEMONSTRATION_TABLES``, which compare nothing.
    """
    models = list(_models(trial))
    parts: dict[str, list[pd.DataFrame]] = {}
    for measure in trial.definition.measures:
        for name, frame in _measured(trial, [m for m in models if m.measure == measure]).items():
            parts.setdefault(name, []).append(frame)
    for found in _supporting(trial, models):
        for name, frame in found.items():
            parts.setdefault(name, []).append(frame)
    compared = _stacked("differences", parts.get("differences", []))
    for name, frame in rating_ranks(trial, models, compared).items():
        parts.setdefault(name, []).append(frame)
    tables = {name: _stacked(name, frames) for name, frames in parts.items()}
    tables["primary"] = primary(trial)
    tables["equivalence"] = equivalence(trial, tables["primary"])
    tables["observations"] = trial.observations()
    tables["counts"] = records.counts(tables["observations"], trial.definition, trial.plots)
    tables["exclusions"] = _exclusions(trial)
    tables["deviations"] = _deviations(trial)
    tables |= freeze_tables(trial) | happened_tables(trial.diary)
    tables |= weather_tables(trial.folder, trial.diary, _all_days(trial)) | record_tables(trial)
    for name in TABLES:
        if name not in OF_OTHER_STAGES:
            tables.setdefault(name, empty(name))
    return tables if trial.definition.layout.tested else shown_tables(trial, tables)


def _supporting(trial: Trial, models: list[TrialModel]) -> list[dict[str, pd.DataFrame]]:
    """Run the analyses that stand beside the primary question; agreement compares no treatments."""
    if not trial.definition.layout.tested:
        return [demonstrated(trial), point_counts(trial), thresholds(trial)]
    if not trial.ready:
        return [agreement(trial), point_counts(trial), thresholds(trial)]
    found: list[dict[str, pd.DataFrame]] = []

    def tried(what: str, work: Callable[[], dict[str, pd.DataFrame]]) -> None:
        try:
            found.append(work())
        except WinterswardError as error:
            found.append(_note(trial, f"{what} could not be analysed: {error}"))

    tried("the agreement of raters", lambda: agreement(trial))
    tried("the grounds", lambda: grounds_apart(trial))
    tried("all dates together", lambda: dates_together(trial))
    joint = found[-1].get("joint_differences")
    tried("season averages", lambda: season_averages(trial))
    tried("days gained", lambda: days_gained(trial))
    tried("the randomisation test", lambda: randomisation_test(trial))
    tried("the primary question by other analyses", lambda: sensitivity(trial, joint))
    tried("the point count", lambda: point_counts(trial))
    tried("the question by other windows of green", lambda: thresholds(trial))
    tried("the residuals", lambda: residual_checks(models))
    tried("the blocks of a next trial", lambda: replication(trial))
    tried("the sources of variation", lambda: variance_shares(trial))
    tried("the seasons together", lambda: seasons_together(trial))
    return found


def _note(trial: Trial, text: str) -> dict[str, pd.DataFrame]:
    question = trial.definition.analysis.primary
    note = {"measure": question.measure, "date": pd.Timestamp(trial.primary_date)}
    return {"notes": pd.DataFrame([{**note, "code": "not analysed", "text": text}])}


def _models(trial: Trial) -> Iterable[TrialModel]:
    """Give a model for every measure and date that was observed, even if all is excluded."""
    for measure in trial.definition.measures:
        observed = set(trial.observations(measure)["date"].dt.date)
        for date in trial.dates(measure):
            if date in observed:
                yield model_for(trial, measure, date)


def _measured(trial: Trial, models: list[TrialModel]) -> dict[str, pd.DataFrame]:
    """Analyse one measure: date by date, then its comparisons held together over the dates."""
    parts: dict[str, list[pd.DataFrame]] = {}
    for model in models:
        for name, frame in _one(trial, model).items():
            frame.insert(0, "measure", model.measure)
            frame.insert(1, "date", pd.Timestamp(model.date))
            parts.setdefault(name, []).append(frame)
    found = {name: pd.concat(frames, ignore_index=True) for name, frames in parts.items()}
    asked, why = _alone(trial, models)
    if why is not None:
        found["notes"] = pd.concat([found["notes"], why], ignore_index=True).drop_duplicates()
    raw = found.pop("contrasts", None)
    if raw is None:
        return found
    measure, level = models[0].measure, models[0].level
    adjusted = held_together(trial, measure, raw, level)
    tests = found.get("tests", empty("tests"))
    found["means"] = lettered(found["means"], adjusted, tests, 1 - level)
    found["differences"] = pd.concat([adjusted, asked], ignore_index=True)
    return found


def _alone(trial: Trial, models: list[TrialModel]) -> tuple[pd.DataFrame, pd.DataFrame | None]:
    """Give the comparisons of the primary question as differences, or a note why there are none."""
    question = trial.definition.analysis.primary
    asked = (question.measure, trial.primary_date)
    model = next((m for m in models if (m.measure, m.date) == asked), None)
    if model is None or model.problem or not trial.ready:
        return empty("differences"), None  # a problem is told where the date is analysed
    named: dict[str, Any] = {"measure": model.measure, "date": pd.Timestamp(model.date)}
    try:
        rows = answered(trial, model)
    except WinterswardError as error:
        note = {**named, "code": "not compared", "text": f"not compared: {error}"}
        return empty("differences"), pd.DataFrame([note])
    rows = rows.assign(
        **named,
        effect=trial.definition.factor_of(question.pairs[0][0]),
        within="",
        p_alone=2 * stats.t.sf(rows["t"].abs(), rows["df"]),
        family="the primary question",
        comparisons=len(rows),
        role="primary",
    )
    return rows[list(empty("differences").columns)], None


def _one(trial: Trial, model: TrialModel) -> dict[str, pd.DataFrame]:
    """Analyse one measure on one date; what the data cannot bear becomes a note."""
    skeleton = model.skeleton
    told = pd.DataFrame(model.notes, columns=["code", "text"])
    made = {"plot_means": _shown(trial, model), "notes": told}
    terms = skeleton.table().assign(df_used=float("nan"))
    if not skeleton.treated:
        text = "taken before the covers went on: shown, not compared"
        return {**made, "notes": _added(told, [("baseline", text)])}
    if not trial.ready:
        return {**made, "skeleton": terms}
    if not skeleton.tested:
        return {**made, "skeleton": terms, "means": shown_means(model)}
    try:
        fit = model.fit
        compared = {
            "skeleton": terms,
            "means": means(model),
            "contrasts": contrasts(trial, model),
            "variances": pd.DataFrame(
                {"term": list(fit.variances), "variance": list(fit.variances.values())}
            ),
        }
    except WinterswardError as error:
        text = model.only_described or f"not compared: {error}"
        return {**made, "skeleton": terms, "notes": _added(told, [("not compared", text)])}
    more: list[tuple[str, str]] = []
    try:
        tests = fit.anova()
        used = tests.set_index("term")["df_den"]
        compared["skeleton"] = terms.assign(df_used=terms["term"].map(used))
        compared["tests"] = _tests(model, tests)
    except WinterswardError as error:
        more = [("no tests", f"terms not tested: {error}")]
    return {
        **made,
        **compared,
        "notes": _added(told, [*more, *((n.code, n.text) for n in fit.notes)]),
    }


def _added(notes: pd.DataFrame, more: list[tuple[str, str]]) -> pd.DataFrame:
    added = pd.DataFrame(more, columns=["code", "text"])
    return pd.concat([notes, added], ignore_index=True).drop_duplicates()


def _shown(trial: Trial, model: TrialModel) -> pd.DataFrame:
    """Give the unit means; until the trial is ready without what lay on them."""
    kept = [c for c in model.data if c not in ("plot", "row", "column", "ground")]
    means = model.data[kept].astype({f: "str" for f in model.skeleton.factors})
    return means if trial.ready else means.assign(**dict.fromkeys(model.skeleton.factors, ""))


def _tests(model: TrialModel, tests: pd.DataFrame) -> pd.DataFrame:
    tested = tests[["term", "f", "df_num", "df_den", "p"]].copy()
    tested["unit_kind"] = [model.skeleton.unit_of(term) for term in tested["term"]]
    contained = {term for n in model.fit.notes if n.code == "containment-df" for term in n.about}
    tested["method"] = [
        "containment" if term in contained else "Kenward-Roger" for term in tested["term"]
    ]
    tested["role"] = "secondary"
    return tested


def _stacked(name: str, frames: list[pd.DataFrame]) -> pd.DataFrame:
    filled = [frame for frame in frames if not frame.empty]
    if not filled:
        return empty(name)
    stacked = pd.concat(filled, ignore_index=True)
    first = list(empty(name).columns)
    rest = [column for column in stacked.columns if column not in first]
    stacked[rest] = stacked[rest].fillna("")
    return stacked[[*first, *rest]]


def _exclusions(trial: Trial) -> pd.DataFrame:
    observations = records.first_looks(trial.observations())
    rows = []
    for exclusion in trial.diary.exclusions:
        one = trial.diary.model_copy(update={"exclusions": [exclusion]})
        marked, _ = records.excluded(observations.assign(excluded=""), one, trial.plots)
        rows.append(
            {
                "plot": exclusion.plot,
                "measure": exclusion.measure or "",
                "date": _text(exclusion.date),
                "sample": _text(exclusion.sample),
                "rater": exclusion.rater or "",
                "reason": exclusion.reason,
                "observations": int((marked["excluded"] != "").sum()),
            }
        )
    return pd.DataFrame(rows) if rows else empty("exclusions")


def _all_days(trial: Trial) -> list[dt.date]:
    """List every date of the definition."""
    named = trial.definition.dates.values()
    return [day for days in named for day in (days if isinstance(days, list) else [days])]


def _text(value: dt.date | int | None) -> str:
    return "" if value is None else str(value)


def _deviations(trial: Trial) -> pd.DataFrame:
    rows = [(pd.Timestamp(d.date), d.what, d.reason) for d in trial.diary.deviations]
    rows += [
        (pd.Timestamp(lost.date), lost_words(lost, trial.label), lost.reason)
        for lost in trial.diary.missing
    ]
    columns = ["date", "what", "reason"]
    return pd.DataFrame(rows, columns=columns) if rows else empty("deviations")
