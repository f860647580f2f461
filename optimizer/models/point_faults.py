"""What the points of a car can't be: each check yields its faults, located by point name."""

from collections.abc import Container, Iterator, Mapping
from itertools import combinations
from math import dist, sqrt

from optimizer.errors import Fault
from optimizer.models.quantities import ARE_UNITS_RIGHT, Triple
from optimizer.units import Units, length_text

COINCIDENT_MM = 1.0
SHORTEST_ROD_MM, LONGEST_ROD_MM = 50.0, 1500.0
SHORTEST_STRUT_LINE_MM = 10.0  # nearer points give the line no direction
SHORTEST_ARM_MM = 5.0
SHORTEST_SHACKLE_MM = 20.0

Named = Mapping[str, Triple]


def off_side(points: Named, units: Units) -> Iterator[Fault]:
    """Points that are not on the side of the car where most of them are."""
    left = 2 * sum(y > 0.0 for _, y, _ in points.values()) >= len(points)
    side, sign = ("left", "above") if left else ("right", "below")
    for name, (_, y, _) in points.items():
        if (y <= 0.0) if left else (y >= 0.0):
            yield Fault(
                name,
                f"must be on the {side} like most points, with y {sign} 0, "
                f"got y = {length_text(y, units)}\n"
                "(all points are of one wheel, y to the left; is the sign right?)",
            )


def coincident(
    points: Named, units: Units, rod: str = "tie_rod", may_meet: Container[frozenset[str]] = ()
) -> Iterator[Fault]:
    """Points that lie where another one lies; the ends of the rod are checked elsewhere.

    Any second point of the damper rod's line will do, so `strut_axis` may be a ball joint.  Pairs
    in `may_meet` may lie in one place.
    """
    names = [name for name in points if name != "strut_axis"]
    for first, second in combinations(names, 2):
        if {first, second} == {f"{rod}_inner", f"{rod}_outer"} or {first, second} in may_meet:
            continue
        if dist(points[first], points[second]) < COINCIDENT_MM:
            yield Fault(
                second,
                f"must not coincide with {first}, got {_place(points[second], units)} and "
                f"{_place(points[first], units)}\n(was one copied from the other?)",
            )


def odd_rod_length(points: Named, units: Units, rod: str) -> Iterator[Fault]:
    """A tie rod or drag link too short or too long for any car."""
    length = dist(points[f"{rod}_inner"], points[f"{rod}_outer"])
    if not SHORTEST_ROD_MM <= length <= LONGEST_ROD_MM:
        shortest, longest, got = (
            length_text(x, units) for x in (SHORTEST_ROD_MM, LONGEST_ROD_MM, length)
        )
        yield Fault(
            f"{rod}_outer",
            f"must be between {shortest} and {longest} from {rod}_inner, got {got}\n"
            f"{ARE_UNITS_RIGHT}",
        )


def not_above(points: Named, upper: str, lower: str, units: Units) -> Iterator[Fault]:
    """An upper point that is not above the lower one."""
    high, low = points[upper][2], points[lower][2]
    if high <= low:
        yield Fault(
            upper,
            f"must be above {lower}, got z = {length_text(high, units)} and "
            f"{length_text(low, units)}\n"
            "(z is up from the ground; are the two points swapped?)",
        )


def no_strut_line(points: Named, units: Units) -> Iterator[Fault]:
    """Two points too near each other to give the line of the damper rod."""
    apart = dist(points["strut_axis"], points["strut_top"])
    if apart < SHORTEST_STRUT_LINE_MM:
        yield Fault(
            "strut_axis",
            f"must be at least {length_text(SHORTEST_STRUT_LINE_MM, units)} from strut_top, "
            f"got {length_text(apart, units)}\n"
            "(the two give the damper rod's line; the farther apart the better)",
        )


def no_link(points: Named, units: Units) -> Iterator[Fault]:
    """Links too short to swing."""
    for inner in (name for name in points if name.startswith("link_") and name.endswith("_inner")):
        outer = inner.replace("_inner", "_outer")
        length = dist(points[inner], points[outer])
        if COINCIDENT_MM <= length < SHORTEST_ROD_MM:
            yield Fault(
                outer,
                f"must be at least {length_text(SHORTEST_ROD_MM, units)} from {inner}, "
                f"got {length_text(length, units)}\n{ARE_UNITS_RIGHT}",
            )


def no_leaf(points: Named, units: Units) -> Iterator[Fault]:
    """A leaf spring whose seat is not between its ends, or a shackle too short to swing."""
    seat, *ends = (points[name][0] for name in ("spring_seat", "spring_eye", "shackle_spring"))
    if (
        min(abs(end - seat) for end in ends) < SHORTEST_ROD_MM
        or min(ends) > seat
        or max(ends) < seat
    ):
        shortest, x_seat, x_eye, x_end = (
            length_text(x, units) for x in (SHORTEST_ROD_MM, seat, *ends)
        )
        yield Fault(
            "spring_seat",
            f"must be between spring_eye and shackle_spring, {shortest} or more behind the one and "
            f"ahead of the other, got x = {x_seat}, {x_eye} and {x_end}\n"
            "(the seat is at the center bolt, over or under the axle; x is forward)",
        )
    length = dist(points["shackle_spring"], points["shackle_frame"])
    if COINCIDENT_MM <= length < SHORTEST_SHACKLE_MM:
        yield Fault(
            "shackle_frame",
            f"must be at least {length_text(SHORTEST_SHACKLE_MM, units)} from shackle_spring, "
            f"got {length_text(length, units)}\n{ARE_UNITS_RIGHT}",
        )


def crowded_joint(points: Named, units: Units) -> Iterator[Fault]:
    """Three links with one outer joint: the upright could turn about it as it likes."""
    outer = [name for name in points if name.startswith("link_") and name.endswith("_outer")]
    for name in outer[2:]:
        here = [x for x in outer if dist(points[x], points[name]) < COINCIDENT_MM]
        if len(here) > 2 and name == here[-1]:
            yield Fault(
                name,
                f"must not lie where two other links end, got {_place(points[name], units)}\n"
                "(the two legs of an A-arm share a joint; a third link there holds nothing more)",
            )


def no_arm(points: Named, end: str, line: tuple[str, str], units: Units) -> Iterator[Fault]:
    """An arm's end that lies on the line about which the arm turns."""
    a, b = (points[name] for name in line)
    if dist(a, b) < COINCIDENT_MM:
        return
    arm = _distance_from_line(points[end], a, b)
    if arm < SHORTEST_ARM_MM:
        yield Fault(
            end,
            f"must be at least {length_text(SHORTEST_ARM_MM, units)} from the line through "
            f"{line[0]} and {line[1]}, got {length_text(arm, units)}\n"
            "(the arm turns about that line and would have no length)",
        )


def _place(point: Triple, units: Units) -> str:
    return f"[{', '.join(length_text(x, units).removesuffix(f' {units}') for x in point)}]"


def _distance_from_line(point: Triple, a: Triple, b: Triple) -> float:
    along = [q - p for p, q in zip(a, b, strict=True)]
    off = [q - p for p, q in zip(a, point, strict=True)]
    share = sum(u * v for u, v in zip(along, off, strict=True)) / sum(u * u for u in along)
    return sqrt(sum((v - share * u) ** 2 for u, v in zip(along, off, strict=True)))
