"""Cars whose truth is known, and what would be read beside the sweep on them."""

import numpy as np

from geometry.vectors import turned
from geometry.wheel_angles import camber_angle
from optimizer.car.sampled import as_taped, held_motion, sampled_motion
from optimizer.car.settings import Settings
from optimizer.gauging.fit import fitted_points
from optimizer.gauging.swept import swept

from .conftest import CASES
from .garage import dial_places, plate
from .sweeps import as_swept

TRAVEL = np.arange(-50.0, 51.0, 10.0)
STRUT = CASES / "lowered-strut.toml"
# Of the difference of two readings, twice its standard deviation as a file has it by default.
NOISE_DEG = {
    "rod_turned": 0.02,
    "camber": 0.14,
    "steered": 0.7,
    "turn_toe_out": 0.7,
    "caster_sweep": 0.28,
}
NOISE_MM = 0.57  # of `sideways`, the same


def toe_of(car, longer=0.0, rack=0.0):
    """Toe at ride height with a rod so much longer, or the rack moved. [deg]."""
    motion = sampled_motion(
        car, as_taped(car), Settings.single(), np.zeros(1), rack=np.array([rack]), longer=longer
    )
    spin = turned(motion.rotation, car.corner.spin)[0, 0]
    return float(np.degrees(np.arctan2(spin[0], spin[1])))


def camber_of(car, travel):
    motion = sampled_motion(car, as_taped(car), Settings.single(), travel)
    return np.degrees(camber_angle(turned(motion.rotation, car.corner.spin)))[0]


def dial_at_hub(car, travel, *, ahead=0.0, above=0.0, outboard=0.0):
    """Where a dial that points across the car at hub height meets the plate, outboard positive."""
    motion = sampled_motion(car, as_taped(car), Settings.single(), np.append(travel, 0.0))
    center = car.corner.points["wheel_center"]
    at_home = motion.moved(center)[0, -1]
    on_hub, station = plate(center, car.corner.spin, outboard), [at_home[0] + ahead]
    return dial_places(motion, on_hub, station, at_home[2] + above)[0, :-1, 0]


def out_on_turns(car, rack):
    """By how much more the inner wheel of a turn is turned, the car mirrored. [deg]."""
    one, other = (toe_of(car, rack=x) - toe_of(car) for x in (rack, -rack))
    return -(one + other)


def camber_held(car, toe_deg):
    """Camber with the wheel steered by hand to a toe. [deg]."""
    motion = held_motion(car, as_taped(car), Settings.single(), np.zeros(2), np.radians([toe_deg]))
    return float(np.degrees(camber_angle(turned(motion.rotation, car.corner.spin)))[0, 0])


def beside(car, *, turns=2.0, pitch=1.5):
    """All tables that a readings file may hold beside its sweep, as a car would fill them in."""
    racks = np.array([-30.0, -15.0, 0.0, 15.0, 30.0])
    travel = np.array([-40.0, 0.0, 40.0])
    left = np.array([-toe_of(car, rack=rack) for rack in racks]) + 3.0  # a plate's own zero
    return {
        "rod_turned": [
            {
                "turns": turns,
                "pitch": pitch,
                "before": toe_of(car),
                "after": toe_of(car, turns * pitch),
            }
        ],
        "sideways": {
            "dial": np.column_stack([travel, 3.0 - dial_at_hub(car, travel)]).tolist(),
            "reading_grows": "inboard",
        },
        "camber": {"readings": np.column_stack([travel, camber_of(car, travel) + 0.7]).tolist()},
        "steered": {"readings": np.column_stack([racks, left]).tolist()},
        "turn_toe_out": {"readings": [[x, out_on_turns(car, x)] for x in (30.0, 15.0)]},
        "caster_sweep": {
            "steer_deg": 20.0,
            "camber_out_deg": camber_held(car, -20.0) + 0.4,
            "camber_in_deg": camber_held(car, 20.0) + 0.4,
        },
    }


def sweep_of(car, **keys):
    return as_swept(car, TRAVEL, **keys)


def errors_of(tape, sweep):
    return fitted_points(tape, swept(sweep, tape).observations(tape)).errors


STEERED = ("steered", "turn_toe_out", "caster_sweep")
