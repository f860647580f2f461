"""What carries an obstacle, or is one, must be among the points of the layout."""

from collections.abc import Collection, Iterator

from optimizer.errors import Fault
from optimizer.models.obstacles import Leaves, Obstacle, SuspensionLinks


def missing_carriers(part: Obstacle, points: Collection[str]) -> Iterator[Fault]:
    """Find fault with a part of the suspension, or one fixed to it, that the points don't name."""
    if "lower_ball_joint" not in points:
        for key in ("kind", "fixed_to"):
            if getattr(part, key, None) == "lower-arm":
                message = 'must not be "lower-arm": the points of this layout name no lower arm'
                yield Fault(key, message)
    if "kingpin_lower" not in points and getattr(part, "fixed_to", None) == "axle":
        yield Fault("fixed_to", 'must not be "axle": only a beam-axle or a leaf-axle carries parts')
    if isinstance(part, Leaves) and "spring_eye" not in points:
        message = 'must not be "leaf-spring": the points of this layout name no leaf spring'
        yield Fault("kind", message)
    if isinstance(part, SuspensionLinks):
        count = sum(name.endswith("_outer") and name.startswith("link_") for name in points)
        if count == 0:
            yield Fault(
                "kind",
                'must not be "suspension-links": the points of this layout name no links\n'
                '(its lower arm is an obstacle of kind "lower-arm")',
            )
        for place, number in enumerate(part.numbers or (), start=1):
            if count and not 1 <= number <= count:
                yield Fault(f"numbers[{place}]", f"must be from 1 to {count}, got {number}")
