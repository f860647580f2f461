"""Custom pivots of both wheels: each in its own room, on one rack."""

import re
from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from optimizer.answers.suggest import suggest
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.errors import PivotwrightError
from optimizer.files.case_file import car_from_toml
from optimizer.limits.margins import margins
from optimizer.models.case import Case
from optimizer.models.custom_pivot import CustomPivot, CustomWheel
from optimizer.models.vehicle import Vehicle
from tests.optimizer.options.moves.custom_cars import (
    BOTH,
    both_wheels,
    custom_of,
    settings_of,
    wheel_of,
)
from tests.optimizer.two_sided_cars import MIRRORED

ROD_ATOL_MM = 1e-9


@cache
def of_both() -> tuple[Vehicle, CustomPivot]:
    car = both_wheels()
    return car, custom_of(car)


def test_both_wheels_get_a_pivot_of_their_own_within_their_own_room():
    car, pivot = of_both()
    assert [wheel.side for wheel in pivot.wheels] == ["left", "right"]
    assert car.wheels[0].custom_pivot.outer.y == (-8.0, 4.0)
    assert car.wheels[1].custom_pivot.outer.y == (-4.0, 8.0)
    for case, wheel in zip(car.wheels, pivot.wheels, strict=True):
        spans = case.custom_pivot.outer.spans()
        for told, (least, greatest) in zip(wheel.coordinates, spans, strict=True):
            assert least <= told.move_mm <= greatest
    moves = [[told.move_mm for told in wheel.coordinates] for wheel in pivot.wheels]
    assert moves[0] != moves[1]


def test_both_wheels_share_the_rack_and_the_worse_one_counts():
    _, pivot = of_both()
    assert {wheel.rack_raise_mm for wheel in pivot.wheels} == {pivot.rack_raise_mm}
    peaks = [wheel.peak_toe_change_deg for wheel in pivot.wheels]
    assert pivot.peak_toe_change_deg == max(peaks)
    assert pivot.fits == all(wheel.fits for wheel in pivot.wheels)
    for offer in pivot.trade_offs:
        assert len({wheel.rack_raise_mm for wheel in offer.wheels}) == 1
        assert [wheel.side for wheel in offer.wheels] == ["left", "right"]


def test_with_the_rack_where_it_is_each_wheel_s_pivot_is_the_one_that_it_would_have_alone():
    """With nothing else to share the wheels part; each by itself is solved as one wheel's case."""
    text = re.sub(r"(?m)^spacers = .*", "spacers = [0.0]", BOTH)
    car = both_wheels(text=text)
    alone = [wheel_of(custom_of(case)) for case in car.wheels]
    for one, other in zip(custom_of(car).wheels, alone, strict=True):
        assert one.coordinates == other.coordinates
        assert one.peak_toe_change_deg == pytest.approx(other.peak_toe_change_deg, abs=1e-12)
        assert one.steering.rate_after_deg_per_mm == pytest.approx(
            other.steering.rate_after_deg_per_mm, abs=1e-12
        )


def test_a_turn_has_its_inner_and_its_outer_wheel_both_with_their_own_pivots():
    """One rack turns both, by the travel that each wheel's own motion is asked for."""
    car, pivot = of_both()
    full = car.case.steering.rack_travel
    as_it_is = [Settings.single()] * 2
    made = list(map(settings_of_typed, car.wheels, pivot.wheels))

    def steered(fitted: list[Settings], rack: float) -> list[float]:
        """How far each wheel turns in from straight ahead, left and right. [deg]."""
        wheels = zip(map(Evaluator.of, car.wheels), fitted, strict=True)
        toe = [one.toe(setting, np.zeros(2), np.array([rack, 0.0]))[0] for one, setting in wheels]
        return [float(np.degrees(turned - straight)) for turned, straight in toe]

    for side, wheel in enumerate(pivot.wheels):
        for turn in wheel.steering.turn_toe_out:
            at = abs(turn.rack_travel_mm)
            assert at in (0.5 * full, full)
            for fitted, told in ((as_it_is, turn.before_deg), (made, turn.after_deg)):
                both = min((steered(fitted, rack) for rack in (at, -at)), key=lambda of: of[side])
                inner, outer = -both[side], both[1 - side]
                assert told == pytest.approx(inner - outer, abs=1e-9)


def test_mirror_images_get_mirror_images():
    text = MIRRORED.read_text()
    car = car_from_toml(text, "car")
    left, right = custom_of(car).wheels
    for one, other in zip(left.coordinates, right.coordinates, strict=True):
        sign = -1.0 if one.axis == "y" else 1.0
        assert other.move_mm == pytest.approx(sign * one.move_mm, abs=ROD_ATOL_MM)
        assert other.tolerance_mm == pytest.approx(one.tolerance_mm, abs=1e-6)


def test_on_both_wheels_a_pivot_leaves_less_than_the_best_stacks():
    car, pivot = of_both()
    assert pivot.peak_toe_change_deg < suggest(car).ranked[0].peak_toe_change_deg
    for case, wheel in zip(car.wheels, pivot.wheels, strict=True):
        limits = margins(Evaluator.of(case), settings_of_typed(case, wheel))
        assert min(float(limit.margin[0]) for limit in limits) >= 0.0


def settings_of_typed(case: Case, wheel: CustomWheel) -> Settings:
    """The pivot of either wheel: geometry sees left ones."""
    settings = settings_of(case, wheel)
    mirror = np.array([1.0, 1.0 if wheel.side == "left" else -1.0, 1.0])
    return replace(settings, outer_move=settings.outer_move * mirror)


def test_both_wheels_need_room():
    car = car_from_toml(BOTH, "car")
    with pytest.raises(PivotwrightError, match=r"^custom_pivot must be given"):
        custom_of(car)
