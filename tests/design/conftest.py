from copy import deepcopy

import pytest
from ruamel.yaml import YAML

from wintersward.trial import Definition

TRIAL = """
title: Covers and tines on an invented ground
question: Do covers bring more green cover?
units: us
people:
  - {name: R. Example, role: groundskeeper, initials: rx}
site: {name: Invented ground, country: US, turf: {species: [Poa pratensis]}}
dates: {covers_on: 2026-01-19, covers_off: 2026-03-09, visits: [2026-03-10, 2026-03-24]}
treatments:
  cover:
    control: open
    levels:
      open: {label: No cover}
      fleece: {label: Spun-bond fleece}
      woven: {label: Woven permeable cover}
  aeration:
    control: solid
    levels:
      solid: {label: Solid tine}
      hollow: {label: Hollow tine}
layout:
  kind: split plot
  whole_plot: cover
  subplot: aeration
  blocks: 2
  plot_size: [10 ft, 6 ft]
  alley: 2 ft
  edge_left_out: 1 ft
  seed: 7
measures:
  green_cover: {from: photos, dates: [visits]}
analysis:
  primary: {measure: green_cover, on: 2026-03-24, compare: [fleece, open], matters_from: 8 points}
"""


def _factor(levels):
    return {"control": levels[0], "levels": {level: {"label": f"The {level}"} for level in levels}}


@pytest.fixture(scope="session")
def make():
    """Build a definition; a layout value of None removes the line."""
    written = YAML(typ="safe").load(TRIAL)

    def build(factors=None, **changes):
        trial = deepcopy(written)
        if factors is not None:
            trial["treatments"] = {name: _factor(levels) for name, levels in factors.items()}
        trial["units"] = changes.pop("units", trial["units"])
        trial["measures"] |= changes.pop("measures", {})
        trial["layout"].update(changes)
        trial["layout"] = {k: v for k, v in trial["layout"].items() if v is not None}
        return Definition.model_validate(trial)

    return build


@pytest.fixture(scope="session")
def make_blocks(make):
    """Build a definition in randomised blocks, of one factor unless told."""

    def build(factors=None, **changes):
        kind = {"kind": "randomised blocks", "whole_plot": None, "subplot": None}
        return make(factors or {"cover": ["open", "fleece", "woven"]}, **kind | changes)

    return build


_BARE = {"whole_plot": None, "subplot": None, "blocks": None}
_KINDS = {
    "completely random": {"replicates": 3},
    "randomised blocks": {"blocks": 2},
    "latin square": {},
    "demonstration": {},
    "split plot": {"whole_plot": "cover", "subplot": "aeration", "blocks": 2},
    "strip plot": {"row_strips": "cover", "column_strips": "aeration", "blocks": 2},
}


@pytest.fixture(scope="session")
def make_kind(make):
    """Build a definition of any kind; a Latin square has one factor unless told."""

    def build(kind, factors=None, **changes):
        if kind == "latin square" and factors is None:
            factors = {"cover": ["open", "fleece", "woven", "foam"]}
        return make(factors, **{"kind": kind, **_BARE, **_KINDS[kind], **changes})

    return build
