"""What stops a setting, by how much, in words."""

import pytest

from optimizer.models.stops import Stop
from optimizer.wording.sentences import sentence
from tests.optimizer.wording.readers import INCHES, MM


def gap(value, wanted, reader=MM):
    at = {"side": "left", "travel_mm": 0.0, "rack_travel_mm": 0.0}
    short = wanted - value
    stop = Stop(**at, kind="gap", name="rod to rim", value=value, limit=wanted, short=short)
    return sentence(stop, reader)


@pytest.mark.parametrize(
    ("value", "wanted", "said"),
    [
        (-0.8, 3.0, "touches by 0.8 mm at ride height, steering straight, 3.8 mm less than"),
        (-0.012, 3.0, "touches by 0.01 mm at"),
        (-0.012, 0.0, "touches by 0.01 mm at ride height"),
        (0.9, 3.0, "leaves 0.9 mm at ride height, steering straight, 2.1 mm less than"),
    ],
)
def test_a_rod_that_touches_is_told_by_how_much_and_what_is_wanted(value, wanted, said):
    assert said in gap(value, wanted)
    assert ("wanted" in gap(value, wanted)) == (wanted > 0.0)


def test_a_contact_in_inches_is_never_one_of_no_inches():
    assert "touches by 0.0002 in at" in gap(-0.005, 0.0, INCHES)
