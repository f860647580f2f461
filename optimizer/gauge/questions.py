"""What in a readings file may not be what it seems: asked about, never corrected.

The ranges are common practice, no source.
"""

from collections.abc import Iterator

import numpy as np

from optimizer.gauge.measured import MeasuredCurve
from optimizer.models.readings import Readings
from optimizer.units import length_text

LARGEST_TOE = float(np.radians(4.0))
NARROWEST_MM = 300.0


def questions(readings: Readings, curve: MeasuredCurve) -> list[str]:
    """Ask about whatever looks like a slip of the pen or of the gauge."""
    return [
        *_about_size(readings, curve),
        *_about_signs(readings, curve),
        *_about_rows(readings, curve),
        *_about_gauge(readings, curve),
    ]


def _about_size(readings: Readings, curve: MeasuredCurve) -> Iterator[str]:
    change = float(np.abs(curve.toe - curve.zero).max())
    if change > LARGEST_TOE:
        guess = (
            'are these minutes typed as degrees (angle_unit = "min")?'
            if readings.kind == "angle" and readings.angle_unit == "deg"
            else "are units and spacing right?"
        )
        yield f"Toe changes by {np.degrees(change):.1f} deg over the sweep: {guess}"
    elif readings.kind == "angle" and change < np.radians(0.5 / 60.0):
        yield (
            f"Toe changes by only {np.degrees(change) * 3600.0:.0f} seconds of arc: were minutes "
            "written down as seconds, or divided by 60 twice?"
        )
    if readings.spacing is not None and readings.spacing < NARROWEST_MM:
        yield (
            f"spacing is {length_text(readings.spacing, readings.units)}: is that half of the "
            "distance between the two places where the gauge reads?"
        )


def _about_signs(readings: Readings, curve: MeasuredCurve) -> Iterator[str]:
    travel, change = curve.travel, curve.toe - curve.zero
    up, down = travel > 0.0, travel < 0.0
    if not (up.any() and down.any()) or len(curve.coefficients) < 2:
        if not down.any() and (np.diff(travel) < 0.0).sum() > 1:
            yield "Every travel is positive: did the droop readings lose their minus sign?"
        return
    ends = change[np.argmax(travel)], change[np.argmin(travel)]
    inner = np.abs(travel) > 0.2 * np.abs(travel).max()
    raw = np.array([row[-1] for row in readings.readings])
    bent = abs(curve.coefficients[1]) * np.abs(travel).max() ** 2
    same_way = ends[0] * ends[1] > 0.0 and min(map(abs, ends)) > 0.6 * max(map(abs, ends))
    if same_way and bent > 4.0 * curve.scatter and (raw[inner] > 0.0).all():
        yield (
            "Toe goes the same way in bump and in droop and no reading is negative: did the "
            "minus signs get lost on one side?"
        )


def _about_rows(readings: Readings, curve: MeasuredCurve) -> Iterator[str]:
    for place in np.flatnonzero(curve.apart):
        yield (
            f"readings[{place + 1}] stands apart from the others by "
            f"{np.degrees(abs(_off(curve, int(place)))):.3f} deg and was left out: read it again?"
        )
    heights = np.unique(curve.travel)
    steps = np.diff(heights)
    if steps.size >= 3:
        usual = float(np.median(steps))
        odd = np.flatnonzero((steps > 1.7 * usual) | (steps < 0.3 * usual))
        if 0 < odd.size <= 2:
            low, high = heights[odd[0]], heights[odd[0] + 1]
            yield (
                f"Travel steps by {length_text(usual, readings.units)}, but from "
                f"{length_text(low, readings.units)} to {length_text(high, readings.units)}: "
                "is a row missing or a height mistyped?"
            )
    if np.abs(heights).min() > 1e-6:
        yield "No row is at ride height (travel 0): toe there is taken from the curve."


def _off(curve: MeasuredCurve, place: int) -> float:
    model = curve.zero + curve.at(curve.travel[place : place + 1])[0]
    return float(curve.toe[place] - model)


def _about_gauge(readings: Readings, curve: MeasuredCurve) -> Iterator[str]:
    diameter = readings.car.tire_diameter
    if readings.spacing is not None and diameter is not None and readings.spacing < diameter:
        share = diameter / readings.spacing
        yield (
            f"The gauge reads over {length_text(readings.spacing, readings.units)}, the tire is "
            f"{length_text(diameter, readings.units)}: at the tire every toe distance is "
            f"{share:.2f} times what the gauge shows."
        )
    if readings.kind == "single-dial":
        yield (
            "One dial on its own also sees the wheel move sideways and change camber: its curve "
            "can't be told from the wheel's path without the points. Use two dials, or a roller."
        )
    if readings.kind == "laser" and len(readings.columns) == 2:
        yield (
            "One laser target also sees the wheel move sideways: use a second target, or turn the "
            "laser round and sweep again."
        )
    if np.isfinite(curve.play) and abs(curve.play) > max(3.0 * curve.scatter, np.radians(0.01)):
        yield (
            f"Up and down strokes differ by {np.degrees(abs(curve.play)):.3f} deg: look for play "
            "or stiction in rod ends, bushings and wheel bearing before shimming."
        )
