"""A spatial crank and slider against the published speeds of a general multibody library.

The speed follows from energy alone, once the slider's path and its rate per crank angle are known;
those are what a tie rod asks of the same building block.
"""

import numpy as np
import pytest

from geometry.spheres import line_sphere_point

from .printed import numbers, published

LOOP = published("fourbar_loop")
TIP, PIN = numbers(LOOP["crank_tip"]), numbers(LOOP["slider_pin_at_zero"])
ALONG = np.array([1.0, 0.0, 0.0])
START = float(LOOP["slider_at_start"])
ROD = float(np.linalg.norm(PIN + START * ALONG - TIP))
SPEED_RTOL = 5e-6  # the library solved to 1e-6
STEP = 1e-5


def tip_at(angle):
    """The crank turns about x."""
    _, y, z = TIP
    sine, cosine = np.sin(angle), np.cos(angle)
    return np.stack([0.0 * angle, y * cosine - z * sine, y * sine + z * cosine], axis=-1)


def slider_at(angle):
    """How far the slider has moved along its line."""
    tip = tip_at(np.asarray(angle, dtype=float))
    return line_sphere_point(PIN, ALONG, tip, np.asarray(ROD), np.asarray(+1.0))


def rod_direction(angle):
    return (tip_at(angle) - PIN - slider_at(angle) * ALONG) / ROD


def rod_turns(angle):
    """Turns of the universal joint at the slider: about y, then about the z that has gone along."""
    (x, y, z), (x_0, y_0, z_0) = rod_direction(angle), rod_direction(0.0)
    second = np.arcsin(y / np.hypot(x_0, y_0)) - np.arcsin(y_0 / np.hypot(x_0, y_0))
    second = -second if x_0 < 0.0 else second
    x_1 = x_0 * np.cos(second) - y_0 * np.sin(second)
    return np.array([np.arctan2(x, z) - np.arctan2(x_1, z_0), second])


def rod_spin(angle):
    """Turn of the rod about its own line per crank angle, which the universal joint decides."""
    by_y, by_z = (rod_turns(angle + STEP) - rod_turns(angle - STEP)) / (2.0 * STEP)
    first, _ = rod_turns(angle)
    turned_z = np.array([np.sin(first), 0.0, np.cos(first)])
    return np.array([0.0, by_y, 0.0]) @ rod_direction(angle) + by_z * turned_z @ rod_direction(
        angle
    )


def inertia_and_height(angle):
    """Twice the kinetic energy per squared crank speed, and mass times height of all parts."""
    radius, density = float(LOOP["cylinder_diameter"]) / 2.0, float(LOOP["density"])
    per_length = density * np.pi * radius**2
    tip, rate = tip_at(angle), (slider_at(angle + STEP) - slider_at(angle - STEP)) / (2.0 * STEP)
    tip_rate = np.cross(ALONG, tip)
    pin = PIN + slider_at(angle) * ALONG
    pin_rate = rate * ALONG
    crank, rod, slider = per_length * np.array([np.linalg.norm(TIP), ROD, PIN[1]])
    turn = (tip_rate - pin_rate) / ROD
    inertia = (
        crank * (TIP @ TIP / 3.0 + radius**2 / 4.0)
        + rod * (tip_rate @ tip_rate + tip_rate @ pin_rate + pin_rate @ pin_rate) / 3.0
        + rod * radius**2 / 4.0 * (turn @ turn)
        + rod * radius**2 / 2.0 * rod_spin(angle) ** 2
        + slider * rate**2
    )
    return inertia, crank * tip[1] / 2.0 + rod * (tip[1] + pin[1]) / 2.0


@pytest.mark.parametrize(("angle", "speed", "slider"), LOOP["rows"])
def test_the_crank_turns_as_fast_as_published(angle, speed, slider):
    first, first_height = inertia_and_height(0.0)
    now, height = inertia_and_height(float(angle))
    lost = 2.0 * float(LOOP["gravity"]) * (first_height - height)
    found = np.sqrt((first * float(LOOP["speed_at_start"]) ** 2 + lost) / now)
    assert found == pytest.approx(float(speed), rel=SPEED_RTOL)
    assert slider_at(float(angle)) == pytest.approx(float(slider), abs=1e-9)
