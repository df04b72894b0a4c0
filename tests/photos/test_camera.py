import pytest
from PIL import ExifTags
from PIL.TiffImagePlugin import IFDRational

from wintersward.photos.camera import CameraNotes, camera_notes

TAGS = ExifTags.Base


def notes(**tags):
    return camera_notes({TAGS[name]: value for name, value in tags.items()})


def test_no_notes_tell_nothing():
    assert camera_notes({}) == CameraNotes(None, "", None, "")


@pytest.mark.parametrize(
    ("maker", "model", "camera"),
    [
        ("Maker", "Model 3", "Maker Model 3"),
        ("MAKER", "Maker Model 3", "Maker Model 3"),
        (" Maker\x00", "Model\x00\x00", "Maker Model"),
        ("", "Model", "Model"),
        ("Maker", "", "Maker"),
        ("Ma\nker", "3", "Ma ker 3"),
    ],
)
def test_camera_is_named_once_on_one_line(maker, model, camera):
    assert notes(Make=maker, Model=model).camera == camera


# Worked by hand: f/8 at 1/125 s, ISO 100 is log2(64 125) = 12.97; ISO 400 is two less.
@pytest.mark.parametrize(
    ("seconds", "number", "speed", "value"),
    [
        (IFDRational(1, 125), IFDRational(8, 1), 100, 12.97),
        (IFDRational(1, 125), IFDRational(8, 1), 400, 10.97),
        (1.0, 1.0, (100,), 0.0),
        (IFDRational(0, 0), 8.0, 100, None),
        (0, 8.0, 100, None),
        (0.01, 8.0, 0, None),
        (0.01, 8.0, (), None),
        ("fast", 8.0, 100, None),
        (-1.0, 8.0, 100, None),
    ],
)
def test_exposure_value(seconds, number, speed, value):
    found = notes(ExposureTime=seconds, FNumber=number, ISOSpeedRatings=speed).exposure
    assert found == value


@pytest.mark.parametrize(
    ("stored", "told"), [(0, "automatic"), (1, "fixed"), (7, ""), ("x", ""), (None, "")]
)
def test_white_balance(stored, told):
    assert notes(WhiteBalance=stored).white_balance == told
