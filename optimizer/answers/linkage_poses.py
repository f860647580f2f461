"""Where the parts of a wheel are, as bars between points, at droop, ride height and bump."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from geometry.motion import Motion
from geometry.vectors import Array, turned
from optimizer.car.adjust import mirror_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.remeasured import triple
from optimizer.car.settings import Settings
from optimizer.limits.surroundings import Surroundings
from optimizer.models.pictures import Bar, BarKind, LinkagePose, LinkagePoses

Line = tuple[BarKind, Array, Array]


def linkage_poses(evaluator: Evaluator, setting: Settings) -> LinkagePoses:
    """The linkage with one setting fitted, at both ends of the used travel and at ride height."""
    travel = np.unique([evaluator.travel[0], 0.0, evaluator.travel[-1]])
    motion = evaluator.motion(setting, travel)
    lines = list(_lines(evaluator, setting, motion))
    mirror, spin = mirror_of(evaluator.case), turned(motion.rotation, evaluator.corner.spin)
    center = motion.moved(evaluator.corner.points["wheel_center"])
    return LinkagePoses(
        tire_radius_mm=evaluator.case.wheel.tire_radius,
        poses=[
            LinkagePose(
                travel_mm=height,
                wheel_center_mm=triple(center[0, k] * mirror),
                spin=triple(spin[0, k] * mirror),
                bars=[_bar(line, k, mirror, motion) for line in lines],
            )
            for k, height in enumerate(travel.tolist())
            if motion.reach[0, k] == 0
        ],
    )


def _lines(evaluator: Evaluator, setting: Settings, motion: Motion) -> Iterator[Line]:
    """Bars of every pose, their ends (1, T, 3) or (3,). [mm]."""
    corner, points = evaluator.corner, evaluator.corner.points
    around = Surroundings(corner, mirror_of(evaluator.case), setting.linkage, motion)
    outer, inner = evaluator.rod_ends(setting, motion, np.zeros(motion.reach.shape[-1]))
    yield from _held(around, points)
    center, seat = (motion.moved(x) for x in (points["wheel_center"], corner.outer_seat))
    yield "steering-arm", center, seat
    if setting.outer_drop.any():
        yield "stack", seat, outer
    yield "rod", inner, outer


def _held(around: Surroundings, points: dict[str, Array]) -> Iterator[Line]:
    """What holds the upright, and how its joints are carried from the wheel center."""
    motion, corner = around.motion, around.corner
    center = motion.moved(points["wheel_center"])
    if corner.on_beam:
        upper, lower = (motion.moved(points[f"kingpin_{end}"]) for end in ("upper", "lower"))
        middle = 0.5 * (points["kingpin_upper"] + points["kingpin_lower"])
        carrier = around.link_carrier
        yield "axle", carrier.moved(middle), carrier.moved(middle * np.array([1.0, 0.0, 1.0]))
        yield "upright", lower, upper
        yield "upright", center, 0.5 * (lower + upper)
    if corner.on_leaves:
        *spring, pin = around.leaf()
        yield from (("spring", *ends) for ends in pairwise(spring))
        yield "shackle", spring[-1], pin
    for number in corner.link_numbers:
        inner, outer = corner.link(number, int(around.linkage[0]))
        outer = around.link_carrier.moved(outer)
        yield "link", inner, outer
        if not corner.on_beam:
            yield "upright", center, outer
    for arm in ("lower", "upper"):
        if f"{arm}_ball_joint" in points:
            joint = (
                around.ball_joint() if arm == "lower" else motion.moved(points["upper_ball_joint"])
            )
            for end in ("front", "rear"):
                yield "arm", points[f"{arm}_arm_{end}"], joint
            yield "upright", center, joint
    if "strut_top" in points:
        foot = motion.moved(points["strut_axis"])
        yield "strut", points["strut_top"], foot
        yield "upright", center, foot


def _bar(line: Line, k: int, mirror: Array, motion: Motion) -> Bar:
    kind, *ends = line
    shape = (*motion.reach.shape, 3)
    start, end = (triple(np.broadcast_to(x, shape)[0, k] * mirror) for x in ends)
    return Bar(kind=kind, start_mm=start, end_mm=end)
