"""Names of people in the files of a study: whose they are, where they stand, what stands in for."""

from __future__ import annotations

import html
import io
import re
import unicodedata
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree

from wintersward.errors import Problem
from wintersward.records.logger_text import decoded
from wintersward.trial import Definition

__all__ = ["StandIn", "initials_that_are_names", "names_in_paths", "parts_left", "places_in"]
__all__ += ["replaced", "stand_ins"]

_WORD = re.compile(r"[^\W\d_]+")
_SHORTEST_PART = 3
_TOLD = 10
_TAKE_OUT = "take it out there, run again, and bundle then"


@dataclass(frozen=True)
class StandIn:
    """A name, and what stands in its place.

    Parameters
    ----------
    name : str
        As the definition holds it.
    instead : str
        Letters, digits and spaces alone: it needs no quotes in any file.
    """

    name: str
    instead: str

    @property
    def pattern(self) -> re.Pattern[str]:
        """Find the name as words of their own, also over the end of a line.

        A name of several words is found in the order ``last, first`` too, and whether letters
        are composed or not; one of a single word counts only as it is written, since ``May`` is
        no ``may``.
        """
        words = [_either(word) for word in self.name.split()]
        flags = re.IGNORECASE if len(words) > 1 else re.NOFLAG
        found = r"\s+".join(words)
        if len(words) > 1:
            found += rf"|{words[-1]},\s*" + r"\s+".join(words[:-1])
        return re.compile(rf"(?<!\w)(?:{found})(?!\w)", flags)

    def told(self, _found: str) -> str:
        """Say what was found, in a message: the name."""
        return self.name


def _either(word: str) -> str:
    forms = (unicodedata.normalize(form, word) for form in ("NFC", "NFD"))
    return "(?:" + "|".join(re.escape(form) for form in dict.fromkeys(forms)) + ")"


def stand_ins(definitions: Iterable[Definition]) -> list[StandIn]:
    """List the people that definitions name; who signed for plots is told by initials.

    Parameters
    ----------
    definitions : iterable of Definition
        That of the study first, then the frozen one and those of earlier seasons.

    Returns
    -------
    list of StandIn
        ``person 1``, ``person 2`` and so on, in this order.
    """
    names = [person.name for definition in definitions for person in definition.people]
    return [StandIn(name, f"person {n}") for n, name in enumerate(dict.fromkeys(names), 1)]


def initials_that_are_names(definition: Definition) -> list[Problem]:
    """Tell whose initials are a word of the name, so that ratings would go on naming a person."""
    return [
        Problem(
            "trial.yaml",
            field=f"people.{number}.initials",
            found=f"'{person.initials}', which is a name",
            allowed="initials, where names are to be left out",
            hint="write initials here, under raters and in the sheets, run again, and bundle then",
        )
        for number, person in enumerate(definition.people, 1)
        if len(person.initials) > 1
        and person.initials.casefold() in (w.casefold() for w in _WORD.findall(person.name))
    ]


def replaced(text: str, people: Sequence[StandIn], markup: bool = False) -> str:
    """Put the stand-ins in the place of the names.

    Parameters
    ----------
    text : str
        Of a file.
    people : sequence of StandIn
        Whose names are to go.
    markup : bool
        Whether the text is HTML, in which signs of a name may be written otherwise.

    Examples
    --------
    >>> replaced("rated by R.  Example", [StandIn("R. Example", "person 1")])
    'rated by person 1'
    """
    for one in sorted(people, key=lambda person: -len(person.name)):
        text = one.pattern.sub(one.instead, text)
        if markup:
            text = StandIn(html.escape(one.name), "").pattern.sub(one.instead, text)
    return text


def places_in(data: bytes, shown: str, people: Sequence[StandIn]) -> list[Problem]:
    """Tell where a file holds what is to be left out, and is no file that is changed for it.

    Parameters
    ----------
    data : bytes
        Of a table, a notebook, a page or a workbook.
    shown : str
        What to call it.
    people : sequence of StandIn
        What is looked for.

    Returns
    -------
    list of Problem
        By line and column; of a workbook by the part of it.
    """
    if zipfile.is_zipfile(io.BytesIO(data)):
        return _in_workbook(data, shown, people)
    text = decoded(data) or data.decode("utf-8", "replace")
    problems = []
    for one in people:
        for at in one.pattern.finditer(text):
            line = text.count("\n", 0, at.start()) + 1
            column = at.start() - text.rfind("\n", 0, at.start())
            found = one.told(at[0])
            problems.append(Problem(shown, line, column, found=f"'{found}'", hint=_TAKE_OUT))
    return problems


def _in_workbook(data: bytes, shown: str, people: Sequence[StandIn]) -> list[Problem]:
    problems = []
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        for part in sorted(name for name in book.namelist() if name.endswith((".xml", ".rels"))):
            try:
                root = ElementTree.fromstring(book.read(part))
            except ElementTree.ParseError:
                continue
            told = [words for node in root.iter() for words in (node.text, *node.attrib.values())]
            text = "\n".join(words for words in told if words)
            problems += [
                Problem(shown, field=part, found=f"'{one.name}'", hint=_TAKE_OUT)
                for one in people
                if one.pattern.search(text)
            ]
    return problems


def names_in_paths(paths: Iterable[str], people: Sequence[StandIn]) -> list[Problem]:
    """Tell which files are called by the name of a person.

    Examples
    --------
    >>> print(names_in_paths(["sheets/Ann_Berg.csv"], [StandIn("Ann Berg", "person 1")])[0])
    sheets/Ann_Berg.csv: found 'Ann Berg' in the name of the file; rename it, run again, and \
bundle then
    """
    hint = "rename it, run again, and bundle then"
    return [
        Problem(path, found=f"'{one.name}' in the name of the file", hint=hint)
        for path in paths
        for one in people
        if one.pattern.search(re.sub(r"[_/-]+", " ", path))
    ]


def parts_left(text: str, shown: str, people: Sequence[StandIn]) -> list[str]:
    """Tell which lines hold a part of a name, such as a surname alone, for a person to look at.

    Examples
    --------
    >>> parts_left("note: Berg saw it", "diary.yaml", [StandIn("A. Berg", "person 1")])
    ["diary.yaml:1: 'Berg' may be a part of a name; it was left as it is"]
    """
    words = {
        word
        for one in people
        for word in _WORD.findall(unicodedata.normalize("NFC", one.name))
        if len(word) >= _SHORTEST_PART and word[0].isupper()
    }
    told = [
        f"{shown}:{number}: '{word}' may be a part of a name; it was left as it is"
        for number, line in enumerate(unicodedata.normalize("NFC", text).splitlines(), 1)
        for word in sorted(words & set(_WORD.findall(line)))
    ]
    more = len(told) - _TOLD
    return told if more <= 0 else [*told[:_TOLD], f"{shown}: and {more} more such words"]
