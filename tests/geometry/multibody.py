"""One left corner built in a general-purpose multibody library, with none of our own formulas.

The library (exudyn, https://github.com/jgerstmayr/EXUDYN) knows only rigid bodies and joints:

    ground --revolute--> lower arm --ball--> upright <--ball-- upper arm <--revolute-- ground
                                             upright <--prismatic-- strut rod --ball-- ground
    ground --distance--> upright                 (each link of a layout without arms)
    ground --three coordinates--> rack end --distance--> upright

The wheel's height is a constraint on one coordinate of the upright, whose reference point is the
wheel center; a static solve then finds the pose.  Every change starts from the measured pose, where
all joints fit, and is walked in small steps, so that no other assembly can be reached by a jump.
"""

import math
from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

WHY = "exudyn draws with libGL, which a slim machine may lack (Debian: apt install libgl1)"
exu: Any = pytest.importorskip("exudyn", reason=WHY, exc_type=ImportError)
parts: Any = pytest.importorskip("exudyn.utilities")

Array = NDArray[np.float64]

exu.config.printToConsole = False  # a failed solve would print a page; it raises as well

LINKS = {"double-wishbone": 0, "strut": 0, "twin-link-strut": 2, "five-link": 4}
METERS = 1e-3  # of one millimeter
LONGEST_STEP_MM = 5.0
# The library asks for masses; in a static solve without loads they do nothing.
INERTIA = parts.InertiaCuboid(density=1000.0, sideLengths=[0.1, 0.1, 0.1])


@dataclass(frozen=True)
class MultibodySweep:
    """Pose of the upright at each wheel travel, against the measured pose."""

    rotation: Array  # (n, 3, 3)
    wheel_center: Array  # (n, 3) [mm]
    measured_wheel_center: Array  # (3,) [mm]

    def world(self, measured: Array) -> Array:
        """Where a point of the upright, given as measured, sits at each travel, (n, 3). [mm]"""
        return self.wheel_center + self.rotation @ (measured - self.measured_wheel_center)


def multibody_sweep(
    layout: str,
    points: Mapping[str, Sequence[float]],
    rod: tuple[Sequence[float], Sequence[float], float],
    travels: Sequence[float],
    *,
    rack_travel: float = 0.0,
    ball_joint_drop: float = 0.0,
) -> MultibodySweep:
    """Sweep the wheel of one corner through `travels`.

    Parameters
    ----------
    layout : {"strut", "double-wishbone", "twin-link-strut", "five-link"}
    points : mapping of point name to (3,)
        As measured, x forward, y left, z up. [mm]
    rod : inner point, outer point, length
        Both points as measured with straight steering; the outer one belongs to the upright.  The
        length may differ from their distance. [mm]
    travels : (n,)
        Rise of the wheel center from the measured pose. [mm]
    rack_travel : float
        Shift of the inner point to the left. [mm]
    ball_joint_drop : float
        How far the lower ball joint sits below its measured place in the upright; the arm keeps
        its length.  Layouts without a lower arm have none to drop. [mm]

    Raises
    ------
    exudyn.SolverError
        Where the library finds no pose.
    """
    place = {name: np.asarray(point, dtype=float) * METERS for name, point in points.items()}
    inner, outer = (np.asarray(point, dtype=float) * METERS for point in rod[:2])
    corner = _Corner(layout, place, inner, outer)

    measured = np.array([np.linalg.norm(outer - inner) / METERS, 0.0, 0.0, 0.0])
    adjusted = np.array([rod[2], rack_travel, ball_joint_drop, 0.0])
    corner.walk(measured, adjusted)
    start = corner.coordinates()

    poses: dict[float, tuple[Array, Array]] = {}
    for sign in (1.0, -1.0):
        corner.restore(start)
        here = adjusted
        for travel in sorted({t for t in travels if sign * t >= 0.0}, key=abs):
            there = np.array([*adjusted[:3], travel])
            corner.walk(here, there)
            here = there
            poses[travel] = corner.pose(corner.upright)
    return MultibodySweep(
        rotation=np.array([poses[travel][0] for travel in travels]),
        wheel_center=np.array([poses[travel][1] for travel in travels]) / METERS,
        measured_wheel_center=place["wheel_center"] / METERS,
    )


class Model(ABC):
    """A system of the library; everything that crosses its edge is in meters."""

    def __init__(self) -> None:
        # The system lives inside its container, which must not be collected before it.
        self._container = exu.SystemContainer()
        self.mbs = self._container.AddSystem()
        self.ground = self.mbs.CreateGround()
        self._settings = _static_settings()

    @abstractmethod
    def set(self, values: Array) -> None:
        """Fit lengths, offsets and travel before the next solve. [m]"""

    def body(self, position: Array) -> tuple[Any, Any]:
        """A rigid body with its reference point at `position`, and its node."""
        body = self.mbs.CreateRigidBody(
            referencePosition=list(position), inertia=INERTIA, returnDict=True
        )
        return body["bodyNumber"], body["nodeNumber"]

    def marker(self, body: Any, local: Array) -> Any:
        return self.mbs.AddMarker(parts.MarkerBodyRigid(bodyNumber=body, localPosition=local))

    def distance(self, first: Any, second: Any, length: float) -> Any:
        return self.mbs.CreateDistanceConstraint(
            itemNumbers=[first, second], distance=float(length)
        )

    def held_coordinate(self, node: Any, coordinate: int) -> Any:
        return self.mbs.CreateCoordinateConstraint(
            itemNumbers=[None, node], coordinates=[None, coordinate]
        )

    def moving_end(self, position: Array) -> tuple[Any, Any]:
        """A point that is held in the chassis, and what holds its y coordinate."""
        end = self.mbs.CreateMassPoint(referencePosition=list(position), mass=1.0, returnDict=True)
        node = end["nodeNumber"]
        _, across, _ = (self.held_coordinate(node, axis) for axis in range(3))
        return node, across

    def walk(self, here: Array, there: Array) -> None:
        """Go from the values in one place to those in another, by small steps. [mm]"""
        steps = max(1, math.ceil(np.max(np.abs(there - here)) / LONGEST_STEP_MM))
        for fraction in np.arange(1, steps + 1) / steps:
            self.set((here + fraction * (there - here)) * METERS)
            self.solve()

    def solve(self) -> None:
        self.mbs.SolveStatic(self._settings, updateInitialValues=True)

    def coordinates(self) -> tuple[list[float], list[float]]:
        data = self.mbs.systemData
        return data.GetODE2Coordinates(), data.GetAECoordinates()

    def restore(self, coordinates: tuple[list[float], list[float]]) -> None:
        data, initial = self.mbs.systemData, exu.ConfigurationType.Initial
        data.SetODE2Coordinates(coordinates[0], initial)
        data.SetAECoordinates(coordinates[1], initial)

    def pose(self, body: Any) -> tuple[Array, Array]:
        """Rotation (3, 3) and reference point (3,) of a body. [m]"""

        def output(kind: Any) -> Array:
            return np.array(self.mbs.GetObjectOutputBody(body, kind, [0.0, 0.0, 0.0]))

        kinds = exu.OutputVariableType
        return output(kinds.RotationMatrix).reshape(3, 3), output(kinds.Position)


class _Corner(Model):
    """One corner; its values are rod length, rack travel, ball joint drop and wheel travel."""

    def __init__(self, layout: str, place: Mapping[str, Array], inner: Array, outer: Array) -> None:
        super().__init__()
        self._place = place
        self.upright, upright_node = self.body(place["wheel_center"])
        self._lower_joint_marker = None
        if layout in ("double-wishbone", "strut"):
            self._lower_joint_marker = self._arm("lower")
        if layout == "double-wishbone":
            self._arm("upper")
        if layout in ("strut", "twin-link-strut"):
            self._strut()
        for number in range(1, LINKS[layout] + 1):
            self._link(place[f"link_{number}_inner"], place[f"link_{number}_outer"])
        end, self._rack = self.moving_end(inner)
        self._tie_rod = self.distance(
            end, self._on_upright(outer), float(np.linalg.norm(outer - inner))
        )
        self._height = self.held_coordinate(upright_node, 2)
        self.mbs.Assemble()

    def set(self, values: Array) -> None:
        length, rack, drop, travel = values
        self.mbs.SetObjectParameter(self._tie_rod, "distance", length)
        self.mbs.SetObjectParameter(self._rack, "offset", rack)
        if self._lower_joint_marker is not None:
            joint = self._place["lower_ball_joint"] - self._place["wheel_center"]
            self.mbs.SetMarkerParameter(
                self._lower_joint_marker, "localPosition", joint - [0.0, 0.0, drop]
            )
        self.mbs.SetObjectParameter(self._height, "offset", travel)

    def _on_upright(self, point: Array) -> Any:
        return self.marker(self.upright, point - self._place["wheel_center"])

    def _arm(self, level: str) -> Any:
        """Hinge an arm to the ground and hang the upright on it; the upright's marker."""
        front, rear = self._place[f"{level}_arm_front"], self._place[f"{level}_arm_rear"]
        joint = self._place[f"{level}_ball_joint"]
        arm, _ = self.body(joint)
        axis = (front - rear) / np.linalg.norm(front - rear)
        self.mbs.CreateRevoluteJoint(
            itemNumbers=[self.ground, arm], position=list(front), axis=list(axis)
        )
        upright_marker = self._on_upright(joint)
        self.mbs.CreateSphericalJoint(
            itemNumbers=[self.marker(arm, np.zeros(3)), upright_marker], position=[]
        )
        return upright_marker

    def _link(self, inner: Array, outer: Array) -> None:
        length = float(np.linalg.norm(outer - inner))
        self.distance(self.marker(self.ground, inner), self._on_upright(outer), length)

    def _strut(self) -> None:
        top, second = self._place["strut_top"], self._place["strut_axis"]
        rod, _ = self.body(top)
        axis = (top - second) / np.linalg.norm(top - second)
        self.mbs.CreatePrismaticJoint(
            itemNumbers=[self.upright, rod], position=list(second), axis=list(axis)
        )
        self.mbs.CreateSphericalJoint(itemNumbers=[self.ground, rod], position=list(top))


def _static_settings() -> Any:
    settings = exu.SimulationSettings()
    settings.solution.file.write = False
    settings.staticSolver.verboseMode = 0
    settings.staticSolver.numberOfLoadSteps = 1
    settings.staticSolver.newton.relativeTolerance = 1e-12
    settings.staticSolver.newton.absoluteTolerance = 1e-13
    settings.linearSolver.solverType = exu.LinearSolverType.EigenDense
    return settings
