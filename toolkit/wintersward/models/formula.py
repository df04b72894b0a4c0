"""Reading a fixed formula into its terms, before any data is looked at."""

from __future__ import annotations

import re
from dataclasses import dataclass

from formulaic import Formula, SimpleFormula
from formulaic.errors import FormulaicError
from formulaic.parser.types import Term

from wintersward.errors import WinterswardError

__all__ = ["Member", "ParsedTerm", "parse_fixed", "split_random"]

_AS_FACTOR = re.compile(r"C\(\s*`?([^,()`]+?)`?\s*\)")


@dataclass(frozen=True)
class Member:
    """One variable or expression within a term.

    Parameters
    ----------
    expression : str
        As written in the formula.
    columns : tuple of str
        Data columns that it needs.
    bare : bool
        Whether it is a column's name alone, or ``C(column)``.
    as_factor : bool
        Whether it was written ``C(column)``, which makes a number column a factor.
    """

    expression: str
    columns: tuple[str, ...]
    bare: bool
    as_factor: bool = False


@dataclass(frozen=True)
class ParsedTerm:
    """One term of a formula: members that multiply; no members is the intercept."""

    members: tuple[Member, ...]

    @property
    def name(self) -> str:
        """The term as people read it, ``cover:date``."""
        said = (m.columns[0] if m.bare else m.expression for m in self.members)
        return ":".join(said) or "Intercept"


def parse_fixed(fixed: str) -> tuple[ParsedTerm, ...]:
    """Read a right-hand side into terms, lower orders first.

    Parameters
    ----------
    fixed : str
        Right-hand side of a formula, such as ``cover * date + C(year) + np.log(days)``.

    Returns
    -------
    tuple of ParsedTerm
        The intercept, if there is one, has no members.

    Raises
    ------
    WinterswardError
        If the text is no formula, has a left-hand side or has nothing in it.

    Examples
    --------
    >>> [term.name for term in parse_fixed("cover * date")]
    ['Intercept', 'cover', 'date', 'cover:date']
    """
    try:
        formula = Formula(fixed)
    except FormulaicError as error:
        reason = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise WinterswardError(
            f"fixed formula: found '{fixed}'; {reason} Write terms joined by + * : such as"
            " cover * date"
        ) from None
    if not isinstance(formula, SimpleFormula):
        raise WinterswardError(
            f"fixed formula: found '{fixed}'; allowed: the right-hand side alone, without ~ or |;"
            " name the response and the random terms separately"
        )
    terms = tuple(_parsed_term(term) for term in formula)
    if not terms:
        raise WinterswardError(f"fixed formula: found '{fixed}', which has no terms; write 1")
    return terms


def _parsed_term(term: Term) -> ParsedTerm:
    members = []
    for factor in term.factors:
        expression = str(factor.expr)
        if factor.eval_method.value == "literal":
            if expression not in ("1", "1.0"):
                raise WinterswardError(
                    f"fixed formula: found the number {expression} as a term; allowed: 1 or 0"
                )
            continue
        wanted = _AS_FACTOR.fullmatch(expression)
        if factor.eval_method.value == "lookup":
            members.append(Member(expression, (expression,), bare=True))
        elif wanted:
            members.append(Member(expression, (wanted[1],), bare=True, as_factor=True))
        else:
            columns = tuple(sorted(Formula([Term([factor])]).required_variables))
            members.append(Member(expression, columns, bare=False))
    return ParsedTerm(tuple(members))


def split_random(term: str) -> tuple[str, ...]:
    """Split a random term into its columns.

    Raises
    ------
    WinterswardError
        If nothing stands on one side of a colon.

    Examples
    --------
    >>> split_random("block:plot")
    ('block', 'plot')
    """
    columns = tuple(part.strip() for part in term.split(":"))
    if not all(columns):
        raise WinterswardError(
            f"random term: found '{term}'; allowed: columns joined by colons, such as block:plot"
        )
    return columns
