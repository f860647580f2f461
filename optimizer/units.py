r"""Lengths in millimeters or inches, and the four ways in which the trade states toe.

Toe as a distance is what a tape shows across the wheels: how much nearer together the wheels are
ahead of the axle than behind it, at a stated diameter.  Turning one wheel by its toe moves the
ends of a diameter D apart by D sin(toe); two wheels, each with that toe, make twice as much::

          ahead
        /-------\         behind - ahead = 2 D sin(toe), toe of each wheel,
       /         \        positive for toe-in as drawn
      /-----------\
         behind
"""

import re
from math import nan, radians, sin
from typing import Literal

Units = Literal["mm", "in"]
Side = Literal["left", "right"]
ToeUnit = Literal["deg", "min", "mm", "in"]

MM_PER_INCH = 25.4  # exact since the international yard of 1959
MINUTES_PER_DEGREE = 60.0

FINEST_FRACTION = 64  # of an inch, of a washer or plate as it is sold; common practice, no source
SAME_SIZE = 1e-3
FRACTION = re.compile(r"(?:(\d+)(?:\s+|-))?(\d+)\s*/\s*(\d+)")

MM_PER: dict[Units, float] = {"mm": 1.0, "in": MM_PER_INCH}
TOE_DECIMALS: dict[ToeUnit, int] = {"deg": 3, "min": 1, "mm": 2, "in": 3}


def minutes_of_arc(angle_deg: float) -> float:
    """Angle in minutes of arc, from degrees."""
    return angle_deg * MINUTES_PER_DEGREE


def toe_distance(toe_deg: float, diameter: float) -> float:
    """Toe of one wheel as a distance, rear minus front across a diameter.

    Parameters
    ----------
    toe_deg : float
        Toe of one wheel, positive toe-in. [deg]
    diameter : float
        Where the distance is taken: tire, rim flange or gauge plate. [any length]

    Returns
    -------
    float
        ``diameter * sin(toe)``, positive toe-in, in the unit of `diameter`.
    """
    return diameter * sin(radians(toe_deg))


def toe_in_unit(toe_deg: float, unit: ToeUnit, diameter_mm: float | None = None) -> float:
    """Toe of one wheel in the unit that a report speaks, from degrees.

    Parameters
    ----------
    toe_deg : float
        Toe of one wheel, positive toe-in. [deg]
    unit : {"deg", "min", "mm", "in"}
        Unit of the result.
    diameter_mm : float, optional
        Where a distance is taken; needed for "mm" and "in". [mm]

    Returns
    -------
    float
        Toe of one wheel, positive toe-in; NaN for a distance without a diameter.
    """
    if unit == "deg":
        return toe_deg
    if unit == "min":
        return minutes_of_arc(toe_deg)
    if diameter_mm is None:
        return nan
    return toe_distance(toe_deg, diameter_mm) / MM_PER[unit]


def toe_unit_label(unit: ToeUnit, diameter_mm: float | None = None) -> str:
    """Name a toe unit for a heading; a distance never goes without its diameter.

    Examples
    --------
    >>> toe_unit_label("mm", 600.0)
    'mm at 600 mm'
    >>> toe_unit_label("in", 660.4)
    'in at 26 in'
    """
    if unit == "deg" or unit == "min":
        return unit
    diameter = "an unstated diameter" if diameter_mm is None else length_text(diameter_mm, unit)
    return f"{unit} at {diameter}"


def length_text(length_mm: float, units: Units) -> str:
    """Write a length with its unit, to six digits; of an inch to a ten-thousandth.

    Examples
    --------
    >>> length_text(25.4, "in"), length_text(13.0, "in")
    ('1 in', '0.5118 in')
    """
    value = length_mm / MM_PER[units]
    return f"{round(value, 4) if units == 'in' and abs(value) > 0.01 else value:.6g} {units}"


def shop_size(length_mm: float, units: Units) -> str | None:
    """Write a length with its unit as it is sold: a fraction of an inch, or a metric size.

    None where a length in inches is neither, and for any other unit.

    Examples
    --------
    >>> shop_size(3.175, "in"), shop_size(31.75, "in"), shop_size(0.15748 * 25.4, "in")
    ('1/8 in', '1 1/4 in', '4 mm')
    """
    if units != "in":
        return None
    parts = length_mm / MM_PER_INCH * FINEST_FRACTION
    if abs(parts - round(parts)) < SAME_SIZE and round(parts):
        from fractions import Fraction  # few commands write one

        whole, rest = divmod(round(parts), FINEST_FRACTION)
        fraction = Fraction(rest, FINEST_FRACTION)
        return f"{' '.join(str(part) for part in (whole, fraction) if part)} in"
    tenths, thousandths = length_mm * 10.0, length_mm / MM_PER_INCH * 1000.0
    if abs(tenths - round(tenths)) < SAME_SIZE < abs(thousandths - round(thousandths)):
        return f"{round(length_mm, 1):.6g} mm"
    return None


def short_length(length_mm: float, units: Units) -> str:
    """Write a length with its unit, to a tenth of a millimeter or a thousandth of an inch.

    Examples
    --------
    >>> short_length(22.54, "mm")
    '22.5 mm'
    """
    return f"{length_mm / MM_PER[units]:z.{1 if units == 'mm' else 3}f} {units}"


def in_decimals(text: str) -> str | None:
    """Write a fraction as a shop writes it in decimals; None for a text that is none.

    Examples
    --------
    >>> in_decimals("4 3/4"), in_decimals('7/16"'), in_decimals("16")
    ('4.75', '0.4375', None)
    """
    found = FRACTION.fullmatch(text.strip().removesuffix('"').removesuffix("in").strip())
    if found is None or not int(found[3]):
        return None
    from fractions import Fraction  # few commands read one

    return f"{float(int(found[1] or 0) + Fraction(int(found[2]), int(found[3]))):.6g}"
