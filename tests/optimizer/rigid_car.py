"""A car with its alignment moved, solved from the measured points by a general-purpose library.

Six unknowns, the turn and the move of the upright, against six conditions written out here; SciPy
finds the zero.  Nothing of the program takes part but the measured points.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root
from scipy.spatial.transform import Rotation

Array = NDArray[np.float64]

ARM_MM = 300.0  # turns are sought as the move of a point so far off
LEFT_OPEN_MM = 1e-9


@dataclass(frozen=True)
class RigidCar:
    """A left wheel as measured, [mm] and [deg], with parts moved and a ball joint extended."""

    points: Mapping[str, Array]
    toe_deg: float
    camber_deg: float
    moved: Mapping[str, Array] = field(default_factory=dict)
    turn_deg: float = 0.0
    bolt: Array = field(default_factory=lambda: np.zeros(3))
    drop: float = 0.0

    def chassis(self, name: str) -> Array:
        return self.points[name] + self.moved.get(name, np.zeros(3))

    @property
    def spin(self) -> Array:
        toe, camber = np.radians([self.toe_deg, self.camber_deg])
        level = np.cos(camber)
        return np.array([np.sin(toe) * level, np.cos(toe) * level, -np.sin(camber)])

    def strut_line(self) -> list[Array]:
        """Two points of the damper rod's line in the upright, turned against it at the bolts."""
        turn = Rotation.from_euler("x", self.turn_deg, degrees=True)
        return [
            self.bolt + turn.apply(self.points[name] - self.bolt)
            for name in ("strut_top", "strut_axis")
        ]

    def arms(self) -> list[tuple[str, str]]:
        arms = [
            (f"{arm}_arm_{end}", f"{arm}_ball_joint")
            for arm in ("lower", "upper")
            for end in ("front", "rear")
        ]
        links = [(f"link_{k}_inner", f"link_{k}_outer") for k in (1, 2)]
        return [ends for ends in arms + links if ends[0] in self.points]

    def pose(
        self,
        height: float,
        *,
        toe_deg: float | None = None,
        rod: float = 0.0,
        start: "Posed | None" = None,
    ) -> "Posed":
        """Pose with the wheel center so much higher, at a toe or with a rod of a length.

        Of two, the one next to where it starts, as measured if not given.
        """

        first = np.zeros(6) if start is None else start.unknown

        def open_by(unknown: Array) -> list[float]:
            posed = self._posed(unknown)
            gaps = []
            for inner, joint in self.arms():
                down = np.array([0.0, 0.0, -self.drop if joint == "lower_ball_joint" else 0.0])
                length = np.linalg.norm(self.points[joint] - self.points[inner])
                end = posed.carried(self.points[joint] + down)
                gaps.append(float(np.linalg.norm(end - self.chassis(inner)) - length))
            if "strut_top" in self.points:
                top, second = (posed.carried(point) for point in self.strut_line())
                along = (top - second) / np.linalg.norm(top - second)
                off = np.cross(along, self.chassis("strut_top") - second)
                gaps += [off[0], off[1]]  # the rod stands nearly upright, so these two tell
            rise = posed.carried(self.points["wheel_center"])[2] - self.points["wheel_center"][2]
            gaps.append(rise - height)
            if toe_deg is None:
                gaps.append(posed.rod_length - rod)
            else:
                gaps.append(ARM_MM * np.radians(posed.toe_deg - toe_deg))
            return gaps

        found = root(open_by, first, method="hybr", options={"xtol": 1e-14})
        assert np.abs(open_by(found.x)).max() < LEFT_OPEN_MM
        return self._posed(found.x)

    def _posed(self, unknown: Array) -> "Posed":
        return Posed(self, Rotation.from_rotvec(unknown[:3] / ARM_MM), unknown[3:])


@dataclass(frozen=True)
class Posed:
    """The car at a pose of its upright."""

    car: RigidCar
    turn: Rotation
    move: Array

    @property
    def unknown(self) -> Array:
        return np.append(self.turn.as_rotvec() * ARM_MM, self.move)

    def carried(self, point: Array) -> Array:
        center = self.car.points["wheel_center"]
        return center + self.move + self.turn.apply(point - center)

    @property
    def spin(self) -> Array:
        return self.turn.apply(self.car.spin)

    @property
    def toe_deg(self) -> float:
        return float(np.degrees(np.arctan2(self.spin[0], self.spin[1])))

    @property
    def camber_deg(self) -> float:
        return float(np.degrees(np.arctan2(-self.spin[2], np.hypot(*self.spin[:2]))))

    @property
    def caster_deg(self) -> float:
        joint = self.car.points["lower_ball_joint"] - np.array([0.0, 0.0, self.car.drop])
        top = (
            self.car.chassis("strut_top")
            if "strut_top" in self.car.points
            else self.carried(self.car.points["upper_ball_joint"])
        )
        axis = top - self.carried(joint)
        return float(np.degrees(np.arctan2(-axis[0], axis[2])))

    @property
    def rod_length(self) -> float:
        outer = self.carried(self.car.points["tie_rod_outer"])
        return float(np.linalg.norm(outer - self.car.chassis("tie_rod_inner")))
