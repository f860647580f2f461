"""From numbers to places on a drawing, and the round numbers to write beside them."""

from collections.abc import Iterable
from math import ceil, floor, log10

from msgspec import Struct


class Scale(Struct, frozen=True):
    """Straight from `low` to `high` onto `start` to `end`, in units of the drawing."""

    low: float
    high: float
    start: float
    end: float

    @property
    def rate(self) -> float:
        """Units of the drawing per number."""
        return (self.end - self.start) / (self.high - self.low)

    def __call__(self, value: float) -> float:
        """Place of a number, to a hundredth."""
        return round(self.start + (value - self.low) * self.rate, 2)

    def ticks(self, most: int = 6) -> list["Tick"]:
        """Round numbers from end to end, at most about so many."""
        step = round_step((self.high - self.low) / most)
        numbers = range(ceil(self.low / step - 1e-9), floor(self.high / step + 1e-9) + 1)
        decimals = max(0, -floor(log10(step) + 1e-9))
        return [Tick(self(k * step), signed(k * step, decimals)) for k in numbers]


class Tick(Struct, frozen=True):
    """A number beside an axis."""

    at: float
    label: str


def round_step(least: float) -> float:
    """Smallest of 1, 2, 5, 10, … that is not below `least`."""
    size = 10.0 ** floor(log10(least))
    return next(size * k for k in (1.0, 2.0, 5.0, 10.0) if size * k >= least * (1.0 - 1e-9))


def signed(value: float, decimals: int) -> str:
    """Write a number with its sign, zero without one."""
    return "0" if abs(value) < 0.5 * 10.0**-decimals else f"{value:+.{decimals}f}"


def path(points: Iterable[tuple[float, float] | None]) -> str:
    """Path of an SVG through points, lifted where there is none."""
    commands, pen = [], "M"
    for point in points:
        if point is None:
            pen = "M"
            continue
        commands.append(f"{pen}{point[0]:g} {point[1]:g}")
        pen = "L"
    return " ".join(commands)
