import numpy as np
import pytest

from wintersward.photos.aligned import aligned


@pytest.mark.parametrize("dtype", [np.bool_, np.int16, np.float64])
@pytest.mark.parametrize("size", [0, 1, 33, 4096])
def test_arrays_begin_at_lines_and_do_not_overlap(size, dtype):
    arrays = aligned(3, size, dtype)
    for number, array in enumerate(arrays):
        assert (array.shape, array.dtype) == ((size,), dtype)
        assert size == 0 or array.ctypes.data % 64 == 0
        array.fill(number % 2)
    assert all((array == number % 2).all() for number, array in enumerate(arrays))
