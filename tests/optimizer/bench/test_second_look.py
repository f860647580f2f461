"""What a second look at the program found said wrongly, each where it was seen."""

import numpy as np
import pytest

from optimizer.answers.suggest import suggest
from optimizer.car.ride_heights import case_at
from optimizer.car.subject import subject_of
from optimizer.errors import CaseFileError
from optimizer.files.case_file import car_from_toml, read_car
from optimizer.files.csv_rows import csv_rows
from optimizer.files.point_table import axes_for
from optimizer.models.reach import ReachResult
from optimizer.models.suggest import SuggestResult
from optimizer.models.vehicle import Vehicle
from optimizer.options.chances import InCars, chances_of
from optimizer.wording.cures import cure_in_words, inner_moved
from optimizer.wording.reader import Reader
from tests.optimizer.command_line import CASES, STRUT, answer_of, changed, printed, run

REAR, LEAF = CASES / "five-link-rear.toml", CASES / "lifted-leaf-axle.toml"


def test_what_is_listed_and_meets_is_named_before_what_can_not_be_built(capsys):
    run("suggest", REAR, "--rank-by", "expected", "--json")
    found = answer_of(SuggestResult, capsys.readouterr().out)
    meets = [row for row in found.ranked if row.fits and row.wheels[0].meets_tolerance]
    assert not found.verdict.meets
    assert meets
    first = found.verdict.ways_out[0]
    assert first.kind == "listed"
    assert first.wheels[0].outer_drop_mm == meets[0].wheels[0].outer_drop_mm
    said = printed(capsys, "suggest", REAR, "--rank-by", "expected", "--quiet")
    assert "What would meet it: drop outer 13.0 mm leaves 0.018 deg on the car as measured" in said


@pytest.mark.parametrize("wider", [-0.02, 0.08])
def test_reach_holds_a_wanted_band_as_suggest_does_at_each_height(capsys, tmp_path, wider):
    """The tolerance, 0.05 deg, decides nothing: every peak is larger, and a wide band is kept."""
    path, page = tmp_path / "car.toml", tmp_path / "page.html"
    band = (
        f"band = [[-60.0, {-0.05 - wider}, {0.2 + wider}], [50.0, {-0.2 - wider}, {0.05 + wider}]]"
    )
    path.write_text(changed(STRUT, r"^tolerance_deg = 0.05", f"tolerance_deg = 0.05\n{band}"))
    run("reach", path, "--heights", "0:60:20", "--json", "--page", page)
    rows = answer_of(ReachResult, capsys.readouterr().out).heights
    for row in rows:
        (case,) = read_car(path).wheels
        ranked = suggest(Vehicle((case_at(case, row.lowered_by_mm),))).ranked
        best = min((one for one in ranked if one.fits), key=lambda one: one.peak_toe_change_deg)
        (wheel,) = best.wheels
        assert row.wheels[0].outer_drop_mm == wheel.outer_drop_mm
        assert row.peak_toe_change_deg == pytest.approx(best.peak_toe_change_deg, abs=1e-6)
        assert row.reachable == wheel.band.within
        assert row.blocked_by == ([] if wheel.band.within else ["band"])
        assert [stop.verdict.outside for stop in row.reasons] == [wheel.band.outside][
            row.reachable :
        ]
    assert {row.reachable for row in rows} == ({True} if wider > 0.0 else {True, False})
    said = printed(capsys, "reach", path, "--heights", "0:60:20")
    assert "A band is wanted of this car: peaks count from its middle" in said
    assert "A band is wanted" in page.read_text(encoding="utf-8")
    assert "keeps the wanted band down to" in said
    assert ("comes nearest to the band's middle is outside the wanted band" in said) == (
        wider < 0.0
    )
    assert "A band is wanted" not in printed(capsys, "reach", STRUT)


@pytest.mark.parametrize("tolerance", [0.001, 5.0])
def test_beside_a_wanted_band_limits_that_nothing_keeps_are_told_whatever_the_tolerance(
    capsys, tmp_path, tolerance
):
    path = tmp_path / "car.toml"
    band = f"tolerance_deg = {tolerance}\nband = [[-60.0, -0.2, 0.2], [50.0, -0.2, 0.2]]"
    text = changed(STRUT, r"^tolerance_deg = 0.05", band)
    path.write_text(text.replace("tilt_limit_deg = 22.0", "tilt_limit_deg = 2.0"), "utf-8")
    run("reach", path, "--heights", "0:60:20", "--json")
    rows = answer_of(ReachResult, capsys.readouterr().out).heights
    assert [row.blocked_by for row in rows] == [["tilt"]] * 4
    said = printed(capsys, "reach", path, "--heights", "0:60:20")
    assert "or, beside a number, the band that its curve leaves." in said
    assert "range and step" not in said


@pytest.mark.parametrize(("cure", "way"), [("lengthen-rod", "away"), ("shorten-rod", "toward")])
def test_a_link_along_the_car_is_lengthened_along_itself(cure, way):
    reader = Reader(subject_of(read_car(LEAF)))
    assert reader.subject.moves_along
    said = cure_in_words(cure, reader.words, along=reader.subject.moves_along)
    assert f"the outer pivot {way}" in said
    assert said.endswith("the other, along the drag link")
    assert "board" not in said
    moved = inner_moved(20.0 if way == "away" else -20.0, reader)
    assert moved == f"the inner pivot 20.0 mm {way} {'from ' if way == 'away' else ''}the outer one"


def test_an_alignment_is_told_of_one_car_with_the_same_spacer():
    text = STRUT.read_text(encoding="utf-8") + (
        "\n[crossmember]\nspacer = [0.0, 10.0]\n\n[alignment]\n"
        'by = "strut-top"\ncamber_deg = -2.5\nmost = 30.0\n'
    )
    car = car_from_toml(text, "car")
    found = suggest(car)
    spacer = found.ranked[0].wheels[0].crossmember_spacer_mm
    alone = car.case.model_copy(
        update={
            "alignment": None,
            "crossmember": car.case.crossmember.model_copy(update={"spacer": (spacer,)}),
        }
    )
    now = suggest(type(car)((alone,))).as_is
    effect = found.wheels[0].alignment.toe_curve
    assert effect.peak_toe_change_before_deg == pytest.approx(now.peak_toe_change_deg, abs=1e-6)


def test_near_the_best_is_near_the_best_shown_where_nothing_fits():
    case = read_car(STRUT).case
    peaks = np.array([[0.01, 0.02, 0.01, 0.02], [0.02, 0.02, 0.02, 0.02]])
    nothing, never = np.full((1, 4), np.inf), np.zeros((2, 4), bool)
    first, second = chances_of(
        InCars(peaks, never, never), nothing, np.ones(4, bool), case, [[], []]
    )
    assert (first.near_best_probability, second.near_best_probability) == (1.0, 0.5)


@pytest.mark.parametrize(
    ("heading", "told"),
    [
        ("point,x rearward (mm),y right (mm),z up (mm)", ("rearward", "right", "up")),
        ("point,x,y,z", ("forward", "left", "up")),
        ("point,x fwd,y left,z down", "must say of each column where it points"),
        ("point,z,x,y", "must head its columns x, y, z in this order"),
        ("point,rearward in,right in,up in", "must be of the unit asked for, mm"),
    ],
)
def test_a_heading_is_understood_or_refused(tmp_path, heading, told):
    table = tmp_path / "points.csv"
    table.write_text(f"{heading}\nwheel center,1,2,3\n", encoding="utf-8")
    if isinstance(told, tuple):
        assert axes_for(table, csv_rows(table), None, "mm") == told
        return
    with pytest.raises(CaseFileError, match=told):
        axes_for(table, csv_rows(table), None, "mm")
