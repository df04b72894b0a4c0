"""The point count: photos with crosses, on which a person counts what lies on green leaf."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from wintersward.design.shuffling import chooser, shuffled
from wintersward.papers.pages import short_id
from wintersward.papers.workbooks import Check, Column, Form, workbook
from wintersward.records.point_counts import CROSSES, FOLDER, KEY_HEADINGS, STEM
from wintersward.trial import Definition
from wintersward.trial.dates import dates_meant

__all__ = ["PHOTOS", "Chosen", "choose", "count_book", "crossed", "crosses", "key_table"]

PHOTOS = 24
"""Photos of a point count, unless said otherwise."""

# Cells a side of the grid: one cross in each.
_SIDE = 10
# Tells the stream of a point count from those of the plan and of second looks.
_STREAM = 3
_HIGHEST_SEED = 2**31
# Longer side of a picture to count on [pixels]: smaller photos are enlarged, larger ones shrunk.
_LEAST, _MOST = 1600, 2400
# Arms of a cross begin and end so far from its point [pixels]; what lies there stays in sight.
_INNER, _OUTER = 5, 17
_MARGIN, _FONT = 44, 22
_PAPER, _INK, _LIGHT = (255, 255, 255), (0, 0, 0), (255, 255, 255)


@dataclass(frozen=True)
class Chosen:
    """A photo of a point count.

    Parameters
    ----------
    number : int
        What the picture and its row on the sheet are called.
    photo : str
        From the study folder on.
    seed : int
        Of its crosses.
    """

    number: int
    photo: str
    seed: int


def choose(index: pd.DataFrame, seed: int, many: int = PHOTOS) -> list[Chosen]:
    """Draw the photos to count on.

    Parameters
    ----------
    index : DataFrame
        Columns date, plot, sample, path, as `wintersward.records.photo_index` gives them.
    seed : int
        ``layout.seed`` of the definition.
    many : int
        Photos wanted; where there are fewer, all are taken.

    Returns
    -------
    list of Chosen
        By number.

    Notes
    -----
    A systematic sample with a random start, after the photos of each date were shuffled: every
    photo has the same chance, and every date its share, so that all light of the season is in it
    (Cochran 1977, chapter 8). Numbers are dealt at random, so that they tell no date. The
    random numbers are those of PCG64 started from the seed and a 3, a stream of their own.

    References
    ----------
    Cochran W. G. (1977) Sampling Techniques, third edition. Wiley, New York (from memory).
    """
    below = chooser(np.random.PCG64(np.random.SeedSequence([seed, _STREAM])))
    ordered: list[str] = []
    for _, held in index.sort_values(["date", "plot", "sample"]).groupby("date"):
        ordered += shuffled([str(path) for path in held["path"]], below)
    many = min(many, len(ordered))
    if not many:
        return []
    start = below(len(ordered))
    taken = [ordered[(start + at * len(ordered)) // many] for at in range(many)]
    return [
        Chosen(number, path, 1 + below(_HIGHEST_SEED))
        for number, path in enumerate(shuffled(taken, below), 1)
    ]


def crosses(seed: int) -> NDArray[np.float64]:
    """Draw the points of one photo.

    Parameters
    ----------
    seed : int
        As the key holds it.

    Returns
    -------
    (100, 2) float [1]
        Across and down, as shares of the upright picture; row by row from the upper left. The
        point lies on the pixel in which it falls.

    Notes
    -----
    One point in each cell of a grid of 10 by 10, anywhere in it alike. The share of points on
    green has the green cover for its mean. Its variance is the mean of p (1 - p) over the cells,
    divided by the points, and that is no more than the binomial one of the whole picture,
    because p (1 - p) bends downwards (Cochran 1977, section 5.6).

    References
    ----------
    Cochran W. G. (1977) Sampling Techniques, third edition. Wiley, New York (from memory).

    Examples
    --------
    >>> points = crosses(20260119)
    >>> points.shape, bool((np.floor(10 * points[:10, 0]) == np.arange(10)).all())
    ((100, 2), True)
    """
    words = np.random.PCG64(np.random.SeedSequence(seed)).random_raw(2 * CROSSES)
    # The upper 53 bits of a word, as a share from 0 to below 1.
    share = (np.asarray(words, dtype=np.uint64) >> np.uint64(11)) * 2.0**-53
    down, across = np.divmod(np.arange(CROSSES), _SIDE)
    within = share.reshape(CROSSES, 2)
    return np.stack([across + within[:, 0], down + within[:, 1]], axis=1) / _SIDE


def crossed(image: Image.Image, seed: int) -> Image.Image:
    """Draw the crosses on a photo.

    Parameters
    ----------
    image : PIL.Image.Image
        The upright photo, RGB; it is not changed.
    seed : int
        Of its crosses.

    Returns
    -------
    PIL.Image.Image
        The photo, enlarged by a whole factor or shrunk to a size that a screen shows, in a frame
        with a letter for each row of crosses and a number for each column. The middle of a cross
        is left free: its point is where the arms would meet. Pixels alone: nothing of what the
        camera wrote into the file.
    """
    shown, scale = _sized(image)
    at = crosses(seed) * image.size
    places = (np.floor(at) + 0.5) * scale + _MARGIN
    width, height = shown.size
    sheet = Image.new("RGB", (width + 2 * _MARGIN, height + 2 * _MARGIN), _PAPER)
    sheet.paste(shown, (_MARGIN, _MARGIN))
    draw = ImageDraw.Draw(sheet)
    for x, y in np.rint(places).astype(int).tolist():
        _cross(draw, x, y)
    _frame(draw, width, height)
    return sheet


def _sized(image: Image.Image) -> tuple[Image.Image, float]:
    """Give the picture in a size to look at, and the factor to it."""
    longer = max(image.size)
    if longer > _MOST:
        size = [max(1, round(side * _MOST / longer)) for side in image.size]
        return image.resize((size[0], size[1]), Image.Resampling.LANCZOS), _MOST / longer
    factor = -(-_LEAST // longer)
    size = [side * factor for side in image.size]
    return image.resize((size[0], size[1]), Image.Resampling.BICUBIC), float(factor)


def _cross(draw: ImageDraw.ImageDraw, x: int, y: int) -> None:
    """Draw thin light arms in a dark edge, which stand out on any ground."""
    for colour, edge in ((_INK, 1), (_LIGHT, 0)):
        for side in (-1, 1):
            near, far = sorted((side * _INNER, side * _OUTER))
            # The edge goes around the outer ends too, not into the middle.
            low = near - (edge if side < 0 else 0)
            high = far + (edge if side > 0 else 0)
            draw.rectangle((x + low, y - edge, x + high, y + edge), fill=colour)
            draw.rectangle((x - edge, y + low, x + edge, y + high), fill=colour)


def _frame(draw: ImageDraw.ImageDraw, width: int, height: int) -> None:
    """Name the rows and columns of crosses around the photo, with a tick between them."""
    font = ImageFont.load_default(_FONT)
    for cell in range(_SIDE):
        x, y = (_MARGIN + (cell + 0.5) * side / _SIDE for side in (width, height))
        letter, number = chr(ord("A") + cell), str(cell + 1)
        for middle in (_MARGIN / 2, _MARGIN * 1.5 + width):
            draw.text((middle, y), letter, fill=_INK, font=font, anchor="mm")
        for middle in (_MARGIN / 2, _MARGIN * 1.5 + height):
            draw.text((x, middle), number, fill=_INK, font=font, anchor="mm")
    for edge in range(_SIDE + 1):
        x, y = (round(_MARGIN + edge * side / _SIDE) for side in (width, height))
        for top in (_MARGIN - 12, _MARGIN + height + 1):
            draw.line((x, top, x, top + 10), fill=_INK, width=2)
        for left in (_MARGIN - 12, _MARGIN + width + 1):
            draw.line((left, y, left + 10, y), fill=_INK, width=2)


def key_table(chosen: Iterable[Chosen], hashes: Iterable[str]) -> bytes:
    """Write the key: which number is which photo.

    Parameters
    ----------
    chosen : iterable of Chosen
        By number.
    hashes : iterable of str
        SHA-256 of each photo's file.

    Returns
    -------
    bytes
        CSV (RFC 4180) in UTF-8: number, photo, sha256, seed.
    """
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(KEY_HEADINGS)
    for one, digest in zip(chosen, hashes, strict=True):
        writer.writerow([one.number, one.photo, digest, one.seed])
    return stream.getvalue().encode("utf-8")


def count_book(definition: Definition, many: int, paper: str) -> bytes:
    """Make the sheet to count on: one row a photo.

    Parameters
    ----------
    definition : Definition
        The trial.
    many : int
        Number of photos.
    paper : {'letter', 'a4'}
        What it is printed on.

    Returns
    -------
    bytes
        An XLSX file. Filled in and put into ``photos`` it is read as it is.
    """
    none, every, blank = [False] * many, [True] * many, [None] * many
    whole = f"A whole number, 0 to {CROSSES}."
    columns = [
        Column("photo", list(range(1, many + 1)), none, 8),
        Column("rater", blank, every, 8),
        Column("points", [CROSSES] * many, none, 8),
        *(
            Column(name, blank, every, 8, Check(name, whole, whole, "", 0.0, CROSSES, True))
            for name in ("green", "unsure")
        ),
        Column("note", blank, every, 30),
    ]
    return workbook(
        Form(
            tab="Point count",
            columns=columns,
            still=1,
            head=("Point count", f"study {short_id(definition)}", "Initials: ____________"),
            foot="Count without the key, the plan and the other raters' numbers",
            remarks=[("What to do", ""), *enumerate(_steps(), 1)],
            break_before=[],
            paper=paper,
            day=dates_meant(definition.dates, "covers_on")[0],
            title="Point count",
        )
    )


def _steps() -> list[str]:
    return [
        f"Do not look into {FOLDER}/key.csv before everything is counted: it tells which number "
        "is which photo. Whoever counts needs the pictures and this sheet, and nothing else.",
        "Open the pictures 01, 02, ... on a screen, so large that you see single leaves. Each has "
        f"{CROSSES} crosses, ten in a row: rows are lettered, columns numbered.",
        "The point of a cross is its free middle, where the arms would meet. Look at what lies "
        "exactly there, not at what lies around it.",
        "Green: the point lies on living green leaf, of whatever shade, lit or in shadow. Not "
        "green: straw, soil, stone, sand, a hole, paint, a shadow in which no leaf is seen.",
        "Unsure: you cannot tell, even enlarged. Unsure crosses are left out of the share, so "
        "keep them few.",
        "Write your initials in each row that you count.",
        f"Write the number of green and of unsure crosses in the row of the photo. {CROSSES} "
        "less both are not green. Write 0 where none is; leave the row of a photo that you did "
        "not count empty.",
        "You may guess what lay on a plot from how it looks, such as the print of a cover or "
        "the holes of a tine. Count what lies under the cross all the same.",
        "One person fills in one copy. Several people count the same pictures without seeing "
        "each other's numbers: that shows how well they agree.",
        f"Save the filled sheet as photos/{STEM}.xlsx; of several people each as "
        f"photos/{STEM}_ and their initials, such as photos/{STEM}_rx.xlsx.",
    ]
