"""One readings file as a curve: what was read, how finely, and the figures that it makes."""

from collections.abc import Collection

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator, scored_travel
from optimizer.car.settings import Settings
from optimizer.car.wanted import wanted_change, wanted_curvature, wanted_slope
from optimizer.gauging.beside_toe import beside_toe, reached_beside
from optimizer.gauging.conversions import (
    as_read,
    gauge_numbers,
    gauge_of,
    push_pull,
    reading_noise,
    rounding_noise,
    toe_readings,
    wheel_travel,
)
from optimizer.gauging.fit import Foretold
from optimizer.gauging.measured import (
    FEWEST_TO_TELL,
    SAME_HEIGHT_MM,
    USUAL_NOISE,
    MeasuredCurve,
    measured_curve,
)
from optimizer.gauging.observation import Bools, Observation, toe_by
from optimizer.gauging.seen import contamination
from optimizer.gauging.swept_linkage import fitted_linkage, typed_linkage
from optimizer.models.aim import Aim
from optimizer.models.gauge import ConvertedRow, Measured
from optimizer.models.questions import PlayOf, ShortStroke, Stroke
from optimizer.models.readings import Readings
from optimizer.wording.refused_readings import refused

LEAST_NOISE = float(np.radians(0.002))  # no gauge of this kind reads finer
HALF_TURN = float(np.pi)  # no toe changes by more, whatever was typed for what
SHORT_SWEEP = 0.95  # of the used travel


class Swept(Struct, frozen=True):
    """One readings file and the curve that it makes.

    `seen` (N,) is toe as the gauge sees it; the curve is of toe alone where the model can tell
    what else the gauge saw, `not_toe` (N,).  `fitted` is a batch of one; `linkage` what was fitted
    to the linkage itself, the same for two sweeps where it was the same; `loose` the play that was
    felt, end to end [rad]; `falls` how far a millimeter of stack lowers the outer pivot; `reached`
    which rows of what was read beside it the points can reach, where they can't reach all;
    `by_tape` what they foretell of those that they can.
    """

    readings: Readings
    linkage: tuple[float, ...]
    fitted: Settings
    seen: Array
    not_toe: Array
    curve: MeasuredCurve
    noise: float
    loose: dict[PlayOf, float]
    falls: float
    reached: dict[str, Bools] = field(default_factory=dict)
    by_tape: dict[str, Foretold] = field(default_factory=dict)

    @property
    def height(self) -> float:
        """How far the outer pivot was lowered and the rack raised, together. [mm].

        That is what counts for the slope.
        """
        return self.lowered + self.readings.fitted_raise

    @property
    def lowered(self) -> float:
        """How far the stack lowered the outer pivot. [mm]."""
        return self.readings.fitted_drop * self.falls

    def toe_seen(self) -> Observation:
        """Every row of the sweep that does not stand apart."""
        kept = ~self.curve.apart
        eye = toe_by(gauge_of(self.readings))
        travel = self.curve.travel[kept]
        return Observation.of(eye, self.fitted, self.seen[kept], self.noise, travel=travel)

    def observations(self, tape: Evaluator, without: Collection[str] = ()) -> list[Observation]:
        """All that the points are fitted to: the sweep, and what was read beside it.

        What stands under one of the keys `without` is left out.
        """
        beside = self.beside(tape)
        return [self.toe_seen(), *(beside[key] for key in beside if key not in without)]

    def beside(self, tape: Evaluator) -> dict[str, Observation]:
        """What was read beside the sweep and can be reached, by the key that it stands under."""
        found = beside_toe(self.readings, self.fitted, self.noise, ~self.curve.apart, tape)
        kept = {key: found[key].of_rows(rows) for key, rows in self.reached.items()}
        return found | kept

    def typed_rows(self, key: str) -> list[int]:
        """Places in its file, from 1, of the rows that a table beside the sweep has of its own."""
        table = getattr(self.readings, key, None)
        rows = getattr(table, "dial" if key == "sideways" else "readings", ())
        kept = self.reached.get(key, [True] * len(rows))
        places = range(1, len(rows) + 1)  # of the sweep's own dials none
        return [place for place, there in zip(places, kept, strict=False) if there]


def swept(readings: Readings, evaluator: Evaluator | None) -> Swept:
    """Turn a readings file into a curve, its noise as given or as its scatter shows.

    Raises
    ------
    PivotwrightError
        All rows are far from ride height, or one shows a distance that is longer than the gauge
        or a toe change of more than half a turn; or of what was read beside it the points reach
        too few rows.
    """
    travel, seen = wheel_travel(readings), toe_readings(readings)
    if float(np.abs(travel).min()) > float(np.ptp(travel)):
        nearest = float(travel[np.argmin(np.abs(travel))])
        raise refused(readings, "far-from-ride-height", nearest=nearest)
    beyond = np.flatnonzero(np.isnan(seen))
    if beyond.size:
        raise refused(readings, "beyond-gauge", row=str(beyond[0] + 1))
    far = np.flatnonzero(np.abs(seen - seen[np.argmin(np.abs(travel))]) > HALF_TURN)
    if far.size:
        raise refused(readings, "half-a-turn", row=str(far[0] + 1))
    choice = None if evaluator is None else fitted_linkage(readings, evaluator.case)
    linkage = typed_linkage(readings) if choice is None else (choice,)
    forward = readings.rack_fore_aft or 0.0
    fitted = Settings.single(readings.fitted_drop, readings.fitted_raise, choice or 0, forward)
    not_toe = np.zeros(travel.size)
    gauge = gauge_of(readings)
    if evaluator is not None and gauge.fixed is not None:
        not_toe = np.nan_to_num(contamination(gauge, evaluator, fitted, travel))
    curve = measured_curve(travel, seen - not_toe)
    arm = readings.car.steering_arm if evaluator is None else evaluator.corner.steering_arm
    loose = play_of(readings, arm)
    noise = _noise(readings, curve, max(loose.values(), default=0.0))
    falls = 1.0 if evaluator is None else -float(evaluator.corner.stud_axis[2])
    one = Swept(readings, linkage, fitted, seen, not_toe, curve, noise, loose, falls)
    if evaluator is None:
        return one
    reached, by_tape = reached_beside(evaluator, one.beside(evaluator), readings)
    return replace(one, reached=reached, by_tape=by_tape)


def play_of(readings: Readings, arm: float | None) -> dict[PlayOf, float]:
    """Toe from end to end of the play that was felt, by what it was read at. [rad]."""
    found: dict[PlayOf, float] = {}
    if (shown := push_pull(readings)) is not None:
        found["gauge"] = shown
    if readings.rack_play is not None and arm is not None:
        found["inner"] = 2.0 * float(np.arctan(readings.rack_play / arm))
    return found


def _noise(readings: Readings, curve: MeasuredCurve, loose: float) -> float:
    """One standard deviation of a toe reading, half of any play taken for noise too. [rad]."""
    play = 0.5 * loose if np.isnan(curve.play) else 0.5 * max(abs(curve.play), loose)
    stated = reading_noise(readings)
    if stated is not None:
        return float(np.hypot(max(stated, LEAST_NOISE), play))
    least = LEAST_NOISE if curve.freedom >= FEWEST_TO_TELL else USUAL_NOISE
    return float(np.hypot(max(curve.scatter, least, rounding_noise(readings)), play))


def swept_strokes(one: Swept, wanted: tuple[float, float] | None) -> tuple[float, float]:
    """Bump and droop to judge: what is wanted as far as it was swept, or all of it. [mm].

    Raises
    ------
    PivotwrightError
        Nothing of the wanted travel was swept.
    """
    travel = one.curve.travel
    bump, droop = max(float(travel.max()), 0.0), max(-float(travel.min()), 0.0)
    if wanted is not None:
        used = (travel <= wanted[0] + SAME_HEIGHT_MM) & (travel >= -wanted[1] - SAME_HEIGHT_MM)
        bump, droop = (min(wanted[0], bump), min(wanted[1], droop)) if used.any() else (0.0, 0.0)
    if bump == 0.0 and droop == 0.0:
        raise refused(one.readings, "nothing-used")
    return bump, droop


def short_strokes(one: Swept, wanted: tuple[float, float] | None) -> list[ShortStroke]:
    """Where the used travel was not swept: no curve is drawn out beyond its readings."""
    if wanted is None:
        return []
    strokes: tuple[Stroke, Stroke] = ("bump", "droop")
    return [
        ShortStroke(stroke=name, units=one.readings.units, used_mm=use, swept_mm=had)
        for name, use, had in zip(strokes, wanted, swept_strokes(one, wanted), strict=True)
        if had < SHORT_SWEEP * use
    ]


def converted_rows(one: Swept, place: int) -> list[ConvertedRow]:
    """Every row as the gauge's number and as toe, in the order read; `place` is the sweep's.

    Toe counts from the first row at ride height, or from the curve where there is none.
    """
    curve = one.curve
    at_home = curve.toe[(np.abs(curve.travel) <= SAME_HEIGHT_MM) & ~curve.apart]
    zero = at_home[0] if at_home.size else curve.zero
    shown = as_read(one.readings, gauge_numbers(one.readings))
    return [
        ConvertedRow(
            sweep=place,
            row=k,
            travel_mm=travel,
            gauge=number,
            toe_change_deg=toe,
            left_out=bool(apart),
        )
        for k, (travel, number, toe, apart) in enumerate(
            zip(curve.travel, shown, np.degrees(curve.toe - zero), curve.apart, strict=True),
            start=1,
        )
    ]


def measured_figures(
    one: Swept, aim: Aim, strokes: tuple[float, float], diameter_mm: float
) -> Measured:
    """Figures of the curve over the judged strokes, beyond what is wanted."""
    curve = one.curve
    travel = scored_travel(*strokes)
    change = curve.at(travel) - wanted_change(aim, travel)
    moved = travel != 0.0
    bend = None if curve.bend is None else curve.bend - wanted_curvature(aim, travel)
    slope = curve.slope - wanted_slope(aim)
    return Measured(
        travel_mm=curve.travel.tolist(),
        toe_deg=np.degrees(curve.toe).tolist(),
        wanted_deg=np.degrees(wanted_change(aim, curve.travel)).tolist(),
        toe_slope_deg_per_10mm=float(np.degrees(slope)) * 10.0,
        toe_slope_in_per_in=slope * diameter_mm,
        toe_rate_in_per_in=float(np.abs(change[moved] / travel[moved]).max()) * diameter_mm,
        toe_curvature_deg=None if bend is None else float(np.degrees(bend)) * max(strokes) ** 2,
        curvature_at_mm=max(strokes),
        swing_deg=float(np.degrees(np.ptp(curve.toe[~curve.apart]))),
        peak_toe_change_deg=float(np.degrees(np.abs(change).max())),
        scatter_deg=float(np.degrees(curve.scatter)) if curve.freedom else None,
        play_deg=None if np.isnan(curve.play) else float(np.degrees(curve.play)),
        rows_left_out=[int(place) + 1 for place in np.flatnonzero(curve.apart)],
    )
