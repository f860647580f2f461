"""Strengths of fastener grades and steels, each number with its source.

A table is a TOML file beside this one; `sources.toml` lists the sources that its rows may name.
"""

import tomllib
from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from typing import Any

from optimizer.errors import Fault, PivotwrightError
from optimizer.models.base import quoted
from optimizer.models.grades import Grade, GradeTable, Source
from optimizer.models.stud import Stud
from optimizer.units import Units, length_text

TABLES = ("sae_j429", "iso_898_1", "aisi_4140")


def table_text(name: str) -> str:
    """Text of a shipped table."""
    return (files("optimizer.models.tables") / f"{name}.toml").read_text(encoding="utf-8")


@cache
def sources() -> Mapping[str, Source]:
    """Sources that a row may name."""
    listed: dict[str, Any] = tomllib.loads(table_text("sources"))
    return {name: Source.model_validate(source) for name, source in listed.items()}


def grades_in(text: str, known: Mapping[str, Source]) -> list[Grade]:
    """Take the rows of a table.

    Raises
    ------
    pydantic.ValidationError
        Where a row lacks its source, its page or its mark, or names a source that is not known.
    """
    table = GradeTable.model_validate(tomllib.loads(text), context={"sources": known})
    return [Grade.of(table, row, known[row.source]) for row in table.rows]


@cache
def grades() -> tuple[Grade, ...]:
    """Every row of every shipped table."""
    return tuple(grade for name in TABLES for grade in grades_in(table_text(name), sources()))


def grade_of(name: str, diameter_mm: float, units: Units = "mm") -> Grade:
    """Row of a grade for a nominal diameter; the weaker one where two rows meet. [mm].

    Raises
    ------
    PivotwrightError
        Where no table has the grade or no row covers the diameter; `units` are those that the
        message speaks.
    """
    rows = [grade for grade in grades() if grade.name == name]
    if not rows:
        names = list(dict.fromkeys(grade.name for grade in grades()))
        near = get_close_matches(name, names, n=1)
        hint = f"did you mean {quoted(near[0])}?" if near else f"known: {', '.join(names)}"
        raise PivotwrightError(
            f"must be a grade that the tables list, got {quoted(name)}\n({hint})"
        )
    covering = [grade for grade in rows if grade.covers(diameter_mm)]
    if not covering:
        sizes = [
            " to ".join(length_text(size, units) for size in row.sizes_mm or ()) for row in rows
        ]
        raise PivotwrightError(
            f"must cover the stud's size, got {quoted(name)} for {length_text(diameter_mm, units)}"
            f"\n(it covers {' and '.join(sizes)}; or state proof_mpa and strength_source)"
        )
    return min(covering, key=lambda grade: grade.yield_mpa)


def grade_faults(stud: Stud | None, units: Units) -> Iterator[Fault]:
    """Find fault with a grade that no table lists, or that does not come in the stud's size."""
    if stud is not None and stud.grade is not None:
        try:
            grade_of(stud.grade, stud.nominal_diameter, units)
        except PivotwrightError as error:
            yield Fault("stud.grade", str(error))
