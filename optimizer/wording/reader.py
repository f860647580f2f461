"""Numbers as the case's owner reads them: lengths in mm or inches, toe in the case's toe unit."""

from collections.abc import Sequence
from math import floor

from msgspec import Struct

from optimizer.models.dialect import spelled
from optimizer.models.setting import LinkageFitted
from optimizer.models.subject import Subject
from optimizer.models.vocabulary import Vocabulary
from optimizer.units import (
    MM_PER,
    MM_PER_INCH,
    SAME_SIZE,
    TOE_DECIMALS,
    Side,
    shop_size,
    toe_in_unit,
    toe_unit_label,
)

LENGTH_DECIMALS = {"mm": 1, "in": 3}
MACHINED_DECIMALS = {"mm": 2, "in": 4}
SIZE_DECIMALS = {"mm": 2, "in": 5}  # of a shim; a thirty-second of an inch takes five


class Reader(Struct, frozen=True):
    """Formats the numbers of one answer."""

    subject: Subject

    @property
    def words(self) -> Vocabulary:
        """What the trade calls the parts of this car."""
        return self.subject.words

    def spelled(self, text: str) -> str:
        """Put a text into the words that its owner uses."""
        return spelled(text, self.subject.dialect)

    @property
    def toe_unit(self) -> str:
        """Name of the toe unit, with its diameter where it needs one."""
        return toe_unit_label(self.subject.toe_unit, self.subject.toe_diameter_mm)

    @property
    def short_toe_unit(self) -> str:
        """Name of the toe unit alone."""
        return self.subject.toe_unit

    @property
    def long_units(self) -> str:
        """Name of the length unit within a sentence, where "in" is a word."""
        return "mm" if self.subject.units == "mm" else "inches"

    @property
    def per(self) -> str:
        """Travel over which a slope is given."""
        return "10 mm" if self.subject.units == "mm" else "inch"

    def stands(self, lowered_by_mm: float) -> str:
        """Say how much lower or higher than measured the car stands."""
        if not lowered_by_mm:
            return "as high as measured"
        way = "lower" if lowered_by_mm > 0.0 else "higher"
        return f"{self.length_with_unit(abs(lowered_by_mm))} {way}"

    def of_one_wheel(self, side: Side) -> "Reader":
        """The same reader of what is said of one wheel by itself, which names no wheel."""
        return Reader(self.subject.model_copy(update={"sides": [side]}))

    def linkage_now(self, fitted: LinkageFitted) -> LinkageFitted:
        """What the linkage of a wheel has now; of the first one where a result names none."""
        sides = self.subject.sides
        side = getattr(fitted, "side", sides[0] if sides else "left")
        return self.subject.linkage_now.get(side, LinkageFitted())

    def wheel(self, side: Side) -> str:
        """Name the wheel that a fact is of where both were measured, ahead of its sentence."""
        return f"{side} wheel: " if self.subject.both_wheels else ""

    def of_wheel(self, side: Side) -> str:
        """Open a line about one wheel with its side, where both were measured."""
        return f"{side.capitalize()}: " if self.subject.both_wheels else ""

    def side(self, side: Side) -> str:
        """Name the side of what there is one of a wheel, where both were measured."""
        return f"{side} " if self.subject.both_wheels else ""

    def on_side(self, side: Side) -> str:
        """Say on which side of the car something is done, where both wheels were measured."""
        return f"on the {side} " if self.subject.both_wheels else ""

    def in_units(self, length_mm: float) -> float:
        """Turn a length into the owner's units."""
        return length_mm / MM_PER[self.subject.units]

    def toe_in_units(self, toe_deg: float) -> float:
        """Turn a toe angle into the owner's toe unit."""
        return toe_in_unit(toe_deg, self.subject.toe_unit, self.subject.toe_diameter_mm)

    def length(self, length_mm: float, *, signed: bool = False) -> str:
        """Write a length without its unit."""
        value = length_mm / MM_PER[self.subject.units]
        return _number(value, LENGTH_DECIMALS[self.subject.units], signed=signed)

    def machined(self, length_mm: float) -> str:
        """Write a length as a drawing states it, without its unit."""
        units = self.subject.units
        return _number(length_mm / MM_PER[units], MACHINED_DECIMALS[units], signed=True)

    def machined_below(self, length_mm: float) -> str:
        """Write a length as a drawing states it, never more than it is."""
        units = self.subject.units
        steps = 10 ** MACHINED_DECIMALS[units]
        value = floor(length_mm / MM_PER[units] * steps) / steps
        return _number(value, MACHINED_DECIMALS[units], signed=False)

    def side_of_rack(self, travel_mm: float) -> str:
        """Name the side of straight ahead, or the way, to which what steers has moved."""
        if self.subject.moves_along:
            return "forward" if travel_mm > 0.0 else "rearward"
        return "left" if travel_mm > 0.0 else "right"

    def way_of_rack(self, travel_mm: float) -> str:
        """Say which way what steers has moved."""
        side = self.side_of_rack(travel_mm)
        return side if self.subject.moves_along else f"to the {side}"

    def length_with_unit(self, length_mm: float) -> str:
        """Write a length with its unit."""
        return f"{self.length(length_mm)} {self.subject.units}"

    def fitted(self, length_mm: float) -> str:
        """Write a length that is to be fitted with its unit, so that no size is rounded away."""
        units = self.subject.units
        if (sold := shop_size(abs(length_mm), units)) is not None:
            return f"-{sold}" if length_mm < 0.0 else sold
        short, exact = self.length(length_mm), f"{length_mm / MM_PER[units]:.6g}"
        return f"{short if float(short) == float(exact) else exact} {units}"

    def sizes(self, lengths_mm: Sequence[float], *, signed: bool = False) -> list[str]:
        """Write lengths that are to be fitted without their unit, alike and with none rounded away.

        What no size as it is sold makes is written to one more decimal than other lengths.
        """
        units = self.subject.units
        values = [mm / MM_PER[units] for mm in lengths_mm]
        fewest, most = LENGTH_DECIMALS[units], SIZE_DECIMALS[units]
        exact = (
            n
            for n in range(fewest, most + 1)
            if all(abs(x - round(x, n)) < SAME_SIZE * 10.0**-n for x in values)
        )
        decimals = next(exact, fewest + 1)
        return [_number(value, decimals, signed=signed) for value in values]

    def toe(self, toe_deg: float, *, signed: bool = True) -> str:
        """Write a toe angle in the case's toe unit, without the unit."""
        unit = self.subject.toe_unit
        value = toe_in_unit(toe_deg, unit, self.subject.toe_diameter_mm)
        return _number(value, TOE_DECIMALS[unit], signed=signed)

    def toe_with_unit(self, toe_deg: float, *, signed: bool = False) -> str:
        """Write a toe angle with the case's toe unit."""
        return f"{self.toe(toe_deg, signed=signed)} {self.short_toe_unit}"

    def toe_excess(self, toe_deg: float) -> str:
        """Write what exceeds a tolerance with its unit, no finer than toe is told."""
        value, unit = self.toe_in_units(toe_deg), self.short_toe_unit
        decimals = TOE_DECIMALS[self.subject.toe_unit]
        finest = 10.0**-decimals
        if value < finest:
            return f"less than {finest:.{decimals}f} {unit}"
        return f"{value:.2g} {unit}"

    def angle(self, angle_deg: float, decimals: int = 2, *, signed: bool = True) -> str:
        """Write any other angle, always in degrees, without the unit."""
        return _number(angle_deg, decimals, signed=signed)

    def signed(self, value: float, decimals: int) -> str:
        """Write a number whose unit is its own, with its sign."""
        return _number(value, decimals, signed=True)

    @property
    def resolution(self) -> str:
        """What no gauge tells apart, 0.01 deg, in the case's toe unit."""
        return "0.01 deg" if self.subject.toe_unit == "deg" else self.toe_with_unit(0.01)

    def slope(self, slope_deg_per_10mm: float) -> str:
        """Write a slope of toe per 10 mm or per inch of travel."""
        factor = 1.0 if self.subject.units == "mm" else MM_PER_INCH / 10.0
        return self.toe(slope_deg_per_10mm * factor)

    def slope_in_words(self, slope_deg_per_10mm: float, in_per_in: float) -> str:
        """Write a slope with its unit, and beside it in inch per inch where that is another."""
        diameter = self.length_with_unit(self.subject.toe_diameter_mm)
        trade = self.signed(in_per_in, 4)
        if self.short_toe_unit == self.subject.units == "in":
            return f"{trade} in per inch at {diameter} diameter"
        return (
            f"{self.slope(slope_deg_per_10mm)} {self.short_toe_unit} per {self.per} ({trade} in "
            f"per in at {diameter} diameter)"
        )

    def pieces(self, stack_mm: list[float]) -> str:
        """Name the pieces of a stack as they are picked: "2 x 5 + 1 x 1"."""
        counts: dict[float, int] = {}
        for piece in stack_mm:
            counts[piece] = counts.get(piece, 0) + 1
        return " + ".join(f"{count} x {self._piece(piece)}" for piece, count in counts.items())

    def _piece(self, piece_mm: float) -> str:
        """Write the size of a piece without its unit where that is the case's own."""
        units = self.subject.units
        sold = shop_size(piece_mm, units) or f"{piece_mm / MM_PER[units]:.6g}"
        return sold.removesuffix(f" {units}")


def _number(value: float, decimals: int, *, signed: bool) -> str:
    """Write a number with a plain zero, never "-0.00"."""
    text = f"{value:+.{decimals}f}" if signed else f"{value:.{decimals}f}"
    return text.lstrip("+-") if float(text) == 0.0 else text
