"""Lettering: which words, how large and which way, so that they fit into a plot of the map."""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache

from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.ft2font import FT2Font

__all__ = [
    "FONT",
    "LEADING",
    "LEGIBLE",
    "NUMBER",
    "Lettering",
    "Stacks",
    "fitted",
    "lacking",
    "short_codes",
    "text_width",
    "without_font_warnings",
    "wrapped",
]

Stacks = Mapping[str, Sequence[str]]

# The face that comes with matplotlib, so that a map is the same on every computer.
FONT = "DejaVu Sans"
LEGIBLE = 5.5
_COMFORTABLE = 6.5
_SIZES = (8.0, 7.5, 7.0, 6.5, 6.0, LEGIBLE)
_SMALLEST = 4.0
_MEASURED_AT = 1000.0
LEADING = 1.2
# The plot number is what a person looks for: it is set larger and bold.
NUMBER = 1.2


@dataclass(frozen=True)
class Lettering:
    """How the words of every plot of one map are set.

    Parameters
    ----------
    size : float
        Height of the type [pt]; plot numbers are larger by `NUMBER`.
    upright : bool
        True when the lines run up the page.
    choice : int
        Which of the choices of words was taken.
    fits : bool
        False when even the smallest legible type is too large for a plot.
    """

    size: float
    upright: bool
    choice: int
    fits: bool


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Measure a line of text [pt]."""
    return size * _width(text, bold)


@lru_cache(maxsize=4096)
def _width(text: str, bold: bool) -> float:
    """Measure a line of text in heights of its type."""
    font = _font(bold)
    # At this size the fitting of letters to pixels no longer matters.
    font.set_size(_MEASURED_AT, 72)
    with without_font_warnings():
        font.set_text(text)
    return float(font.get_width_height()[0]) / 64 / _MEASURED_AT


def _font(bold: bool) -> FT2Font:
    return get_font(findfont(FontProperties(family=FONT, weight="bold" if bold else "normal")))


def lacking(text: str, bold: bool = False) -> list[str]:
    """List the characters of a text that the font lacks, each once.

    Examples
    --------
    >>> lacking("Frost \u00b7 \u51ac")
    ['\u51ac']
    """
    font = _font(bold)
    seen = dict.fromkeys(one for one in text if not one.isspace())
    return [one for one in seen if not font.get_char_index(ord(one))]


@contextmanager
def without_font_warnings() -> Iterator[None]:
    """Keep silent about characters that the font lacks: whoever draws says so in plain words."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", r"Glyph .* missing from", UserWarning)
        yield


def short_codes(words: Sequence[str]) -> dict[str, str]:
    """Shorten words to the first letters that tell them apart.

    Examples
    --------
    >>> short_codes(["solid", "sand", "hollow"])
    {'solid': 'so', 'sand': 'sa', 'hollow': 'h'}
    >>> short_codes(["foam", "foam2"])
    {'foam': 'foam', 'foam2': 'foam2'}
    """
    codes = {}
    for word in words:
        others = [other for other in words if other != word]
        lengths = range(1, len(word) + 1)
        own = (n for n in lengths if not any(other.startswith(word[:n]) for other in others))
        codes[word] = word[: next(own, len(word))]
    return codes


def fitted(
    choices: Sequence[Stacks], inside: tuple[float, float], whole: tuple[float, float]
) -> Lettering:
    """Find the largest lettering that fits into every plot.

    Parameters
    ----------
    choices : sequence of mapping of str to list of str
        Words to choose from, the fullest first: for each plot number the lines below it.
    inside, whole : tuple of float
        Width and height [pt] of what is sampled of a plot, where words stand clear of every
        line, and of the plot.

    Returns
    -------
    Lettering
        Fuller words come before larger ones, and level lines before upright ones.
    """
    turned = whole[1], whole[0]
    trials = [(0, False, inside, _COMFORTABLE)]
    for choice in range(len(choices)):
        trials += [(choice, False, whole, LEGIBLE), (choice, True, turned, LEGIBLE)]
    for choice, upright, room, least in trials:
        for size in _SIZES:
            if size >= least and _goes_in(choices[choice], size, room):
                return Lettering(size, upright, choice, True)
    upright = whole[1] > whole[0]
    size = LEGIBLE
    while size > _SMALLEST and not _goes_in(choices[-1], size, turned if upright else whole):
        size -= 0.25
    return Lettering(size, upright, len(choices) - 1, False)


def _goes_in(stacks: Stacks, size: float, room: tuple[float, float]) -> bool:
    lines = max(len(stack) for stack in stacks.values())
    if size * LEADING * (NUMBER + lines) > room[1]:
        return False
    heads = (text_width(number, size * NUMBER, True) for number in stacks)
    words = (text_width(line, size) for stack in stacks.values() for line in stack)
    return max([*heads, *words]) <= room[0]


def wrapped(pieces: Sequence[str], size: float, width: float, gap: str = " ") -> list[str]:
    """Set pieces of text in lines no wider than allowed.

    Parameters
    ----------
    pieces : sequence of str
        Each stays whole.
    size : float
        Height of the type [pt].
    width : float
        Room in a line [pt].
    gap : str
        What joins pieces of one line.

    Examples
    --------
    >>> wrapped(["one", "two", "three"], 10, 45)
    ['one two', 'three']
    """
    lines: list[str] = []
    for piece in pieces:
        longer = f"{lines[-1]}{gap}{piece}" if lines else piece
        if lines and text_width(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(piece)
    return lines
