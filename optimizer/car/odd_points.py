"""What merely looks wrong among measured points: doubts, each with the key that it is about.

Ranges of the usual are common practice, no source; a value outside one is a doubt, never a fault.
"""

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from geometry.clearance import Capsule, capsule_gap
from geometry.vectors import Array, norm, unit
from geometry.wheel_angles import caster_angle, kingpin_inclination
from optimizer.car.evaluate import Evaluator
from optimizer.models.check import (
    Arms,
    Doubt,
    DoubtFact,
    NotStated,
    OddPlace,
    OddSize,
    OddWay,
    PlaceKind,
    UnusualAngle,
    UnusualArm,
)
from optimizer.models.comparison import AXES, Axis

USUAL_CASTER_DEG = (-2.0, 15.0)
USUAL_KINGPIN_DEG = (0.0, 25.0)
USUAL_ARM_MM = (70.0, 220.0)
USUAL_ROD = (0.6, 1.6)  # of the lower arm's length
FARTHEST_OFF_JOINT_MM = 100.0  # wheel center ahead of or behind the lower ball joint
FARTHEST_OFF_SEAT_MM = 100.0  # seat of a leaf spring ahead of or behind the wheel center
HEIGHT_SHARE = 0.15  # of the tire's radius, between it and the wheel center's height
TRACK_OFF_MM = 75.0  # half of the track against y of the wheel center
ON_GROUND = 0.12  # of the tire's radius: lower than this above the ground no joint is
SWEPT = 0.6  # of what a rod spans across the car, along it
SKEWED = 0.5  # of what an arm's pivots span along the car, across it or up
STEEP = 0.8  # of what a link spans in plan view, up
NEAREST_MM = 28.0  # between the center lines of two rods
MIRROR = np.array([1.0, -1.0, 1.0])
PAIR_MM = 25.0  # nearer than this to mirror images the frame ends of two axle links are a pair
UNLIKE_MM = 75.0  # farther than this from mirror images the axle ends of no pair are
ACROSS = 0.9  # share of a rack axis that must lie across the car


def odd_points(evaluator: Evaluator) -> Iterator[Doubt]:
    """Doubts about the places of points, and about what they make of rod and arms."""
    yield from _on_the_ground(evaluator)
    yield from _odd_places(evaluator)
    yield from _odd_angles(evaluator)
    yield from _odd_arm(evaluator)
    if evaluator.corner.on_beam:
        yield from _odd_axle(evaluator)
    else:
        yield from _odd_links(evaluator)
    yield from _crossing_links(evaluator)
    yield from _odd_steering(evaluator)


def measured_caster_deg(evaluator: Evaluator) -> float:
    """Caster as measured. [deg]."""
    return float(np.degrees(caster_angle(_axis_direction(evaluator))))


def measured_kingpin_deg(evaluator: Evaluator) -> float:
    """Kingpin inclination as measured. [deg]."""
    return float(np.degrees(kingpin_inclination(_axis_direction(evaluator))))


def arms_place(evaluator: Evaluator) -> Arms:
    """Where the points put the steering arm, against the axle."""
    return "ahead" if evaluator.corner.arms_ahead else "behind"


def _axis_direction(evaluator: Evaluator) -> Array:
    axis = evaluator.corner.steering_axis
    return unit(axis.upper - axis.lower)


def _about(point: str, message: DoubtFact) -> Doubt:
    return Doubt(location=f"points.{point}", message=message)


def _place(evaluator: Evaluator, kind: PlaceKind, names: tuple[str, str], axis: Axis) -> Doubt:
    """A doubt about the first point's place against the second's."""
    k, points = AXES.index(axis), evaluator.corner.measured
    at, other = (float(points[name][k]) for name in names)
    odd = OddPlace(kind=kind, other=names[1], axis=axis, at_mm=at, other_at_mm=other)
    return _about(names[0], odd)


def _odd_places(evaluator: Evaluator) -> Iterator[Doubt]:
    points, case = evaluator.corner.points, evaluator.case
    center = points["wheel_center"]
    joints = ["lower_ball_joint", "kingpin_lower"]
    if not evaluator.corner.on_beam:
        joints += [f"link_{k}_outer" for k in evaluator.corner.link_numbers]
    for joint in joints:
        if joint in points and center[1] <= points[joint][1]:
            yield _place(evaluator, "narrow", ("wheel_center", joint), "y")
    if "strut_axis" in points and points["strut_axis"][2] >= points["strut_top"][2]:
        yield _place(evaluator, "swapped-strut", ("strut_axis", "strut_top"), "z")
    radius, track = case.wheel.tire_radius, case.car.track
    if abs(2.0 * center[2] - radius) <= HEIGHT_SHARE * radius:
        odd = OddSize(kind="diameter", found_mm=radius, beside_mm=float(center[2]))
        yield Doubt(location="wheel.tire_radius", message=odd)
    elif abs(center[2] - radius) > HEIGHT_SHARE * radius:
        odd = OddSize(kind="radius", found_mm=float(center[2]), beside_mm=radius)
        yield _about("wheel_center", odd)
    if track is not None and abs(0.5 * track - center[1]) > TRACK_OFF_MM:
        odd = OddSize(kind="track", found_mm=track, beside_mm=float(center[1]))
        yield Doubt(location="car.track", message=odd)


def _on_the_ground(evaluator: Evaluator) -> Iterator[Doubt]:
    points, radius = evaluator.corner.measured, evaluator.case.wheel.tire_radius
    ground = points["wheel_center"][2] - radius
    for name, point in points.items():
        up = float(point[2] - ground)
        if up < ON_GROUND * radius:
            yield _about(name, OddSize(kind="on-ground", found_mm=up))


def _odd_angles(evaluator: Evaluator) -> Iterator[Doubt]:
    if not evaluator.case.words.steers:
        return
    for kind, angle, (low, high) in (
        ("caster", measured_caster_deg(evaluator), USUAL_CASTER_DEG),
        ("kingpin", measured_kingpin_deg(evaluator), USUAL_KINGPIN_DEG),
    ):
        if not low <= angle <= high:
            odd = UnusualAngle(kind=kind, found_deg=angle, low_deg=low, high_deg=high)
            yield Doubt(location="points", message=odd)


def _odd_arm(evaluator: Evaluator) -> Iterator[Doubt]:
    corner = evaluator.corner
    points = corner.points
    for pivots in (("lower_arm_front", "lower_arm_rear"), ("upper_arm_front", "upper_arm_rear")):
        if pivots[0] in points:
            yield from _skewed(evaluator, pivots)
    if "lower_arm_front" not in points:
        return
    joint, center = points["lower_ball_joint"], points["wheel_center"]
    if joint[2] >= center[2]:
        yield _place(evaluator, "high-joint", ("lower_ball_joint", "wheel_center"), "z")
    off = abs(float(center[0] - joint[0]))
    if off > FARTHEST_OFF_JOINT_MM:
        yield _about("wheel_center", OddSize(kind="off-joint", found_mm=off))
    rod = float(norm(corner.outer_seat - corner.inner))
    arm = float(norm(joint - points["lower_arm_rear"]))
    if not USUAL_ROD[0] <= rod / arm <= USUAL_ROD[1]:
        yield _about("tie_rod_inner", OddSize(kind="rod", found_mm=rod, beside_mm=arm))


def _skewed(evaluator: Evaluator, pivots: tuple[str, str]) -> Iterator[Doubt]:
    """Doubt an arm whose pivots are swapped, or lie askew."""
    front, rear = (evaluator.corner.points[name] for name in pivots)
    if front[0] <= rear[0]:
        yield _place(evaluator, "swapped-arm", pivots, "x")
    along, across, up = np.abs(front - rear)
    if max(across, up) > SKEWED * along:
        yield _place(evaluator, "skewed-arm", pivots, "y" if across > up else "z")


def _odd_links(evaluator: Evaluator) -> Iterator[Doubt]:
    for number in evaluator.corner.link_numbers:
        inner, outer = evaluator.corner.link(number)
        span, ends = outer - inner, (f"link_{number}_inner", f"link_{number}_outer")
        if span[1] < 0.0 and abs(span[1]) > abs(span[0]):
            yield _place(evaluator, "swapped-link", ends, "y")
        if abs(span[2]) > STEEP * np.hypot(span[0], span[1]):
            yield _place(evaluator, "steep-link", ends, "z")


def _crossing_links(evaluator: Evaluator) -> Iterator[Doubt]:
    """Doubt links of which one would run through another, or through the rod."""
    corner = evaluator.corner
    ends = {f"link {number}": corner.link(number) for number in corner.link_numbers}
    ends[evaluator.case.words.rod] = corner.inner, corner.outer_seat
    lines = {name: Capsule(start, end, 0.0) for name, (start, end) in ends.items()}
    for (one, line), (other, beside) in combinations(lines.items(), 2):
        apart = float(capsule_gap(line, beside))
        if apart < NEAREST_MM:
            odd = OddSize(kind="crossing", name=other, found_mm=apart)
            yield _about(f"{one.replace(' ', '_')}_inner", odd)


def _odd_axle(evaluator: Evaluator) -> Iterator[Doubt]:
    corner = evaluator.corner
    yield from _odd_spring(evaluator) if corner.on_leaves else _odd_axle_links(evaluator)
    if corner.rod_along_car and abs(corner.rack_axis[0]) < abs(corner.rack_axis[1]):
        yield _about("drag_link_inner", OddWay(kind="drag-link"))


def _odd_spring(evaluator: Evaluator) -> Iterator[Doubt]:
    points = evaluator.corner.points
    seat, end, pin = (points[name] for name in ("spring_seat", "shackle_spring", "shackle_frame"))
    if (pin[0] - end[0]) * (end[0] - seat[0]) > 0.0:
        yield _place(evaluator, "leaning-shackle", ("shackle_spring", "shackle_frame"), "x")
    off = abs(float(seat[0] - points["wheel_center"][0]))
    if off > FARTHEST_OFF_SEAT_MM:
        yield _about("spring_seat", OddSize(kind="off-seat", found_mm=off))


def _odd_axle_links(evaluator: Evaluator) -> Iterator[Doubt]:
    corner = evaluator.corner
    spans = {k: np.abs(corner.link(k)[1] - corner.link(k)[0]) for k in corner.link_numbers}
    across = [k for k, span in spans.items() if span[1] > span[0]]
    if corner.lateral_link not in across:
        odd = OddWay(kind="lateral-link", number=corner.lateral_link)
        yield Doubt(location="lateral_link.number", message=odd)
    elif np.prod([end[1] for end in corner.link(corner.lateral_link)]) > 0.0:
        ends = (f"link_{corner.lateral_link}_outer", f"link_{corner.lateral_link}_inner")
        yield _place(evaluator, "one-sided-link", ends, "y")
    yield from _unlike_links(evaluator, [k for k in spans if k not in across])
    axle = corner.points["wheel_center"][0]
    for number in (k for k in spans if k not in across):
        inner, outer = (end[0] for end in corner.link(number))
        if abs(inner - axle) < abs(outer - axle):
            ends = (f"link_{number}_inner", f"link_{number}_outer")
            yield _place(evaluator, "swapped-axle-link", ends, "x")


def _unlike_links(evaluator: Evaluator, along: list[int]) -> Iterator[Doubt]:
    """Doubt two links along the car that are a pair at the frame, but far from it at the axle."""
    for one, other in combinations(along, 2):
        pairs = zip(evaluator.corner.link(one), evaluator.corner.link(other), strict=True)
        frame, axle = (float(norm(end - beside * MIRROR)) for end, beside in pairs)
        if frame <= PAIR_MM and axle >= UNLIKE_MM:
            odd = OddSize(kind="unlike-links", name=f"link_{other}_outer", found_mm=axle)
            yield _about(f"link_{one}_outer", odd)


def _odd_steering(evaluator: Evaluator) -> Iterator[Doubt]:
    corner, case = evaluator.corner, evaluator.case
    found, stated, outer = arms_place(evaluator), case.steering.arms, f"{corner.rod}_outer"
    if stated is None:
        yield Doubt(location="steering.arms", message=NotStated(kind="arms", arms=found))
    elif stated != found:
        yield Doubt(
            location="steering.arms", message=OddWay(kind="other-arms", point=outer, arms=found)
        )
    low, high = USUAL_ARM_MM
    if case.words.steers and not low <= corner.steering_arm <= high:
        odd = UnusualArm(found_mm=corner.steering_arm, low_mm=low, high_mm=high)
        yield _about(outer, odd)
    ends = (f"{corner.rod}_inner", outer)
    if not corner.on_beam and corner.inner[1] > corner.outer_seat[1]:
        yield _place(evaluator, "swapped-rod", ends, "y")
    along, across = np.abs(corner.inner - corner.outer_seat)[:2]
    if not corner.on_beam and along > SWEPT * across:
        yield _place(evaluator, "swept-rod", ends, "x")
    if abs(corner.rack_axis[1]) < ACROSS and not (corner.on_beam and corner.rod_along_car):
        yield Doubt(location="steering.rack_axis", message=OddWay(kind="rack-axis"))
    if corner.stud_axis[2] > 0.0:
        yield Doubt(location="outer_pivot.stud_axis", message=OddWay(kind="stud-axis"))
