"""A slow reference for uprights on links: constraint equations given to scipy.optimize.root.

Six unknowns place the upright, a rotation vector and the move of the wheel center.  The equations
are squared lengths and a vector product, without a Jacobian: nothing is taken from the project.
Each pose starts from the one before it.  All unknowns are 1 as measured: the root finder takes its
differences in proportion to them, and one of 1e-17 would show it nothing.
"""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root
from scipy.spatial.transform import Rotation

Array = NDArray[np.float64]

SIZE_MM = 300.0  # brings unknowns and equations to one size
CLOSED = 1e-13  # of an equation [SIZE_MM squared]


def rotations(
    points: Mapping[str, Array], rod: tuple[Array, Array, float], travels: Array
) -> Array:
    """Rotation of the upright at each travel (n,), a walk that starts near the measured pose.

    `rod` is the inner pivot, the outer pivot as measured, and the length. [mm]
    """
    equations = misfit(points, rod)
    unknowns, found = np.ones(6), np.empty((len(travels), 3, 3))
    for row, travel in enumerate(travels):
        answer = root(equations, unknowns, args=(travel,), tol=1e-13)
        assert np.abs(answer.fun).max() < CLOSED, answer.message
        unknowns = answer.x
        found[row] = Rotation.from_rotvec(unknowns[:3] - 1.0).as_matrix()
    return found


def misfit(
    points: Mapping[str, Array], rod: tuple[Array, Array, float]
) -> Callable[[Array, float], Array]:
    """Six numbers that vanish where everything closes."""
    center = points["wheel_center"]
    links = [name.removesuffix("_inner") for name in points if name.endswith("_inner")]
    links.remove("tie_rod")
    inner = np.array([*(points[f"{link}_inner"] for link in links), rod[0]])
    outer = np.array([*(points[f"{link}_outer"] for link in links), rod[1]])
    square = ((outer - inner) ** 2).sum(axis=1)
    square[-1] = rod[2] ** 2
    top, second = points.get("strut_top"), points.get("strut_axis")

    def equations(unknowns: Array, travel: float) -> Array:
        turn = Rotation.from_rotvec(unknowns[:3] - 1.0).as_matrix()
        move = SIZE_MM * (unknowns[3:] - 1.0)
        place = center + move
        apart = (outer - center) @ turn.T + place - inner
        left = [(apart * apart).sum(axis=1) - square, [SIZE_MM * (move[2] - travel)]]
        if top is not None:
            # A strut leans, but not by a right angle: two components of the product settle it.
            line, to_top = turn @ (top - second), top - (turn @ (second - center) + place)
            left.append(
                [
                    line[1] * to_top[2] - line[2] * to_top[1],
                    line[2] * to_top[0] - line[0] * to_top[2],
                ]
            )
        return np.concatenate(left) / SIZE_MM**2

    return equations
