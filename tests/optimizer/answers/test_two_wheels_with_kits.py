"""Kits ranked for a car of which both wheels were measured: one kit on both, one rack."""

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.files.kits import read_kits
from optimizer.models.kits import Kit
from optimizer.models.suggest import SuggestResult
from optimizer.models.vehicle import Vehicle
from optimizer.options.study.run import StudyPlan
from optimizer.reports.terminal_suggest import suggest_report
from tests.optimizer.two_sided_cars import (
    DEMO_TEXT,
    ROOT,
    car_of,
    kit,
    moved,
)

DEMO_KITS = read_kits(ROOT / "cases" / "kits.toml")
# A shifted car rounds its coordinates otherwise than its mirror image does.
SCORE_ATOL = 1e-6


def ranked(vehicle: Vehicle, *kits: Kit, custom: bool = False) -> SuggestResult:
    return suggest(vehicle, kits, SuggestPlan(StudyPlan(trials=1), custom=custom))


def test_a_kit_goes_on_both_wheels_even_where_one_is_right_as_it_stands():
    # The right wheel's own best is to leave it; with a kit that starts at 3 mm it can't be left.
    from_3 = kit("from 3", stack={"min": 3.0, "max": 16.0, "step": 0.5})
    (row,) = (row for row in ranked(car_of(DEMO_TEXT), from_3).ranked if row.kit)
    assert min(wheel.outer_drop_mm for wheel in row.wheels) >= 3.0


def test_with_a_kit_that_needs_no_stack_the_wheel_that_is_right_as_it_stands_gets_none():
    cured = moved(DEMO_TEXT, "right", "tie_rod_outer", (0.0, 0.0, -4.0)).replace(
        "[0.0, 2.0, 4.0]", "[0.0]"
    )
    coarse = kit("washers", stack={"min": 0.0, "max": 12.0, "step": 4.0})
    told = ranked(car_of(cured), coarse)
    first = told.ranked[0]
    assert first.kit == "washers"
    assert [wheel.outer_drop_mm for wheel in first.wheels] == [12.0, 0.0]
    assert not first.is_as_is
    assert first.peak_toe_change_deg < 0.05
    assert (told.certificate.wheel_settings, told.certificate.combinations) == ([4, 4], 16)
    report = " ".join(suggest_report(told, "car.toml").split())
    assert (
        "Fit: washers on both wheels: on the left drop outer 12.0 mm; on the right standard seat."
        in report
    )


def test_where_no_kit_is_better_both_wheels_are_left_and_the_answers_say_so():
    cured = moved(DEMO_TEXT, "left", "tie_rod_outer", (0.0, 0.0, -12.0))
    cured = moved(cured, "right", "tie_rod_outer", (0.0, 0.0, -4.0))
    answer = ranked(car_of(cured), kit("one"))
    assert [row.kit for row in answer.ranked] == [None, "one"]
    assert answer.ranked[0].is_as_is
    assert answer.total_toe.total_best_deg == answer.total_toe.total_as_is_deg
    assert "With number 1: o left wheel" not in suggest_report(answer, "car.toml")


def test_equal_kits_are_ranked_by_their_price_and_the_taper_is_left_alone_first():
    told = ranked(
        car_of(DEMO_TEXT),
        kit("drilled", seat="straight-bolt", price=1.0),
        kit("dear", price=90.0),
        kit("unpriced"),
        kit("cheap", price=40.0),
    )
    names = [row.kit for row in told.ranked if row.kit]
    assert names == ["cheap", "dear", "unpriced", "drilled"]


def test_on_a_car_whose_rack_must_move_a_kit_is_tried_only_where_the_rack_can_sit():
    text = DEMO_TEXT.replace("[0.0, 2.0, 4.0]", "[4.0]")
    (row,) = (row for row in ranked(car_of(text), kit("one")).ranked if row.kit)
    assert row.rack_raise_mm == 4.0


def test_a_custom_pivot_names_the_kit_that_carries_it():
    room = "\n[custom_pivot]\nouter = { x = [-5.0, 5.0], y = [-8.0, 4.0], z = [-20.0, 5.0] }\n"
    told = ranked(car_of(DEMO_TEXT + room), kit("one"), custom=True)
    assert told.custom.kit == "one"
    assert len({wheel.rack_raise_mm for wheel in told.custom.wheels}) == 1
    report = " ".join(suggest_report(told, "car.toml").split())
    for side in ("left", "right"):
        turn = f"In turns to the {side} this wheel, against the outer one, steers"
        assert report.count(turn) == 1
