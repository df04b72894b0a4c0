"""Invented results of the supporting analyses of the trial in trial.yaml."""

from __future__ import annotations

import numpy as np
import pandas as pd

from wintersward.analysis.results import TABLES, empty

FIRST, LAST = pd.Timestamp("2026-03-10"), pd.Timestamp("2026-04-17")
LATE = pd.Timestamp("2026-04-04")
PRIMARY = pd.Timestamp("2026-03-24")
_PAIRS = [("fleece", "woven"), ("fleece", "open"), ("woven", "open")]


def supporting(plots: pd.DataFrame, split: bool = True) -> dict[str, pd.DataFrame]:
    """Make every table of the supporting analyses.

    Parameters
    ----------
    plots : DataFrame
        The plan.
    split : bool
        Whether covers lie on whole plots with tines inside; else on plots.
    """
    rng = np.random.default_rng(11)
    unit = "whole plot" if split else "plot"
    made = {
        **_sure(unit),
        **_over_time(unit, split),
        **_arrivals(plots, split),
        **_checking(rng, plots, unit, split),
    }
    return {name: _shaped(name, rows) for name, rows in made.items()}


def _shaped(name: str, rows: list[dict[str, object]]) -> pd.DataFrame:
    wanted = list(empty(name).columns)
    frame = pd.DataFrame(rows)
    more = [c for c in frame if c not in wanted] if TABLES[name].open_ended else []
    return frame[[*wanted, *more]]


def difference(estimate: float, se: float, df: float = 10.0) -> dict[str, float]:
    """Give the numbers of a difference; half-widths are two and a quarter standard errors."""
    half = 2.25 * se
    ends = {"lower": estimate - half, "upper": estimate + half}
    return {"difference": estimate, "se": se, "df": df, "t": estimate / se, "p": 0.004} | ends


def _sure(unit: str) -> dict[str, list[dict[str, object]]]:
    asked = {"measure": "green_cover", "date": PRIMARY, "left": "fleece", "right": "open"}
    null = (
        f"No {unit} would differ with 'Spun-bond fleece' in place of 'No cover'; these labels are "
        "exchanged within each block."
    )
    last = asked | {"date": LAST, "kind": "caught up", "margin": 5.0, "within": ""}
    others = [
        ("blocks random", "mixed model, blocks random", "measure", 11.2, 1.9, "yes"),
        ("logit", "log odds of the share", "log odds ratio", 0.49, 0.09, "yes"),
        ("without outliers", "without 3A", "measure", 7.4, 4.2, "no"),
    ]
    return {
        "randomisation": [
            asked
            | {"statistic": 5.8, "null": null, "arrangements": 64.0, "draws": 64, "exact": "yes"}
            | {"seed": 20260119, "p": 0.03125, "smallest_p": 0.03125}
        ],
        "equivalence": [
            asked
            | {"kind": "matters", "within": "", "difference": 12.6, "margin": 8.0}
            | {"lower": 9.0, "upper": 16.2}
            | {"p_above": 0.001, "p_below": 0.97, "verdict": "size open"},
            last
            | {"difference": 3.1, "lower": 0.4, "upper": 5.8, "p_above": 0.001, "p_below": 0.1}
            | {"verdict": "cannot tell"},
            last
            | {"left": "woven", "difference": 1.2, "lower": -1.6, "upper": 4.0}
            | {"p_above": 0.001, "p_below": 0.02, "verdict": "caught up"},
        ],
        "sensitivity": [
            asked
            | {"analysis": name, "text": text, "scale": scale, "agrees": agrees}
            | difference(estimate, se)
            for name, text, scale, estimate, se, agrees in others
        ],
        "rank_differences": [
            {"measure": "colour_rating", "date": PRIMARY, "effect": "cover", "scale": "measure"}
            | {"left": left, "right": right, "difference": 1.0 - at, "lower": 0.25 - at}
            | {"upper": 1.75 - at, "p_alone": p, "p": min(1.0, 15 * p), "smallest_p": least}
            | {"comparisons": 15, "mean_difference": 0.9 - at, "mean_p": mean, "agrees": agrees}
            | {"text": "signed ranks of 6 differences, each within a block"}
            for at, (left, right, p, mean, least, agrees) in enumerate(
                [
                    ("fleece", "open", 0.03125, 0.003, 0.03125, "yes"),
                    ("fleece", "woven", 0.125, 0.4, 0.0625, ""),
                    ("woven", "open", 0.0625, 0.002, 0.03125, "no"),
                ]
            )
        ],
        "slopes": [
            {"measure": "green_cover", "date": PRIMARY, "covariate": "green cover on 2026-01-15"}
            | {"slope": 0.9, "se": 0.2, "df": 9.0, "lower": 0.4, "upper": 1.4, "p": 0.002}
        ],
        "seasons_tests": [
            {"measure": "green_cover", "term": term, "f": 6.2, "df_num": 2.0, "df_den": 20.0}
            | {"p": 0.008, "unit_kind": f"{unit} in each season", "method": "Kenward-Roger"}
            for term in ("cover", "season", "cover:season")
        ],
        "seasons_differences": [
            {"measure": "green_cover", "season": season, "left": left, "right": right}
            | difference(10.0 + at, 2.0, 20.0)
            for at, (left, right) in enumerate(_PAIRS)
            for season in ("2025", "2026", "all")
        ],
    }


def _scopes(split: bool) -> list[tuple[str, pd.Timestamp]]:
    return [("cover", FIRST), *([("cover:aeration", LATE)] if split else [])]


def _over_time(unit: str, split: bool) -> dict[str, list[dict[str, object]]]:
    made: dict[str, list[dict[str, object]]] = {}
    for scope, first in _scopes(split):
        named = {"measure": "green_cover", "scope": scope}
        span = named | {"first": first, "last": LAST}
        tried = [
            ("car1", "no", 380.0, "chosen", "AICc lower by 2.4 than with the simpler one"),
            ("cs", "no", 382.4, "runner-up", "AICc +2.4 against the chosen one"),
            ("cs", "yes", float("nan"), "refused", "fewer than 8 residual degrees of freedom"),
        ]
        made.setdefault("structures", []).extend(
            named
            | {"structure": structure, "by_date": by_date, "loglik": -0.5 * aicc, "m": 75}
            | {"parameters": 5, "aicc": aicc, "verdict": verdict, "reason": reason}
            | {"correlation": 0.91 if structure == "car1" else float("nan")}
            for structure, by_date, aicc, verdict, reason in tried
        )
        made.setdefault("joint_tests", []).extend(
            span
            | {"term": term, "f": 12.0, "df_num": 2.0, "df_den": df, "p": 0.001}
            | {"unit_kind": unit, "df_design": 10.0, "method": "Kenward-Roger"}
            for term, df in (("cover", 9.6), ("date", 20.0), ("cover:date", 38.2))
        )
        for at, (left, right) in enumerate(_PAIRS):
            pair = {"effect": "cover", "within": "", "left": left, "right": right}
            numbers = difference(11.0 - 5 * at, 1.9)
            made.setdefault("joint_differences", []).extend(
                named | pair | {"date": day} | numbers for day in ("2026-04-04", "all")
            )
            made.setdefault("season_differences", []).append(span | pair | numbers)
        made.setdefault("season_means", []).extend(
            span
            | {"effect": "cover", "level": level, "mean": 58.0 + 6 * at, "se": 2.0, "df": 12.0}
            | {"lower": 53.5 + 6 * at, "upper": 62.5 + 6 * at, "units": 6}
            for at, level in enumerate(("fleece", "open", "woven"))
        )
    return made


def _units(plots: pd.DataFrame, split: bool) -> pd.DataFrame:
    units = plots.assign(unit_name=plots["whole_plot" if split else "plot"])
    return units.drop_duplicates("whole_plot")[["unit_name", "block", "cover"]]


def _arrivals(plots: pd.DataFrame, split: bool) -> dict[str, list[dict[str, object]]]:
    days = {"open": 22.0, "fleece": 13.0, "woven": 15.0}
    off, arrivals, values = pd.Timestamp("2026-03-09"), [], []
    for at, row in enumerate(_units(plots, split).itertuples()):
        censored = "after" if (row.block, row.cover) == ("2", "open") else ""
        reached = 39.0 if censored else days[row.cover] + (at % 5) - 2
        named = {"measure": "green_cover", "unit_name": row.unit_name, "block": row.block}
        arrivals.append(
            named
            | {"level": 60.0, "treatment": row.cover, "days": reached, "censored": censored}
            | {"day": off + pd.Timedelta(days=round(reached))}
            | {"dipped": "yes" if (row.block, row.cover) == ("4", "woven") else ""}
        )
        values.append(
            named
            | {"scope": "cover", "first": FIRST, "last": LAST, "dates": 5, "value": 60.0 + at}
            | {"cover": row.cover}
        )
    none = dict.fromkeys(("se", "df", "lower", "upper", "p"), float("nan"))
    pair = {"measure": "green_cover", "level": 60.0, "right": "open"}
    counts = {"left_before": 0, "left_after": 0, "right_before": 0, "right_after": 1}
    counts |= {"units_left": 6, "units_right": 6}
    gained = [
        pair | none | counts | {"left": "fleece", "days": 8.7, "says": "at least"},
        pair | none | counts | {"left": "woven", "days": 6.9, "says": "at least"},
    ]
    return {"arrivals": arrivals, "season_values": values, "days_gained": gained}


def _checking(
    rng: np.random.Generator, plots: pd.DataFrame, unit: str, split: bool
) -> dict[str, list[dict[str, object]]]:
    rated = {"measure": "colour_rating", "against": "raters", "statistic": "ICC", "n": 36}
    beside = {"measure": "colour_rating", "against": "green_cover", "n": 36}
    units = list(_units(plots, split).itertuples())
    return {
        "agreement": [
            rated
            | {"form": form, "value": value, "lower": value - 0.1, "upper": value + 0.05}
            | {"text": f"about {100 * value:.0f} % of the variation is that of the plots"}
            for form, value in (("single rating", 0.70), ("mean of the raters", 0.82))
        ]
        + [
            beside
            | {"statistic": "repeated-measures correlation", "form": "within dates"}
            | {"value": 0.61, "lower": 0.52, "upper": 0.69, "text": "how the eye follows the photo"}
        ],
        "raters": [
            {"measure": "colour_rating", "date": day, "rater": rater, "plots": 36}
            | {"severity": 0.2 if rater == "te" else -0.2}
            for day in (FIRST, PRIMARY, LAST)
            for rater in ("rx", "te")
        ],
        "eye_and_photo": [
            beside
            | {"date": day, "plot": plot, "photo": 50.0 + at}
            | {"eye": 4.0 + at / 20 + rng.normal(0, 0.3)}
            for day in (FIRST, PRIMARY)
            for at, plot in enumerate(plots["plot"])
        ],
        "residuals": [
            {"measure": "green_cover", "date": day, "unit_name": row.unit_name}
            | {"block": row.block, "level": row.cover, "fitted": 50.0 + at}
            | {"residual": value, "studentised": value / 2}
            for day in (FIRST, PRIMARY)
            for at, row in enumerate(units)
            for value in [rng.normal(0, 2)]
        ],
        "checks": [
            {"measure": "green_cover", "date": day, "check": "normality", "test": "Shapiro-Wilk"}
            | {"statistic": 0.95, "p": p, "text": text}
            for day, p, text in (
                (FIRST, 0.31, "no sign that the residuals are not normal"),
                (PRIMARY, 0.03, "the residuals lie less straight than normal ones; look"),
            )
        ],
        "block_value": [
            {"measure": "green_cover", "date": PRIMARY, "efficiency": 2.16, "cv": 5.6}
            | {"text": f"without the blocks about 2.2 times as many {unit}s would be needed"}
        ],
        **_shares(unit),
        "replication": [
            {"purpose": purpose, "blocks": blocks, "power": power, "smallest_p": 2.0 / 2**blocks}
            | {"half_width": 12.0 / blocks**0.5, "margin": margin}
            for purpose, margin, powers in (
                ("difference", 8.0, (0.57, 0.998)),
                ("equivalence", 5.0, (0.13, 0.8)),
            )
            for blocks, power in zip((3, 12), powers, strict=True)
        ],
    }


def _shares(unit: str) -> dict[str, list[dict[str, object]]]:
    """Give sources of variation: photos once a plot, ratings by two raters."""
    units = [("whole_plot", 18, 6.0)] if unit == "whole plot" else []
    photos = [("block", 6, 18.0), *units, ("plot and reading", 36, 12.0)]
    ratings = [("block", 6, 0.1), *units, ("plot", 36, 0.06), ("reading", 72, 0.34)]
    shares = []
    for measure, sources in (("colour_rating", ratings), ("green_cover", photos)):
        named = {"measure": measure, "date": PRIMARY}
        scale = 0.01 if measure == "colour_rating" else 1.0
        sizes = [v * (scale if s == "whole_plot" else 1.0) for s, _, v in sources]
        shares += [
            named
            | {"source": source, "variance": size, "share": 100 * size / sum(sizes), "n": n}
            | {"part": "whole", "text": source}
            for (source, n, _), size in zip(sources, sizes, strict=True)
        ]
        if measure == "green_cover":
            within = {"source": "within photo", "variance": 4.5, "n": 36, "part": "at least"}
            shares.append(named | within | {"share": 450 / sum(sizes), "text": "within photos"})
    plans = [
        {"measure": measure, "date": PRIMARY, "plan": plan, "bound": bound, "df": df, "se": se}
        | {"blocks": blocks, "readings": readings, "reading_share": share, "smallest": 3.1 * se}
        for measure, plan, bound, blocks, readings, share, se, df in (
            ("colour_rating", "as now", "", 6, 2.0, 55.0, 0.23, 10.0),
            ("colour_rating", "more blocks", "", 8, 2.0, np.nan, 0.199, 14.0),
            ("colour_rating", "twice the readings", "", 6, 4.0, 55.0, 0.195, 10.0),
            ("green_cover", "as now", "", 6, 1.0, np.nan, 2.0, 10.0),
            ("green_cover", "more blocks", "", 8, 1.0, np.nan, 1.6, 14.0),
            ("green_cover", "twice the readings", "at least", 6, 2.0, 19.0, 1.9, 10.0),
            ("green_cover", "twice the readings", "at most", 6, 2.0, 50.0, 1.73, 10.0),
        )
    ]
    return {"variance_shares": shares, "variance_plans": plans}


def declared(tables: dict[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """Turn the primary question into the family of both covers against none."""
    differences, means = tables["differences"], tables["means"]
    at = (differences["measure"] == "green_cover") & (differences["left"] == "woven")
    at &= (differences["right"] == "open") & (differences["role"] == "secondary")
    on = differences["date"] == pd.Timestamp("2026-03-24")
    other = differences[at & on & (differences["within"] == "")].assign(role="primary")
    # About as wide as by Dunnett for two comparisons; a page shows what its table holds.
    half = 2.57 * other["se"]
    other = other.assign(lower=other["difference"] - half, upper=other["difference"] + half)
    here = means[(means["measure"] == "green_cover") & (means["date"] == "2026-03-24")]
    centre = here.set_index("level")["mean"]
    rows = [tables["primary"]]
    for which in ("as planned", "with excluded observations"):
        row = tables["primary"].iloc[[0]].copy()
        for name in ("left", "right", "difference", "se", "df", "lower", "upper", "t", "p"):
            row[name] = other[name].to_numpy()
        rows.append(row.assign(which=which, left_mean=centre["woven"]))
    primary = pd.concat(rows, ignore_index=True).assign(adjust="dunnett")
    half = 2.57 * primary["se"]
    primary["lower"], primary["upper"] = primary["difference"] - half, primary["difference"] + half
    # The file is sorted by its key.
    primary = primary.sort_values(["which", "left", "right"], ignore_index=True)
    more = pd.concat([differences, other], ignore_index=True)
    return tables | {"primary": primary, "differences": more}
