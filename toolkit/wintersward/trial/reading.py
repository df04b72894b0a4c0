"""Read a YAML file with the line and column of everything in it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode
from ruamel.yaml.reader import ReaderError

from wintersward.errors import Problem

__all__ = ["Place", "Source", "placed", "read_yaml"]

Place = tuple[str | int, ...]


@dataclass
class Source:
    """The plain content of a YAML file and where each part of it stands.

    Parameters
    ----------
    name : str
        File as the person knows it.
    content : object
        Mappings, lists, text, numbers, true or false, None; dates stay text.
    keys, values : dict
        From the path of each entry to the (line, column) of its key and of its value,
        counted from 1.
    problems : list of Problem
        What could not be read; the content is empty after a syntax error.
    """

    name: str
    content: Any = None
    keys: dict[Place, tuple[int, int]] = field(default_factory=dict)
    values: dict[Place, tuple[int, int]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def problem(
        self, place: Place, found: str, allowed: str = "", hint: str = "", at_key: bool = False
    ) -> Problem:
        """Make a problem that points at an entry, or at the nearest entry around it."""
        marks = self.keys if at_key else self.values
        line = column = 0
        for cut in range(len(place), -1, -1):
            if place[:cut] in marks or place[:cut] in self.values:
                line, column = marks.get(place[:cut]) or self.values[place[:cut]]
                break
        return Problem(self.name, line, column, _dotted(place), found, allowed, hint)

    def add(self, node: Node, place: Place, found: str, allowed: str = "", hint: str = "") -> None:
        """Add a problem that was met while reading a node."""
        line, column = _position(node)
        self.problems.append(Problem(self.name, line, column, _dotted(place), found, allowed, hint))


# More than any definition holds; a few aliases of aliases could make billions.
_MOST_ENTRIES = 100_000


def read_yaml(path: Path, name: str, may_be_empty: bool = False) -> Source:
    """Read a YAML 1.2 file whose top level is a mapping.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        What to call it in messages.
    may_be_empty : bool
        Whether a file without any field (comments alone) is all right.

    Returns
    -------
    Source
        Everything wrong is in its ``problems``: missing file, encoding, syntax, tabs,
        an empty file, repeated names. Its content is None when nothing could be read.
    """
    source = Source(name)
    text = _text(path, source)
    if text is None:
        return source
    root = _composed(text, source)
    if source.problems:
        return source
    if root is None or (isinstance(root, ScalarNode) and not root.value):
        if may_be_empty:
            source.content = {}
        else:
            hint = "begin with 'title: ' and the name of the trial"
            source.problems.append(Problem(name, 1, 1, "", "an empty file", "", hint))
    elif not isinstance(root, MappingNode):
        first = "covers" if may_be_empty else "title"
        source.add(root, (), "no 'name: value' line", f"lines such as '{first}: ...'")
    else:
        source.content = _Walk(source).plain(root, ())
    return source


_PLACED = ("diary.yaml", "trial.yaml")


def placed(folder: Path, problems: Sequence[Problem]) -> list[Problem]:
    """Give problems that were found after the reading the place of the entry they tell of.

    Parameters
    ----------
    folder : Path
        The study folder.
    problems : sequence of Problem
        Those of ``diary.yaml`` and ``trial.yaml`` that name a field (``exclusions.3``) and no
        line are placed; the others stay as they are.

    Returns
    -------
    list of Problem
        In the same order, with line and column of the field, or of the nearest entry around it.
    """
    wanting = {p.path for p in problems if p.path in _PLACED and p.field and not p.line}
    if not wanting:
        return list(problems)
    sources = {name: read_yaml(folder / name, name, may_be_empty=True) for name in wanting}
    stands = {
        name: {_dotted(place): at for place, at in source.values.items()}
        for name, source in sources.items()
    }
    found = []
    for problem in problems:
        if problem.path in wanting and problem.field and not problem.line:
            line, column = _nearest(stands[problem.path], problem.field)
            problem = replace(problem, line=line, column=column)
        found.append(problem)
    return found


def _nearest(stands: dict[str, tuple[int, int]], field: str) -> tuple[int, int]:
    """Find where a field stands, or the nearest entry around it; nowhere in a file unread."""
    while field not in stands and field:
        field = field.rpartition(".")[0]
    return stands.get(field, (0, 0))


def _text(path: Path, source: Source) -> str | None:
    name = source.name
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        hint = "there is no such file; is the folder right?"
        source.problems.append(Problem(name, hint=hint))
        return None
    except OSError as error:
        source.problems.append(Problem(name, hint=f"the file cannot be read: {error.strerror}"))
        return None
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        column = error.start - content.rfind(b"\n", 0, error.start)
        hint = "save the file with the encoding UTF-8"
        found = "a character that is not in UTF-8"
        source.problems.append(Problem(name, line, column, "", found, "", hint))
        return None


@lru_cache(maxsize=16)
def _root(text: str) -> Node | None:
    """Compose the nodes of a text; one command reads the same file several times."""
    yaml = YAML(typ="safe", pure=True)
    # A name given twice to nodes is sound YAML (the later one counts).
    yaml.composer.warn_double_anchors = False
    return yaml.compose(text)


def _composed(text: str, source: Source) -> Node | None:
    name = source.name
    try:
        return _root(text)
    except MarkedYAMLError as error:
        source.problems.append(_syntax_problem(error, text, name))
    except ReaderError as error:
        before = text[: error.position]
        line, column = before.count("\n") + 1, error.position - before.rfind("\n")
        found = f"a control character (U+{ord(text[error.position]):04X})"
        hint = "delete it; it may have come with copied text"
        source.problems.append(Problem(name, line, column, "", found, "", hint))
    except RecursionError:
        hint = "close the brackets, or nest less deeply"
        source.problems.append(Problem(name, 1, 1, "", "too many levels", "", hint))
    except (YAMLError, ValueError, LookupError, AttributeError, AssertionError) as error:
        # Odd directives and tags make the parser fail in ways of its own.
        said = (str(error).splitlines() or [type(error).__name__])[0]
        found = f"what cannot be read as YAML ({said})"
        hint = "check brackets, quotes and indentation"
        source.problems.append(Problem(name, 1, 1, "", found, "", hint))
    return None


class _Walk:
    """Turns nodes into plain values, and notes where each one stands."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.around: set[int] = set()
        self.entries = 0

    def plain(self, node: Node, place: Place) -> Any:
        """Make the plain value of a node."""
        self.source.values[place] = _position(node)
        if isinstance(node, ScalarNode):
            return _scalar(node)
        self.entries += len(node.value)
        if id(node) in self.around or self.entries > _MOST_ENTRIES:
            hint = "write the lines out instead of referring to others by & and *"
            self.source.add(node, place, "a part that holds itself", "", hint)
            return None
        self.around.add(id(node))
        if isinstance(node, MappingNode):
            made: Any = self._mapping(node, place)
        else:
            made = [self.plain(child, (*place, i)) for i, child in enumerate(node.value)]
        self.around.remove(id(node))
        return made

    def _mapping(self, node: MappingNode, place: Place) -> dict[str, Any]:
        made: dict[str, Any] = {}
        for key_node, value_node in node.value:
            if not isinstance(key_node, ScalarNode):
                hint = "check the brackets; a value with brackets may need quotes"
                self.source.add(key_node, place, "brackets where a name should be", "", hint)
                continue
            key = str(key_node.value)
            if key in made:
                first, _ = self.source.keys[(*place, key)]
                hint = f"keep one of the two; the first is in line {first}"
                self.source.add(key_node, (*place, key), "the name a second time", "", hint)
                continue
            self.source.keys[(*place, key)] = _position(key_node)
            made[key] = self.plain(value_node, (*place, key))
            if value_node.start_mark.index == value_node.end_mark.index:
                # The parser puts an empty value on the next line with text.
                self.source.values[(*place, key)] = _position(key_node)
        return made


def _scalar(node: ScalarNode) -> Any:
    kind = str(node.tag).rsplit(":", 1)[-1]
    text: str = node.value
    if kind == "null":
        return None
    if kind == "bool" and text.lower() in ("true", "false"):
        return text.lower() == "true"
    # A number with leading zeros stays text: it is a name, such as that of a plot.
    if kind == "int" and re.fullmatch("[-+]?(0|[1-9][0-9]{0,30})", text):
        return int(text)
    if kind == "float":
        try:
            return float(text.lower().replace(".inf", "inf").replace(".nan", "nan"))
        except ValueError:
            return text
    return text


def _position(node: Node) -> tuple[int, int]:
    return node.start_mark.line + 1, node.start_mark.column + 1


def _dotted(place: Place) -> str:
    """Write a path as a person counts: list entries from 1."""
    return ".".join(
        str(part + 1) if isinstance(part, int) else " ".join(part.split()) for part in place
    )


# What the parser says, and what a person can do with: found, allowed, hint, and whether
# the fault lies where the parser began to read rather than where it gave up.
_SYNTAX = (
    ("but found '<stream end>'", "a bracket that is not closed", "", "close it", True),
    (
        "expected '<document start>'",
        "a line that begins further left than the first one",
        "",
        "begin every section at the left margin",
        False,
    ),
    (
        "mapping values are not allowed",
        "a second ':'",
        "one 'name: value' a line",
        "put text that holds ': ' in quotes, and check the indentation",
        False,
    ),
    (
        "could not find expected ':'",
        "a line without ': '",
        "'name: value'",
        "put a text on one line, or indent the lines that go on with it",
        True,
    ),
    (
        "expected ',' or",
        "a bracket that is not closed, or a comma left out",
        "",
        "check the brackets that are opened here",
        True,
    ),
    ("unexpected end of stream", "a quote that is not closed", "", "close it", True),
    (
        "but found '<scalar>'",
        "text after a closing quote",
        "",
        "write a quote within single quotes twice: 'the club''s ground'",
        False,
    ),
    (
        "expected <block end>",
        "a line indented otherwise than its neighbours",
        "",
        "let lines that belong together begin in the same column",
        False,
    ),
    (
        "sequence entries are not allowed",
        "'- ' after other text",
        "",
        "begin each entry of a list on a line of its own",
        False,
    ),
    (
        "cannot start any token",
        "a value that begins with a special character",
        "",
        "put it in quotes",
        False,
    ),
    ("undefined alias", "a value that begins with *", "", "put it in quotes", False),
    ("unknown escape", "a backslash within double quotes", "", "use single quotes", False),
    (
        "found another document",
        "a second document after '---'",
        "",
        "remove that line and what follows it",
        False,
    ),
)


# Said of the first ':' in its line.
_RUNS_ON = (
    "a ':' in a line that goes on with the one before",
    "'name: value' in lines that begin in the same column",
    "look in the line before for a ':' that is lacking, and for a space after each '-' and ':'",
)

# Said of a ':' within the brackets that a line opens.
_BETWEEN_COMMAS = (
    "a second ':' before the next comma",
    "one 'name: value' between commas",
    "add the comma that is lacking, or put text that holds ': ' in quotes",
)


def _syntax_problem(error: MarkedYAMLError, text: str, name: str) -> Problem:
    mark = error.problem_mark or error.context_mark
    said = str(error.problem)
    # Only the line at fault: a tab further up may stand in a text where it does no harm.
    content = text.splitlines()[mark.line] if mark and mark.line < len(text.splitlines()) else ""
    indent = content[: len(content) - len(content.lstrip(" \t"))]
    if mark and "\t" in indent:
        hint = "indent with two spaces a level"
        return Problem(name, mark.line + 1, indent.index("\t") + 1, "", "a tab", "spaces", hint)
    if mark and "character '\\t'" in said:
        hint = "replace it by a space"
        return Problem(name, mark.line + 1, mark.column + 1, "", "a tab", "spaces", hint)
    found, allowed = f"what cannot be read as YAML ({' '.join(said.split())})", ""
    hint = "check brackets, quotes and indentation here and in the line before"
    for words, *known, at_context in _SYNTAX:
        if words in said:
            found, allowed, hint = known
            mark = error.context_mark or mark if at_context else mark
            if found == "a second ':'" and mark and ":" not in content[: mark.column]:
                found, allowed, hint = _RUNS_ON
            # Where a bracket was left open, the ':' stands in a line further down.
            at = error.problem_mark
            if "but got ':'" in said and at and mark and at.line == mark.line:
                (found, allowed, hint), mark = _BETWEEN_COMMAS, at
            break
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    return Problem(name, line, column, "", found, allowed, hint)
