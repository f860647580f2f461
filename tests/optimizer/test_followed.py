"""What is followed between the first places, and that every way of asking tells the same."""

from itertools import islice

import numpy as np
import pytest

from optimizer.car.adjust import mirror_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.files.case_file import read_case
from optimizer.limits.margins import first_places, margins
from optimizer.limits.tilts import joint_tilts
from optimizer.models.case import Case
from optimizer.models.limits import TOLD_TO
from optimizer.models.obstacles import Tube

from .command_line import CASES
from .planted import CARRIERS, JOINT, planted_cars

AS_IS = Settings.single()


def strut(**ride: float) -> Case:
    case = read_case(CASES / "lowered-strut.toml")
    return case.model_copy(update={"ride": case.ride.model_copy(update=ride)})


@pytest.mark.parametrize("demo", CARRIERS)
def test_what_is_said_to_fit_keeps_every_limit_that_is_told_in_full(demo):
    for car in islice(planted_cars(demo, np.random.default_rng(3)), 6):
        asked = car.evaluator, car.setting
        verdicts = {
            follow: min(float(one.margin[0]) for one in margins(*asked, follow=follow)) >= 0.0
            for follow in ("undecided", "broken", "smallest")
        }
        assert len(set(verdicts.values())) == 1


@pytest.mark.parametrize("demo", CARRIERS)
def test_the_limits_that_any_of_many_breaks_are_named_as_where_each_is_told_in_full(demo):
    drops, seen = np.linspace(-12.0, 24.0, 7), set()
    settings = Settings(drops, 0.0 * drops, np.zeros(drops.size, int))
    for car in islice(planted_cars(demo, np.random.default_rng(3)), 4):
        named, in_full = (
            {
                (one.kind, one.name)
                for one in margins(car.evaluator, settings, follow=follow)
                if one.margin.min() < 0.0
            }
            for follow in ("named", "broken")
        )
        assert named == in_full
        seen |= named
    assert seen


def test_a_limit_that_is_followed_has_the_same_value_whatever_else_is():
    for car in islice(planted_cars("track-wishbone", np.random.default_rng(3)), 6):
        broken, smallest = (
            {
                one.name + one.kind: float(one.value[0])
                for one in margins(car.evaluator, car.setting, follow=follow)
            }
            for follow in ("broken", "smallest")
        )
        first = {
            one.name + one.kind: float(one.value[0])
            for one in margins(car.evaluator, car.setting, places=first_places(car.evaluator))
        }
        for name, value in broken.items():
            # Followed for either reason, or not at all; a lock-up has no place to be looked at.
            assert value in (smallest[name], first.get(name))


@pytest.mark.parametrize("ride", [{"bump": 0.0}, {"droop": 0.0}, {"bump": 0.0, "droop": 0.0}])
def test_a_stroke_without_length_is_judged_too(ride):
    evaluator = Evaluator.of(strut(**ride))
    found = margins(evaluator, AS_IS, follow="smallest")
    # A linkage that nowhere jams has all the room there is.
    assert all(np.isfinite(one.margin).all() for one in found if one.kind != "lock")
    whole = margins(Evaluator.of(strut()), AS_IS, follow="smallest")
    for part, one in zip(found, whole, strict=True):
        if one.kind != "reach":
            assert part.margin[0] >= one.margin[0] - 0.01


def test_a_wheel_that_does_not_steer_is_judged_straight_ahead():
    evaluator = Evaluator.of(read_case(CASES / "five-link-rear.toml"))
    setting = AS_IS
    found = margins(evaluator, setting, follow="smallest")
    assert {float(one.rack_travel[0]) for one in found} == {0.0}


def test_settings_asked_for_together_are_told_as_each_alone():
    evaluator = Evaluator.of(strut())
    drops = np.linspace(0.0, 25.0, 6)
    together = margins(
        evaluator, Settings(drops, 0.0 * drops, np.zeros(drops.size, int)), follow="smallest"
    )
    for row, drop in enumerate(drops):
        alone = margins(evaluator, Settings.single(float(drop)), follow="smallest")
        for many, one in zip(together, alone, strict=True):
            assert many.value[row] == pytest.approx(float(one.value[0]), rel=0.0, abs=1e-7)


@pytest.mark.parametrize("demo", CARRIERS)
def test_a_part_of_the_upright_that_the_rods_end_stays_as_far_from_is_told_so_far_off(demo):
    case = read_case(CASES / f"{demo}.toml")
    measured = Evaluator.of(case).corner
    along = measured.outer_seat - measured.inner
    along = along / np.linalg.norm(along)
    # Beyond the rod's end in its own line, so that this end is what is nearest wherever it leads.
    near, far = (measured.outer_seat + away * along for away in (18.0, 23.0))
    pin = Tube(
        name="pin",
        fixed_to="upright",
        start=tuple((near * mirror_of(case)).tolist()),
        end=tuple((far * mirror_of(case)).tolist()),
        diameter=8.0,
        gap=4.9,
    )
    only = case.model_copy(update={"obstacles": (pin,), "joint": JOINT})
    found = margins(Evaluator.of(only), AS_IS, follow="smallest")
    (rod,) = (one for one in found if one.kind == "gap" and one.part == "rod")
    # 18 mm from the pin's center line, less half of its thickness and half of the rod's.
    assert rod.value[0] == pytest.approx(18.0 - 4.0 - 9.0, rel=0.0, abs=1e-6)


def test_a_tilt_that_turns_back_within_a_long_stroke_is_told_where_it_is_largest():
    """Near the end of its arms, so that the tilt falls again in the last tenth of the stroke."""
    points = {
        "lower_arm_front": [152.93, -342.13, 146.85],
        "lower_arm_rear": [-152.18, -309.65, 150.09],
        "lower_ball_joint": [-3.36, -652.88, 129.47],
        "upper_arm_front": [112.1, -372.68, 406.71],
        "upper_arm_rear": [-93.78, -401.53, 368.41],
        "upper_ball_joint": [1.56, -603.85, 427.24],
        "tie_rod_inner": [92.55, -346.73, 190.29],
        "tie_rod_outer": [133.08, -675.44, 184.77],
        "wheel_center": [-0.75, -700.37, 286.73],
    }
    case = Case.model_validate(
        {
            "format": 1,
            "name": "A long stroke",
            "units": "mm",
            "layout": "double-wishbone",
            "points": points,
            "wheel": {"toe_deg": 0.05, "camber_deg": 1.04, "tire_radius": 310.0},
            "ride": {"lowered_by": 15.24, "bump": 224.9, "droop": 16.0, "toe_deg": 0.13},
            "steering": {"rack_axis": [-0.0965, 1.0, -0.164], "rack_travel": 69.5},
            "outer_pivot": {"stud_axis": [-0.1316, 0.1502, -1.0], "stack": {"max": 12, "step": 1}},
            "joint": {"outer": {"tilt_limit_deg": 60.0}},
        }
    )
    evaluator, setting = Evaluator.of(case), Settings.single(12.0)
    (told,) = (one for one in margins(evaluator, setting, follow="smallest") if one.kind == "tilt")
    heights = np.arange(150.0, 224.9, 0.5)
    at = (evaluator, setting)
    motion = evaluator.motion(setting, heights, np.full(heights.shape, -69.5))
    tilts = np.degrees(joint_tilts(*at, motion, np.full(heights.shape, -69.5))[0])
    assert heights[tilts.argmax()] < 220.0
    assert told.value[0] >= tilts.max() - TOLD_TO
