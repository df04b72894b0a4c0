"""Pictures to score: painted turf, and small ones whose every pixel is known."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from PIL import Image

PAINTER = Path(__file__).parents[2] / "example_study" / "turf_painter.py"

LEAF = (60, 90, 40)  # hue 96 degrees
SOIL = (98, 78, 58)  # hue 30 degrees


@pytest.fixture(scope="session")
def painter() -> ModuleType:
    spec = importlib.util.spec_from_file_location("turf_painter", PAINTER)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def sharp_turf(painter: ModuleType) -> Image.Image:
    image, _ = painter.paint_turf(60, np.random.default_rng(60), drift=0.0)
    return image


@pytest.fixture
def half_green() -> Image.Image:
    """Left half leaf, right half soil, with a little grain; 160 by 120."""
    grain = np.random.default_rng(1).integers(-6, 7, (120, 160, 1))
    pixels = np.empty((120, 160, 3), dtype=np.int64)
    pixels[:, :80], pixels[:, 80:] = LEAF, SOIL
    return Image.fromarray((pixels + grain).astype(np.uint8))
