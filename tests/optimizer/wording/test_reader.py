"""Numbers as the case's owner reads them."""

import pytest

from optimizer.models.subject import Subject
from optimizer.wording.reader import Reader


def reader(units: str = "mm", toe_unit: str = "deg", diameter: float = 600.0) -> Reader:
    return Reader(
        Subject(
            name="car",
            layout="strut",
            sides=["left"],
            units=units,
            toe_unit=toe_unit,
            toe_diameter_mm=diameter,
        )
    )


@pytest.mark.parametrize(
    ("units", "length", "signed", "text"),
    [
        ("mm", 12.34, False, "12.3"),
        ("mm", 12.34, True, "+12.3"),
        ("mm", -12.36, True, "-12.4"),
        ("mm", 0.04, True, "0.0"),
        ("mm", -0.04, True, "0.0"),
        ("mm", -0.04, False, "0.0"),
        ("mm", 0.0, True, "0.0"),
        ("in", 25.4, False, "1.000"),
        ("in", -3.175, True, "-0.125"),
        ("in", 0.0001, True, "0.000"),
    ],
)
def test_a_length_is_written_in_the_owner_s_unit_with_a_plain_zero(units, length, signed, text):
    assert reader(units).length(length, signed=signed) == text


@pytest.mark.parametrize(
    ("units", "length", "text"),
    [
        ("mm", 12.0, "12.0 mm"),
        ("mm", 5.25, "5.25 mm"),
        ("mm", 3.175, "3.175 mm"),  # an eighth of an inch
        ("in", 3.175, "1/8 in"),
        ("in", 0.79375, "1/32 in"),
        ("in", 31.75, "1 1/4 in"),
        ("in", 13.0, "13 mm"),  # no size in inches: 0.511811
        ("in", 2.54, "0.100 in"),
    ],
)
def test_no_digit_of_what_is_to_be_fitted_is_rounded_away(units, length, text):
    assert reader(units).fitted(length) == text


@pytest.mark.parametrize(
    ("unit", "text"),
    [
        ("deg", "+0.100"),
        ("min", "+6.0"),  # 60 minutes of arc to the degree
        ("mm", "+1.05"),  # 600 mm x sin(0.1 deg) = 1.0472 mm
        ("in", "+0.041"),  # 1.0472 mm / 25.4
    ],
)
def test_a_toe_angle_is_written_in_the_owner_s_unit(unit, text):
    assert reader(toe_unit=unit).toe(0.1) == text
    assert reader(toe_unit=unit).toe(-0.1) == text.replace("+", "-")
    assert reader(toe_unit=unit).toe_with_unit(0.1) == f"{text.removeprefix('+')} {unit}"


@pytest.mark.parametrize("unit", ["deg", "min", "mm", "in"])
def test_a_toe_angle_too_small_to_write_is_a_plain_zero(unit):
    assert float(reader(toe_unit=unit).toe(-1e-6)) == 0.0
    assert reader(toe_unit=unit).toe(-1e-6)[0] == "0"


def test_a_toe_distance_never_goes_without_its_diameter():
    assert reader(toe_unit="mm").toe_unit == "mm at 600 mm"
    assert reader(toe_unit="in", diameter=609.6).toe_unit == "in at 24 in"
    assert reader(toe_unit="min").toe_unit == "min"


def test_a_slope_is_per_ten_millimeters_or_per_inch():
    assert (reader("mm").slope(0.1), reader("mm").per) == ("+0.100", "10 mm")
    assert (reader("in").slope(0.1), reader("in").per) == ("+0.254", "inch")


def test_the_pieces_of_a_stack_are_counted_as_they_are_picked():
    assert reader("mm").pieces([5.0, 5.0, 1.0, 0.5]) == "2 x 5 + 1 x 1 + 1 x 0.5"
    assert reader("in").pieces([6.35, 0.79375, 0.79375]) == "1 x 1/4 + 2 x 1/32"
    assert reader("mm").pieces([]) == ""
