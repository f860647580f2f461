"""How errors of the tape move the points of a wheel: one root of their covariance."""

import numpy as np

from geometry.vectors import Array, unit
from optimizer.car.adjust import Corner, corner_of, mirror_of, points_of
from optimizer.car.measured_lengths import (
    ENOUGH_MM,
    STEPS,
    narrowed,
    said,
    sigmas,
    span_rates,
    spans,
)
from optimizer.models.case import Case

SAME_JOINT_MM = 1.0


def point_names(corner: Corner) -> list[str]:
    """Names of all points that a tape has measured, the tie rod's last."""
    return list(corner.measured)


def measured_as(corner: Corner, name: str) -> str:
    """Point that a point was measured as: links that share an outer joint have one center."""
    if not (name.startswith("link_") and name.endswith("_outer")):
        return name
    links = [f"link_{k}_outer" for k in corner.link_numbers]
    point = corner.points[name]
    return next(one for one in links if np.allclose(corner.points[one], point, atol=SAME_JOINT_MM))


def tape_root(case: Case, corner: Corner) -> Array:
    """Root of the covariance of all measured coordinates, of a left wheel.

    Lengths that were measured beside them have narrowed it.

    Parameters
    ----------
    case : Case
        Its accuracy is all that is known of the errors.
    corner : Corner
        The wheel; its points in the order of `point_names`.

    Returns
    -------
    (3P, 3P) float array
        Times independent errors of one standard deviation it gives errors of the coordinates: the
        standard deviations on its diagonal where errors have nothing to do with each other. [mm]
    """
    names, accuracy = point_names(corner), case.accuracy
    root = np.diag(np.array([accuracy.of(name) for name in names]).ravel())
    together = accuracy.covariance_root
    at = [3 * names.index(name) + axis for name in together for axis in range(3)]
    for place, row in zip(at, (row for rows in together.values() for row in rows), strict=True):
        root[place, at[: len(row)]] = row
    mirror = np.tile(mirror_of(case), len(names))
    signed: Array = mirror[:, None] * root * mirror
    if not case.measured:
        return signed
    return narrowed(signed, _rates(case, corner), sigmas(case))


def _rates(case: Case, corner: Corner) -> Array:
    """Of the measured lengths with the coordinates, (K, 3P)."""
    places = corner.measured
    return span_rates(case, places, {name: measured_as(corner, name) for name in places})


def case_by_lengths(case: Case) -> Case:
    """Case whose points are the most probable ones by tape and by the lengths measured beside it.

    The lengths become what they then are, so that they move no point again.
    """
    if not case.measured:
        return case
    measured = corner_of(case)
    root = tape_root(case.model_copy(update={"measured": ()}), measured)
    corner, errors = measured, np.zeros(len(root))
    for _ in range(STEPS):
        rates = _rates(case, corner) @ root / sigmas(case)[:, None]
        misfit = (said(case) - spans(case, corner.measured)) / sigmas(case)
        asked = misfit + rates @ errors
        wanted = rates.T @ np.linalg.solve(np.eye(len(rates)) + rates @ rates.T, asked)
        step, errors = wanted - errors, wanted
        corner = with_points_moved(measured, (root @ errors).reshape(-1, 3))
        if np.abs(root @ step).max() < ENOUGH_MM:
            break
    now = spans(case, corner.measured)
    lengths = [
        one.model_copy(update={"rise" if one.length is None else "length": float(x)})
        for one, x in zip(case.measured, now, strict=True)
    ]
    points = case.points.model_copy(update=points_of(case, corner))
    return case.model_copy(update={"points": points, "measured": tuple(lengths)})


def with_points_moved(corner: Corner, by: Array) -> Corner:
    """Corner with its points moved by (..., P, 3), points that share a joint alike. [mm]."""
    names = point_names(corner)
    moved = {
        name: point + by[..., names.index(measured_as(corner, name)), :]
        for name, point in corner.measured.items()
    }
    return corner.with_measured(moved)


def length_misfits(case: Case) -> Array:
    """What each measured length misses the points by tape by, in standard deviations of both."""
    corner = corner_of(case)
    root = tape_root(case.model_copy(update={"measured": ()}), corner)
    spread = np.hypot(np.linalg.norm(_rates(case, corner) @ root, axis=1), sigmas(case))
    misfits: Array = (said(case) - spans(case, corner.measured)) / spread
    return misfits


def moved_by(root: Array, errors: Array) -> tuple[Array, Array]:
    """How far independent errors (3P,) move each coordinate, in mm and in deviations of its own."""
    by, sigma = root @ errors, np.linalg.norm(root, axis=1)
    return by, np.abs(by) / np.where(sigma > 0.0, sigma, 1.0)


def length_deviation(case: Case, corner: Corner, start: str, end: str) -> float:
    """Standard deviation of the distance between two points. [mm]."""
    names, measured = point_names(corner), corner.measured
    rates = np.zeros((len(names), 3))
    rates[names.index(end)] = unit(measured[end] - measured[start])
    rates[names.index(start)] = -rates[names.index(end)]
    return float(np.linalg.norm(rates.ravel() @ tape_root(case, corner)))
