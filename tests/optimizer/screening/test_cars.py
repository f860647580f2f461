"""Where cars to screen come from: files, folders, patterns and tables with one car a row."""

import tomllib
from pathlib import Path

import pytest

from optimizer.errors import CaseFileError, PivotwrightError
from optimizer.files.cars import Car, cars_in
from optimizer.files.case_file import read_car
from tests.optimizer.command_line import CASES, STRUT, WISHBONE

POINT_KEYS = [
    f"points.{name}.{axis}"
    for name in tomllib.loads(STRUT.read_text("utf-8"))["points"]
    for axis in "xyz"
]


def names(*places: object) -> list[str]:
    return [car.name for car in cars_in([str(place) for place in places]) if isinstance(car, Car)]


def test_a_folder_gives_its_cases_by_name_and_passes_over_what_names_no_layout():
    found = [Path(name).name for name in names(CASES)]
    assert found == sorted(found)
    assert {"lowered-strut.toml", "two-sided-wishbone.toml"} <= set(found)
    assert "kits.toml" not in found


def test_a_car_that_lost_its_layout_is_reported_and_not_passed_over(tmp_path):
    (tmp_path / "good.toml").write_bytes(STRUT.read_bytes())
    text = STRUT.read_text(encoding="utf-8").replace('layout = "strut"', "")
    (tmp_path / "lost.toml").write_text(text, encoding="utf-8")
    good, lost = cars_in([str(tmp_path)])
    assert good.read().case.layout == "strut"
    with pytest.raises(PivotwrightError, match="layout"):
        lost.read()


def test_a_pattern_reaches_into_folders_and_no_file_is_taken_twice(tmp_path):
    for place in ("a/one.toml", "a/b/two.toml"):
        (tmp_path / place).parent.mkdir(exist_ok=True)
        (tmp_path / place).write_bytes(STRUT.read_bytes())
    found = names(tmp_path / "a", tmp_path / "**" / "*.toml", tmp_path / "a" / "one.toml")
    assert [Path(name).name for name in found] == ["one.toml", "two.toml"]


@pytest.mark.parametrize("place", ["no*.toml", "."])
def test_a_place_without_a_case_is_said(tmp_path, monkeypatch, place):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(PivotwrightError, match="holds no case"):
        list(cars_in([place]))


def table_of(tmp_path: Path, *lines: str) -> str:
    (tmp_path / "cars.csv").write_text("\n".join([*lines, ""]), encoding="utf-8")
    return str(tmp_path / "cars.csv")


def test_a_row_with_every_point_is_the_car_that_a_case_file_makes(tmp_path):
    case = tomllib.loads(STRUT.read_text("utf-8"))
    (tmp_path / "strut.toml").write_bytes(STRUT.read_bytes())
    (tmp_path / "base.toml").write_text(STRUT.read_text("utf-8").replace("365.0", "1.0"), "utf-8")
    cells = [str(x) for point in case["points"].values() for x in point]
    place = table_of(
        tmp_path,
        ",".join(["like", "name", *POINT_KEYS]),
        ",".join(["base.toml", case["name"].replace(",", ""), *cells]),
    )
    (car,) = cars_in([place])
    assert car.name == f"{Path(place).as_posix()}, line 2"
    assert car.read().case.points == read_car(STRUT).case.points
    assert car.read().case.obstacles == read_car(STRUT).case.obstacles


def test_cells_are_numbers_lists_or_text_and_an_empty_one_leaves_the_base_alone(tmp_path):
    (tmp_path / "strut.toml").write_bytes(STRUT.read_bytes())
    place = table_of(
        tmp_path,
        "like;name;ride.lowered_by;rack.spacers;points.tie_rod_outer.z;wheel.camber_deg",
        "strut.toml;205;12,5;[0.0, 4.0];261,5;",
        "strut.toml;Second;;;;-2",
    )
    first, second = (car.read().case for car in cars_in([place]))
    base = read_car(STRUT).case
    assert (first.name, first.ride.lowered_by, first.rack.spacers) == ("205", 12.5, (0.0, 4.0))
    assert first.points.tie_rod_outer == (*base.points.tie_rod_outer[:2], 261.5)
    assert first.wheel.camber_deg == base.wheel.camber_deg
    assert second.wheel.camber_deg == -2.0
    assert second.ride == base.ride


def test_a_row_says_its_line_and_the_key_that_is_wrong(tmp_path):
    (tmp_path / "strut.toml").write_bytes(STRUT.read_bytes())
    place = table_of(
        tmp_path,
        "like,name,points.strut_top.z,ride.bump",
        "strut.toml,Good,,",
        "strut.toml,Bad,112,-3",
    )
    good, bad = cars_in([place])
    good.read()
    with pytest.raises(CaseFileError, match=r"cars\.csv, line 3 has 2 faults") as error:
        bad.read()
    assert [fault.location for fault in error.value.faults] == ["points.strut_top", "ride.bump"]


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (["points.strut top.z", "3"], "must name keys of a case"),
        (["name,name", "a,b"], "names name twice"),
        (["name", "a,b"], "must have at most the 1 cells of the heading, got 2"),
        (["like", "../strut.toml"], "beside the table or below it"),
        (["like", "/etc/passwd"], "beside the table or below it"),
        (["like", "nowhere.toml"], "does not exist"),
    ],
)
def test_a_table_that_is_none_is_refused_as_a_whole(tmp_path, lines, told):
    found = list(cars_in([table_of(tmp_path, *lines)]))
    assert len(found) == 1
    assert isinstance(found[0], CaseFileError)
    assert told in str(found[0])


def test_a_row_that_is_none_costs_no_other_row(tmp_path):
    (tmp_path / "strut.toml").write_text(STRUT.read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "broken.toml").write_text("format = 1\n[ride\n", encoding="utf-8")
    lines = [
        "name,like,ride.lowered_by",
        "A,strut.toml,40",
        "B,nowhere.toml,30",
        "C,broken.toml,30",
        "D,strut.toml,10,5",
        "E,strut.toml,20",
    ]
    found = list(cars_in([table_of(tmp_path, *lines)]))
    cars = [one for one in found if isinstance(one, Car)]
    assert [car.read().case.ride.lowered_by for car in cars] == [40.0, 20.0]
    told = [str(one) for one in found if isinstance(one, CaseFileError)]
    for line, fault, text in zip(
        (3, 4, 5), ("does not exist", "TOML", "at most"), told, strict=True
    ):
        assert f"line {line}" in text
        assert fault in text


def test_a_digest_changes_with_anything_in_a_car():
    one, other = (Car("a", path.read_text("utf-8")) for path in (STRUT, WISHBONE))
    assert len({one.digest, other.digest, Car("a", str(one.content) + "\n").digest}) == 3
