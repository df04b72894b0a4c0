"""Public names of a package, loaded when they are first asked for."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from typing import Any

__all__ = ["load"]


def load(package: str, homes: Mapping[str, str], name: str) -> Any:
    """Load a public name of a package from the module that holds it.

    Parameters
    ----------
    package : str
        Name of the package.
    homes : mapping of str to str
        From each public name to its module within the package.
    name : str
        What was asked for.

    Raises
    ------
    AttributeError
        For a name that is not public, as Python does it.

    Examples
    --------
    >>> load("wintersward", {"listed": "errors"}, "listed")(["a", "b"])
    'a, b'
    """
    if name not in homes:
        raise AttributeError(f"module {package!r} has no attribute {name!r}")
    return getattr(import_module(f"{package}.{homes[name]}"), name)
