import gc

import numpy as np
import pytest
from PIL import Image

from wintersward.photos.pixels import packed

NOISE = np.random.default_rng(5).integers(0, 256, (7, 11, 3), dtype=np.uint8)


def channels(colours):
    return np.stack([colours & 255, colours >> 8 & 255, colours >> 16 & 255], axis=-1)


@pytest.mark.parametrize("mode", ["RGBA", "CMYK", "YCbCr"])
def test_pixels_of_images_made_in_any_way(mode):
    image = Image.fromarray(NOISE)
    assert np.array_equal(channels(packed(image)), NOISE)
    turned = image.transpose(Image.Transpose.ROTATE_90)
    assert np.array_equal(channels(packed(turned)), np.asarray(turned))
    converted = image.convert(mode).convert("RGB")
    assert np.array_equal(channels(packed(converted)), np.asarray(converted))


def test_the_array_looks_into_the_image_and_keeps_it():
    image = Image.fromarray(NOISE)
    colours = packed(image)
    assert not colours.flags.writeable
    assert not colours.flags.owndata
    kept = colours.copy()
    del image
    gc.collect()
    filled = [Image.new("RGB", (11, 7), (1, 2, 3)) for _ in range(50)]
    assert np.array_equal(colours, kept)
    assert len(filled) == 50


def test_an_image_in_several_pieces_is_copied():
    """Pillow keeps images of more than 16 MB in pieces."""
    wide = Image.new("RGB", (3000, 2000), (1, 2, 3))
    wide.putpixel((2999, 1999), (250, 251, 252))
    colours = packed(wide)
    assert colours.shape == (2000, 3000)
    assert channels(colours[:1, :1]).tolist() == [[[1, 2, 3]]]
    assert channels(colours[-1:, -1:]).tolist() == [[[250, 251, 252]]]


@pytest.mark.parametrize("error", [AttributeError, ValueError])
def test_a_pillow_that_does_not_lend_its_memory(monkeypatch, error):
    def refuse(self, requested_schema=None):
        raise error("no")

    monkeypatch.setattr(Image.Image, "__arrow_c_array__", refuse)
    assert np.array_equal(channels(packed(Image.fromarray(NOISE))), NOISE)
