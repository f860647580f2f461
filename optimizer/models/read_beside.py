"""What was read beside the toe of a sweep: what it told, and what in it looks like a slip."""

from typing import Literal

from optimizer.models.answer import Fact
from optimizer.units import Side, Units

BesideSlipKind = Literal[
    "other-way",
    "doubled",
    "halved",
    "pitch",
    "sign",
    "exchanged",
    "by-60",
    "inches",
    "millimeters",
    "other-wheel",
    "row",
    "odd",
]


class ReadBeside(Fact):
    """A reading beside toe: what it spans, and what the points foretold of that.

    `key` is where it stands in the file.  `seen_deg` is the highest row less the lowest, at one
    height the last less the first, `foretold_deg` the same by the points as measured, to
    `give_or_take_deg`, one standard deviation of tape and gauge together; `corrected_deg` by the
    corrected points.  `longer_mm` is how much longer a rod became, `caster_deg` what a caster sweep
    comes to by the gauge's formula; `units` are the file's.
    """

    key: str
    units: Units
    longer_mm: float | None = None
    seen_deg: float
    foretold_deg: float
    give_or_take_deg: float
    corrected_deg: float
    caster_deg: float | None = None


class MovedBeside(Fact):
    """How far the wheel moved sideways beside a sweep, as `ReadBeside` tells of angles."""

    key: str
    units: Units
    seen_mm: float
    foretold_mm: float
    give_or_take_mm: float
    corrected_mm: float


class BesideSlip(Fact):
    """A reading beside toe that the points can't explain as typed, and the slip that would.

    `key` is where it stands in the file; "odd" where no known slip explains it.  It spans
    `seen_deg`, where the points foretell `foretold_deg`; all its rows miss them by `sigmas`
    standard deviations, root mean square.  Without `row`, from 1, the others would fit.  `side` is
    of the wheel, `units` are the file's.
    """

    key: str
    kind: BesideSlipKind
    side: Side
    units: Units
    row: int | None = None
    pitch_mm: float | None = None
    typed_pitch_mm: float | None = None
    seen_deg: float
    foretold_deg: float
    sigmas: float


class MovedSlip(Fact):
    """A sideways movement that the points can't explain as typed, as `BesideSlip` tells of angles.

    Outboard is positive.
    """

    key: str
    kind: BesideSlipKind
    units: Units
    row: int | None = None
    seen_mm: float
    foretold_mm: float
    sigmas: float


class Unreached(Fact):
    """Rows of a reading beside toe that are left out, for the points of the case can't reach them.

    `key` is where it stands in the file of a sweep; `rows` count from 1.
    """

    sweep: str
    key: str
    rows: tuple[int, ...]
