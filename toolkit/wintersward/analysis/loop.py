"""The one loop: every measure, every date, into the long tables of results."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

import pandas as pd

from wintersward import records
from wintersward.analysis.families import differences, means, primary_contrast, unanswered
from wintersward.analysis.model import TrialModel, model_for
from wintersward.analysis.results import empty
from wintersward.errors import WinterswardError
from wintersward.study import Trial

__all__ = ["analyse", "primary"]

_COMPARING = ("tests", "means", "differences", "variances", "primary")


def analyse(trial: Trial) -> dict[str, pd.DataFrame]:
    """Analyse every measure on every date that has data.

    Returns
    -------
    dict of str to DataFrame
        The tables of `wintersward.analysis.results.TABLES`, without photo_scores. Until the
        primary question has data the tables that compare treatments are empty.
    """
    parts: dict[str, list[pd.DataFrame]] = {}
    for model in _models(trial):
        for name, frame in _one(trial, model).items():
            frame.insert(0, "measure", model.measure)
            frame.insert(1, "date", pd.Timestamp(model.date))
            parts.setdefault(name, []).append(frame)
    tables = {name: _stacked(name, frames) for name, frames in parts.items()}
    for name in ("plot_means", "skeleton", "notes", *_COMPARING):
        tables.setdefault(name, empty(name))
    tables["primary"] = primary(trial)
    tables["observations"] = trial.observations()
    tables["counts"] = records.counts(tables["observations"], trial.definition, trial.plots)
    tables["exclusions"] = _exclusions(trial)
    tables["deviations"] = _deviations(trial)
    return tables


def primary(trial: Trial) -> pd.DataFrame:
    """Answer the primary question: as planned, and with excluded observations put back.

    Returns
    -------
    DataFrame
        Columns of the table ``primary``; no rows before the question has data.
    """
    if not trial.ready:
        return empty("primary")
    question = trial.definition.analysis.primary
    rows = []
    for which, put_back in (("as planned", False), ("with excluded observations", True)):
        model = model_for(trial, question.measure, trial.primary_date, put_back)
        try:
            row = primary_contrast(trial, model)
        except WinterswardError:
            row = unanswered(trial)  # the loop's own note tells why
        rows.append({"which": which, "measure": model.measure, "date": model.date, **row})
    frame = pd.DataFrame(rows)
    return frame.assign(date=pd.to_datetime(frame["date"]))[list(empty("primary").columns)]


def _models(trial: Trial) -> Iterable[TrialModel]:
    """Give a model for every measure and date that was observed, even if all is excluded."""
    for measure in trial.definition.measures:
        observed = set(trial.observations(measure)["date"].dt.date)
        for date in trial.dates(measure):
            if date in observed:
                yield model_for(trial, measure, date)


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
    try:
        fit = model.fit
        tests = fit.anova()
        used = tests.set_index("term")["df_den"]
        compared = {
            "skeleton": terms.assign(df_used=terms["term"].map(used)),
            "tests": _tests(trial, model, tests),
            "means": means(model),
            "differences": differences(trial, model),
            "variances": pd.DataFrame(
                {"term": list(fit.variances), "variance": list(fit.variances.values())}
            ),
        }
    except WinterswardError as error:
        text = f"not compared: {error}"
        return {**made, "skeleton": terms, "notes": _added(told, [("not compared", text)])}
    return {**made, **compared, "notes": _added(told, [(n.code, n.text) for n in fit.notes])}


def _added(notes: pd.DataFrame, more: list[tuple[str, str]]) -> pd.DataFrame:
    added = pd.DataFrame(more, columns=["code", "text"])
    return pd.concat([notes, added], ignore_index=True).drop_duplicates()


def _shown(trial: Trial, model: TrialModel) -> pd.DataFrame:
    """Give the unit means; until the trial is ready without what lay on them."""
    means = model.data.astype({f: "str" for f in model.skeleton.factors})
    return means if trial.ready else means.assign(**dict.fromkeys(model.skeleton.factors, ""))


def _tests(trial: Trial, model: TrialModel, tests: pd.DataFrame) -> pd.DataFrame:
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
    observations = trial.observations()
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


def _text(value: dt.date | int | None) -> str:
    return "" if value is None else str(value)


def _deviations(trial: Trial) -> pd.DataFrame:
    rows = [(pd.Timestamp(d.date), d.what, d.reason) for d in trial.diary.deviations]
    for lost in trial.diary.missing:
        sample = f", sample {lost.sample}" if lost.sample else ""
        rater = f", rater {lost.rater}" if lost.rater else ""
        what = f"{trial.label(lost.measure)} of plot {lost.plot}{sample}{rater} was not observed."
        rows.append((pd.Timestamp(lost.date), what, lost.reason))
    columns = ["date", "what", "reason"]
    return pd.DataFrame(rows, columns=columns) if rows else empty("deviations")
