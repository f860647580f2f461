"""One steered axle built in the same multibody library (exudyn), with none of our own formulas.

    ground --distance--> beam                                           (each of four links)
    ground --distance--> beam --distance--> end --distance--> ground    (a leaf, its shackle last)
    ground --y--> beam, between its seats                               (leaves hold it sideways)
    left knuckle <--revolute-- beam --revolute--> right knuckle         (the kingpins)
    left knuckle --distance--> right knuckle                            (the cross rod)
    ground --three coordinates--> pitman ball --distance--> left knuckle

The height of each wheel is a constraint on one coordinate of its knuckle, whose reference point is
the wheel center.  The library has no joint that says how leaves share a beam's pitch, so it leaves
that free, and secant steps from outside hold the beam where both leaves bend evenly.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from .axle_cars import MIDDLE, MIRROR
from .multibody import METERS, Array, Model, MultibodySweep, exu, parts


def multibody_axle_sweep(
    points: Mapping[str, Array],
    drag_link: tuple[Array, Array, float],
    rises: Array,
    *,
    pitman_shift: float = 0.0,
    lift_block: float = 0.0,
    shackle_longer: float = 0.0,
) -> tuple[MultibodySweep, MultibodySweep]:
    """Sweep the wheels of one axle through `rises`; where the left and the right knuckle are then.

    Parameters
    ----------
    points : mapping of point name to (3,)
        As measured. [mm]
    drag_link : inner point, outer point, length
        Pitman ball steering straight ahead, end on the left knuckle as measured, length. [mm]
    rises : (n, 2)
        Rise of the left and the right wheel center from the measured pose, in an order in which
        they can be walked through from the middle outward. [mm]
    pitman_shift : float
        Shift of the pitman ball to the left. [mm]
    lift_block, shackle_longer : float
        How much higher leaf springs stand on the beam, and how much longer their shackles are, than
        measured. [mm]
    """
    place = {name: np.asarray(point, dtype=float) * METERS for name, point in points.items()}
    inner, outer = (np.asarray(point, dtype=float) * METERS for point in drag_link[:2])
    axle = (_LeafAxle if "spring_eye" in place else _Axle)(place, inner, outer)

    def values(rise: Sequence[float]) -> Array:
        return np.array([drag_link[2], pitman_shift, *rise, lift_block, shackle_longer])

    middle = len(rises) // 2
    measured = np.array([np.linalg.norm(outer - inner) / METERS, *[0.0] * 5])
    axle.walk(measured, values(rises[middle]))
    start = axle.coordinates()
    poses: dict[int, list[tuple[Array, Array]]] = {}
    for rows in (range(middle, len(rises)), range(middle, -1, -1)):
        axle.restore(start)
        here = values(rises[middle])
        for row in rows:
            axle.walk(here, values(rises[row]))
            here = values(rises[row])
            poses[row] = [axle.pose(knuckle) for knuckle in axle.knuckles]
    left, right = (
        MultibodySweep(
            rotation=np.array([poses[row][side][0] for row in range(len(rises))]),
            wheel_center=np.array([poses[row][side][1] for row in range(len(rises))]) / METERS,
            measured_wheel_center=points["wheel_center"] * (1.0, MIRROR)[side],
        )
        for side in range(2)
    )
    return left, right


class _Axle(Model):
    """The axle; its values are drag link length, pitman shift, the rise of each wheel, and more."""

    def __init__(self, place: Mapping[str, Array], inner: Array, outer: Array) -> None:
        super().__init__()
        self.middle = place["wheel_center"] * MIDDLE
        self.beam, self.beam_node = self.body(self.middle)
        self.hold(place)
        self.knuckles, self._heights, rod_ends = [], [], []
        for mirror in (np.ones(3), MIRROR):
            knuckle, node = self.body(place["wheel_center"] * mirror)
            self._kingpin(self.beam, knuckle, place, mirror)
            self.knuckles.append(knuckle)
            self._heights.append(self.held_coordinate(node, 2))
            arm = (place["cross_rod_end"] - place["wheel_center"]) * mirror
            rod_ends.append(self.marker(knuckle, arm))
        self.distance(*rod_ends, 2.0 * abs(place["cross_rod_end"][1]))
        pitman, self._pitman = self.moving_end(inner)
        self._drag_link = self.distance(
            pitman,
            self.marker(self.knuckles[0], outer - place["wheel_center"]),
            np.linalg.norm(outer - inner),
        )
        self.mbs.Assemble()

    def hold(self, place: Mapping[str, Array]) -> None:
        for k in range(1, 5):
            self.link(place[f"link_{k}_inner"], place[f"link_{k}_outer"])

    def link(self, in_chassis: Array, in_beam: Array) -> None:
        self.distance(
            self.marker(self.ground, in_chassis),
            self.marker(self.beam, in_beam - self.middle),
            np.linalg.norm(in_beam - in_chassis),
        )

    def _kingpin(self, beam: Any, knuckle: Any, place: Mapping[str, Array], mirror: Array) -> None:
        lower, upper = place["kingpin_lower"] * mirror, place["kingpin_upper"] * mirror
        axis = (upper - lower) / np.linalg.norm(upper - lower)
        self.mbs.CreateRevoluteJoint(
            itemNumbers=[beam, knuckle], position=list(lower), axis=list(axis)
        )

    def set(self, values: Array) -> None:
        length, shift, *rises = values[:4]
        self.mbs.SetObjectParameter(self._drag_link, "distance", length)
        self.mbs.SetObjectParameter(self._pitman, "offset", shift)
        for height, rise in zip(self._heights, rises, strict=True):
            self.mbs.SetObjectParameter(height, "offset", rise)


PITCH = 5  # coordinate of a body's node: the Euler parameter of a turn about y
SECANT_STEPS, FIRST_STEP, LAST_STEP = 9, 1e-5, 1e-15


class _LeafAxle(_Axle):
    """The axle on leaf springs: in each half a link to a point of the beam at a quarter of it."""

    def hold(self, place: Mapping[str, Array]) -> None:
        self._place, seat = place, place["spring_seat"]
        eye, end = (_side(place[name] - seat) for name in ("spring_eye", "shackle_spring"))
        # The circle through eye, seat and end; the seat is 0.
        middle = eye * end * (eye - end).conjugate() / (eye.conjugate() * end).imag / 2.0j
        self._along = 1.0j * middle / abs(middle)
        self._along *= np.sign((eye / self._along).real)
        self._halves = [
            abs(middle) * abs(np.angle((point - middle) / -middle)) for point in (eye, end)
        ]
        along = np.array([self._along.real, 0.0, self._along.imag])
        joints = [
            seat + way * half / 4.0 * along for way, half in zip((1, -1), self._halves, strict=True)
        ]
        up = 1.0j * self._along * np.sign(self._along.real)
        self._up = np.array([up.real, 0.0, up.imag])
        self._ends, self._raised, self._shackles, self._block = [], [], [], 0.0
        for mirror in (np.ones(3), MIRROR):
            eye, joint = (point * mirror for point in (place["spring_eye"], joints[0]))
            self.distance(
                self.marker(self.ground, eye), self._on_beam(joint), np.linalg.norm(eye - joint)
            )
            self._ends.append(self._shackle(joints[1] * mirror, mirror))
        self._held = self.held_coordinate(self.beam_node, PITCH)
        self._pitch = 0.0
        between = [self.marker(self.ground, seat * MIDDLE), self._on_beam(seat * MIDDLE)]
        sideways = parts.GenericJoint(markerNumbers=between, constrainedAxes=[0, 1, 0, 0, 0, 0])
        self.mbs.AddObject(sideways)

    def _on_beam(self, point: Array) -> Any:
        """A marker on the beam that a lift block raises."""
        marker = self.marker(self.beam, point - self.middle)
        self._raised.append((marker, point - self.middle))
        return marker

    def set(self, values: Array) -> None:
        super().set(values)
        self._block, longer = values[4:]
        for marker, place in self._raised:
            self.mbs.SetMarkerParameter(marker, "localPosition", place + self._block * self._up)
        for shackle, length in self._shackles:
            self.mbs.SetObjectParameter(shackle, "distance", length + longer)

    def _shackle(self, joint: Array, mirror: Array) -> Any:
        """The leaf's end, between its link and the shackle, which swings about a pin across."""
        at, frame = (self._place[name] * mirror for name in ("shackle_spring", "shackle_frame"))
        end = self.mbs.CreateMassPoint(referencePosition=list(at), mass=1.0, returnDict=True)
        node, pin = end["nodeNumber"], np.array([frame[0], at[1], frame[2]])
        self.held_coordinate(node, 1)
        self.distance(node, self._on_beam(joint), np.linalg.norm(at - joint))
        length = np.linalg.norm(at - pin)
        self._shackles.append((self.distance(node, self.marker(self.ground, pin), length), length))
        return node

    def solve(self) -> None:
        """Find the pitch at which both springs together are not wound up."""
        at = [self._pitch, self._pitch + FIRST_STEP]
        wound = [self._wound_at(pitch) for pitch in at]
        for _ in range(SECANT_STEPS):
            step = -wound[1] * (at[1] - at[0]) / (wound[1] - wound[0])
            at = [at[1], at[1] + step]
            wound = [wound[1], self._wound_at(at[1])]
            if abs(step) < LAST_STEP or wound[1] == wound[0]:
                break
        self._pitch = at[1]

    def _wound_at(self, pitch: float) -> float:
        self.mbs.SetObjectParameter(self._held, "offset", pitch)
        super().solve()
        rotation, center = self.pose(self.beam)
        wound = 0.0
        for node, mirror in zip(self._ends, (np.ones(3), MIRROR), strict=True):
            end = np.array(self.mbs.GetNodeOutput(node, exu.OutputVariableType.Position))
            seat = self._place["spring_seat"] * mirror - self.middle + self._block * self._up
            for half, way, point in zip(
                self._halves, (1, -1), (self._place["spring_eye"] * mirror, end), strict=True
            ):
                chord = _side(rotation.T @ (point - center) - seat)
                wound += 2.0 * np.angle(chord / (way * self._along)) / half
        return float(wound)


def _side(point: Array) -> complex:
    """A point seen from the side."""
    return complex(point[0], point[2])
