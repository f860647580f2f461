"""Strength tables: every number has its source, and is what the source prints."""

import re
import tomllib
from decimal import Decimal
from pathlib import Path

import pytest
from pydantic import ValidationError

import optimizer.models.tables
from optimizer.errors import PivotwrightError
from optimizer.models.grades import MPA_PER, Source
from optimizer.models.tables import TABLES, grade_of, grades, grades_in, sources, table_text

PRINTED = tomllib.loads(
    (Path(__file__).parents[1] / "published" / "fasteners.toml").read_text(encoding="utf-8"),
    parse_float=Decimal,
)
MM_PER = {"mm": 1.0, "in": 25.4}
UNIT_RTOL = 1e-12  # one multiplication
RAW = {name: tomllib.loads(table_text(name)) for name in TABLES}
ROWS = [
    pytest.param(row, id=f"{table['standard']} {row['grade']} {row.get('sizes', '')}")
    for table in RAW.values()
    for row in table["rows"]
]


def test_every_file_of_the_folder_is_a_table_or_the_list_of_sources():
    folder = Path(optimizer.models.tables.__file__).parent
    assert {file.stem for file in folder.glob("*.toml")} == {*TABLES, "sources"}


@pytest.mark.parametrize("row", ROWS)
def test_a_row_names_a_known_source_and_the_place_in_it(row):
    source = sources()[row["source"]]
    assert source.title
    assert source.edition
    assert row["page"].strip()
    assert row["mark"] == "seen"
    assert "memory" not in str((row, source))


def test_there_is_no_number_outside_a_row():
    for table in RAW.values():
        beside = {name: value for name, value in table.items() if name != "rows"}
        assert set(beside) == {"standard", "strength_unit", "size_unit"}
        assert all(isinstance(value, str) for value in beside.values())


ONE_ROW = """
standard = "S"
strength_unit = "MPa"
size_unit = "mm"
[[rows]]
grade = "g"
sizes = [5, 10]
proof_strength = 580
yield_strength = 640
tensile_strength = 800
source = "book"
page = "p. 1"
mark = "seen"
"""
BOOK = {"book": Source(title="A book", edition="1st edition, 1999")}


def test_a_row_with_its_source_is_taken():
    (grade,) = grades_in(ONE_ROW, BOOK)
    assert grade.name == "S g"
    assert grade.source == "A book, 1st edition, 1999, p. 1"


def test_a_remembered_number_is_refused():
    with pytest.raises(ValidationError, match=r"rows\[1\]\.mark"):
        grades_in(ONE_ROW.replace('"seen"', '"from memory"'), BOOK)


@pytest.mark.parametrize("key", ["source", "page", "mark"])
def test_a_row_that_lacks_its_source_is_refused(key):
    text = re.sub(rf"(?m)^{key} = .*\n", "", ONE_ROW)
    with pytest.raises(ValidationError, match=rf"rows\[1\]\.{key} must be given"):
        grades_in(text, BOOK)


@pytest.mark.parametrize("key", ["source", "page"])
def test_an_empty_source_is_none(key):
    text = re.sub(rf"(?m)^{key} = .*$", f'{key} = " "', ONE_ROW)
    with pytest.raises(ValidationError, match=rf"rows\[1\]\.{key} must be one line of text"):
        grades_in(text, BOOK)


def test_a_source_that_is_not_listed_is_refused():
    with pytest.raises(ValidationError, match="must be one of book, got hearsay"):
        grades_in(ONE_ROW.replace('"book"', '"hearsay"'), BOOK)


def test_a_source_without_an_edition_is_refused():
    with pytest.raises(ValidationError, match="edition must be given"):
        Source.model_validate({"title": "A book"})


def test_a_yield_strength_outside_proof_and_tensile_is_refused():
    with pytest.raises(ValidationError, match="must lie between proof and tensile"):
        grades_in(ONE_ROW.replace("640", "940"), BOOK)


def half_last_digit(number):
    return 0.5 * 10.0 ** number.as_tuple().exponent


def printed_strengths():
    for table in PRINTED["strengths"]:
        for name, least, greatest, *strengths in table["rows"]:
            for size in (least, greatest):
                yield pytest.param(table["units"], name, size, strengths, id=f"{name} {size}")


@pytest.mark.parametrize(("units", "name", "size", "strengths"), list(printed_strengths()))
def test_a_grade_is_as_strong_as_printed(units, name, size, strengths):
    grade = grade_of(name, float(size) * MM_PER[units[0]])
    in_mpa = [strength * MPA_PER[units[1]] for strength in strengths]
    found = [grade.proof_mpa, grade.yield_mpa, grade.tensile_mpa]
    assert found == pytest.approx(in_mpa, rel=UNIT_RTOL)


def test_a_thousand_pounds_per_square_inch_are_as_many_megapascals_as_their_definitions_say():
    pound, standard_gravity, inch = 0.45359237, 9.80665, 0.0254  # exact, SI
    assert MPA_PER["ksi"] == pytest.approx(
        1000.0 * pound * standard_gravity / inch**2 / 1e6, rel=UNIT_RTOL
    )


def test_a_steel_is_as_strong_as_printed_for_its_tempering():
    (table,) = PRINTED["quenched_and_tempered"]
    for tempered_at, tensile, yields in table["rows"]:
        grade = grade_of(f"AISI 4140 tempered at {tempered_at} C", 15.0)
        assert (grade.proof_mpa, grade.yield_mpa, grade.tensile_mpa) == (None, yields, tensile)


def test_every_row_is_held_to_print():
    printed = {row[0] for table in PRINTED["strengths"] for row in table["rows"]}
    printed |= {
        f"AISI 4140 tempered at {row[0]} C"
        for table in PRINTED["quenched_and_tempered"]
        for row in table["rows"]
    }
    assert printed == {grade.name for grade in grades()}


@pytest.mark.parametrize("column", ["proof load, N", "tensile load, N"])
def test_printed_loads_of_bolts_are_strength_times_printed_area(column):
    checked = 0
    for table in PRINTED["bolt_loads"]:
        if column not in table["columns"]:
            continue
        for row in table["rows"]:
            printed = dict(zip(table["columns"], row, strict=True))
            grade = grade_of(printed["grade"], float(printed["nominal, mm"]))
            strength = grade.proof_mpa if column.startswith("proof") else grade.tensile_mpa
            load = strength * float(printed["stress area, mm2"])
            assert load == pytest.approx(
                float(printed[column]), rel=0.0, abs=half_last_digit(printed[column])
            )
            checked += 1
    assert checked in (12, 6)


def test_the_weaker_strength_counts_on_either_side_of_m16():
    assert {grade_of("ISO 898-1 class 8.8", size).proof_mpa for size in (12.0, 20.0)} == {580.0}


def test_a_size_typed_in_inches_is_still_the_last_of_its_row():
    assert grade_of("SAE J429 grade 2", 0.75 * 25.4).yield_mpa > 390.0


def test_a_grade_that_is_not_listed_is_named_with_the_nearest():
    with pytest.raises(PivotwrightError, match=r'did you mean "ISO 898-1 class 8\.8"\?'):
        grade_of("ISO 898-1 class 8", 12.0)


def test_a_size_that_no_row_covers_has_no_strength():
    with pytest.raises(
        PivotwrightError, match=r"for 0\.8 in\n\(it covers 0\.25 in to 0\.75 in and 0\.875"
    ):
        grade_of("SAE J429 grade 2", 0.8 * 25.4, "in")
