"""What stops a setting: tilt and gaps over wheel travel x rack travel, thread and stud."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.motion import Motion
from geometry.vectors import Array
from optimizer.car.adjust import Rows, Settings
from optimizer.car.evaluate import Evaluator
from optimizer.limits.gaps import Found, Part, gaps
from optimizer.limits.strength import strength_limits
from optimizer.limits.tilts import joint_tilts, tilt_limit_deg

RACK_STEPS = 5  # rack positions from lock to lock, straight ahead among them
EVERY = 2  # of the scored heights, every second is checked, both ends and ride height among them

Places = tuple[Array, Array]


@dataclass(frozen=True)
class Margin:
    """One limit of each candidate at its worst place.

    `kind` is "tilt" [deg], "gap" [mm], "reach", "thread" [mm] or "stud" [-]; `value` and `margin`
    are (M,), `margin` positive when safe; `travel` and `rack_travel` (M,) say where the worst
    is. [mm]  `part` is what tilts or comes near, None for other kinds.
    """

    kind: str
    name: str
    value: Array
    limit: float
    margin: Array
    travel: Array
    rack_travel: Array
    part: Part | None = None

    def rows(self, which: Rows) -> "Margin":
        """Pick some of the candidates."""
        picked = (
            of_each[which] for of_each in (self.value, self.margin, self.travel, self.rack_travel)
        )
        value, margin, travel, rack_travel = picked
        return Margin(
            self.kind, self.name, value, self.limit, margin, travel, rack_travel, self.part
        )


def margins(
    evaluator: Evaluator,
    settings: Settings,
    *,
    ends_only: bool = False,
    places: Places | None = None,
) -> list[Margin]:
    """Every limit that the case states, for each candidate.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        M candidates.
    ends_only : bool
        Check only both ends of travel, at both locks and straight ahead.  What is broken there is
        broken; what is kept there may still be broken elsewhere.
    places : (T,) float array twice, optional
        Rack travel and wheel travel of the only places to check. [mm]

    Returns
    -------
    list of Margin
        Whether the linkage follows at all comes first.
    """
    rack, travel = _places(evaluator, ends_only=ends_only) if places is None else places
    found = [_worst(limit, travel, rack) for limit in _limits(evaluator, settings, travel, rack)]
    return found + [_everywhere(*limit) for limit in _strength(evaluator, settings)]


def spare(evaluator: Evaluator, settings: Settings) -> tuple[NDArray[np.bool_], Array]:
    """Whether the linkage follows everywhere, and what every limit leaves at every place.

    Returns
    -------
    (M,) bool array, (M, N) float array
        The second is smooth in a moved pivot, which the worst of all places is not; infinite where
        a limit says nothing. [mm, deg or -]
    """
    rack, travel = _places(evaluator, ends_only=False)
    follows = np.ones(len(settings), dtype=bool)
    left = []
    for kind, _, value, limit, _ in _limits(evaluator, settings, travel, rack):
        if kind == "reach":
            follows &= (value > 0.0).all(axis=1)
        else:
            left.append(_margin(kind, value, limit))
    left += [
        _margin(kind, value, limit)[:, None]
        for kind, _, value, limit in _strength(evaluator, settings)
    ]
    return follows, np.hstack([np.empty((len(settings), 0)), *left])


def _limits(
    evaluator: Evaluator, settings: Settings, travel: Array, rack: Array
) -> Iterator[Found]:
    """Limits with their values at every place, (M, T); first whether the linkage follows."""
    motion = evaluator.motion(settings, travel, rack)
    yield "reach", "linkage", np.where(motion.reach == 0, 1.0, -1.0), 0.0, None
    yield from _tilts(evaluator, settings, motion, rack)
    yield from gaps(evaluator, settings, motion, rack)


def _strength(evaluator: Evaluator, settings: Settings) -> Iterator[tuple[str, str, Array, float]]:
    """Limits that hold for a setting at all places alike, with their values (M,)."""
    change = evaluator.rod_length_change(settings)
    drop = evaluator.corner.drop_along_stud(settings)
    yield from strength_limits(evaluator.case, drop, change)


def _margin(kind: str, value: Array, limit: float) -> Array:
    """What values leave of a limit; infinite where they say nothing."""
    margin = limit - value if kind == "tilt" else value - limit
    return np.where(np.isnan(margin), np.inf, margin)


def _everywhere(kind: str, name: str, value: Array, limit: float) -> Margin:
    """Limit that holds for a setting at all places alike."""
    at = np.zeros(len(value))
    return Margin(kind, name, value, limit, _margin(kind, value, limit), at, at)


def _places(evaluator: Evaluator, *, ends_only: bool) -> Places:
    """Rack travel and wheel travel of every place at which limits are checked, (T,) each. [mm]."""
    full, home = evaluator.case.steering.rack_travel, evaluator.home
    up, down = evaluator.travel[home:], evaluator.travel[: home + 1]
    if ends_only:
        racks, heights = np.array([-full, 0.0, full]), np.array([down[0], up[-1]])
    else:
        racks = np.linspace(-full, full, RACK_STEPS)
        heights = np.concatenate([down[::-EVERY], up[::EVERY]])
    rack, travel = np.meshgrid(np.unique(racks), np.unique(heights), indexing="ij")
    return rack.ravel(), travel.ravel()


def _worst(found: Found, travel: Array, rack: Array) -> Margin:
    kind, name, value, limit, part = found
    margin = _margin(kind, value, limit)
    at = np.argmin(margin, axis=1)
    rows = np.arange(len(margin))
    return Margin(kind, name, value[rows, at], limit, margin[rows, at], travel[at], rack[at], part)


def _tilts(
    evaluator: Evaluator, settings: Settings, motion: Motion, rack: Array
) -> Iterator[Found]:
    joint = evaluator.case.joint
    limits: dict[Part, float | None] = {
        "outer joint": tilt_limit_deg(joint.outer),
        "inner joint": tilt_limit_deg(joint.inner),
    }
    if all(limit is None for limit in limits.values()):
        return
    tilts = joint_tilts(evaluator, settings, motion, rack)
    for (part, limit), tilt in zip(limits.items(), tilts, strict=True):
        if limit is not None:
            yield "tilt", part, np.degrees(tilt), limit, part
