"""Read a YAML file with the line and column of everything in it, and check it by a model."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import BaseModel, TypeAdapter, ValidationError
from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode

from wintersward.errors import Problem, closest, listed

__all__ = ["Place", "Source", "read_yaml", "validated"]

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
        From the path of each entry to the (line, column) of its key and of its value.
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


def read_yaml(path: Path, name: str) -> Source:
    """Read a YAML 1.2 file whose top level is a mapping.

    Parameters
    ----------
    path : Path
        The file.
    name : str
        What to call it in messages.

    Returns
    -------
    Source
        Everything wrong is in its ``problems``: missing file, encoding, syntax, tabs,
        an empty file, repeated keys.
    """
    source = Source(name)
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        source.problems.append(Problem(name, hint="there is no such file; is the folder right?"))
        return source
    except UnicodeDecodeError as error:
        line = path.read_bytes()[: error.start].count(b"\n") + 1
        source.problems.append(
            Problem(name, line, 1, "", "a byte that is not UTF-8", "UTF-8", "save it as UTF-8")
        )
        return source
    try:
        root = YAML(typ="safe", pure=True).compose(text)
    except MarkedYAMLError as error:
        source.problems.append(_syntax_problem(error, text, name))
        return source
    except YAMLError as error:
        source.problems.append(Problem(name, 1, 1, "", str(error).splitlines()[0], "YAML"))
        return source
    if root is None:
        source.problems.append(Problem(name, 1, 1, "", "an empty file", "at least a title"))
        return source
    if not isinstance(root, MappingNode):
        source.problems.append(Problem(name, 1, 1, "", "no fields", "lines such as 'title: ...'"))
        return source
    source.content = _plain(root, (), source)
    return source


def _plain(node: Node, place: Place, source: Source) -> Any:
    source.values[place] = _position(node)
    if isinstance(node, MappingNode):
        made: dict[str, Any] = {}
        for key_node, value_node in node.value:
            key = str(key_node.value)
            if key in made:
                first, _ = source.keys[(*place, key)]
                line, column = _position(key_node)
                hint = f"keep one of the two; the first is in line {first}"
                source.problems.append(
                    Problem(source.name, line, column, _dotted((*place, key)), "it twice", "", hint)
                )
                continue
            source.keys[(*place, key)] = _position(key_node)
            made[key] = _plain(value_node, (*place, key), source)
        return made
    if isinstance(node, ScalarNode):
        return _scalar(node)
    return [_plain(child, (*place, i), source) for i, child in enumerate(node.value)]


def _scalar(node: ScalarNode) -> Any:
    kind = node.tag.rsplit(":", 1)[-1]
    text: str = node.value
    if kind == "null":
        return None
    if kind == "bool":
        return text.lower() == "true"
    if kind == "int" and re.fullmatch(r"[-+]?\d+", text):
        return int(text)
    if kind == "float":
        return float(text.replace(".inf", "inf").replace(".nan", "nan"))
    return text


def _position(node: Node) -> tuple[int, int]:
    return node.start_mark.line + 1, node.start_mark.column + 1


def _dotted(place: Place) -> str:
    """Write a path as a person counts: list entries from 1."""
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in place)


def _syntax_problem(error: MarkedYAMLError, text: str, name: str) -> Problem:
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    lines = text.splitlines()
    for number, content in enumerate(lines[:line], 1):
        indent = content[: len(content) - len(content.lstrip())]
        if "\t" in indent:
            at = indent.index("\t") + 1
            return Problem(name, number, at, "", "a tab", "spaces", "indent with two spaces")
    said = str(error.problem)
    if "mapping values are not allowed" in said:
        hint = "put text that holds ': ' in quotes, and check the indentation"
        return Problem(name, line, column, "", "a second ':'", "one 'name: value' a line", hint)
    context = f" {error.context}" if error.context else ""
    hint = "check brackets, quotes and indentation here and in the line before"
    return Problem(name, line, column, "", f"{said}{context}", "YAML", hint)


def validated(
    source: Source, model: type[BaseModel], parts: Mapping[str, Any] | None = None
) -> tuple[dict[str, Any], list[Problem]]:
    """Check each top-level field of a file by the model, so that one fault hides no other.

    Parameters
    ----------
    source : Source
        What was read.
    model : type of BaseModel
        Its fields are the allowed top-level keys.
    parts : mapping, optional
        Values that are taken as they are, for fields that the file does not hold.

    Returns
    -------
    parts : dict
        The fields that hold, checked; wrong ones are absent.
    problems : list of Problem
        Everything that is wrong.
    """
    made: dict[str, Any] = dict(parts or {})
    problems: list[Problem] = []
    content = source.content or {}
    fields = {(info.alias or name): info for name, info in model.model_fields.items()}
    for key in content:
        if key not in fields:
            problems.append(_unknown(source, (key,), fields))
    for key, info in fields.items():
        if key not in content:
            if info.is_required() and key not in made:
                found = "nothing"
                hint = f"add a line '{key}: ...'"
                problems.append(source.problem((key,), found, info.description or "", hint))
            elif not info.is_required():
                made.setdefault(key, info.get_default(call_default_factory=True))
            continue
        try:
            adapter: TypeAdapter[Any] = TypeAdapter(info.rebuild_annotation())
            made[key] = adapter.validate_python(content[key])
        except ValidationError as error:
            problems += [_reworded(source, key, e) for e in error.errors(include_url=False)]
    return made, problems


def _unknown(source: Source, place: Place, allowed: Any) -> Problem:
    known = [str(k) for k in allowed]
    near = closest(str(place[-1]), known)
    found = f"'{place[-1]}', which is not known here"
    return source.problem(place, found, listed(known), near or "remove it", at_key=True)


def _reworded(source: Source, key: str, error: Any) -> Problem:
    place: Place = (key, *_without_tags(source, key, error["loc"]))
    found = f"'{error['input']}'" if _is_simple(error["input"]) else "a list or several fields"
    found = "nothing" if error["input"] is None else found
    context = error.get("ctx", {})
    reword: Callable[[], Problem] | None = {
        "missing": lambda: _missing(source, place),
        "unknown_field": lambda: _unknown(source, place, context["known"].split(", ")),
        "union_tag_not_found": lambda: _missing(source, (*place, _tag_field(context))),
        "union_tag_invalid": lambda: _wrong_tag(source, place, context),
        "literal_error": lambda: source.problem(
            place, found, _options(context["expected"]), _near(error["input"], context["expected"])
        ),
    }.get(error["type"])
    if reword:
        return reword()
    if error["type"] == "value_error":
        said = str(context.get("error", error["msg"]))
        allowed, _, hint = said.partition("; ")
        return source.problem(place, found, allowed, hint)
    allowed = _RULES.get(error["type"], error["msg"]).format(**context)
    return source.problem(place, found, allowed)


_RULES = {
    "date_from_datetime_parsing": "a date written year-month-day, such as 2026-03-24",
    "date_parsing": "a date written year-month-day, such as 2026-03-24",
    "date_type": "a date written year-month-day, such as 2026-03-24",
    "int_parsing": "a whole number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "float_parsing": "a number",
    "finite_number": "an ordinary number",
    "greater_than": "more than {gt}",
    "greater_than_equal": "{ge} or more",
    "less_than": "less than {lt}",
    "less_than_equal": "{le} or less",
    "string_type": "text (put it in quotes if it is a number)",
    "string_too_short": "some text",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "list_type": "a list, such as [a, b]",
    "tuple_type": "a list, such as [a, b]",
    "dict_type": "several 'name: value' lines, indented below",
    "model_type": "several 'name: value' lines, indented below",
    "model_attributes_type": "several 'name: value' lines, indented below",
    "too_short": "at least {min_length}",
    "too_long": "at most {max_length}",
}


def _missing(source: Source, place: Place) -> Problem:
    if len(place) > 1 and isinstance(place[-1], int):
        return source.problem(place[:-1], "too few entries", f"at least {place[-1] + 1}")
    return source.problem(place, "nothing", "", f"add '{place[-1]}: ...'", at_key=True)


def _wrong_tag(source: Source, place: Place, context: dict[str, str]) -> Problem:
    tag, allowed = context["tag"], context["expected_tags"]
    return source.problem(
        (*place, _tag_field(context)), f"'{tag}'", _options(allowed), _near(tag, allowed)
    )


def _tag_field(context: dict[str, str]) -> str:
    """Name the field that tells the kinds of a part apart, as it is written in the file."""
    return context["discriminator"].rpartition("| ")[2].strip("'")


def _options(expected: str) -> str:
    return expected.replace("'", "").replace(" or ", ", ")


def _near(word: object, expected: str) -> str:
    return closest(str(word), _options(expected).split(", "))


def _is_simple(value: object) -> bool:
    return not isinstance(value, (dict, list, tuple))


def _without_tags(source: Source, key: str, loc: tuple[Any, ...]) -> Place:
    """Drop the parts of a pydantic location that are union tags, not fields of the file."""
    place: list[str | int] = []
    here = (source.content or {}).get(key)
    for index, part in enumerate(loc):
        if isinstance(here, dict) and part in here:
            place.append(part)
            here = here[part]
        elif isinstance(here, list) and isinstance(part, int):
            place.append(part)
            here = here[part] if part < len(here) else None
        elif index == len(loc) - 1 and isinstance(here, dict) and part != "[key]":
            place.append(part)
    return tuple(place)
