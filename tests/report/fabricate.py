"""Invented results of the trial in trial.yaml, shaped as a run writes them.

The values are drawn; means, intervals and tests follow from them by the textbook formulas of a
balanced split plot, so that the tables of one study agree with one another.
"""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import numpy as np
import pandas as pd
from scipy import stats

from wintersward.analysis.results import empty
from wintersward.trial import Definition, read_definition

COVERS = ["open", "fleece", "woven"]
TINES = ["solid", "hollow"]
BASELINE = "2026-01-15"
LATER = ["2026-03-10", "2026-03-16", "2026-03-24", "2026-04-04", "2026-04-17"]
AERATED = "2026-03-25"
# Measure: dates, level over time of the open plots, gain of fleece and woven, spread.
_SEASON = {
    "green_cover": ([BASELINE, *LATER], [58, 34, 38, 47, 66, 81], [12, 9], 4.0),
    "colour_rating": ([BASELINE, *LATER], [5.4, 3.3, 3.7, 4.6, 5.9, 6.9], [1.1, 0.9], 0.35),
    "pull_force": (["2026-03-24", "2026-04-17"], [212, 305], [31, 22], 24.0),
}
_FADE = {BASELINE: 0.0, "2026-04-04": 0.7, "2026-04-17": 0.25}
_UNIT = {"green_cover": "%", "colour_rating": "rating 1-9", "pull_force": "N"}
_SAMPLES = {
    "green_cover": [("", 1)],
    "colour_rating": [("rx", 1), ("te", 1)],
    "pull_force": [("", 1), ("", 2), ("", 3)],
}


def read_trial() -> Definition:
    """Read the definition beside this file."""
    definition, problems = read_definition(Path(__file__).parent)
    if definition is None:
        raise ValueError(problems)
    return definition


def draw_plots(seed: int = 20260119) -> pd.DataFrame:
    """Lay out six blocks of three covers by two tines."""
    rng = np.random.default_rng(seed)
    rows = []
    for block in range(1, 7):
        for at, cover in enumerate(rng.permutation(COVERS)):
            for sub, tine in enumerate(rng.permutation(TINES)):
                place = 2 * at + sub
                rows.append(
                    {
                        "plot": f"{block}{place + 1:02d}",
                        "whole_plot": f"{block}{'ABC'[at]}",
                        "block": str(block),
                        "row": block,
                        "column": place + 1,
                        "x_m": 3.6576 * place,
                        "y_m": 2.4384 * (block - 1),
                        "width_m": 3.048,
                        "length_m": 1.8288,
                        "cover": cover,
                        "aeration": tine,
                        "walk": 6 * (block - 1) + (place + 1 if block % 2 else 6 - place),
                    }
                )
    return pd.DataFrame(rows)


def fabricate(seed: int = 7, primary: bool = True) -> dict[str, pd.DataFrame]:
    """Make every table of a run.

    Parameters
    ----------
    seed : int
        Of the drawn values.
    primary : bool
        Without the primary date's data the tables that compare treatments are empty.
    """
    rng = np.random.default_rng(seed)
    plots = draw_plots()
    observed = pd.concat([_observe(rng, plots, name) for name in _SEASON], ignore_index=True)
    spoilt = (observed["plot"] == "304") & (observed["date"] == pd.Timestamp("2026-03-24"))
    observed.loc[spoilt & (observed["measure"] == "colour_rating"), "excluded"] = "rated in rain"
    if not primary:
        observed = observed[observed["date"] < pd.Timestamp("2026-03-24")]
    joined = observed.merge(plots[["plot", "whole_plot", "block", "cover", "aeration"]], on="plot")
    parts: dict[str, list[pd.DataFrame]] = {}
    for (measure, date), group in joined.groupby(["measure", "date"], sort=False):
        for name, frame in _analyse(group, str(date.date()) >= AERATED).items():
            frame.insert(0, "measure", measure)
            frame.insert(1, "date", date)
            baseline = str(date.date()) == BASELINE
            compared = primary and name != "plot_means"
            if name == "plot_means" or ((compared or name == "skeleton") and not baseline):
                parts.setdefault(name, []).append(frame)
    tables = {name: pd.concat(frames, ignore_index=True) for name, frames in parts.items()}
    tables["plot_means"] = tables["plot_means"].fillna({"aeration": ""})
    for name in ("tests", "means", "differences", "variances"):
        tables.setdefault(name, pd.DataFrame(columns=_COLUMNS[name]))
    tables["observations"] = observed
    tables["means"] = tables["means"].assign(letters="")
    if primary:
        tables["differences"] = _held_together(tables["differences"])
    tables["primary"] = _primary(tables["differences"], tables["means"])
    return tables | _rest(observed)


_COLUMNS = {
    name: list(empty(name).columns)
    for name in ("tests", "means", "differences", "variances", "primary", "counts", "exclusions")
}


def _observe(rng: np.random.Generator, plots: pd.DataFrame, measure: str) -> pd.DataFrame:
    dates, course, gains, spread = _SEASON[measure]
    gain = dict(zip(COVERS, [0, *gains], strict=True))
    block = dict(zip(plots["block"].unique(), rng.normal(0, spread, 6), strict=True))
    whole = dict(zip(plots["whole_plot"].unique(), rng.normal(0, 0.8 * spread, 18), strict=True))
    rows = []
    for date, level in zip(dates, course, strict=True):
        for plot in plots.itertuples():
            loss = 0.08 * level * (plot.aeration == "hollow") * (date >= AERATED)
            centre = level + gain[plot.cover] * _FADE.get(date, 1.0) - loss
            centre += block[plot.block] + whole[plot.whole_plot] + rng.normal(0, 0.5 * spread)
            for rater, sample in _SAMPLES[measure]:
                value = centre + rng.normal(0, 0.3 * spread)
                if measure == "colour_rating":
                    value = float(np.clip(round(value), 1, 9))
                rows.append((pd.Timestamp(date), plot.plot, measure, sample, rater, value))
    frame = pd.DataFrame(rows, columns=["date", "plot", "measure", "sample", "rater", "value"])
    source = [f"sheets/{measure}.csv:{line}" for line in range(2, len(frame) + 2)]
    if measure == "green_cover":
        source = [
            f"photos/{d.date()}/{p}.jpg" for d, p in zip(frame["date"], frame["plot"], strict=True)
        ]
    return frame.assign(unit=_UNIT[measure], source=source, flags="", excluded="")


def _analyse(group: pd.DataFrame, split: bool) -> dict[str, pd.DataFrame]:
    """Analyse one measure and date: whole plots alone, or the split plot."""
    used = group[group["excluded"] == ""]
    keys = ["plot", "whole_plot", "block", "cover", "aeration"]
    plot = used.groupby(keys, as_index=False).agg(n=("value", "size"), value=("value", "mean"))
    whole = plot.groupby(["whole_plot", "block", "cover"], as_index=False).agg(
        n=("n", "sum"), value=("value", "mean")
    )
    wide = whole.pivot(index="block", columns="cover", values="value")[COVERS]
    ms_whole, df_whole = _residual(wide)
    terms = [("cover", "treatment", "whole plot", 10.0)]
    made = {"means": _means("cover", wide, np.sqrt(ms_whole / 6), df_whole)}
    made["differences"] = _pairs("cover", "", wide, np.sqrt(2 * ms_whole / 6), df_whole)
    f_cover = 6 * wide.mean().var(ddof=1) / ms_whole
    tests = [("cover", f_cover, 2.0, df_whole, "whole plot")]
    if split:
        cells = plot.pivot(index="block", columns=["cover", "aeration"], values="value")
        made, tests = _split(made, tests, cells, ms_whole)
        terms += [(t, "treatment", "subplot", 15.0) for t in ("aeration", "cover:aeration")]
    tested = pd.DataFrame(tests, columns=["term", "f", "df_num", "df_den", "unit_kind"])
    tested.insert(4, "p", stats.f.sf(tested["f"], tested["df_num"], tested["df_den"]))
    terms += [("block", "random", "block", np.nan)]
    terms += [("whole_plot", "random", "whole plot", np.nan)] if split else []
    terms += [("residual", "residual", "subplot" if split else "whole plot", np.nan)]
    skeleton = pd.DataFrame(terms, columns=["term", "role", "unit_kind", "df_design"])
    units = plot if split else whole
    units = units.assign(
        unit_name=units["plot" if split else "whole_plot"],
        unit_kind="subplot" if split else "whole plot",
    )
    columns = ["unit_name", "unit_kind", "whole_plot", "block", "n", "value", "cover"]
    return {
        "plot_means": units[columns + (["aeration"] if split else [])],
        "skeleton": skeleton.assign(df_used=skeleton["df_design"]),
        "tests": tested.assign(method="Kenward-Roger", role="secondary"),
        "variances": pd.DataFrame({"term": ["residual"], "variance": [ms_whole]}),
        **made,
    }


def _split(made: dict, tests: list, cells: pd.DataFrame, ms_whole: float) -> tuple[dict, list]:
    halves = cells.xs("hollow", axis=1, level=1) - cells.xs("solid", axis=1, level=1)
    halves = halves[COVERS]
    ms_sub = float(halves.var(ddof=1).mean()) / 2
    mixed, df_mixed = (2 * ms_whole + ms_sub) / 2, 21.0
    tines = cells.T.groupby(level=1).mean().T[TINES]
    inside = cells[[(c, t) for c in COVERS for t in TINES]].copy()
    inside.columns = [f"{c}:{t}" for c, t in inside.columns]
    made["means"] = pd.concat(
        [
            made["means"],
            _means("aeration", tines, np.sqrt(mixed / 18), 17.0),
            _means("cover:aeration", inside, np.sqrt(mixed / 6), df_mixed),
        ]
    )
    parts = [made["differences"]]
    parts.append(_pairs("aeration", "", tines, np.sqrt(2 * ms_sub / 18), 15.0))
    for tine in TINES:
        one = cells.xs(tine, axis=1, level=1)[COVERS]
        parts.append(_pairs("cover", f"aeration={tine}", one, np.sqrt(2 * mixed / 6), df_mixed))
    for cover in COVERS:
        one = cells[cover][TINES]
        parts.append(_pairs("aeration", f"cover={cover}", one, np.sqrt(2 * ms_sub / 6), 15.0))
    parts.append(_crossed_pairs(halves, np.sqrt(4 * ms_sub / 6)))
    made["differences"] = pd.concat(parts)
    t = float(tines["hollow"].mean() - tines["solid"].mean()) / np.sqrt(2 * ms_sub / 18)
    tests.append(("aeration", t**2, 1.0, 15.0, "subplot"))
    crossed = 6 * halves.mean().var(ddof=1) / 2 / ms_sub
    tests.append(("cover:aeration", crossed, 2.0, 15.0, "subplot"))
    return made, tests


def _residual(wide: pd.DataFrame) -> tuple[float, float]:
    """Mean square of blocks by treatments, with its degrees of freedom."""
    left = wide.sub(wide.mean(axis=1), axis=0).sub(wide.mean() - wide.to_numpy().mean(), axis=1)
    df = (len(wide) - 1) * (wide.shape[1] - 1)
    return float((left.to_numpy() ** 2).sum() / df), float(df)


def _means(effect: str, wide: pd.DataFrame, se: float, df: float) -> pd.DataFrame:
    mean = wide.mean()
    half = stats.t.ppf(0.975, df) * se
    return pd.DataFrame(
        {
            "effect": effect,
            "level": list(mean.index),
            "mean": mean.to_numpy(),
            "se": se,
            "df": df,
            "lower": mean.to_numpy() - half,
            "upper": mean.to_numpy() + half,
            "units": 18 if effect == "aeration" else 6,
        }
    )


def _pairs(effect: str, within: str, wide: pd.DataFrame, se: float, df: float) -> pd.DataFrame:
    mean = wide.mean()
    control = {"cover": "open", "aeration": "solid"}[effect]
    ranked = [*[level for level in wide.columns if level != control], control]
    rows = []
    for left, right in combinations(ranked, 2):
        gap = float(mean[left] - mean[right])
        p = 2 * float(stats.t.sf(abs(gap / se), df))
        rows.append((effect, within, left, right, gap, se, df, gap / se, p))
    return pd.DataFrame(rows, columns=_ALONE)


def _crossed_pairs(halves: pd.DataFrame, se: float, df: float = 15.0) -> pd.DataFrame:
    """Compare the loss to the hollow tine between covers."""
    mean = halves.mean()
    rows = []
    for left, right in (("fleece", "woven"), ("fleece", "open"), ("woven", "open")):
        gap = float(mean[left] - mean[right])
        names = [f"{level}:hollow-solid" for level in (left, right)]
        p = 2 * float(stats.t.sf(abs(gap / se), df))
        rows.append(("cover:aeration", "", *names, gap, se, df, gap / se, p))
    return pd.DataFrame(rows, columns=_ALONE)


_ALONE = ["effect", "within", "left", "right", "difference", "se", "df", "t", "p_alone"]


def _held_together(alone: pd.DataFrame) -> pd.DataFrame:
    """Adjust the comparisons of each measure over all its dates: Holm p, Bonferroni intervals."""
    parts = []
    for measure, rows in alone.groupby("measure", sort=False):
        count = len(rows)
        half = stats.t.isf(0.025 / count, rows["df"]) * rows["se"]
        order = rows["p_alone"].sort_values()
        steps = (order * np.arange(count, 0, -1)).cummax().clip(upper=1.0)
        rows = rows.assign(
            lower=rows["difference"] - half,
            upper=rows["difference"] + half,
            p=steps,
            family=f"{measure.replace('_', ' ')}, every comparison on every planned date",
            comparisons=count,
            role="secondary",
        )
        parts.append(rows)
    return pd.concat(parts, ignore_index=True)[_COLUMNS["differences"]]


def _primary(differences: pd.DataFrame, means: pd.DataFrame) -> pd.DataFrame:
    if differences.empty:
        return pd.DataFrame(columns=_COLUMNS["primary"])
    on = differences["date"] == pd.Timestamp("2026-03-24")
    pair = (differences["left"] == "fleece") & (differences["right"] == "open")
    at = differences.index[on & pair & (differences["measure"] == "green_cover")][0]
    row = differences.loc[at].copy()
    half = stats.t.ppf(0.975, row["df"]) * row["se"]
    row["lower"], row["upper"] = row["difference"] - half, row["difference"] + half
    row["p"], row["role"] = row["p_alone"], "primary"
    row["family"], row["comparisons"] = "the primary question", 1
    differences.loc[len(differences)] = row
    here = means[(means["measure"] == "green_cover") & (means["date"] == row["date"])]
    centre = here.set_index("level")["mean"]
    row["left_mean"], row["right_mean"] = centre["fleece"], centre["open"]
    row["alpha"], row["matters_from"], row["units_left"], row["units_right"] = 0.05, 8.0, 6, 6
    row["adjust"], row["unit_kind"] = "none", "whole plot"
    row["method"] = "means of whole plots compared within blocks, exact t"
    rows = [row.to_dict() | {"which": w} for w in ("as planned", "with excluded observations")]
    frame = pd.DataFrame(rows)[_COLUMNS["primary"]]
    frame.loc[1, ["difference", "lower", "upper", "left_mean"]] -= 0.6
    return frame


_NOTES = [
    (
        "green_cover",
        pd.Timestamp(BASELINE),
        "baseline",
        "taken before the covers went on: shown, not compared",
    ),
    (
        "pull_force",
        pd.Timestamp("2026-04-17"),
        "zero variance",
        "the variance of the blocks is estimated as zero; the term stays in the model",
    ),
]


def _rest(observed: pd.DataFrame) -> dict[str, pd.DataFrame]:
    rows = []
    for measure, (dates, *_) in _SEASON.items():
        for date in dates:
            here = observed[(observed["measure"] == measure) & (observed["date"] == date)]
            expected = 36 * len(_SAMPLES[measure])
            out = int((here["excluded"] != "").sum())
            due = "yes" if len(here) else "not yet"
            missing = expected - len(here) if len(here) else 0
            rows.append((measure, date, expected, len(here) - out, out, missing, 0, due))
    counts = pd.DataFrame(rows, columns=_COLUMNS["counts"])
    scores = observed[observed["measure"] == "green_cover"]
    photos = pd.DataFrame(
        {
            "window": "0123456789ab",
            "date": scores["date"],
            "plot": scores["plot"],
            "sample": 1,
            "path": scores["source"],
            "sha256": [f"{at:064x}" for at in range(len(scores))],
            "taken": "",
            "cover": scores["value"],
            "colour_index": 0.42,
            "hue": 96.0,
            "saturation": 0.4,
            "brightness": 0.45,
            "camera": "Invented P1",
            "cover_se": 1.5,
            "colour_index_sd": 0.11,
            "patchiness": 12.0,
            "largest_bare_patch": 4.0,
            "clipped": 0.02,
            "pixels": 1_000_000,
            "flags": "",
        }
    ).reset_index(drop=True)
    photos.loc[3, "flags"] = "part of the picture is overexposed"
    return {
        "counts": counts.assign(date=pd.to_datetime(counts["date"])),
        "photo_scores": photos,
        "notes": pd.DataFrame(_NOTES, columns=["measure", "date", "code", "text"]),
        "exclusions": pd.DataFrame(
            [("304", "colour_rating", "2026-03-24", "", "", "rated in rain", 2)],
            columns=_COLUMNS["exclusions"],
        ),
        "deviations": pd.DataFrame(
            [
                (
                    pd.Timestamp("2026-02-11"),
                    "Block 5 lay open for a day",
                    "gusts; two pins lost",
                )
            ],
            columns=["date", "what", "reason"],
        ),
    }
