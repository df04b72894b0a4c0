"""Flags for how values are read: second looks that differ, digits and marks that are preferred."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from wintersward.records.flag_parts import Flag, Wording, spread

__all__ = ["digit_flags", "mark_flags", "second_look_flags"]

# From how many standard deviations on two looks differ, and how many pairs it takes to know one.
_APART, _FEWEST_PAIRS = 5.0, 10
# When last digits pile up: chance alone, how many times what is expected, how many values.
_CHANCE, _TIMES, _FEWEST_DIGITS = 0.001, 2.0, 30
# Last digits are even only where values spread over this many steps.
_STEPS = 10
# Decimals that fewer values need are slips of the pen.
_RARE = 0.1
# When a rater gives one mark: in this share of this many ratings.
_ONE_MARK, _FEWEST_MARKS = 0.9, 20


def second_look_flags(rows: pd.DataFrame, name: str, words: Wording) -> Iterator[Flag]:
    """Find second looks that differ from the first.

    Parameters
    ----------
    rows : DataFrame
        Values of a measure that are not excluded, with the column again: whether it is a second
        look.
    name : str
        The measure.
    words : Wording
        How values are written.

    Yields
    ------
    Flag
        One for each pair of looks; the value is the second.

    Notes
    -----
    Marks differ from a quarter of the scale on (two marks of nine). Other values differ by more
    than five standard deviations of the differences of all pairs, taken about zero as for
    repeatability and estimated by their median; with fewer than ten pairs nothing is told.

    References
    ----------
    Bland J. M., Altman D. G. (1986) Statistical methods for assessing agreement between two
    methods of clinical measurement, Lancet 327:307-310, on repeatability (from memory).
    """
    firsts, again = rows[~rows["again"]], rows[rows["again"]]
    if again.empty:
        return
    keys = ["date", "plot", "sample"]
    # A measure without raters is taken once, whoever took it.
    keys += ["rater"] if getattr(words.measure, "raters", []) else []
    pairs = firsts.merge(again, on=keys, suffixes=("_first", ""))
    if pairs.empty:
        return
    before, after = (words.written(pairs[one].to_numpy()) for one in ("value_first", "value"))
    apart = np.round(np.abs(after - before), 6)
    step = 10.0 ** -words.decimals(np.concatenate([before, after]))
    limit = words.least
    if not words.rated:
        limit = _APART * spread(apart, step) if len(pairs) >= _FEWEST_PAIRS else np.inf
    hits = apart >= limit if words.rated else apart > limit
    for at in np.flatnonzero(hits):
        looks = (float(before[at]), float(after[at]))
        yield _differing(name, words, pairs.iloc[at], looks, float(limit))


def _differing(
    name: str, words: Wording, seen: pd.Series, looks: tuple[float, float], limit: float
) -> Flag:
    """Tell of one pair of looks."""
    most = "less than" if words.rated else "at most"
    return Flag(
        "second look differs",
        name,
        seen["date"],
        str(seen["plot"]),
        str(seen["rater"]),
        str(seen["sample"]),
        float(seen["value"]),
        str(seen["unit"]),
        f"{seen['source_first']}; {seen['source']}",
        f"{words.value(looks[1])} at the second look, {words.value(looks[0])} at the first",
        f"{most} {words.difference(limit)} apart",
    )


def digit_flags(rows: pd.DataFrame, name: str, words: Wording) -> Iterator[Flag]:
    """Find raters whose last digits pile up on 0 and 5.

    Parameters
    ----------
    rows : DataFrame
        First looks at a measure from sheets with a unit, not excluded.
    name : str
        The measure.
    words : Wording
        How values are written.

    Yields
    ------
    Flag
        One for each rater, over all dates.

    Notes
    -----
    Terminal digit analysis: where values spread over many steps, the last digit is 0 or 5 in a
    fifth of them. Told from 30 values on, at twice that, where it would come about by chance less
    than once in a thousand (exact binomial). The last digit is that of the most decimals which
    more than a tenth of a rater's values need; values with still more are left out, and so are
    those at an end of what can be, such as 0 and 100 %. Values that spread over few steps, such
    as small counts, are not judged: half of them must lie within no less than ten steps. An
    instrument that shows fives alone looks the same as a person who rounds.

    References
    ----------
    Terminal digit preference, as known from readings of blood pressure (from memory).
    """
    for rater, own in rows.groupby("rater", observed=True):
        value = own["value"].to_numpy()
        ends = [end for end in words.measure.limits if end is not None]
        written = words.written(value[~np.isin(value, ends)])
        if len(written) < _FEWEST_DIGITS:
            continue
        places = words.decimals(written, _RARE)
        scaled = written * 10.0**places
        whole = np.round(scaled)
        whole = whole[np.abs(scaled - whole) < 1e-4]
        low, high = np.quantile(whole, [0.25, 0.75])
        total, piled = len(whole), int((whole % 5 == 0).sum())
        if high - low < _STEPS or total < _FEWEST_DIGITS or piled < _TIMES * total / 5:
            continue
        if not _by_chance(piled, total):
            digit = {0: "whole numbers", 1: "one decimal"}.get(places, f"{places} decimals")
            found = f"{piled} of {total} values, written with {digit}, end in 0 or 5"
            rule = f"about {total / 5:.0f} expected"
            yield Flag("digit preference", name, rater=str(rater), found=found, rule=rule)


def _by_chance(piled: int, total: int) -> bool:
    """Tell whether that many of a fifth come about by chance now and then."""
    from scipy.special import bdtrc

    return bool(bdtrc(piled - 1, total, 0.2) >= _CHANCE)


def mark_flags(rows: pd.DataFrame, name: str, words: Wording) -> Iterator[Flag]:
    """Find raters who give one mark to nearly every plot of a date while another does not.

    Parameters
    ----------
    rows : DataFrame
        First looks at a rating, not excluded.
    name : str
        The measure.
    words : Wording
        How values are written.

    Yields
    ------
    Flag
        One for each date and rater: nine tenths or more of at least 20 ratings are one mark, and
        at least one other rater with that many ratings gave no mark that often.
    """
    counts = rows.groupby(["date", "rater", "value"], observed=True).size().rename("times")
    looks = ["date", "rater"]
    ordered = counts.reset_index().sort_values([*looks, "times", "value"])
    top = ordered.drop_duplicates(looks, keep="last")
    top = top.assign(total=counts.groupby(looks, observed=True).sum().to_numpy())
    top = top[top["total"] >= _FEWEST_MARKS]
    alike = top["times"] >= _ONE_MARK * top["total"]
    for _, one in top[alike].iterrows():
        others = top[~alike & (top["date"] == one["date"])]
        if others.empty:
            continue
        said = ", ".join(
            f"{other['rater']} gave none more than {other['times']} times in {other['total']}"
            for _, other in others.iterrows()
        )
        gave = f"{one['rater']} gave the mark {words.value(one['value'])}"
        found = f"{gave} {one['times']} times in {one['total']}; {said}"
        rule = "one mark less often than nine times in ten, where another rater tells plots apart"
        who = str(one["rater"])
        yield Flag("digit preference", name, one["date"], rater=who, found=found, rule=rule)
