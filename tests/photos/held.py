"""What a camera stores of a picture when it is held otherwise."""

from PIL import ExifTags, Image

TURNS = "FLIP_LEFT_RIGHT ROTATE_180 FLIP_TOP_BOTTOM TRANSPOSE ROTATE_90 TRANSVERSE ROTATE_270"


def as_held(image, orientation):
    """The rows a camera stores when it is held so, and the note it makes of it."""
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    if orientation > 1:
        image = image.transpose(Image.Transpose[TURNS.split()[orientation - 2]])
    return image, exif
