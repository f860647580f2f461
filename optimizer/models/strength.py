"""The sections that carry the load: what results say of stud and thread."""

from typing import Literal

from optimizer.models.answer import Answer


class StudSection(Answer):
    """The section of the stud that carries the load; `source` is where its strength is from.

    `standard_force_n` is the rod force at which it reaches its proof strength, or its yield
    strength where only that is known, with the joint at its standard height.
    """

    seat: Literal["tapered", "straight-bolt"]
    section: str
    diameter_mm: float
    standard_height_mm: float
    grade: str | None
    proof_mpa: float | None
    yield_mpa: float | None
    source: str | None
    standard_force_n: float | None
    rod_force_n: float | None


class RodThread(Answer):
    """The tie rod's thread as measured.

    `minimum_mm` is 1.5 diameters (common practice, no source) unless stated; `full_strength_mm` is
    the engagement at which the rod breaks rather than strips, None where the pitch is not stated.
    """

    diameter_mm: float
    engaged_mm: float
    minimum_mm: float
    minimum_is_stated: bool
    full_strength_mm: float | None
