"""What two people counted under crosses on photos of the example study. Everything is invented.

What lies under a cross is looked up in the painting: whether the pixel was painted as living
green, before light and lens. People then slip as often as `counter_table` says.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from field_model import SEED
from wintersward.papers.point_counts import Chosen, choose, crosses, key_table
from wintersward.records.point_counts import CROSSES, KEY, STEM

__all__ = ["SHEET", "count_table", "counter_table", "list_photos", "under_table", "write_counts"]

SHEET = f"photos/{STEM}.csv"

# Of the crosses on green the share that a person calls not green, of the others the share that
# is called green, and of all the share that is called unsure.
_SLIPS = {"te": (0.01, 0.03, 0.01), "rx": (0.02, 0.01, 0.02)}
# A stream of its own, so that nothing else depends on what is counted.
_STREAM = 5

Living = Callable[[str, str], NDArray[np.bool_]]


def counter_table() -> pd.DataFrame:
    """List how the people truly count.

    Returns
    -------
    DataFrame
        Columns rater; missed [1]: share of the crosses on green leaf that are called not green;
        taken [1]: share of the other crosses that are called green; unsure [1]: share of all
        crosses that are called unsure, whatever lies there.
    """
    rows = [(rater, *shares) for rater, shares in _SLIPS.items()]
    return pd.DataFrame(rows, columns=["rater", "missed", "taken", "unsure"])


def list_photos(folder: Path) -> pd.DataFrame:
    """List the photos of the study.

    Parameters
    ----------
    folder : Path
        The study folder.

    Returns
    -------
    DataFrame
        Columns date, plot, sample, path: from the study folder on.
    """
    rows = []
    for path in sorted((folder / "photos").glob("*/*.jpg")):
        plot, _, sample = path.stem.partition("_")
        place = path.relative_to(folder).as_posix()
        rows.append((path.parent.name, plot, int(sample), place))
    return pd.DataFrame(rows, columns=["date", "plot", "sample", "path"])


def under_table(chosen: Iterable[Chosen], photos: pd.DataFrame, living: Living) -> pd.DataFrame:
    """Look up what truly lies under the crosses.

    Parameters
    ----------
    chosen : iterable of Chosen
        The photos of the count.
    photos : DataFrame
        As `list_photos` gives it.
    living : callable
        Takes date and plot of a photo and gives its (height, width) pixels painted as living
        green.

    Returns
    -------
    DataFrame
        Columns photo (its number), date, plot, under: 100 letters, ``g`` for a cross on living
        green and ``-`` for any other, row by row from the upper left; green: how many of them
        are on living green.
    """
    places = photos.set_index("path")
    rows = []
    for one in chosen:
        date, plot = places.loc[one.photo, ["date", "plot"]]
        mask = living(date, plot)
        column, row = np.floor(crosses(one.seed) * mask.shape[::-1]).astype(int).T
        hit = mask[row, column]
        under = "".join("g" if on else "-" for on in hit)
        rows.append((one.number, date, plot, under, int(hit.sum())))
    return pd.DataFrame(rows, columns=["photo", "date", "plot", "under", "green"])


def count_table(under: pd.DataFrame, seed: int = SEED) -> pd.DataFrame:
    """Let each person count, photo by photo.

    Parameters
    ----------
    under : DataFrame
        As `under_table` gives it.
    seed : int
        Of numpy's PCG64 generator.

    Returns
    -------
    DataFrame
        Columns photo, rater, points, green, unsure; person by person. Slips of two people have
        nothing to do with one another.
    """
    rows = []
    for person, slips in enumerate(counter_table().itertuples()):
        for photo in under.itertuples():
            rng = np.random.default_rng([seed, _STREAM, person, photo.photo])
            on_green = np.array(list(photo.under)) == "g"
            slip, unsure = rng.random(CROSSES), rng.random(CROSSES) < slips.unsure
            called = np.where(on_green, slip >= slips.missed, slip < slips.taken) & ~unsure
            rows.append((photo.photo, slips.rater, CROSSES, int(called.sum()), int(unsure.sum())))
    return pd.DataFrame(rows, columns=["photo", "rater", "points", "green", "unsure"])


def write_counts(folder: Path, living: Living) -> None:
    """Write the key of the point count, the sheet that two people filled in, and the truth.

    Parameters
    ----------
    folder : Path
        The study with its ``photos/``. Gets ``plan/papers/point_count/key.csv``,
        ``photos/point_count.csv``, ``truth/point_counters.csv`` and ``truth/points.csv``: the
        same each time.
    living : callable
        As `under_table` takes it.
    """
    photos = list_photos(folder)
    chosen = choose(photos, SEED)
    hashes = [hashlib.sha256((folder / one.photo).read_bytes()).hexdigest() for one in chosen]
    under = under_table(chosen, photos, living)
    _write(folder / KEY, key_table(chosen, hashes))
    for name, table in (
        (SHEET, count_table(under)),
        ("truth/points.csv", under),
        ("truth/point_counters.csv", counter_table()),
    ):
        _write(folder / name, table.to_csv(index=False, lineterminator="\n").encode("utf-8"))


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
