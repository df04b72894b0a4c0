import subprocess
import sys

import pytest

import wintersward.photos as photos


def test_every_public_name_is_there():
    assert photos.__all__ == sorted(photos.__all__)
    for name in photos.__all__:
        assert getattr(photos, name) is not None
    assert dir(photos) == photos.__all__


def test_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="no attribute 'blue_mask'"):
        _ = photos.blue_mask


def test_import_alone_loads_no_heavy_library():
    code = (
        "import sys, wintersward.photos; "
        "print([name for name in ('numpy', 'pandas', 'PIL') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
