"""A picture of a study: a figure with its name, alternative text and caption."""

from __future__ import annotations

from dataclasses import dataclass

from matplotlib.figure import Figure

from wintersward.errors import WinterswardError

__all__ = ["Picture"]


@dataclass(frozen=True)
class Picture:
    """A figure with what a page needs beside it.

    Parameters
    ----------
    name : str
        Name of its file, without an ending.
    figure : Figure
        Not shown, not saved.
    alt : str
        Its message with numbers, for those who do not see it.
    caption : str
        What to see in it.
    """

    name: str
    figure: Figure
    alt: str
    caption: str

    def __post_init__(self) -> None:
        if not self.alt.strip():
            raise WinterswardError(f"picture '{self.name}' has no alternative text; write one")
