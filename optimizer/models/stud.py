"""The stud under the outer joint, and the thread that is left in the tie rod."""

from collections.abc import Iterator
from typing import Annotated, Literal

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel
from optimizer.models.quantities import (
    Name,
    Number,
    PositiveLength,
    PositiveNumber,
    between,
    between_mm,
)
from optimizer.units import MM_PER_INCH, Units, length_text

USUAL_ENGAGEMENT = 1.5  # diameters; common practice, no source
COARSEST = 0.25  # pitches per diameter that no fastener's thread reaches

Thickness = Annotated[PositiveLength, between_mm(3.0, 60.0)]
Lever = Annotated[PositiveLength, between_mm(1.0, 200.0)]
Strength = Annotated[Number, between(50.0, 3000.0, "MPa")]
Force = Annotated[PositiveNumber, between(0.0, 1e6, "N")]
TurnsPerInch = Annotated[Number, between(4.0, 80.0, "threads per inch")]


class ScrewThread(FrozenModel):
    """A 60 degree thread: metric by its pitch, unified by its threads per inch."""

    diameter: Thickness
    """nominal diameter of the thread"""
    pitch: PositiveLength | None = None
    """From one turn to the next, of a metric thread. [mm]"""
    threads_per_inch: TurnsPerInch | None = None
    """Of a unified thread, instead of the pitch."""

    @property
    def pitch_mm(self) -> float | None:
        """From one turn to the next; None where it is not stated. [mm]."""
        if self.threads_per_inch is not None:
            return MM_PER_INCH / self.threads_per_inch
        return self.pitch

    def _faults(self, units: Units) -> Iterator[Fault]:
        pitch = self.pitch_mm
        if self.pitch is not None and self.threads_per_inch is not None:
            yield Fault("threads_per_inch", "must be left out where pitch is given")
        elif pitch is not None and pitch > COARSEST * self.diameter:
            got, least = (length_text(x, units) for x in (pitch, COARSEST * self.diameter))
            key = "pitch" if self.threads_per_inch is None else "threads_per_inch"
            yield Fault(key, f"must make a pitch of at most {least} here, got a pitch of {got}")


class StudThread(ScrewThread):
    """A thread whose root carries the load, so that its pitch must be known."""

    def _faults(self, units: Units) -> Iterator[Fault]:
        yield from super()._faults(units)
        if self.pitch_mm is None:
            message = "must be given, or threads_per_inch\n(the thread's root carries the load)"
            yield Fault("pitch", message)


class TieRodThread(ScrewThread):
    """The thread by which the tie rod is set to length."""

    engaged: PositiveLength
    """how much of it is engaged now, full turns only, as measured"""
    minimum: PositiveLength | None = None
    """Least that must stay engaged; 1.5 x diameter if left out. [mm]"""

    @property
    def least(self) -> float:
        """Least that must stay engaged. [mm]."""
        return USUAL_ENGAGEMENT * self.diameter if self.minimum is None else self.minimum


class Stud(FrozenModel):
    """The stud that a stack stands on, by the section that carries the load.

    With a tapered seat that section is the taper's large end, with a straight bolt its shank, or
    the root of its thread where the thread reaches to the arm.
    """

    seat: Literal["tapered", "straight-bolt"]
    """how the arm holds the stud: "tapered", or "straight-bolt" through a drilled hole"""
    diameter: Thickness | None = None
    """Of the taper at its large end, or of the shank. [mm]"""
    thread: StudThread | None = None
    """Instead of a diameter, where a thread's root carries the load."""
    standard_height: Lever
    """from that section to the joint's center, without a stack"""
    grade: Name | None = None
    """Grade of its steel, one of the shipped tables."""
    proof_mpa: Strength | None = None
    """Proof strength, instead of a grade. [MPa]"""
    yield_mpa: Strength | None = None
    """Yield strength, instead of a grade. [MPa]"""
    strength_source: Name | None = None
    """Where the strength is from: a certificate, the maker."""
    rod_force_n: Force | None = None
    """Largest force of the tie rod; only with it is a safety factor stated. [N]"""

    @property
    def nominal_diameter(self) -> float:
        """Diameter by which a grade's row is chosen. [mm]."""
        return self.diameter or (self.thread.diameter if self.thread is not None else 0.0)

    def _faults(self, units: Units) -> Iterator[Fault]:
        yield from self._size_faults()
        yield from self._strength_faults()

    def _size_faults(self) -> Iterator[Fault]:
        if self.diameter is None and self.thread is None:
            message = "must be given, or a thread"
            yield Fault("diameter", f"{message}\n(of the section that carries the load)")
        if self.diameter is not None and self.thread is not None:
            message = "must be left out where a thread is given"
            yield Fault("diameter", f"{message}\n(state the one that carries the load)")

    def _strength_faults(self) -> Iterator[Fault]:
        figures = {"proof_mpa": self.proof_mpa, "yield_mpa": self.yield_mpa}
        stated = [name for name, figure in figures.items() if figure is not None]
        sourced = self.strength_source is not None
        if self.grade is not None:
            for name in [*stated, *(["strength_source"] if sourced else [])]:
                yield Fault(name, "must be left out where a grade is given")
            return
        if stated and not sourced:
            message = f"must be given along with {stated[0]}"
            yield Fault("strength_source", f"{message}\n(say where the figure is from)")
        if sourced and not stated:
            yield Fault("proof_mpa", "must be given along with strength_source, or yield_mpa")
        proof, yields = self.proof_mpa, self.yield_mpa
        if proof is not None and yields is not None and proof > yields:
            message = f"must not be above yield_mpa, got {proof:g} and {yields:g} MPa"
            yield Fault("proof_mpa", f"{message}\n(swapped?)")
        if self.rod_force_n is not None and not stated:
            message = "must be given where rod_force_n is, or proof_mpa"
            yield Fault("grade", f"{message}\n(a force is judged against a strength)")
