"""Whether a layout has what its kind needs, nothing else, and the treatments for it."""

from __future__ import annotations

from collections.abc import Callable

from wintersward.errors import closest, listed
from wintersward.trial.placing_checks import PLACING_CHECKS
from wintersward.trial.question_checks import Found
from wintersward.trial.schema import Factor, Layout

__all__ = ["LAYOUT_CHECKS", "LATIN_SQUARE"]

# Treatments that a Latin square may have. Two leave nothing to judge by; beyond eight the square
# is larger than anyone lays out, and blocks serve better (common practice, no source).
LATIN_SQUARE = (3, 8)

# Each kind in a sentence, the counts that it needs, the factors that it names, and what it may say.
_SAID = {
    "completely random": "a completely random layout",
    "randomised blocks": "randomised blocks",
    "latin square": "a Latin square",
    "split plot": "a split plot",
    "strip plot": "a strip plot",
    "demonstration": "a demonstration",
}
_COUNTS = {
    "completely random": ("replicates",),
    "randomised blocks": ("blocks",),
    "latin square": (),
    "split plot": ("blocks",),
    "strip plot": ("blocks",),
    "demonstration": (),
}
_ROLES = {
    "split plot": ("whole_plot", "subplot"),
    "strip plot": ("row_strips", "column_strips"),
}
_BLOCKED = ("blocks_side_by_side", "blocks_follow", "block_places", "grounds")
_IN_ROWS = ("completely random", "demonstration")
# What to do about a line that does not belong, where removing it is not all.
_INSTEAD = {
    ("completely random", "blocks"): (
        "remove the line; 'replicates: ...' says how many plots each treatment has"
    ),
    ("latin square", "blocks"): (
        "remove the line; a Latin square has as many rows and columns as treatments"
    ),
    ("latin square", "replicates"): (
        "remove the line; a Latin square has as many plots of each treatment as treatments"
    ),
    ("demonstration", "blocks"): (
        "remove the line; choose randomised blocks if treatments are to be compared"
    ),
    ("demonstration", "replicates"): (
        "remove the line; choose completely random if treatments are to be compared"
    ),
}


def _fields(layout: Layout) -> Found:
    """Compare the lines that stand there with those that the kind needs and allows."""
    kind, counts = layout.kind, _COUNTS[layout.kind]
    roles = _ROLES.get(kind, ())
    allowed = {*counts, *roles}
    allowed |= set(_BLOCKED) if "blocks" in counts else set()
    allowed |= {"plots_in_a_row"} if kind in _IN_ROWS else set()
    optional = ("blocks", "replicates", "plots_in_a_row", *_BLOCKED)
    every = (*(role for names in _ROLES.values() for role in names), *optional)
    for field in every:
        if field in allowed or field not in layout.model_fields_set or not getattr(layout, field):
            continue
        owner = next((k for k, names in _ROLES.items() if field in names), "")
        hint = f"remove the line, or set kind to {owner}" if owner else "remove the line"
        hint = _INSTEAD.get((kind, field), hint)
        held = getattr(layout, field)
        found = f"{len(held)} entries" if isinstance(held, (dict, list)) else f"'{held}'"
        yield ("layout", field), found, f"nothing in {_SAID[kind]}", hint
    for field in counts:
        if not getattr(layout, field):
            hint = f"add '{field}: ...' with a whole number from 2"
            yield ("layout", "kind"), f"{_SAID[kind]} without {field}", "", hint


def _factors(layout: Layout, treatments: dict[str, Factor]) -> Found:
    if layout.kind == "latin square":
        yield from _square(treatments)
    if layout.kind not in _ROLES:
        return
    roles, said = _ROLES[layout.kind], _SAID[layout.kind]
    named = {role: getattr(layout, role) for role in roles}
    if len(treatments) != 2:
        found = "one treatment factor" if len(treatments) == 1 else f"{len(treatments)} factors"
        one, other = (role.replace("_", " ").removesuffix("s") + "s" for role in roles)
        hint = f"{said} has one factor for {one} and one for {other}"
        yield ("layout", "kind"), found, "two", hint
    for role, factor in named.items():
        if factor is None:
            hint = f"add '{role}: ...' with one of {listed(treatments)}"
            yield ("layout", "kind"), f"{said} without {role}", "", hint
        elif factor not in treatments:
            near = closest(factor, treatments)
            yield ("layout", role), f"'{factor}'", listed(treatments), near
    first, second = named.values()
    if first is not None and first == second:
        yield ("layout", roles[1]), f"'{second}'", f"another factor than {roles[0]}", ""


def _square(treatments: dict[str, Factor]) -> Found:
    if len(treatments) > 1:
        found, hint = f"{len(treatments)} treatment factors", "choose another kind for two factors"
        yield ("layout", "kind"), found, "one in a Latin square", hint
        return
    ((name, factor),) = treatments.items()
    low, high = LATIN_SQUARE
    if not low <= len(factor.levels) <= high:
        found = f"a Latin square for {len(factor.levels)} levels of {name}"
        yield ("layout", "kind"), found, f"{low} to {high}", "randomised blocks take any number"


def _applied(layout: Layout, treatments: dict[str, Factor]) -> Found:
    """Only what divides the units of another factor may be applied after the covers went on."""
    later = [name for name, factor in treatments.items() if factor.applied is not None]
    hint = "only a subplot factor may begin later than the covers"
    if layout.kind == "split plot" and layout.subplot not in treatments:
        return  # told by the layout itself
    if layout.kind == "strip plot":
        hint, later = "one of the two factors begins when the covers go on", later[1:]
    else:
        later = [name for name in later if name != layout.subplot]
    for name in later:
        found = f"'{treatments[name].applied}'"
        if layout.kind == "demonstration":
            hint = (
                f"delete the line 'applied: {treatments[name].applied}' under {name}: a "
                "demonstration only shows, and the day belongs in the label or the diary"
            )
        yield ("treatments", name, "applied"), found, "nothing here", hint


LAYOUT_CHECKS: list[tuple[Callable[..., Found], tuple[str, ...]]] = [
    (_fields, ("layout",)),
    (_factors, ("layout", "treatments")),
    (_applied, ("layout", "treatments")),
    *PLACING_CHECKS,
]
