"""The pixels of an image of Pillow seen as an array, without copying them."""

from __future__ import annotations

import ctypes
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

__all__ = ["packed"]


class _Array(ctypes.Structure):
    """A column of the Arrow C data interface."""


_Array._fields_ = [
    ("length", ctypes.c_int64),
    ("null_count", ctypes.c_int64),
    ("offset", ctypes.c_int64),
    ("n_buffers", ctypes.c_int64),
    ("n_children", ctypes.c_int64),
    ("buffers", ctypes.POINTER(ctypes.c_void_p)),
    ("children", ctypes.POINTER(ctypes.POINTER(_Array))),
    ("dictionary", ctypes.c_void_p),
    ("release", ctypes.c_void_p),
    ("private_data", ctypes.c_void_p),
]

_pointer = ctypes.pythonapi.PyCapsule_GetPointer
_pointer.restype = ctypes.c_void_p
_pointer.argtypes = [ctypes.py_object, ctypes.c_char_p]


class _Lent:
    """What NumPy holds on to for as long as an array looks into an image."""

    def __init__(self, image: Image.Image) -> None:
        # The capsule holds the image, and lets go of it when it is itself no longer held.
        self._held: Any = image.__arrow_c_array__()[1]
        pixels = _Array.from_address(_pointer(self._held, b"arrow_array"))
        count = image.width * image.height
        if (pixels.length, pixels.offset, pixels.n_children) != (count, 0, 1):
            raise ValueError("pixels in another order")
        channels = pixels.children[0].contents
        if (channels.length, channels.offset, channels.n_buffers) != (4 * count, 0, 2):
            raise ValueError("channels in another order")
        self.__array_interface__ = {
            "version": 3,
            "typestr": "<u4",
            "shape": (image.height, image.width),
            "data": (channels.buffers[1], True),
        }


def packed(image: Image.Image) -> NDArray[np.uint32]:
    """Give the pixels of an image, each as one number.

    Parameters
    ----------
    image : PIL.Image.Image
        RGB.

    Returns
    -------
    (rows, columns) uint32
        Red + 256 green + 65536 blue, and anything in the highest eight bits. Where the image
        lies in memory in one piece it is that memory, not to be written to; a copy elsewhere.

    References
    ----------
    The Arrow C data interface, https://arrow.apache.org/docs/format/CDataInterface.html, by which
    Pillow lends its memory: https://pillow.readthedocs.io/en/stable/reference/arrow_support.html.
    """
    try:
        return np.asarray(_Lent(image))
    except (AttributeError, ValueError):
        # An older Pillow, or an image that is kept in several pieces.
        values = np.frombuffer(image.tobytes("raw", "RGBX"), dtype="<u4")
        return values.reshape(image.height, image.width)
