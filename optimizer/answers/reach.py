"""Which ride heights can be met, by which kit, and what stops the others."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from geometry.motion import Reach, toe_held_motion
from geometry.vectors import norm, turned
from geometry.wheel_angles import camber_angle, caster_angle
from optimizer.answers.blocked import Stop, Stops, stops
from optimizer.car.adjust import fitted_to_linkage, linkage_choice
from optimizer.car.alignment import AlignmentError, alignment_of
from optimizer.car.ride_heights import RideHeights, case_at
from optimizer.car.subject import subject_of
from optimizer.models.case import Case
from optimizer.models.kits import Kit
from optimizer.models.reach import KitReach, ReachResult, ReachRow
from optimizer.options.hardware import case_with_kit
from optimizer.options.reachable import Reached, Walks
from optimizer.options.space import Space, built_space, space_of

OWN_HARDWARE = "own hardware"

Angles = tuple[float | None, float | None]


def reach(
    case: Case,
    lowered_by: Sequence[float],
    kits: Sequence[Kit] = (),
    *,
    currency: str | None = None,
) -> ReachResult:
    """Find the best peak of every kit at every ride height, and what stops those that miss.

    Parameters
    ----------
    case : Case
        The car; its own stack or shelf is the one kit where `kits` is empty.  An alignment that it
        asks for is set anew at each height.
    lowered_by : sequence of float
        How much lower than measured the chassis is to sit, each height once. [mm]
    kits : sequence of Kit
        Each takes the place of the case's stack or shelf, and of what else it states.
    currency : str, optional
        That of the kits' prices, passed on.

    Returns
    -------
    ReachResult
        One row per height and kit, heights in the order given, kits in theirs within each.
    """
    names = [kit.name for kit in kits] or [OWN_HARDWARE]
    if case.alignment is None:
        by_kit = _rows_by_kit(case, lowered_by, kits, names)
    else:
        found = [_aligned_rows(case_at(case, height), kits, names) for height in lowered_by]
        by_kit = [list(rows) for rows in zip(*found, strict=True)]
    return ReachResult(
        subject=subject_of(case),
        tolerance_deg=case.aim.tolerance_deg,
        currency=currency,
        kits=[
            _summary(rows[0].kit, kits[place] if kits else None, rows)
            for place, rows in enumerate(by_kit)
        ],
        heights=[row for of_height in zip(*by_kit, strict=True) for row in of_height],
    )


def _aligned_rows(case: Case, kits: Sequence[Kit], names: list[str]) -> list[ReachRow]:
    """One row a kit at the case's own ride height, its alignment set there."""
    height = case.ride.lowered_by
    try:
        aligned, alignment = alignment_of(case)
    except AlignmentError as error:
        return [
            ReachRow(
                lowered_by_mm=height,
                kit=name,
                reachable=False,
                camber_deg=None,
                caster_deg=None,
                blocked_by=["alignment"],
                short_by={},
                reasons=[" ".join(str(error).split())],
                needed=None,
            )
            for name in names
        ]
    rows = [row for (row,) in _rows_by_kit(aligned, [height], kits, names)]
    return [row.model_copy(update={"alignment": alignment}) for row in rows]


def _rows_by_kit(
    case: Case, lowered_by: Sequence[float], kits: Sequence[Kit], names: list[str]
) -> list[list[ReachRow]]:
    """Rows of each kit, one a height, of a car whose alignment comes as it may."""
    heights = RideHeights.of(case, np.array(lowered_by, dtype=float))
    cases = [case_with_kit(case, kit) for kit in kits] or [case]
    spaces = [built_space(space_of(one)) if kits else space_of(one) for one in cases]
    walks = Walks(heights, cases, spaces)
    reached = walks.reached()
    stacks = [np.array([stack.height for stack in space.stacks]) for space in spaces]
    blocked = stops(walks, reached, stacks, "kit" if kits else "hardware")
    answers = _Answers(walks, reached, blocked, _ride_angles(heights))
    return [
        answers.rows(place, name, space)
        for place, (name, space) in enumerate(zip(names, spaces, strict=True))
    ]


@dataclass(frozen=True)
class _Answers:
    """What all rows are written from."""

    walks: Walks
    reached: Reached
    blocked: Stops
    angles: dict[float, list[Angles]]

    def rows(self, kit: int, name: str, space: Space) -> list[ReachRow]:
        """Rows of one kit, one a height."""
        heights, best = self.walks.heights, self.reached.best[kit]
        found = np.flatnonzero(best >= 0)
        settings = self.walks.settings_of(kit, best[found])
        corner = heights.evaluators[0].corner
        standard = float(norm(corner.outer_seat - corner.inner))
        fitted = {
            place: {
                "outer_drop_mm": float(settings.outer_drop[row]),
                "rack_raise_mm": float(settings.rack_raise[row]),
                **fitted_to_linkage(heights.case, float(settings.ball_joint_drop[row])),
                "stack_mm": list(space.pieces(int(best[place]))),
                "peak_toe_change_deg": float(np.degrees(self.reached.peak[kit, place])),
                "tie_rod_length_mm": float(length),
                "tie_rod_length_change_mm": float(length) - standard,
            }
            for row, (place, length) in enumerate(
                zip(found.tolist(), heights.rod_length(found, settings), strict=True)
            )
        }
        return [
            self._row(kit, place, name, fitted.get(place, {}))
            for place in range(heights.lowered_by.size)
        ]

    def _row(self, kit: int, place: int, name: str, setting: dict[str, Any]) -> ReachRow:
        heights = self.walks.heights
        stop = self.blocked.get((kit, place), Stop())
        drop = linkage_choice(heights.case, setting) if setting else heights.case.linkage_choices[0]
        camber, caster = self.angles[drop][place]
        return ReachRow(
            **setting,
            lowered_by_mm=float(heights.lowered_by[place]),
            kit=name,
            reachable=bool(self.reached.peak[kit, place] <= self.walks.tolerance),
            camber_deg=camber,
            caster_deg=caster,
            blocked_by=stop.blocked_by,
            short_by=stop.short_by,
            reasons=stop.reasons,
            needed=stop.needed,
        )


def _ride_angles(heights: RideHeights) -> dict[float, list[Angles]]:
    """Camber and caster with static toe for each ball-joint drop, one pair a height. [deg]."""
    evaluator = heights.evaluators[0]
    found: dict[float, list[Angles]] = {}
    for drop in heights.case.linkage_choices:
        motion = toe_held_motion(
            evaluator.corner.linkage(drop),
            heights.lowered_by,
            evaluator.corner.spin,
            np.full(heights.lowered_by.shape, evaluator.static_toe),
        )
        camber = np.degrees(camber_angle(turned(motion.rotation, evaluator.corner.spin)))
        caster = np.degrees(caster_angle(motion.steering_axis))
        reached = motion.reach == Reach.REACHED
        found[drop] = [
            (float(a), float(b)) if sound else (None, None)
            for a, b, sound in zip(camber, caster, reached, strict=True)
        ]
    return found


def _summary(name: str, kit: Kit | None, rows: list[ReachRow]) -> KitReach:
    reachable = [row.lowered_by_mm for row in rows if row.reachable]
    return KitReach(
        name=name,
        seat=None if kit is None else kit.seat,
        irreversible=kit is not None and kit.irreversible,
        price=None if kit is None else kit.price,
        mass_g=None if kit is None else kit.mass_g,
        lowest_mm=max(reachable, default=None),
        reachable_heights=len(reachable),
    )
