"""Distances to the center line that lost their minus sign, where that alone settles everything."""

from math import hypot

from msgspec.structs import replace

from optimizer.models.surveyed import LostSigns
from optimizer.surveying.mistakes import Snooped, snooped
from optimizer.surveying.observations import Network
from optimizer.surveying.start import base_of, start_of

FEWEST = 2  # one alone is named as a reading of which the sign is to be looked at


def lost_signs(network: Network, found: Snooped) -> LostSigns | None:
    """Points beyond the center line, of which no distance to it is below 0."""
    across = {one.names[0]: one.value for one in network.observations if one.kind == "center-line"}
    if not found.mistakes or min(across.values(), default=-1.0) < 0.0:
        return None
    sides = _sides(network, across)
    beyond = [name for name in across if sides.get(name, 1.0) < 0.0]
    turned = _beyond(network, beyond)
    start = start_of(turned.places, turned.observations)
    if len(beyond) < FEWEST or snooped(turned, start).mistakes:
        return None
    return LostSigns(points=beyond)


def _sides(network: Network, across: dict[str, float]) -> dict[str, float]:
    """On which side points lie, -1 beyond the center line, from the wheel center on.

    Two marks that lie on one side are nearer to each other than two on opposite ones.
    """
    base = base_of(network.places, start_of(network.places, network.observations))
    read = {frozenset(one.names): one.value for one in network.observations if one.kind == "marks"}
    along = {
        name: (read[to_b] ** 2 - read[to_a] ** 2) / (2.0 * base)
        for name in across
        if {to_a := frozenset([name, "A"]), to_b := frozenset([name, "B"])} <= read.keys()
    }
    sides, left = {"wheel_center": 1.0}, ["wheel_center"]
    while left:
        one = left.pop()
        for other in along:
            apart = read.get(frozenset([one, other]))
            if apart is None or one not in along or other in sides:
                continue
            ahead = along[one] - along[other]
            beside, opposite = (
                abs(hypot(ahead, across[one] - way * across[other]) - apart) for way in (1.0, -1.0)
            )
            sides[other] = sides[one] if beside <= opposite else -sides[one]
            left.append(other)
    return sides


def _beyond(network: Network, points: list[str]) -> Network:
    """The network with some points beyond the center line."""
    observations = [
        replace(one, value=-one.value)
        if one.kind == "center-line" and one.names[0] in points
        else one
        for one in network.observations
    ]
    return replace(network, observations=observations)
