"""What a person reads when a layout lacks something or has too much: whole messages."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Change = Callable[..., list[str]]

KIND = "kind: split plot\n  whole_plot: cover\n  subplot: aeration\n  blocks: 6"
AERATION = (
    "  aeration:\n    applied: aeration\n    control: solid\n    levels:\n"
    "      solid: {label: Solid tine 3/8 in, tine: {kind: solid, outside: 0.375 in, "
    "spacing: [2 in, 2 in], depth: 4 in}}\n"
    "      hollow: {label: Hollow tine 3/4 in, tine: {kind: hollow, outside: 0.75 in, "
    "inside: 0.6 in, spacing: [2 in, 2 in], depth: 4 in}}\n"
)
FOLLOW = "  blocks_follow: shade of the stand\n"
STRIPS = "kind: strip plot\n  row_strips: cover\n  column_strips: aeration\n  blocks: 6"

# One change of the sound split plot each.
SPLIT = {
    "split plot without subplot": (
        ("  subplot: aeration\n", ""),
        [
            "trial.yaml:39:9: layout.kind: found a split plot without subplot; add 'subplot: "
            "...' with one of cover, aeration"
        ],
    ),
    "subplot that is no factor": (
        ("subplot: aeration", "subplot: tines"),
        [
            "trial.yaml:41:12: layout.subplot: found 'tines'; allowed: cover, aeration",
        ],
    ),
    "whole plot as subplot": (
        ("whole_plot: cover", "whole_plot: aeration"),
        [
            "trial.yaml:41:12: layout.subplot: found 'aeration'; allowed: another factor than "
            "whole_plot"
        ],
    ),
    "randomised blocks with a subplot": (
        ("kind: split plot\n  whole_plot: cover", "kind: randomised blocks"),
        [
            "trial.yaml:40:12: layout.subplot: found 'aeration'; allowed: nothing in randomised "
            "blocks; remove the line, or set kind to split plot",
        ],
    ),
}


@pytest.mark.parametrize("name", SPLIT)
def test_a_split_plot_is_told(change: Change, name: str) -> None:
    changed, said = SPLIT[name]
    assert change(changed) == said


SOUND = {
    "strip plot": [(KIND, STRIPS)],
    "completely random": [
        (AERATION, ""),
        (KIND, "kind: completely random\n  replicates: 5\n  plots_in_a_row: 4"),
        (FOLLOW, ""),
    ],
    "completely random, two factors": [
        ("    applied: aeration\n", ""),
        (KIND, "kind: completely random\n  replicates: 5"),
        (FOLLOW, ""),
    ],
    "latin square": [(AERATION, ""), (KIND, "kind: latin square"), (FOLLOW, "")],
    "randomised blocks": [(AERATION, ""), (KIND, "kind: randomised blocks\n  blocks: 6")],
    "demonstration": [
        ("    applied: aeration\n", ""),
        (KIND, "kind: demonstration\n  plots_in_a_row: 3"),
        (FOLLOW, ""),
    ],
}


@pytest.mark.parametrize("name", SOUND)
def test_every_kind_can_be_sound(change: Change, name: str) -> None:
    assert change(*SOUND[name]) == []


# Kind and further changes, and what is told.
WRONG = {
    "randomised blocks without blocks": (
        "kind: randomised blocks",
        [(AERATION, "")],
        [
            "trial.yaml:33:9: layout.kind: found randomised blocks without blocks; add "
            "'blocks: ...' with a whole number from 2"
        ],
    ),
    "completely random with blocks": (
        "kind: completely random\n  blocks: 6",
        [(AERATION, ""), (FOLLOW, "")],
        [
            "trial.yaml:33:9: layout.kind: found a completely random layout without replicates; "
            "add 'replicates: ...' with a whole number from 2",
            "trial.yaml:34:11: layout.blocks: found '6'; allowed: nothing in a completely random "
            "layout; remove the line; 'replicates: ...' says how many plots each treatment has",
        ],
    ),
    "completely random with what blocks follow": (
        "kind: completely random\n  replicates: 4",
        [(AERATION, "")],
        [
            "trial.yaml:35:18: layout.blocks_follow: found 'shade of the stand'; allowed: nothing "
            "in a completely random layout; remove the line"
        ],
    ),
    "one replicate": (
        "kind: completely random\n  replicates: 1",
        [(AERATION, ""), (FOLLOW, "")],
        [
            "trial.yaml:34:15: layout.replicates: found '1'; allowed: 2 or more; with one plot of "
            "each, a treatment cannot be told from its place; take at least 2, better 6, or "
            "'kind: demonstration' if there is ground for one plot of each only"
        ],
    ),
    "replicates in blocks": (
        "kind: randomised blocks\n  blocks: 6\n  replicates: 2",
        [(AERATION, "")],
        [
            "trial.yaml:35:15: layout.replicates: found '2'; allowed: nothing in randomised "
            "blocks; remove the line"
        ],
    ),
    "Latin square with blocks and replicates": (
        "kind: latin square\n  blocks: 3\n  replicates: 3",
        [(AERATION, ""), (FOLLOW, "")],
        [
            "trial.yaml:34:11: layout.blocks: found '3'; allowed: nothing in a Latin square; "
            "remove the line; a Latin square has as many rows and columns as treatments",
            "trial.yaml:35:15: layout.replicates: found '3'; allowed: nothing in a Latin square; "
            "remove the line; a Latin square has as many plots of each treatment as treatments",
        ],
    ),
    "Latin square of two factors": (
        "kind: latin square",
        [("    applied: aeration\n", ""), (FOLLOW, "")],
        [
            "trial.yaml:38:9: layout.kind: found 2 treatment factors; allowed: one in a Latin "
            "square; choose another kind for two factors"
        ],
    ),
    "Latin square of two treatments": (
        "kind: latin square",
        [
            (AERATION, ""),
            (FOLLOW, ""),
            ("      woven: {label: Woven permeable cover, mass: 3.5 oz/yd2, light: 60 %}\n", ""),
        ],
        [
            "trial.yaml:32:9: layout.kind: found a Latin square for 2 levels of cover; allowed: "
            "3 to 8; randomised blocks take any number"
        ],
    ),
    "strip plot with the words of a split plot": (
        "kind: strip plot\n  whole_plot: cover\n  column_strips: aeration\n  blocks: 6",
        [],
        [
            "trial.yaml:39:9: layout.kind: found a strip plot without row_strips; add "
            "'row_strips: ...' with one of cover, aeration",
            "trial.yaml:40:15: layout.whole_plot: found 'cover'; allowed: nothing in a strip plot; "
            "remove the line, or set kind to split plot",
        ],
    ),
    "split plot with a strip": (
        "kind: split plot\n  whole_plot: cover\n  subplot: aeration\n  row_strips: cover\n  "
        "blocks: 6",
        [],
        [
            "trial.yaml:42:15: layout.row_strips: found 'cover'; allowed: nothing in a split plot; "
            "remove the line, or set kind to strip plot"
        ],
    ),
    "strips of one factor twice": (
        "kind: strip plot\n  row_strips: cover\n  column_strips: cover\n  blocks: 6",
        [],
        [
            "trial.yaml:41:18: layout.column_strips: found 'cover'; allowed: another factor than "
            "row_strips"
        ],
    ),
    "strips of what is no factor": (
        "kind: strip plot\n  row_strips: covr\n  column_strips: aeration\n  blocks: 6",
        [],
        [
            "trial.yaml:40:15: layout.row_strips: found 'covr'; allowed: cover, aeration; did you "
            "mean cover?"
        ],
    ),
    "strip plot of one factor": (
        "kind: strip plot\n  row_strips: cover\n  column_strips: aeration\n  blocks: 6",
        [(AERATION, "")],
        [
            "trial.yaml:33:9: layout.kind: found one treatment factor; allowed: two; a strip plot "
            "has one factor for row strips and one for column strips",
            "trial.yaml:35:18: layout.column_strips: found 'aeration'; allowed: cover",
        ],
    ),
    "both strips applied later": (
        "kind: strip plot\n  row_strips: cover\n  column_strips: aeration\n  blocks: 6",
        [("  cover:\n    control", "  cover:\n    applied: 2026-03-10\n    control")],
        [
            "trial.yaml:34:14: treatments.aeration.applied: found 'aeration'; allowed: nothing "
            "here; one of the two factors begins when the covers go on"
        ],
    ),
    "a factor of randomised blocks applied later": (
        "kind: randomised blocks\n  blocks: 6",
        [],
        [
            "trial.yaml:33:14: treatments.aeration.applied: found 'aeration'; allowed: nothing "
            "here; only a subplot factor may begin later than the covers"
        ],
    ),
    "demonstration with blocks and roles": (
        "kind: demonstration\n  whole_plot: cover\n  blocks: 6\n  replicates: 2",
        [("    applied: aeration\n", ""), (FOLLOW, "")],
        [
            "trial.yaml:39:15: layout.whole_plot: found 'cover'; allowed: nothing in a "
            "demonstration; remove the line, or set kind to split plot",
            "trial.yaml:40:11: layout.blocks: found '6'; allowed: nothing in a demonstration; "
            "remove the line; choose randomised blocks if treatments are to be compared",
            "trial.yaml:41:15: layout.replicates: found '2'; allowed: nothing in a demonstration; "
            "remove the line; choose completely random if treatments are to be compared",
        ],
    ),
    "demonstration with a factor applied later": (
        "kind: demonstration",
        [(FOLLOW, "")],
        [
            "trial.yaml:33:14: treatments.aeration.applied: found 'aeration'; allowed: nothing "
            "here; delete the line 'applied: aeration' under aeration: a demonstration only shows, "
            "and the day belongs in the label or the diary"
        ],
    ),
    "grounds and places without blocks": (
        "kind: latin square\n  grounds: {upper: Upper field, lower: Lower field}\n"
        "  block_places: [[0 ft, 0 ft], [0 ft, 40 ft]]",
        [(AERATION, ""), (FOLLOW, "")],
        [
            "trial.yaml:34:12: layout.grounds: found 2 entries; allowed: nothing in a Latin "
            "square; remove the line",
            "trial.yaml:35:17: layout.block_places: found 2 entries; allowed: nothing in a Latin "
            "square; remove the line",
        ],
    ),
    "plots in a row of blocks": (
        "kind: randomised blocks\n  blocks: 6\n  plots_in_a_row: 3",
        [(AERATION, "")],
        [
            "trial.yaml:35:19: layout.plots_in_a_row: found '3'; allowed: nothing in randomised "
            "blocks; remove the line"
        ],
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_a_kind_does_not_bear_is_told(change: Change, name: str) -> None:
    kind, more, said = WRONG[name]
    assert change((KIND, kind), *more) == said
