"""Toe as an angle and as a distance, against values from print and against geometry."""

import doctest
import tomllib
from decimal import Decimal
from math import asin, degrees, isnan
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer import units
from optimizer.units import (
    MM_PER_INCH,
    length_text,
    minutes_of_arc,
    toe_distance,
    toe_in_unit,
    toe_unit_label,
)

ANGLE_ATOL_DEG = 1e-9
LENGTH_ATOL_MM = 1e-9
PUBLISHED = tomllib.loads(
    (Path(__file__).parents[1] / "published" / "toe_units.toml").read_text(encoding="utf-8"),
    parse_float=Decimal,
)
TOTAL = [row for table in PUBLISHED["total"] for row in table["rows"]]
ONE_WHEEL = [(table["printed"], *row) for table in PUBLISHED["one_wheel"] for row in table["rows"]]


def half_last_digit(printed):
    """Half a unit of the last printed digit; half of one for a whole number."""
    return 0.5 * 10.0 ** Decimal(printed).as_tuple().exponent


@pytest.mark.parametrize(("distance", "diameter", "minutes"), TOTAL)
def test_total_toe_in_minutes_is_as_printed_for_its_distance(distance, diameter, minutes):
    each_wheel = degrees(asin(0.5 * float(distance) / float(diameter)))
    assert toe_distance(each_wheel, float(diameter)) == pytest.approx(0.5 * float(distance))
    assert minutes_of_arc(2.0 * each_wheel) == pytest.approx(
        minutes, rel=0.0, abs=half_last_digit(minutes)
    )


@pytest.mark.parametrize(("printed", "distance", "diameter", "angle"), ONE_WHEEL)
def test_toe_of_one_wheel_is_as_printed(printed, distance, diameter, angle):
    if printed == "distance":
        off = half_last_digit(distance)
    else:  # by how much the distance changes over half the last digit of the angle
        off = abs(toe_distance(half_last_digit(angle), float(diameter)))
    found = toe_distance(float(angle), float(diameter))
    assert found == pytest.approx(float(distance), rel=0.0, abs=off)


def test_an_inch_is_25_4_millimeters():
    # International yard and pound agreement of 1959: exact.
    assert MM_PER_INCH == 25.4


def test_a_degree_is_sixty_minutes():
    assert minutes_of_arc(0.25) == 15.0


def test_half_the_diameter_is_thirty_degrees():
    assert toe_distance(30.0, 600.0) == pytest.approx(300.0, rel=0.0, abs=LENGTH_ATOL_MM)


def test_toe_out_is_a_negative_distance():
    assert toe_distance(-0.1, 600.0) == -toe_distance(0.1, 600.0) < 0.0


def test_a_distance_without_a_diameter_is_no_number():
    assert isnan(toe_in_unit(0.1, "mm"))
    assert isnan(toe_in_unit(0.1, "in"))


@given(
    toe=st.floats(-15.0, 15.0),
    diameter=st.floats(200.0, 1000.0),
)
def test_toe_survives_the_way_to_every_unit_and_back(toe, diameter):
    back = {
        "deg": toe_in_unit(toe, "deg"),
        "min": toe_in_unit(toe, "min") / 60.0,
        "mm": degrees(asin(toe_in_unit(toe, "mm", diameter) / diameter)),
        "in": degrees(asin(toe_in_unit(toe, "in", diameter) * MM_PER_INCH / diameter)),
    }
    assert back == pytest.approx(dict.fromkeys(back, toe), rel=0.0, abs=ANGLE_ATOL_DEG)


@pytest.mark.parametrize(
    ("unit", "diameter", "label"),
    [
        ("deg", None, "deg"),
        ("min", 600.0, "min"),
        ("mm", 600.0, "mm at 600 mm"),
        ("in", 660.4, "in at 26 in"),
    ],
)
def test_a_toe_distance_is_never_named_without_its_diameter(unit, diameter, label):
    assert toe_unit_label(unit, diameter) == label


def test_a_length_is_written_in_the_unit_asked_for():
    assert length_text(618.5, "mm") == "618.5 mm"
    assert length_text(25.4 * 4.41, "in") == "4.41 in"


def test_the_examples_in_the_docstrings_print_what_they_say():
    failed, tried = doctest.testmod(units)
    assert (failed, tried > 0) == (0, True)
