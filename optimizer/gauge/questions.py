"""What in a readings file may not be what it seems: asked about, never corrected.

The ranges are common practice, no source.
"""

from collections.abc import Iterator

import numpy as np

from geometry.vectors import Array
from optimizer.gauge.conversions import gauge_columns, uncounted_turns
from optimizer.gauge.measured import SAME_HEIGHT_MM, MeasuredCurve
from optimizer.models.readings import Readings
from optimizer.models.vocabulary import Vocabulary
from optimizer.units import length_text

LARGEST_TOE = float(np.radians(4.0))
NARROWEST_MM = 300.0
HALF = (0.45, 0.55)  # of the tire's diameter: a radius is taken for a diameter
LEAST_PLAY = float(np.radians(0.01))
ROUGH = float(np.radians(0.05))
NEARLY_HALF_TURN = 0.35
UNKNOWN_DIAMETER_MM = 650.0  # where no diameter is stated, for slopes in inch per inch
SHORTEST_MM, LONGEST_MM = 8.0, 250.0  # of a sweep in mm that may be in inches, and of the reverse
OFF_STEP = (0.6, 1.6)  # of the usual travel step


def questions(readings: Readings, curve: MeasuredCurve, words: Vocabulary) -> list[str]:
    """Ask about whatever looks like a slip of the pen or of the gauge."""
    return [
        *_about_size(readings, curve),
        *_about_signs(readings, curve),
        *_about_rows(readings, curve),
        *_about_scatter(curve),
        *_about_heights(readings, curve),
        *_about_turns(readings, curve),
        *_about_gauge(readings),
        *_about_play(curve, words),
    ]


def _about_size(readings: Readings, curve: MeasuredCurve) -> Iterator[str]:
    change = float(np.abs(curve.toe - curve.zero).max())
    in_degrees = readings.kind == "angle" and readings.angle_unit == "deg"
    if change > LARGEST_TOE:
        guess = (
            'are these minutes typed as degrees (angle_unit = "min")?'
            if in_degrees
            else "are units and the gauge's lengths right?"
        )
        yield f"Toe changes by {np.degrees(change):.1f} deg over the sweep: {guess}"
    elif readings.kind == "angle" and change < np.radians(0.5 / 60.0):
        guess = "minutes written down as seconds, or divided by 60 twice"
        yield (
            f"Toe changes by only {np.degrees(change) * 3600.0:.0f} seconds of arc: were {guess}?"
        )


def _about_signs(readings: Readings, curve: MeasuredCurve) -> Iterator[str]:
    travel, change = curve.travel, curve.toe - curve.zero
    both_ways = (travel > 0.0).any() and (travel < 0.0).any()
    if not both_ways:
        turns = (np.diff(travel) < 0.0).any() and (np.diff(travel) > 0.0).any()
        if (travel >= 0.0).all() and turns and readings.travel_is == "travel":
            yield (
                "Travel rises and falls, but no height is below 0: did the droop readings lose "
                "their minus sign?"
            )
        return
    ends = change[np.argmax(travel)], change[np.argmin(travel)]
    same_way = ends[0] * ends[1] > 0.0 and min(map(abs, ends)) > 0.6 * max(map(abs, ends))
    columns = np.array([row[1:] for row in readings.readings])
    one_sign = (columns >= 0.0).all() and (columns == 0.0).any()
    if same_way and one_sign and _has_a_kink(curve):
        yield (
            "Toe goes the same way in bump and in droop, with a kink at ride height, and no "
            "reading is negative: did the minus signs get lost on one side?"
        )


def _has_a_kink(curve: MeasuredCurve) -> bool:
    """Whether toe follows |travel| better than travel squared: a slope that lost its sign."""
    reach = np.abs(curve.travel) / np.abs(curve.travel).max()
    change = curve.toe - curve.toe[np.argmin(reach)]

    def missed(shape: Array) -> float:
        return float(np.square(change - shape * (shape @ change) / (shape @ shape)).sum())

    return missed(reach) < missed(reach**2)


def _about_rows(readings: Readings, curve: MeasuredCurve) -> Iterator[str]:
    for place in np.flatnonzero(curve.apart):
        yield (
            f"readings[{place + 1}] (travel {length_text(curve.travel[place], readings.units)}) "
            f"stands apart from the others by {np.degrees(abs(curve.left[place])):.3f} deg and was "
            "left out: read it again?"
        )


def _about_scatter(curve: MeasuredCurve) -> Iterator[str]:
    if curve.scatter > ROUGH:
        yield (
            f"The rows scatter by {np.degrees(curve.scatter):.3f} deg about one curve, more than a "
            "gauge does: is a row mistyped, or does something bind or move that should not?"
        )


def _about_heights(readings: Readings, curve: MeasuredCurve) -> Iterator[str]:
    yield from _about_reach(readings, curve)
    heights = _heights_apart(curve.travel)
    steps = np.diff(heights)
    if steps.size >= 3:
        usual = float(np.median(steps))
        least, most = OFF_STEP
        odd = np.flatnonzero((steps > most * usual) | (steps < least * usual))
        if 0 < odd.size <= 2:
            low, high = heights[odd[0]], heights[odd[0] + 1]
            yield (
                f"Travel steps by {length_text(usual, readings.units)}, but from "
                f"{length_text(low, readings.units)} to {length_text(high, readings.units)}: "
                "is a row missing or a height mistyped?"
            )
    if curve.travel.min() > 0.0 or curve.travel.max() < 0.0:
        yield (
            "Ride height lies outside the heights that were read: what is said of slope there is "
            "drawn out from the curve. Is at_ride_height right?"
        )
    elif np.abs(curve.travel).min() > SAME_HEIGHT_MM:
        yield "No row is at ride height: toe there is taken from the curve."


def _about_reach(readings: Readings, curve: MeasuredCurve) -> Iterator[str]:
    farthest = float(np.abs(curve.travel).max())
    meant = {"mm": "inches", "in": "millimeters"}[readings.units]
    odd = farthest < SHORTEST_MM if readings.units == "mm" else farthest > LONGEST_MM
    if odd:
        yield (
            f"Travel reaches {length_text(farthest, readings.units)} from ride height: were "
            f"{meant} typed in a file of {readings.units}?"
        )


def _heights_apart(travel: Array) -> Array:
    """Heights that were read, the lowest first, without those that are the same. [mm]."""
    heights = np.unique(travel)
    kept = [heights[0]]
    for height in heights[1:]:
        if height - kept[-1] > SAME_HEIGHT_MM:
            kept.append(height)
    return np.array(kept)


def _about_turns(readings: Readings, curve: MeasuredCurve) -> Iterator[str]:
    if readings.revolution is None:
        return
    turns = uncounted_turns(readings)
    rows = [f"readings[{k + 1}]" for k in np.flatnonzero(turns.any(axis=1))]
    if rows:
        yield (
            f"Turns of the hand that the dial does not show were added to {', '.join(rows)}, "
            "counted from the lowest height: is the count right?"
        )
    columns = gauge_columns(readings)[np.argsort(curve.travel, kind="stable")]
    if np.abs(np.diff(columns, axis=0)).max() > NEARLY_HALF_TURN * readings.revolution:
        yield (
            "Between two heights a hand moves by nearly half a turn, so its turns can't be "
            "counted with certainty: read in smaller steps of travel."
        )


def _about_gauge(readings: Readings) -> Iterator[str]:
    units, spacing, tire = readings.units, readings.spacing, readings.car.tire_diameter
    if spacing is not None and tire is not None and HALF[0] <= spacing / tire <= HALF[1]:
        yield (
            f"spacing is {length_text(spacing, units)}, half of the tire's "
            f"{length_text(tire, units)}: was a radius taken for a diameter?"
        )
    elif spacing is not None and tire is not None and spacing < tire:
        yield (
            f"The gauge reads over {length_text(spacing, units)}, the tire is "
            f"{length_text(tire, units)}: at the tire every toe distance is "
            f"{tire / spacing:.2f} times what the gauge shows."
        )
    if spacing is not None and spacing < NARROWEST_MM:
        yield (
            f"spacing is {length_text(spacing, units)}: is that half of the distance between the "
            "two places where the gauge reads?"
        )


def _about_play(curve: MeasuredCurve, words: Vocabulary) -> Iterator[str]:
    if abs(curve.play) > max(2.0 * curve.scatter, LEAST_PLAY):
        yield (
            f"Up and down strokes differ by {np.degrees(abs(curve.play)):.3f} deg: look for play "
            f"or stiction in rod ends, {words.also_worn}bushings and wheel bearing before shimming."
        )


def questions_without_points(readings: Readings) -> Iterator[str]:
    """Say what can't be told where no points are known."""
    if readings.car.tire_diameter is None and readings.display.diameter is None:
        yield (
            "No diameter is stated (car.tire_diameter), so slopes in inch per inch are taken at "
            f"{length_text(UNKNOWN_DIAMETER_MM, readings.units)}."
        )
    if readings.kind == "single-dial":
        yield (
            "One dial on its own also sees the wheel move sideways and change camber: without the "
            "points of a case that can't be told from toe. Use two dials, or a roller."
        )
    if readings.kind == "laser" and len(readings.columns) == 2:
        yield (
            "One target on its own also sees the wheel move sideways: use a second target on the "
            "other side of the axle, or turn the beam round and sweep again."
        )
