"""What in a readings file may not be what it seems: asked about, never corrected.

The ranges are common practice, no source.
"""

from collections.abc import Iterator

import numpy as np

from geometry.vectors import Array
from optimizer.gauging.conversions import gauge_columns, reading_noise, uncounted_turns
from optimizer.gauging.measured import SAME_HEIGHT_MM, MeasuredCurve
from optimizer.gauging.smoother import columns_without_minus, gauge_slipped, rows_changed_over
from optimizer.models.questions import Question, QuestionKind
from optimizer.models.readings import Readings

LARGEST_TOE = float(np.radians(4.0))
SMALLEST_TOE = float(np.radians(0.5 / 60.0))
NARROWEST_MM, WIDEST_MM = 300.0, 800.0  # from dial to dial
HALF = (0.45, 0.55)  # of the tire's diameter: a radius is taken for a diameter
LEAST_PLAY = float(np.radians(0.01))
ROUGH = float(np.radians(0.05))
ROUGHER = float(np.radians(0.1))  # where a ruler or a tape is read
CLEARLY = 3.0  # times the scatter of the rows, or what is stated of it
NEARLY_HALF_TURN = 0.35
UNKNOWN_DIAMETER_MM = 650.0  # where no diameter is stated, for slopes in inch per inch
SHORTEST_MM, LONGEST_MM = 8.0, 250.0  # of a sweep in mm that may be in inches, and of the reverse
FEWEST_ALIKE = 3  # rows that no gauge reads all the same
MOVES_MM = 0.5  # of one place of a gauge, while the other can't stand still
FAR_FROM_ZERO_MM = 5.0  # of travel, where a gauge that reads zero was zeroed at another height
OFF_STEP = (0.6, 1.6)  # of the usual travel step


def questions(readings: Readings, curve: MeasuredCurve) -> list[Question]:
    """Ask about whatever looks like a slip of the pen or of the gauge."""
    return [
        *_about_size(readings, curve),
        *_about_signs(readings, curve),
        *_about_rows(readings, curve),
        *_about_heights(readings, curve),
        *_about_zero(readings, curve),
        *_about_turns(readings, curve),
        *_about_gauge(readings),
        *_about_play(readings, curve),
    ]


def _about_size(readings: Readings, curve: MeasuredCurve) -> Iterator[Question]:
    change = float(np.abs(curve.toe - curve.zero).max())
    by_deg, units = float(np.degrees(change)), readings.units
    if change > LARGEST_TOE:
        in_degrees = readings.kind == "angle" and readings.angle_unit == "deg"
        kind: QuestionKind = "large-change-in-degrees" if in_degrees else "large-change"
        yield Question(kind=kind, units=units, by_deg=by_deg)
    elif readings.kind == "angle" and change < SMALLEST_TOE:
        yield Question(kind="seconds-of-arc", units=units, by_deg=by_deg)


def _about_signs(readings: Readings, curve: MeasuredCurve) -> Iterator[Question]:
    travel = curve.travel
    columns = gauge_columns(readings)
    for place in columns_without_minus(travel, columns):
        column = readings.columns[1 + place]
        yield Question(kind="minus-lost", units=readings.units, column=column)
    turns = (np.diff(travel) < 0.0).any() and (np.diff(travel) > 0.0).any()
    if (travel >= 0.0).all() and turns and readings.travel_is == "travel":
        yield Question(kind="droop-without-minus", units=readings.units)


def _about_rows(readings: Readings, curve: MeasuredCurve) -> Iterator[Question]:
    columns = np.array([row[1:] for row in readings.readings])
    if len(columns) >= FEWEST_ALIKE and not np.ptp(columns, axis=0).any():
        yield Question(kind="all-alike", units=readings.units)
    yield from _about_a_column(readings, columns)
    for place in np.flatnonzero(curve.apart).tolist():
        yield Question(
            kind="row-apart",
            units=readings.units,
            rows=(place + 1,),
            travel_mm=curve.travel[place],
            by_deg=np.degrees(abs(curve.left[place])),
        )
    if (rows := rows_changed_over(curve.travel, curve.toe)) is not None:
        typed = tuple(row + 1 for row in rows)
        yield Question(kind="rows-changed-over", units=readings.units, rows=typed)
    elif (slipped := gauge_slipped(curve.travel, curve.toe)) is not None:
        low, high, by = slipped
        yield Question(
            kind="gauge-slipped",
            units=readings.units,
            travel_mm=low,
            to_mm=high,
            by_deg=np.degrees(abs(by)),
        )
    rough = ROUGHER if readings.kind in ("string", "toe-plates") else ROUGH
    if curve.scatter > max(rough, CLEARLY * (reading_noise(readings) or 0.0)):
        yield Question(kind="scatter", units=readings.units, by_deg=np.degrees(curve.scatter))


def _about_a_column(readings: Readings, columns: Array) -> Iterator[Question]:
    """Ask about one of two places that reads the same all the way, while the other moves."""
    spread = np.ptp(columns, axis=0)
    if len(columns) >= FEWEST_ALIKE and spread.size == 2 and spread.max() > MOVES_MM:
        for still in np.flatnonzero(spread == 0.0).tolist():
            column = readings.columns[1 + still]
            yield Question(kind="column-alike", units=readings.units, column=column)


def _about_heights(readings: Readings, curve: MeasuredCurve) -> Iterator[Question]:
    units, farthest = readings.units, float(np.abs(curve.travel).max())
    if farthest < SHORTEST_MM if units == "mm" else farthest > LONGEST_MM:
        yield Question(kind="odd-reach", units=units, travel_mm=farthest)
    heights = _heights_apart(curve.travel)
    steps = np.diff(heights)
    if steps.size >= 3:
        usual = float(np.median(steps))
        least, most = OFF_STEP
        short = steps < least * usual
        short[[0, -1]] = False  # a sweep may end where the travel does
        odd = np.flatnonzero((steps > most * usual) | short)
        if 0 < odd.size <= 2:
            low, high = heights[odd[0]], heights[odd[0] + 1]
            yield Question(kind="odd-step", units=units, usual_mm=usual, travel_mm=low, to_mm=high)
    if curve.travel.min() > 0.0 or curve.travel.max() < 0.0:
        yield Question(kind="ride-height-outside", units=units)
    elif np.abs(curve.travel).min() > SAME_HEIGHT_MM:
        yield Question(kind="ride-height-not-read", units=units)


def _about_zero(readings: Readings, curve: MeasuredCurve) -> Iterator[Question]:
    """Ask about a gauge with two dials that was zeroed elsewhere than at ride height."""
    columns = np.array([row[1:] for row in readings.readings])
    zero = curve.travel[~columns.any(axis=1)]
    moved = abs(curve.zero) > CLEARLY * curve.scatter
    if columns.shape[1] == 2 and zero.size and moved and np.abs(zero).min() > FAR_FROM_ZERO_MM:
        nearest = float(zero[np.abs(zero).argmin()])
        yield Question(kind="zeroed-elsewhere", units=readings.units, travel_mm=nearest)


def _heights_apart(travel: Array) -> Array:
    """Heights that were read, the lowest first, without those that are the same. [mm]."""
    heights = np.unique(travel)
    kept = [heights[0]]
    for height in heights[1:]:
        if height - kept[-1] > SAME_HEIGHT_MM:
            kept.append(height)
    return np.array(kept)


def _about_turns(readings: Readings, curve: MeasuredCurve) -> Iterator[Question]:
    if readings.revolution is None:
        return
    turned = np.flatnonzero(uncounted_turns(readings).any(axis=1))
    if turned.size:
        rows = tuple((turned + 1).tolist())
        yield Question(kind="turns-added", units=readings.units, rows=rows)
    columns = gauge_columns(readings)[np.argsort(curve.travel, kind="stable")]
    if np.abs(np.diff(columns, axis=0)).max() > NEARLY_HALF_TURN * readings.revolution:
        yield Question(kind="half-turn", units=readings.units)


def _about_gauge(readings: Readings) -> Iterator[Question]:
    units, spacing, tire = readings.units, readings.spacing, readings.car.tire_diameter
    if readings.kind == "angle":
        if readings.reading_grows is None:
            yield Question(kind="angle-sign", units=units)
        if "total" not in readings.model_fields_set:
            yield Question(kind="angle-wheels", units=units)
    dial = readings.dial_distance
    if dial is not None and not NARROWEST_MM <= 2.0 * dial <= WIDEST_MM:
        odd: QuestionKind = "near-dial" if 2.0 * dial < NARROWEST_MM else "far-dial"
        yield Question(kind=odd, units=units, spacing_mm=dial)
    if spacing is None:
        return
    if tire is not None and spacing < tire:
        half = HALF[0] <= spacing / tire <= HALF[1]
        kind: QuestionKind = "radius-for-diameter" if half else "gauge-below-tire"
        yield Question(kind=kind, units=units, spacing_mm=spacing, diameter_mm=tire)
    if spacing < NARROWEST_MM:
        yield Question(kind="narrow-gauge", units=units, spacing_mm=spacing)
    if spacing > WIDEST_MM and readings.kind in ("two-dial", "dial-and-roller"):
        yield Question(kind="wide-gauge", units=units, spacing_mm=spacing)


def _about_play(readings: Readings, curve: MeasuredCurve) -> Iterator[Question]:
    if abs(curve.play) > max(2.0 * curve.scatter, LEAST_PLAY):
        yield Question(kind="play", units=readings.units, by_deg=np.degrees(abs(curve.play)))


def questions_without_points(readings: Readings) -> Iterator[Question]:
    """Say what can't be told where no points are known."""
    units = readings.units
    if readings.car.tire_diameter is None and readings.display.diameter is None:
        yield Question(kind="no-diameter", units=units, diameter_mm=UNKNOWN_DIAMETER_MM)
    if readings.kind == "single-dial":
        yield Question(kind="lone-dial", units=units)
    if readings.kind == "laser" and len(readings.columns) == 2:
        yield Question(kind="lone-target", units=units)
