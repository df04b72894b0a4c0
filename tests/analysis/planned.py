"""Definitions to plan by: the sound one with parts changed, and one of plain blocks."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from wintersward.trial import Definition, read_definition

SOUND = (Path(__file__).parents[1] / "trial" / "sound.yaml").read_text(encoding="utf-8")
SPLIT = """\
  kind: split plot
  whole_plot: cover
  subplot: aeration
  blocks: 6
  blocks_follow: shade of the stand
"""
BLOCKS = "  kind: randomised blocks\n  blocks: 4\n"
_AERATION = SOUND[SOUND.index("  aeration:\n    applied") : SOUND.index("layout:")]


def planned(folder: Path, *changes: tuple[str, str], text: str = SOUND) -> Definition:
    """Read the sound definition with parts replaced; each stands there once."""
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "trial.yaml").write_text(text, encoding="utf-8")
    made, problems = read_definition(folder)
    assert made is not None, problems
    return made


def one_factor(folder: Path, *changes: tuple[str, str], layout: str = BLOCKS) -> Definition:
    """Read the sound definition with covers alone, in a layout of its own."""
    text = SOUND.replace(_AERATION, "").replace(SPLIT, layout)
    return planned(folder, *changes, text=text)


def shown_only(definition: Definition) -> Definition:
    """Make a demonstration of a definition: one area of each combination."""
    changed: dict[str, Any] = {
        "kind": "demonstration",
        "blocks": 0,
        "whole_plot": None,
        "subplot": None,
    }
    layout = definition.layout.model_copy(update=changed)
    return definition.model_copy(update={"layout": layout})
