"""A simulated garage: cars measured by tape, swept with a gauge, shimmed once, and found out.

Every car is invented at random about a layout's usual points.  Its owner knows the points to 2 mm
per coordinate and reads two dials to 0.03 mm; the true car is solved exactly.  What the program
makes of the readings is judged on the true car, beside what people do without them.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from geometry.motion import Motion
from geometry.vectors import Array
from optimizer.adjust import Settings
from optimizer.evaluate import Evaluator
from optimizer.gauge.loop import gauge
from optimizer.models.case import Case
from optimizer.models.readings import Readings
from optimizer.sampled import moved_corner, point_names
from optimizer.search.space import Space, space_of

SPREAD_MM = 6.0  # of a layout's points, from car to car
LOWERED_MM = (20.0, 50.0)
STROKE_MM = 50.0
TALLEST_MM = 25.0
ASKED_FOR_MM = (1.0, 10.0)  # stacks that the tape asks for, in the cars that come to the garage
SPACING_MM = 500.0
DIAL_NOISE_MM = 0.03
SWEPT_MM = np.arange(-STROKE_MM, STROKE_MM + 1.0, 10.0)


@dataclass(frozen=True)
class Layout:
    """A kind of car: the case's layout, its usual points, and which are the lower arm's. [mm]."""

    name: str
    layout: str
    points: dict[str, tuple[float, float, float]]
    tire_radius: float
    lower_arm: tuple[str, str, str] = ("lower_arm_front", "lower_arm_rear", "lower_ball_joint")


WISHBONES = {
    "lower_arm_front": (140.0, 390.0, 165.0),
    "lower_arm_rear": (-160.0, 410.0, 155.0),
    "lower_ball_joint": (5.0, 730.0, 150.0),
    "upper_arm_front": (110.0, 450.0, 420.0),
    "upper_arm_rear": (-130.0, 460.0, 410.0),
    "upper_ball_joint": (-15.0, 690.0, 440.0),
    "wheel_center": (0.0, 760.0, 290.0),
}
LAYOUTS = [
    Layout(
        "strut",
        "strut",
        {
            "lower_arm_front": (160.0, 365.0, 205.0),
            "lower_arm_rear": (-190.0, 350.0, 212.0),
            "lower_ball_joint": (0.0, 735.0, 190.0),
            "strut_top": (-38.0, 575.0, 830.0),
            "strut_axis": (-5.0, 640.0, 400.0),
            "tie_rod_inner": (-118.0, 330.0, 268.0),
            "tie_rod_outer": (-128.0, 700.0, 262.0),
            "wheel_center": (4.0, 770.0, 318.0),
        },
        318.0,
    ),
    Layout(
        "wishbones, arms behind",
        "double-wishbone",
        WISHBONES
        | {
            "tie_rod_inner": (-118.0, 396.0, 196.0),
            "tie_rod_outer": (-130.0, 705.0, 205.0),
        },
        290.0,
    ),
    Layout(
        "wishbones, arms ahead",
        "double-wishbone",
        WISHBONES
        | {
            "tie_rod_inner": (118.0, 396.0, 196.0),
            "tie_rod_outer": (130.0, 705.0, 205.0),
        },
        290.0,
    ),
]


@dataclass(frozen=True)
class Outcome:
    """Peaks that the true car has with each choice of stack, and what was promised. [deg]."""

    best: float
    gauge: float
    tape: float
    parallel: float
    left_alone: float
    promised_95: float


def outcomes(layout: Layout, count: int, seed: int) -> list[Outcome]:
    """Let so many cars of a layout through the garage."""
    rng = np.random.default_rng(seed)
    cars = _cars(layout, rng)
    return [_outcome(layout, next(cars), rng) for _ in range(count)]


def _cars(layout: Layout, rng: np.random.Generator) -> Iterator[Evaluator]:
    """Cars as measured, of those for which the tape asks for a stack of usual height."""
    while True:
        evaluator = Evaluator.of(_case(layout, rng))
        asked = space_of(evaluator.case).settings.outer_drop[_best_row(evaluator)]
        if ASKED_FOR_MM[0] <= asked <= ASKED_FOR_MM[1]:
            yield evaluator


def _case(layout: Layout, rng: np.random.Generator) -> Case:
    points = {
        name: (np.array(point) + SPREAD_MM * rng.normal(size=3)).tolist()
        for name, point in layout.points.items()
    }
    return Case.model_validate(
        {
            "format": 1,
            "name": "A car in the garage",
            "units": "mm",
            "layout": layout.layout,
            "points": points,
            "wheel": {
                "camber_deg": float(rng.uniform(-2.0, 0.0)),
                "tire_radius": layout.tire_radius,
            },
            "ride": {
                "lowered_by": float(rng.uniform(*LOWERED_MM)),
                "bump": STROKE_MM,
                "droop": STROKE_MM,
            },
            "outer_pivot": {"stack": {"min": 0.0, "max": TALLEST_MM, "step": 1.0}},
        }
    )


def _outcome(layout: Layout, tape: Evaluator, rng: np.random.Generator) -> Outcome:
    errors = rng.normal(size=(1, len(point_names(tape.corner)), 3))
    true = tape.with_corner(moved_corner(tape, errors).row(0))
    space = space_of(tape.case)
    peaks = np.degrees(np.abs(true.toe_change(space.settings)).max(axis=1))
    answer = gauge(tape.case, [two_dial_sweep(true, rng)]).next
    assert answer is not None
    return Outcome(
        best=float(peaks.min()),
        gauge=float(peaks[_row(space, answer.outer_drop_mm)]),
        tape=float(peaks[_best_row(tape)]),
        parallel=float(peaks[_row(space, parallel_to_lower_arm(layout, tape))]),
        left_alone=float(peaks[space.left]),
        promised_95=answer.peak_toe_change_95_deg,
    )


def _best_row(evaluator: Evaluator) -> int:
    change = evaluator.toe_change(space_of(evaluator.case).settings)
    return int(np.argmin(np.abs(change).max(axis=1)))


def _row(space: Space, height: float) -> int:
    return int(np.argmin(np.abs(space.settings.outer_drop - height)))


def parallel_to_lower_arm(layout: Layout, tape: Evaluator) -> float:
    """Stack that lays the rod parallel to the lower arm, seen from the front at ride height. [mm].

    The arm is seen from its ball joint to the point of its chassis axis straight abreast of it.
    """
    motion = tape.motion(Settings.single(), np.zeros(1))
    front, rear, joint = (np.array(tape.corner.points[name]) for name in layout.lower_arm)
    joint = motion.moved(joint)[0, 0]
    outer = motion.moved(tape.corner.outer_seat)[0, 0]
    share = (joint[0] - rear[0]) / (front[0] - rear[0])
    abreast = rear + share * (front - rear)
    rise = (joint[2] - abreast[2]) / (joint[1] - abreast[1])
    inner = tape.corner.inner
    wanted = inner[2] + rise * (outer[1] - inner[1])
    return float(np.clip(outer[2] - wanted, 0.0, TALLEST_MM))


def two_dial_sweep(true: Evaluator, rng: np.random.Generator) -> Readings:
    """Readings that a plate and two dials give of the true car at its standard seat."""
    motion = true.motion(Settings.single(), SWEPT_MM)
    center = true.corner.points["wheel_center"]
    stations = center[0] + SPACING_MM * np.array([0.5, -0.5])
    dials = dial_places(motion, plate(center, true.corner.spin), stations, center[2])[0]
    dials = dials + DIAL_NOISE_MM * rng.normal(size=dials.shape)
    return Readings.model_validate(
        {
            "format": 1,
            "units": "mm",
            "kind": "two-dial",
            "spacing": SPACING_MM,
            "reading_grows": "outboard",
            "readings": np.column_stack([SWEPT_MM, dials]).tolist(),
        }
    )


def plate(center: Array, spin: Array, outboard: float = 40.0) -> list[Array]:
    """Three points of a plate on the hub, square to the axle."""
    across = np.cross(spin, [0.0, 0.0, 1.0])
    along = np.cross(spin, across)
    middle = center + outboard * spin
    return [middle, middle + 100.0 * across, middle + 100.0 * along]


def dial_places(motion: Motion, points: list[Array], x: Array, z: float) -> Array:
    """Where dials at (x, z), which point across the car, meet a plate; (..., D) of x (D,). [mm].

    The plate is carried as three points, and met by lines as the plane through them, so nothing
    here knows of toe.
    """
    first, second, third = (motion.moved(point) for point in points)
    square = np.cross(second - first, third - first)
    beside, above = x - first[..., 0, None], z - first[..., 2, None]
    leaning = square[..., 0, None] * beside + square[..., 2, None] * above
    places: Array = first[..., 1, None] - leaning / square[..., 1, None]
    return places
