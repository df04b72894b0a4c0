from __future__ import annotations

import numpy as np
import pytest

from wintersward.models import layout
from wintersward.models.blocks import Stacks, stack_blocks
from wintersward.models.curvature import curvature, outward
from wintersward.models.grouping import Grouping
from wintersward.models.layout import lay_out
from wintersward.models.reml import evaluate
from wintersward.models.residual import Residual, Serial


def grouping(name: str, codes: np.ndarray) -> Grouping:
    return Grouping(name, codes.astype(np.intp), int(codes.max()) + 1)


def field(blocks: int, plots: int, dates: int) -> dict[str, Grouping]:
    """Blocks of plots, each seen on every date."""
    rows = np.arange(blocks * plots * dates)
    return {
        "block": grouping("block", rows // (plots * dates)),
        "plot": grouping("plot", rows // dates),
        "date": grouping("date", rows % dates),
    }


def test_small_blocks_are_kept_whole() -> None:
    terms = field(4, 3, 6)
    found = lay_out([terms["block"], terms["plot"]], terms["plot"], 72, 18, 1)
    assert (found.inner, found.wide) == ((0, 1), ())
    assert [len(block) for block in found.blocks] == [18] * 4


def test_large_blocks_are_not() -> None:
    terms = field(4, 100, 6)
    found = lay_out([terms["block"], terms["plot"]], terms["plot"], 2400, 6, 1)
    assert (found.inner, found.wide, found.columns) == ((1,), (0,), (1,))
    assert [len(block) for block in found.blocks] == [6] * 400
    np.testing.assert_array_equal(found.groups, np.repeat(np.arange(4), 100))


def test_a_crossed_term_reaches_across() -> None:
    terms = field(20, 10, 6)
    found = lay_out([terms["date"], terms["plot"]], terms["plot"], 1200, 6, 1)
    assert (found.inner, found.wide, found.columns) == ((1,), (0,), (6,))
    assert set(found.groups.tolist()) == {0}


def test_without_terms_all_rows_are_one_block() -> None:
    found = lay_out([], None, 30, 4, 1)
    assert [len(block) for block in found.blocks] == [30]


def random_model(seed: int, serial: bool) -> tuple[np.ndarray, ...]:
    rng = np.random.default_rng(seed)
    terms = field(3, 4, 5)
    kept = np.sort(rng.permutation(60)[:48])
    some = [
        grouping(g.name, np.unique(g.codes[kept], return_inverse=True)[1]) for g in terms.values()
    ]
    codes = rng.integers(0, 2, 48)
    own = None
    if serial:
        times = terms["date"].codes[kept] * 3.0 + (terms["date"].codes[kept] > 2)
        own = Serial("car1", some[1], times, 3.0, 3.0, 5)
    residual = Residual(("residual[a]", "residual[b]"), codes, own)
    x = np.linalg.qr(np.column_stack([np.ones(48), rng.normal(size=(48, 2))]))[0]
    return x, rng.normal(size=48), some, residual


@pytest.mark.parametrize("serial", [False, True])
@pytest.mark.parametrize("seed", range(4))
def test_every_layout_gives_the_same_criterion(
    seed: int, serial: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    x, y, terms, residual = random_model(seed, serial)
    theta = np.array([0.8, 0.5, 0.3, 1.1, 0.7, *([0.6] if serial else [])])
    found: list[tuple[Stacks, list[np.ndarray]]] = []
    for inside in range(0 if serial else 1, 4):
        monkeypatch.setattr(
            layout, "_work", lambda made, *rest, wanted=inside: abs(len(made.inner) - wanted)
        )
        data = stack_blocks(x, y, terms, residual)
        point = evaluate(data, theta)
        second = curvature(data, point)
        weights = np.eye(len(theta)) + 0.1
        values = [
            np.array([point.deviance]),
            *(point.gradient, point.coefficients, point.phi, point.slopes),
            *(second.expected, second.observed, second.products, second.bends),
            outward(data, point, weights),
        ]
        found.append((data, values))
    assert [len(set(data.wide.tolist())) for data, _ in found] == ([3] if serial else []) + [
        2,
        1,
        0,
    ]
    for _, values in found[:-1]:
        for ours, whole in zip(values, found[-1][1], strict=True):
            np.testing.assert_allclose(ours, whole, rtol=1e-9, atol=1e-11)
