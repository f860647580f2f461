"""Mistakes in surveys of invented cars: lost marks, exchanged names, wrong readings, noise."""

import numpy as np
import pytest

from optimizer.models.surveyed import (
    BehindRear,
    LostMark,
    LostSigns,
    MoreNoise,
    StandsApart,
    SwappedMarks,
    WrongHeights,
    WrongReading,
)
from optimizer.surveying.survey import survey
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from tests.optimizer.surveying.invented_surveys import (
    LAYOUTS,
    Garage,
    doubts_of,
    found_points,
    surveyed,
    with_reading,
)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_lost_plumb_mark_is_asked_about(layout):
    rng = np.random.default_rng(5)
    garage = Garage.of(layout, rng)
    point = "drag_link_outer" if layout.endswith("-axle") else "tie_rod_outer"
    x, y = garage.marks[point]
    garage.marks[point] = (x + 22.0, y - 12.0)
    (told,) = doubts_of(survey(surveyed(garage, layout, rng)), StandsApart)
    lost = told.explanations[0]
    assert isinstance(lost, LostMark)
    assert lost.point == point
    assert (lost.forward_mm, lost.left_mm) == pytest.approx((22.0, -12.0), abs=8.0)


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize(("factor", "meant"), [(0.1, "cm"), (1.0 / 25.4, "inches"), (10.0, None)])
def test_a_base_in_another_unit_is_all_that_is_asked_about(layout, factor, meant):
    rng = np.random.default_rng(5)
    read = surveyed(Garage.of(layout, rng), layout, rng)
    read = with_reading(read, "marks", ("A", "B"), lambda distance: factor * distance)
    answer = survey(read)
    (told,) = doubts_of(answer, StandsApart)
    (wrong,) = told.explanations
    assert isinstance(wrong, WrongReading)
    assert wrong.names == ("A", "B")
    said = sentence(told, Reader(answer.subject))
    assert (f"was it read in {meant}?" in said) == (meant is not None)


def test_marks_that_lie_behind_the_base_blame_it_for_nothing():
    rng = np.random.default_rng(5)
    garage = Garage.of("strut", rng)
    (_, a), (_, b) = garage.marks["A"], garage.marks["B"]
    garage.marks["A"], garage.marks["B"] = (1500.0, a), (900.0, b)
    assert not doubts_of(survey(surveyed(garage, "strut", rng)), StandsApart)


def test_lost_marks_are_asked_about_in_nearly_every_survey():
    found = 0
    for seed in range(16):
        rng = np.random.default_rng(seed)
        garage = Garage.of("strut", rng)
        name = str(rng.choice([*garage.points]))
        (x, y), way = garage.marks[name], rng.uniform(0.0, 2.0 * np.pi)
        garage.marks[name] = (x + 25.0 * np.cos(way), y + 25.0 * np.sin(way))
        told = doubts_of(survey(surveyed(garage, "strut", rng)), StandsApart)
        found += bool(told) and any(
            isinstance(one, LostMark) and one.point == name for one in told[0].explanations[:2]
        )
    assert found >= 15


def test_two_marks_that_changed_names_are_named():
    rng = np.random.default_rng(2)
    garage = Garage.of("double-wishbone", rng)
    one, other = "upper_arm_front", "lower_arm_front"
    garage.marks[one], garage.marks[other] = garage.marks[other], garage.marks[one]
    answer = survey(surveyed(garage, "double-wishbone", rng))
    assert doubts_of(answer, SwappedMarks) == [SwappedMarks(one=other, other=one)]
    assert not doubts_of(answer, StandsApart)


def test_distances_of_one_mark_that_stand_in_each_other_s_place_are_named():
    rng = np.random.default_rng(5)
    read = surveyed(Garage.of("strut", rng), "strut", rng)
    mark = "tie_rod_outer"
    (from_a,), (from_b,) = (
        next(row.values for row in read.marks if {*row.names} == {base, mark}) for base in "AB"
    )
    read = with_reading(read, "marks", ("A", mark), lambda _: from_b)
    read = with_reading(read, "marks", ("B", mark), lambda _: from_a)
    answer = survey(read)
    assert doubts_of(answer, SwappedMarks) == [SwappedMarks(one="A", other="B", of=mark)]
    said = sentence(doubts_of(answer, SwappedMarks)[0], Reader(answer.subject))
    assert "the distances of tie_rod_outer from A and from B stand in each other's place" in said


@pytest.mark.parametrize("layout", ["double-wishbone", "beam-axle"])
@pytest.mark.parametrize(
    ("key", "table", "said"),
    [
        ("marks", "marks", "the distances of {} and of {} from A and B"),
        ("center_line", "center_line", "the distances of {} and of {} to the center line"),
        ("heights", "heights", "the heights of {} and of {}"),
        ("lengths", "lengths", "the lengths of {} and of {}"),
    ],
)
def test_two_joints_exchanged_in_the_rows_of_one_table_are_named(layout, key, table, said):
    rng = np.random.default_rng(2)
    read = surveyed(Garage.of(layout, rng), layout, rng)
    pairs = {"double-wishbone": ("tie_rod_inner", "lower_arm_front")}
    one, other = pairs.get(layout, ("drag_link_outer", "link_1_outer"))
    names = {one: other, other: one}
    rows = tuple(
        row.model_copy(update={"names": tuple(names.get(name, name) for name in row.names)})
        if key != "marks" or {"A", "B"} & {*row.names}
        else row
        for row in getattr(read, key)
    )
    answer = survey(read.model_copy(update={key: rows}))
    (told,) = doubts_of(answer, SwappedMarks)
    assert ({told.one, told.other}, told.table) == ({one, other}, table)
    assert not doubts_of(answer, StandsApart)
    assert not doubts_of(answer, MoreNoise)
    assert said.format(told.one, told.other) in sentence(told, Reader(answer.subject))


def test_readings_beside_those_that_stand_apart_are_not_said_to_hold_none_that_does():
    subject = survey(surveyed(Garage.of("strut"), "strut")).subject
    alone, beside = (
        sentence(MoreNoise(times=2.8, beside=one), Reader(subject)) for one in (False, True)
    )
    assert alone.startswith("The readings differ 2.8 times as much as [accuracy] says, and no ")
    assert beside.startswith("The other readings differ 2.8 times as much as [accuracy] says: did ")


@pytest.mark.parametrize(
    ("key", "names", "slip", "asked"),
    [
        ("heights", ("tie_rod_outer",), lambda x: x / 25.4, "was it read in inches?"),
        ("lengths", ("tie_rod_inner", "tie_rod_outer"), lambda x: x / 10.0, "was it read in cm?"),
        ("center_line", ("tie_rod_inner",), lambda x: -x, "is its sign right?"),
    ],
)
def test_a_reading_is_asked_about_with_the_slip_that_explains_it(key, names, slip, asked):
    rng = np.random.default_rng(2)
    read = surveyed(Garage.of("double-wishbone", rng), "double-wishbone", rng)
    answer = survey(with_reading(read, key, names, slip))
    (told,) = doubts_of(answer, StandsApart)
    assert asked in sentence(told, Reader(answer.subject))


def test_two_mistakes_are_both_found():
    rng = np.random.default_rng(8)
    garage = Garage.of("strut", rng)
    read = surveyed(garage, "strut", rng)
    read = with_reading(read, "lengths", ("strut_top", "strut_axis"), lambda x: x + 30.0)
    read = with_reading(read, "marks", ("B", "lower_arm_rear"), lambda x: x - 20.0)
    answer = survey(read)
    told = {
        one.explanations[0].names: one.explanations[0].by for one in doubts_of(answer, StandsApart)
    }
    assert told == {
        ("strut_top", "strut_axis"): pytest.approx(30.0, abs=6.0),
        ("B", "lower_arm_rear"): pytest.approx(-20.0, abs=6.0),
    }
    clean = survey(surveyed(garage, "strut", np.random.default_rng(8)))
    assert np.abs(found_points(answer) - found_points(clean)).max() < 4.0


def test_what_can_t_be_told_apart_is_named_together():
    """Two heights of one joint, with no length that says which of them is right."""
    garage = Garage.of("strut")
    read = surveyed(garage, "strut", lengths=())
    read = with_reading(read, "heights", ("tie_rod_outer",), lambda x: x + 20.0, place=1)
    (told,) = doubts_of(survey(read), StandsApart)
    assert sorted(one.by for one in told.explanations) == pytest.approx([-20.0, 20.0], abs=0.1)
    assert all(isinstance(one, WrongReading) for one in told.explanations)


@pytest.mark.parametrize("by", [20.0, -20.0])
def test_heights_that_are_all_wrong_are_told_with_the_way_they_are_wrong(by):
    """As where the tape's hook hung on something, or the floor dips below the joint."""
    read = surveyed(Garage.of("double-wishbone"), "double-wishbone")
    for place in (0, 1):
        read = with_reading(read, "heights", ("tie_rod_outer",), lambda x: x + by, place=place)
    answer = survey(read)
    (told,) = doubts_of(answer, StandsApart)
    (heights,) = (one for one in told.explanations if isinstance(one, WrongHeights))
    assert heights.by_mm == pytest.approx(by, abs=2.0)
    more = "large" if by > 0.0 else "small"
    assert f"20.0 mm too {more}" in sentence(told, Reader(answer.subject))


def test_a_reading_that_is_doubted_leaves_its_points_less_sure_and_hardly_moved():
    garage = Garage.of("strut")
    read = surveyed(garage, "strut")
    clean = survey(read)
    spoiled = survey(
        with_reading(read, "lengths", ("strut_axis", "lower_ball_joint"), lambda x: x + 20.0)
    )
    assert np.abs(found_points(spoiled) - found_points(clean)).max() < 0.2
    for one, other in zip(clean.points, spoiled.points, strict=True):
        assert all(np.array(other.sigma_mm) >= np.array(one.sigma_mm) - 1e-9)


def test_readings_that_scatter_more_than_stated_are_asked_about_without_a_culprit():
    rng = np.random.default_rng(4)
    garage = Garage.of("double-wishbone")
    read = surveyed(garage, "double-wishbone")
    for key in ("heights", "center_line", "marks", "lengths"):
        rows = tuple(
            row.model_copy(
                update={"values": tuple(x + float(rng.uniform(-4.5, 4.5)) for x in row.values)}
            )
            for row in getattr(read, key)
        )
        read = read.model_copy(update={key: rows})
    answer = survey(read)
    (noise,) = doubts_of(answer, MoreNoise)
    assert 1.3 < noise.times < 4.0


def test_one_distance_to_the_center_line_with_a_lost_sign_is_doubted_and_no_side():
    read = surveyed(Garage.of("strut", np.random.default_rng(1)), "strut")
    answer = survey(with_reading(read, "center_line", ["wheel_center"], lambda x: -x))
    assert doubts_of(answer, StandsApart)
    assert next(point.at_mm[1] for point in answer.points if point.name == "wheel_center") > 0.0


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_all_minus_signs_of_the_center_line_lost_are_asked_about_by_name(side):
    """An axle lies on both sides of it: without them its readings contradict each other."""
    rng = np.random.default_rng(2)
    read = surveyed(Garage.of("beam-axle", rng, side=side), "beam-axle", rng)
    beyond = [row.names[0] for row in read.center_line if row.values[0] < 0.0]
    rows = tuple(
        row.model_copy(update={"values": tuple(map(abs, row.values))}) for row in read.center_line
    )
    answer = survey(read.model_copy(update={"center_line": rows}))
    (told,) = doubts_of(answer, LostSigns)
    assert told.points == beyond
    assert not doubts_of(answer, StandsApart)
    said = sentence(told, Reader(answer.subject))
    assert said.startswith("Everything agrees if link_1_inner, link_3_inner, link_3_outer, ")
    assert not doubts_of(survey(read), LostSigns)


@pytest.mark.parametrize(("layout", "pairs"), [("strut", 1), ("double-wishbone", 2)])
def test_base_marks_that_were_exchanged_are_asked_about(layout, pairs):
    read = surveyed(Garage.of(layout), layout)
    names = {"A": "B", "B": "A"}
    marks = tuple(
        row.model_copy(update={"names": tuple(names.get(name, name) for name in row.names)})
        for row in read.marks
    )
    asked = doubts_of(survey(read.model_copy(update={"marks": marks})), BehindRear)
    assert len(asked) == pairs
    front, rear = (Garage.of(layout).points[f"lower_arm_{end}"][0] for end in ("front", "rear"))
    assert asked[0].by_mm == pytest.approx(front - rear)


def test_two_heights_exchanged_that_but_one_length_contradicts_are_named():
    names = {"tie_rod_inner": "lower_arm_rear", "lower_arm_rear": "tie_rod_inner"}
    named = 0
    for seed in range(5):
        rng = np.random.default_rng(seed)
        read = surveyed(Garage.of("strut", rng), "strut", rng)
        rows = tuple(
            row.model_copy(update={"names": tuple(names.get(one, one) for one in row.names)})
            for row in read.heights
        )
        told = doubts_of(survey(read.model_copy(update={"heights": rows})), SwappedMarks)
        named += [({one.one, one.other}, one.table) for one in told] == [({*names}, "heights")]
        for key in ("heights", "lengths"):
            row = getattr(read, key)[seed]
            wrong = survey(with_reading(read, key, row.names, lambda value: value + 30.0))
            assert not doubts_of(wrong, SwappedMarks)
    assert named == 5
