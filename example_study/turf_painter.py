"""Invented photographs of winter sports turf whose true green cover is known.

A picture is painted from the ground up, as seen straight from above at about 2 pixels a
millimetre: soil with crumbs and stones, straw-coloured dormant leaves, living leaves. Then light,
lens and sensor are added. The true cover is counted in between: after the paint, before the light.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from camera_file import save_photo

__all__ = ["paint_mapped", "paint_turf", "save_photo"]

Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]

# Rows of colour anchors, red green blue, as cameras record them in daylight.
_SOIL = np.frombuffer(bytes.fromhex("3c2b1f 634933 806246"), np.uint8).reshape(-1, 3)
_STONE = np.frombuffer(bytes.fromhex("867c6e 9e9484 6c6258"), np.uint8).reshape(-1, 3)
# Dormant leaves: wet brown, tan, bleached; hue 33 to 47 degrees.
_STRAW = np.frombuffer(
    bytes.fromhex("8c6a3f ac8955 c4a36b d4ba83 c0aa70 b4a368"), np.uint8
).reshape(-1, 3)
# Living leaves: yellow-green as after winter to deep green; hue 59 to 99 degrees.
_LEAVES = np.frombuffer(
    bytes.fromhex("8a8b4e 787e46 65713d 566639 465834 374a2d"), np.uint8
).reshape(-1, 3)
_LEAF_TIP = np.array([150, 148, 84], dtype=np.float32)
_LEAF_BASE = np.array([132, 138, 82], dtype=np.float32)

_LENGTH_PX = (46.0, 88.0)
_WIDTH_PX = (4.6, 7.8)
_ALONG, _ACROSS = 90, 9
_SAMPLES = _ALONG * _ACROSS
_MARGIN = 60
_MOST_BATCHES = 8
_UNSEEN = np.iinfo(np.int32).max


class _Ground(NamedTuple):
    """The picture's rectangle, and how living and bare ground clump on it."""

    width: int
    height: int
    clumps: Floats  # (height + 2 margins, width + 2 margins), mean 0, deviation 1

    @property
    def pixels(self) -> int:
        """Pixels of the picture."""
        return self.width * self.height

    def grid(self, flat: NDArray[Any]) -> NDArray[Any]:
        """Lay a flat array out in rows and columns."""
        return flat.reshape(self.height, self.width)


class _Layer(NamedTuple):
    """Leaves that have been painted: where they are seen, and the colour of each seen pixel."""

    seen: Mask
    colour: Floats


def paint_turf(
    cover: float, rng: np.random.Generator, size: tuple[int, int] = (640, 480), **options: Any
) -> tuple[Image.Image, float]:
    """Paint a photograph of winter turf, seen from straight above.

    Parameters
    ----------
    cover, rng, size, **options
        As those of `paint_mapped`.

    Returns
    -------
    image : PIL.Image.Image
        RGB.
    true_cover : float [%]
        Pixels painted as living green, before light, lens and noise.
    """
    image, living = paint_mapped(cover, rng, size, **options)
    return image, 100 * float(living.mean())


def paint_mapped(
    cover: float,
    rng: np.random.Generator,
    size: tuple[int, int] = (640, 480),
    *,
    vigour: float = 0.5,
    patchiness: float = 0.5,
    holes: tuple[float, float] | None = None,
    blur: float = 0.0,
    drift: float = 1.0,
) -> tuple[Image.Image, Mask]:
    """Paint a photograph of winter turf, and tell where its living green is.

    Parameters
    ----------
    cover : float [%]
        Living green wanted, 0 to 100.
    rng : numpy.random.Generator
        Source of every random choice; the same state paints the same picture.
    size : (2,) int [px]
        Width and height.
    vigour : float [1]
        0 light yellow-green, 1 dark green.
    patchiness : float [1]
        0 even but for tufts, 1 living and bare ground in clumps.
    holes : (2,) float [px], optional
        Spacing and diameter of open aeration holes on a square grid; they limit the cover.
    blur : float [px]
        Radius by which the lens is out of focus, beyond its usual softness.
    drift : float [1]
        How far exposure (up to 0.3 EV) and white balance wander between photos; 0 not at all.

    Returns
    -------
    image : PIL.Image.Image
        RGB.
    living : (height, width) bool
        Pixels painted as living green, before light, lens and noise.

    Raises
    ------
    ValueError
        A number lies outside its range.
    """
    if not (0 <= cover <= 100 and 0 <= vigour <= 1 and 0 <= patchiness <= 1 and min(size) >= 64):
        raise ValueError(
            f"cover {cover} (0 to 100), vigour {vigour}, patchiness {patchiness} (0 to 1), "
            f"size {size} (64 and more)"
        )
    width, height = size
    ground = _Ground(width, height, _waves(rng, width + 2 * _MARGIN, height + 2 * _MARGIN, 150))
    picture = _soil(rng, ground)
    open_holes = _holes(rng, ground, holes)
    straw = _straw(rng, ground, 2.3, 0.9)
    loose = _straw(rng, ground, 0.12 * (1 - cover / 100), 0.0)
    shut = loose.seen | open_holes
    leaves = _leaves(rng, ground, cover, vigour, patchiness, shut)

    for layer in (straw, leaves, loose):
        picture *= _shade(layer.seen, ground)[:, None]
        picture[layer.seen] = layer.colour
    _sink(rng, picture, open_holes, ground)
    image = _photograph(rng, picture.reshape(height, width, 3), blur, drift)
    return image, ground.grid(leaves.seen & ~shut)


def _waves(rng: np.random.Generator, width: int, height: int, length_px: float) -> Floats:
    """Smooth random field, mean 0 and deviation 1, with waves of about the given length."""
    field = np.zeros((height, width), dtype=np.float32)
    for octave, weight in ((1.0, 1.0), (2.2, 0.55), (4.7, 0.3)):
        cells = [max(3, round(side * octave / length_px) + 2) for side in (height, width)]
        coarse = Image.fromarray(rng.standard_normal(cells).astype(np.float32))
        field += weight * np.asarray(coarse.resize((width, height), Image.Resampling.BICUBIC))
    return (field - field.mean()) / field.std()


def _soil(rng: np.random.Generator, ground: _Ground) -> Floats:
    """Bare ground: damp and dry spots, crumbs, sand grains and some stones."""
    width, height = ground.width, ground.height
    damp = _waves(rng, width, height, 220)
    crumbs = _waves(rng, width, height, 11)
    grain = rng.standard_normal((height, width)).astype(np.float32)
    tone = np.clip(1.0 + 0.28 * damp + 0.42 * crumbs + 0.16 * grain, 0, 2).reshape(-1)
    colour = _ramp(_SOIL, tone)
    rows, columns = np.mgrid[0:height, 0:width].astype(np.float32)
    for _ in range(rng.poisson(30 * ground.pixels / 307200)):
        x, y = rng.uniform(0, width), rng.uniform(0, height)
        long, flat, angle = rng.gamma(4, 0.9) + 1, rng.uniform(0.55, 0.95), rng.uniform(0, math.pi)
        reach = math.ceil(1.2 * long)
        box = np.s_[
            max(0, int(y) - reach) : int(y) + reach, max(0, int(x) - reach) : int(x) + reach
        ]
        dx, dy = columns[box] - x, rows[box] - y
        u = (dx * math.cos(angle) + dy * math.sin(angle)) / long
        v = (dy * math.cos(angle) - dx * math.sin(angle)) / (long * flat)
        inside = u * u + v * v < 1
        light = rng.uniform(0.8, 1.1) - 0.16 * (dx + dy) / long
        stone = _STONE[rng.integers(len(_STONE))] * light[..., None]
        colour.reshape(height, width, 3)[box][inside] = stone[inside]
    return colour


def _ramp(colours: NDArray[np.uint8], position: Floats) -> Floats:
    """Colours along a row of anchors; position 0 is the first, len - 1 the last."""
    position = np.clip(position, 0, len(colours) - 1.001)
    left = position.astype(np.int32)
    part = (position - left)[:, None]
    return (colours[left] * (1 - part) + colours[left + 1] * part).astype(np.float32)


def _straw(rng: np.random.Generator, ground: _Ground, thickness: float, clumping: float) -> _Layer:
    """Dormant leaves, thinner where the ground is bare."""
    density = np.clip(1.25 + clumping * ground.clumps, 0.04, 1.5)
    x, y = _strew(rng, density, round(thickness * ground.pixels / 380))
    tone = rng.normal(1.6, 0.9, x.size).astype(np.float32)
    colour = _ramp(_STRAW, tone) * rng.normal(1, 0.08, (x.size, 1)).astype(np.float32)
    return _painted(rng, _topmost(rng, ground, x, y), colour, np.zeros_like(tone), depth=0.30)


def _leaves(
    rng: np.random.Generator,
    ground: _Ground,
    cover: float,
    vigour: float,
    patchiness: float,
    shut: Mask,
) -> _Layer:
    """Living leaves, as many as it takes.

    Each further leaf lies under those before it and so can only add to the cover: the number of
    leaves that reaches the cover is read off the order in which pixels are first covered.
    """
    wanted = round(min(cover / 100 * ground.pixels, float((~shut).sum())))
    height, width = ground.clumps.shape
    tufts = _waves(rng, width, height, 70)
    lie = np.minimum(3.0 * patchiness * np.clip(ground.clumps, -2.5, 1.2) + tufts, 2.5)
    # The fuller the sward, the less it clumps; and each further batch evens it out.
    closing = 1 - (cover / 100) ** 8
    top = np.full(ground.pixels, _UNSEEN, dtype=np.int32)
    leaves, reached = 0, np.zeros(1, dtype=np.int64)
    for _ in range(_MOST_BATCHES):
        if reached[-1] >= wanted:
            break
        x, y = _strew(rng, np.exp(closing * lie), round(ground.pixels / 310))
        np.minimum(top, _topmost(rng, ground, x, y, leaves), out=top)
        leaves += x.size
        first = top[(top < _UNSEEN) & ~shut] // _SAMPLES
        reached = np.cumsum(np.bincount(first, minlength=leaves))
        closing *= 0.8
    kept = int(np.searchsorted(reached, wanted)) if wanted else -1
    top[top // _SAMPLES > kept] = _UNSEEN
    if reached[-1] < wanted:
        # Pieces of the leaves around close the last chinks of a full sward.
        chinks = rng.permutation(np.flatnonzero((top == _UNSEEN) & ~shut))[: wanted - reached[-1]]
        top[chinks] = rng.choice(top[top < _UNSEEN], chinks.size)
    tone = rng.normal(0.6 + 3.2 * vigour, 0.8, leaves).astype(np.float32)
    colour = _ramp(_LEAVES, tone) * rng.normal(1, 0.09, (leaves, 1)).astype(np.float32)
    yellow = np.clip(rng.normal(0.25 - 0.25 * vigour, 0.35, leaves), 0, 0.9).astype(np.float32)
    return _painted(rng, top, colour, yellow, depth=0.42, base=0.5)


def _strew(rng: np.random.Generator, density: Floats, count: int) -> tuple[Floats, Floats]:
    """Places for leaves, denser where the field is higher; the margins are included."""
    summed = np.cumsum(density, dtype=np.float64)
    cell = np.searchsorted(summed, rng.random(count) * summed[-1])
    where = np.array(np.divmod(np.minimum(cell, density.size - 1), density.shape[1]))
    y, x = (where + rng.random((2, count)) - _MARGIN).astype(np.float32)
    return x, y


def _ribbons(
    rng: np.random.Generator, x: Floats, y: Floats
) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Pixels of bent, tapering leaves: column and row of each sample, (leaf, along, across)."""
    n = x.size
    angle = rng.uniform(0, 2 * math.pi, n).astype(np.float32)[:, None]
    length = rng.uniform(*_LENGTH_PX, n).astype(np.float32)[:, None]
    bend = length * rng.normal(0, 0.22, (n, 1)).astype(np.float32)
    width = rng.uniform(*_WIDTH_PX, n).astype(np.float32)[:, None]
    cos, sin = np.cos(angle), np.sin(angle)
    t = np.linspace(-0.5, 0.5, _ALONG, dtype=np.float32)
    run, sag = length * t, bend * (t * t - 0.08)
    taper = np.sqrt(1 - np.clip((t + 0.1) / 0.6, 0, 1) ** 2) * (0.85 + 0.15 * (t < 0.2))
    half = 0.5 * width * taper.astype(np.float32)
    across = np.linspace(-1, 1, _ACROSS, dtype=np.float32)
    middle_x = x[:, None] + cos * run - sin * sag + 0.5
    middle_y = y[:, None] + sin * run + cos * sag + 0.5
    column = middle_x[:, :, None] - (sin * half)[:, :, None] * across
    row = middle_y[:, :, None] + (cos * half)[:, :, None] * across
    return np.floor(column).astype(np.int32), np.floor(row).astype(np.int32)


def _topmost(
    rng: np.random.Generator, ground: _Ground, x: Floats, y: Floats, before: int = 0
) -> NDArray[np.int32]:
    """For every pixel the number of the topmost leaf sample on it; the first leaf lies on top.

    Samples are numbered (leaf * along + step) * across + lane, leaves from ``before`` on.
    """
    column, row = _ribbons(rng, x, y)
    pixel = row * ground.width + column
    inside = (column >= 0) & (column < ground.width) & (row >= 0) & (row < ground.height)
    pixel[~inside] = ground.pixels
    top = np.full(ground.pixels + 1, _UNSEEN, dtype=np.int32)
    numbers = np.arange(before * _SAMPLES, (before + x.size) * _SAMPLES, dtype=np.int32)
    # Of several values for one place the last one stays, so the first leaf is written last.
    top[pixel.reshape(-1)[::-1]] = numbers[::-1]
    _mend(ground.grid(top[:-1]))
    return top[:-1]


def _mend(top: NDArray[np.int32]) -> None:
    """Fill pinholes that sampling leaves within one leaf, between two pixels of it."""
    leaf = top // _SAMPLES
    for axis in (0, 1):
        before, own, after = (
            np.moveaxis(leaf, axis, 0)[part] for part in (np.s_[:-2], np.s_[1:-1], np.s_[2:])
        )
        samples = np.moveaxis(top, axis, 0)
        np.copyto(samples[1:-1], samples[:-2], where=(before == after) & (before < own))


def _painted(
    rng: np.random.Generator,
    top: NDArray[np.int32],
    colour: Floats,
    yellow: Floats,
    depth: float,
    base: float = 0.0,
) -> _Layer:
    """Colour what is seen of leaves: yellow tips, pale bases, a lit side, darker when deeper."""
    seen = top < _UNSEEN
    leaf, sample = np.divmod(top[seen], _SAMPLES)
    along = (sample // _ACROSS).astype(np.float32) / (_ALONG - 1)
    across = (sample % _ACROSS).astype(np.float32) / (_ACROSS - 1) * 2 - 1
    tip = (np.clip((along - 0.55) / 0.45, 0, 1) * yellow[leaf])[:, None]
    foot = (np.clip((0.25 - along) / 0.25, 0, 1) * base)[:, None]
    painted = colour[leaf] * (1 - tip) + _LEAF_TIP * tip
    painted = painted * (1 - foot) + _LEAF_BASE * foot
    lit = rng.normal(0, 0.08, len(colour)).astype(np.float32)
    light = 1.02 + lit[leaf] * across - 0.06 * (1 - across * across) + 0.10 * (along - 0.5)
    light *= 1 - depth * leaf.astype(np.float32) / max(1, len(colour))
    return _Layer(seen, (painted * light[:, None]).astype(np.float32))


def _shade(seen: Mask, ground: _Ground) -> Floats:
    """Soft shadow that a layer throws on what lies below it, as a factor."""
    mask = Image.fromarray((255 * ground.grid(seen)).astype(np.uint8))
    soft = np.asarray(mask.filter(ImageFilter.BoxBlur(3)), dtype=np.float32)
    thrown = np.pad(soft, ((3, 0), (4, 0)), mode="edge")[:-3, :-4]
    return 1 - 0.40 / 255 * thrown.reshape(-1)


def _holes(rng: np.random.Generator, ground: _Ground, holes: tuple[float, float] | None) -> Mask:
    """Pixels inside open aeration holes: a grid, a little unsteady, not quite round."""
    if holes is None:
        return np.zeros(ground.pixels, dtype=bool)
    spacing, diameter = holes
    rows, columns = np.mgrid[0 : ground.height, 0 : ground.width].astype(np.float32)
    start = rng.uniform(0, spacing, 2)
    which_row, down = np.divmod(rows + start[0], spacing)
    which_column, right = np.divmod(columns + start[1], spacing)
    at = (which_row.astype(int), which_column.astype(int))
    grid = (int(at[0].max()) + 1, int(at[1].max()) + 1)
    dy = down - spacing / 2 - rng.normal(0, 0.02 * spacing, grid)[at]
    dx = right - spacing / 2 - rng.normal(0, 0.02 * spacing, grid)[at]
    bumps = np.sin(3 * np.arctan2(dy, dx) + rng.uniform(0, 6, grid)[at])
    reach = 0.5 * diameter * rng.uniform(0.94, 1.06, grid)[at]
    return (np.hypot(dx, dy) < reach * (1 + 0.06 * bumps)).reshape(-1)


def _sink(rng: np.random.Generator, picture: Floats, holes: Mask, ground: _Ground) -> None:
    """Paint the holes: damp soil, darkest under the edge towards the light."""
    mask = Image.fromarray((255 * ground.grid(holes)).astype(np.uint8))
    soft = np.asarray(mask.filter(ImageFilter.BoxBlur(4)), dtype=np.float32) / 255
    deep = np.pad(soft, ((0, 2), (0, 3)), mode="edge")[2:, 3:].reshape(-1)[holes]
    tone = (0.75 - 0.5 * deep + rng.normal(0, 0.12, deep.size)).astype(np.float32)
    picture[holes] = _ramp(_SOIL, tone) * (1.05 - 0.6 * deep)[:, None]


def _photograph(rng: np.random.Generator, scene: Floats, blur: float, drift: float) -> Image.Image:
    """Light, lens and sensor: uneven light, softness, white balance, exposure and noise."""
    height, width, _ = scene.shape
    light = 1 + 0.05 * _waves(rng, width, height, 500)
    lit = Image.fromarray(np.clip(scene * light[..., None], 0, 255).astype(np.uint8))
    lens = lit.filter(ImageFilter.GaussianBlur(math.hypot(0.5, blur)))
    balance = 1 + drift * np.clip(rng.normal(0, 0.008, 3), -0.02, 0.02)
    exposure = drift * np.clip(rng.normal(0, 0.13), -0.3, 0.3)
    # Stored numbers follow light to the power 1 / 2.2.
    gains = (balance * 2 ** (exposure / 2.2)).astype(np.float32)
    stored = np.asarray(lens, dtype=np.float32) * gains
    noise = rng.standard_normal(stored.shape, dtype=np.float32) * np.sqrt(1 + 0.02 * stored)
    return Image.fromarray(np.clip(stored + noise + 0.5, 0, 255).astype(np.uint8))
