"""Check the content of a file by a model, and tell what is wrong in plain words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

from pydantic import BaseModel, TypeAdapter, ValidationError

from wintersward.errors import Problem, closest, listed
from wintersward.trial.reading import Place, Source

__all__ = ["validated"]


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
        The fields that hold, checked; wrong ones are absent. A field that the file leaves
        out or leaves empty has its default.
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
        if content.get(key) is None and not info.is_required():
            made.setdefault(key, info.get_default(call_default_factory=True))
            continue
        if key not in content:
            if key not in made:
                problems.append(_missing(source, (key,), info.description or "..."))
            continue
        try:
            adapter: TypeAdapter[Any] = TypeAdapter(info.rebuild_annotation())
            # What a measure's kind leaves to the reader's units is told by another field.
            made[key] = adapter.validate_python(content[key], context=content)
        except ValidationError as error:
            told = [_reworded(source, key, e) for e in error.errors(include_url=False)]
            problems += [_at_home(source, problem, fields) for problem in told]
    return made, problems


_UNKNOWN = ", which is not known here"


def _unknown(source: Source, place: Place, allowed: Iterable[str]) -> Problem:
    known = list(allowed)
    near = closest(str(place[-1]), known)
    found = f"{_shown(place[-1])}{_UNKNOWN}"
    return source.problem(place, found, listed(known), near or "remove it", at_key=True)


def _at_home(source: Source, problem: Problem, fields: Iterable[str]) -> Problem:
    """Tell of a name that is known at the left margin and was indented by mistake."""
    name = problem.field.rpartition(".")[2]
    if not problem.found.endswith(_UNKNOWN) or name not in fields or name in source.content:
        return problem
    return replace(problem, hint=f"begin the line with '{name}' at the left margin")


def _reworded(source: Source, key: str, error: Any) -> Problem:
    of_field = error["type"] in ("missing", "unknown_field")
    place: Place = (key, *_without_tags(source, key, error["loc"], of_field))
    found = _shown(error["input"])
    context = error.get("ctx", {})
    at_key = bool(error["loc"]) and error["loc"][-1] == "[key]"
    reword: Callable[[], Problem] | None = {
        "missing": lambda: _missing(source, place, _ABOUT.get(place, "...")),
        "unknown_field": lambda: _unknown(source, place, context["known"].split(", ")),
        "wrong_field": lambda: _wrong_field(source, place, context),
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
        return source.problem(place, found, allowed, hint, at_key=at_key)
    if error["type"] in ("too_short", "too_long"):
        count = len(error["input"])
        found = "1 entry" if count == 1 else f"{count} entries" if count else "no entry"
    rule = _RULES.get(error["type"])
    if error["type"] == "list_type" and place[1:] == () and isinstance(error["input"], (dict, str)):
        hint = "begin each entry on a line below, with '- ' in front"
        return source.problem(place, found, "a list", hint)
    if rule is None:
        return source.problem(place, found, error["msg"])
    shown = {name: f"{v:g}" if isinstance(v, float) else v for name, v in context.items()}
    hint = _TOO_FEW.get(place, "") if error["type"] == "greater_than_equal" else ""
    return source.problem(place, found, rule.format(**shown), hint, at_key=at_key)


# What belongs in a field whose name alone does not tell it.
_ABOUT: dict[Place, str] = {
    ("analysis", "primary"): (
        "the one question that the trial is judged by: measure, on, compare and matters_from"
    ),
    ("weather", "units"): "of what is in the file, such as {temperature: degF, rain: in}",
}
# Why a count is too small, and what to do instead (6: common practice, no source).
_TOO_FEW: dict[Place, str] = {
    ("layout", "blocks"): (
        "in a single block, with one plot or whole plot of each, a treatment cannot be told from "
        "its place; take at least 2, better 6, "
        "or 'kind: demonstration' if there is ground for one plot of each only"
    ),
    ("layout", "replicates"): (
        "with one plot of each, a treatment cannot be told from its place; take at least 2, better "
        "6, or 'kind: demonstration' if there is ground for one plot of each only"
    ),
}
_RULES = {
    "int_parsing": "a whole number",
    "int_parsing_size": "a whole number of ordinary size",
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
    "string_too_long": "at most {max_length} letters",
    "list_type": "a list, such as [a, b]",
    "tuple_type": "a list, such as [a, b]",
    "dict_type": "several 'name: value' lines, indented below",
    "model_type": "several 'name: value' lines, indented below",
    "too_short": "at least {min_length}",
    "too_long": "at most {max_length}",
}


def _shown(value: object) -> str:
    """Show a value as it stands in the file, on one line and not too long."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return f"'{value}'".lower()
    if isinstance(value, dict):
        return "several fields"
    if isinstance(value, (list, tuple)):
        return "a list"
    text = " ".join(str(value).split())
    return f"'{text}'" if len(text) <= 60 else f"'{text[:57]}...'"


def _missing(source: Source, place: Place, what: str = "...") -> Problem:
    if len(place) > 1 and isinstance(place[-1], int):
        return source.problem(place[:-1], "too few entries", f"at least {place[-1] + 1}")
    name = place[-1] if place else "..."
    about = f" ({what})" if what != "..." else ""
    hint = f"is missing; add '{name}: ...'{about}"
    return source.problem(place, "", "", hint, at_key=True)


def _wrong_field(source: Source, place: Place, context: dict[str, str]) -> Problem:
    field = (context["field"],) if context["field"] else ()
    return source.problem((*place, *field), context["found"], context["allowed"], context["hint"])


def _wrong_tag(source: Source, place: Place, context: dict[str, str]) -> Problem:
    tag, allowed = context["tag"], context["expected_tags"]
    return source.problem(
        (*place, _tag_field(context)), _shown(tag), _options(allowed), _near(tag, allowed)
    )


def _tag_field(context: dict[str, str]) -> str:
    """Name the field that tells the kinds of a part apart, as it is written in the file."""
    return context["discriminator"].rpartition("| ")[2].strip("'")


def _options(expected: str) -> str:
    return expected.replace("'", "").replace(" or ", ", ")


def _near(word: object, expected: str) -> str:
    return closest(str(word), _options(expected).split(", "))


def _without_tags(source: Source, key: str, loc: tuple[Any, ...], of_field: bool) -> Place:
    """Drop the parts of a pydantic location that are union tags, not fields of the file.

    With ``of_field`` the last part names a field even if the file does not hold it.
    """
    place: list[str | int] = []
    here = (source.content or {}).get(key)
    for index, part in enumerate(loc):
        if isinstance(here, dict) and part in here:
            place.append(part)
            here = here[part]
        elif isinstance(here, list) and isinstance(part, int):
            place.append(part)
            here = here[part] if part < len(here) else None
        elif of_field and index == len(loc) - 1:
            place.append(part)
    return tuple(place)
