"""Rows of the shipped strength tables; none is taken without its source."""

from collections.abc import Iterator
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, ValidationInfo, model_validator

from optimizer.errors import Fault
from optimizer.models.base import FaultList, FrozenModel
from optimizer.models.quantities import Name, Number, PositiveNumber
from optimizer.units import MM_PER, Units

MPA_PER: dict[str, float] = {
    "MPa": 1.0,
    "ksi": 4.4482216152605e3 / 25.4**2,  # exact: the pound-force in newtons, the inch in mm
}


class Source(FrozenModel):
    """A book, a standard or a page that numbers were taken from."""

    title: Name
    """author and title, or number and title of a standard"""
    edition: Name
    """which edition, and its year"""
    seen_at: Name | None = None
    """Address of the text that was read, where it was not the source itself."""


class GradeRow(FrozenModel):
    """A row as printed, in the units of its table."""

    grade: Name
    """as the standard calls it"""
    sizes: tuple[Number, Number] | None = None
    """Least and greatest nominal diameter, both included; None for a bar of any size."""
    proof_strength: PositiveNumber | None = None
    """Stress that leaves no measurable set; None where the source prints none."""
    yield_strength: PositiveNumber
    """stress that leaves a set of 0.2 %, or the like"""
    tensile_strength: PositiveNumber
    """stress at which a test bar breaks"""
    source: Name
    """name of the source, one of sources.toml"""
    page: Name
    """page or table of the source"""
    mark: Literal["seen"]
    """that the number was read in the source; what is only remembered is no row"""
    note: Name | None = None
    """What else must be known."""

    @model_validator(mode="after")
    def _source_is_listed(self, info: ValidationInfo) -> Self:
        listed = (info.context or {}).get("sources", {})
        if self.source not in listed:
            message = f"must be one of {', '.join(listed) or 'no source at all'}, got {self.source}"
            raise FaultList([Fault("source", message)])
        return self

    def _faults(self, units: Units) -> Iterator[Fault]:
        proof = self.yield_strength if self.proof_strength is None else self.proof_strength
        if not proof <= self.yield_strength <= self.tensile_strength:
            message = "must lie between proof and tensile strength"
            yield Fault("yield_strength", message)


def _rows(typed: object) -> object:
    return tuple(typed) if isinstance(typed, list) else typed


class GradeTable(FrozenModel):
    """One standard's table."""

    standard: Name
    """name of the standard or the steel"""
    strength_unit: Literal["MPa", "ksi"]
    """unit of its strengths"""
    size_unit: Units
    """unit of its sizes"""
    rows: Annotated[tuple[GradeRow, ...], BeforeValidator(_rows)]
    """its rows"""


class Grade(FrozenModel):
    """A row ready for use, in millimeters and MPa, with its source written out."""

    name: Name
    sizes_mm: tuple[float, float] | None
    proof_mpa: float | None
    yield_mpa: float
    tensile_mpa: float
    source: Name

    @staticmethod
    def of(table: GradeTable, row: GradeRow, source: Source) -> "Grade":
        """Convert a row of a table."""
        mpa, mm = MPA_PER[table.strength_unit], MM_PER[table.size_unit]
        return Grade(
            name=f"{table.standard} {row.grade}",
            sizes_mm=None if row.sizes is None else (row.sizes[0] * mm, row.sizes[1] * mm),
            proof_mpa=None if row.proof_strength is None else row.proof_strength * mpa,
            yield_mpa=row.yield_strength * mpa,
            tensile_mpa=row.tensile_strength * mpa,
            source=f"{source.title}, {source.edition}, {row.page}",
        )

    def covers(self, diameter_mm: float) -> bool:
        """Whether the row holds for a nominal diameter. [mm]."""
        if self.sizes_mm is None:
            return True
        least, greatest = self.sizes_mm
        return least - SIZE_SLACK_MM <= diameter_mm <= greatest + SIZE_SLACK_MM


SIZE_SLACK_MM = 1e-6  # a size typed in the other unit still counts
