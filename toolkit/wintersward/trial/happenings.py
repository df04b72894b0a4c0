"""Words for what befalls covers and for the care of turf, and what people write in their place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from pydantic import BeforeValidator, WithJsonSchema

from wintersward.errors import closest, listed

__all__ = ["CARE", "COVER_EVENTS", "CareWord", "CoverWord"]

COVER_EVENTS = (
    "lifted",
    "blown off",
    "laid again",
    "torn",
    "partly open",
    "snow",
    "snow cleared",
    "ice",
    "standing water",
    "other",
)
CARE = (
    "mowing",
    "nitrogen",
    "other nutrients",
    "water",
    "fungicide",
    "herbicide",
    "growth regulator",
    "topdressing",
    "seeding",
    "rolling",
    "traffic",
    "aeration",
    "other",
)

# Words in everyday use, for the one that is meant; for two, where only the person can tell.
_EVERYDAY = {
    "aerating": ("aeration",),
    "aerified": ("aeration",),
    "coring": ("aeration",),
    "cut": ("mowing",),
    "fertiliser": ("nitrogen", "other nutrients"),
    "fertilizer": ("nitrogen", "other nutrients"),
    "flooded": ("standing water",),
    "iron": ("other nutrients",),
    "irrigation": ("water",),
    "mown": ("mowing",),
    "overseeding": ("seeding",),
    "pgr": ("growth regulator",),
    "phosphorus": ("other nutrients",),
    "play": ("traffic",),
    "potassium": ("other nutrients",),
    "rain": (),
    "ripped": ("torn",),
    "rolled": ("rolling",),
    "sand": ("topdressing",),
    "seeded": ("seeding",),
    "shoveled": ("snow cleared",),
    "shoveling": ("snow cleared",),
    "shovelled": ("snow cleared",),
    "shovelling": ("snow cleared",),
    "urea": ("nitrogen",),
    "weed killer": ("herbicide",),
    "weeding": (),
    "wind": (),
}


def _word_of(words: Sequence[str]) -> BeforeValidator:
    """Allow the words of a list, and tell them all where it is another.

    Parameters
    ----------
    words : sequence of str
        The last one is ``other``, which needs a note.

    Notes
    -----
    The error names the word that is meant where that can be told: one that stands for it in
    everyday use, else one that is spelt like it.
    """

    def check(value: object) -> object:
        if value in words:
            return value
        said = " ".join(str(value).casefold().split())
        meant = [one for one in _EVERYDAY.get(said, ()) if one in words]
        near = f"did you mean {' or '.join(meant)}?" if meant else ""
        if said not in _EVERYDAY:
            near = closest(said, words[:-1])
        rule = f"{listed(words[:-1])}, or other with a note"
        raise ValueError(f"{rule}; {near}" if near else rule)

    return BeforeValidator(check)


def _schema(words: Sequence[str]) -> WithJsonSchema:
    return WithJsonSchema({"type": "string", "enum": list(words)})


CoverWord = Annotated[str, _word_of(COVER_EVENTS), _schema(COVER_EVENTS)]
CareWord = Annotated[str, _word_of(CARE), _schema(CARE)]
