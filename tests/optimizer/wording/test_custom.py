"""A pivot made to measure in words and tables, from pivots made up for one wheel and for two."""

import pytest

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.files.case_file import car_from_toml, read_car
from optimizer.models.custom_pivot import (
    Coordinate,
    CustomPivot,
    CustomWheel,
    Farther,
    HeldByLimit,
    HeldByRoom,
    LeftByRule,
    MayBreak,
    TradedWheel,
    TradeOff,
)
from optimizer.models.suggest import SuggestResult
from optimizer.reports.terminal_suggest import suggest_report
from optimizer.wording.custom import custom_in_words, trade_offs_in_words
from optimizer.wording.custom_drawing import drawing_notes
from optimizer.wording.reader import Reader
from tests.optimizer.two_sided_cars import DEMO, ROOT

CARS = {
    "wishbone": ROOT / "cases" / "track-wishbone.toml",
    "truck": ROOT / "cases" / "lifted-beam-axle.toml",
    "two": DEMO,
}
FITTED = {
    "outer_drop_mm": 0.0,
    "stack_mm": [],
    "rack_raise_mm": 0.0,
    "frame_bracket_raise_mm": 0.0,
}


def with_custom(name: str, *, of_both: object = (), **of_wheel: object) -> SuggestResult:
    """Answer with a custom pivot that changes what is said of number 1."""
    result = suggest(read_car(CARS[name]))
    wheels = [
        CustomWheel(
            **dict(wheel) | FITTED | {"peak_toe_change_deg": 0.002} | of_wheel,
            coordinates=[
                Coordinate(pivot="outer", axis="y", move_mm=4.631, place_mm=704.6,
                           room_mm=(-20.0, 10.0), tolerance_mm=25.0,
                           tolerance_together_mm=0.767),
                Coordinate(pivot="outer", axis="z", move_mm=-9.786, place_mm=195.2,
                           room_mm=(-25.0, 5.0), tolerance_mm=0.0,
                           tolerance_together_mm=0.0),
            ],
            limits_within_tolerance=[MayBreak(kind="gap", name="rod to rim")],
            held_by=[HeldByLimit(kind="tilt", name="outer joint"),
                     HeldByRoom(pivot="outer", axis="z", move_mm=-10.0)],
            left_by_rule=None,
            steering=None,
            uncertainty=one.uncertainty,
            toe_change_deg=[],
        )
        for wheel, one in zip(result.first.wheels, result.wheels, strict=True)
    ]  # fmt: skip
    traded = [
        TradedWheel(side=wheel.side, **FITTED, ball_joint_drop_mm=0.0,
                    moves_mm=[0.0, 1.5, -2.0, 0.0, 0.0, 0.0], steer_rate_change_percent=k - 0.5)
        for k, wheel in enumerate(wheels)
    ]  # fmt: skip
    custom = {
        **dict(result.first), "wheels": wheels, "peak_toe_change_deg": 0.002,
        "best_stack_peak_toe_change_deg": 0.04, "change_mm": 20.0,
        "trade_offs": [
            TradeOff(peak_toe_change_deg=0.02, change_mm=7.0, clearance_mm=5.5, wheels=traded)
        ],
        "study_trials": 60, "pivots_scored": 1234,
    } | dict(of_both)  # fmt: skip
    pivot = CustomPivot(**{key: x for key, x in custom.items() if key in CustomPivot.model_fields})
    return result.model_copy(update={"custom": pivot})


def section(result: SuggestResult) -> str:
    report = suggest_report(result, "car.toml")
    return report.partition("A pivot made to measure\n")[2].partition("\nBefore it goes")[0]


def lines(result: SuggestResult) -> list[str]:
    return list(custom_in_words(result.custom, result, Reader(result.subject)))


def test_one_wheel_s_pivot_is_told_without_naming_the_wheel():
    result = with_custom("wishbone")
    first, compared, held, broken, sure, proof, judgement = lines(result)
    assert first == "x forward, y to the left, z up, at the pose that was measured."
    assert compared == (
        "Peak 0.002 deg, the best straight stack leaves 0.040 deg: 20.0 times less."
    )
    assert held == (
        "It stands at a limit: tilt of the outer joint, room of the outer pivot along z (-10 mm). "
        "More room there may bring it lower."
    )
    assert "but a limit may not be kept: rod to rim." in broken
    assert sure.startswith("With points and build as accurate as the case says it peaks below ")
    assert "(trials: 60) and its refinement scored 1,234 of them." in proof
    assert judgement.startswith("Judged are only the limits")


def test_each_of_two_wheels_has_its_coordinates_and_sentences():
    text = section(with_custom("two"))
    for side in ("left", "right"):
        assert f"\n  {side} outer y " in text
        assert f"\n  {side} outer z " in text
        assert f"{side.capitalize()}: It stands at a limit: tilt of the outer joint" in text
    assert text.count("±25.00 or more") == text.count("±0.76\n") == 2
    row = "0.020 7.0 0.0, 1.5, -2.0 0.0, 1.5, -2.0 0.0 5.5 -0.5 +0.5"
    assert row in " ".join(text.split())


def test_what_goes_with_it_is_named_once_where_both_wheels_share_it():
    shared = {"rack_raise_mm": 2.0, "stack_mm": [5.0], "outer_drop_mm": 5.0}
    text = lines(with_custom("two", of_both={"kit": "Studs"}, **shared))[0]
    assert text.endswith(
        "; with the kit Studs and a stack of 5.0 mm on the left pivot and the rack raised by 2.0 "
        "mm and a stack of 5.0 mm on the right pivot."
    )
    own = lines(with_custom("two", of_both={"rack_raise_mm": None}, rack_raise_mm=-2.0))[0]
    assert own.endswith(
        "; with the left rack lowered by 2.0 mm and the right rack lowered by 2.0 mm."
    )


def test_a_beam_axle_s_pivot_names_the_brackets_that_go_with_it():
    text = lines(with_custom("truck", rack_raise_mm=-45.0, axle_bracket_raise_mm=25.0))[0]
    assert (
        "with the pitman ball lowered by 45.0 mm and the lateral link's axle bracket raised by "
        "25.0 mm" in text
    )


def test_parts_that_go_with_a_pivot_are_named_with_their_sizes():
    text = lines(with_custom("truck", knuckle_plate_mm=30.0, shackle_longer_mm=25.0))[0]
    assert "the knuckle plate of 30.0 mm fitted and the shackle longer by 25.0 mm" in text


def test_a_pivot_that_misses_the_tolerance_or_has_no_rival_says_so():
    text = lines(
        with_custom(
            "wishbone", of_both={"best_stack_peak_toe_change_deg": None}, meets_tolerance=False
        )
    )
    assert "Peak 0.002 deg; no straight stack keeps every limit." in text
    assert "Even so it leaves more than the wanted 0.040 deg." in text


@pytest.mark.parametrize(
    ("axle", "counts"),
    [("front", "peak, change, gap and steering at once"), ("rear", "peak, change and gap at once")],
)
def test_trade_offs_count_the_steering_where_there_is_one(axle, counts):
    subject = suggest(read_car(CARS["wishbone"])).subject.model_copy(update={"axle": axle})
    assert trade_offs_in_words(Reader(subject)).endswith(f"none is beaten on {counts}:")


@pytest.mark.parametrize("change", [16.5, 17.5])
def test_a_trade_off_is_shown_only_where_it_asks_for_clearly_less(change):
    result = with_custom("wishbone", of_both={"change_mm": 21.0})
    offer = result.custom.trade_offs[0].model_copy(update={"change_mm": change})
    custom = result.custom.model_copy(update={"trade_offs": [offer]})
    text = section(result.model_copy(update={"custom": custom}))
    assert ("Less change for more toe" in text) == (change < 0.8 * 21.0)


def test_where_an_alignment_is_set_its_pivot_is_said_to_count_from_there():
    text = CARS["wishbone"].read_text() + '[alignment]\nby = "upper-arm"\ncamber_deg = -3.0\n'
    result = suggest(car_from_toml(text, "car.toml"), plan=SuggestPlan(custom=True))
    first, *_ = custom_in_words(result.custom, result, Reader(result.subject))
    assert ", at the pose that was measured, the wanted alignment set" in first
    assert any(
        ", the wanted alignment set" in note
        for note in drawing_notes(result.custom, result, Reader(result.subject))
    )


def test_limits_that_a_pivot_may_break_are_named_by_what_they_limit():
    broken = [
        MayBreak(kind="tilt", name="outer joint"),
        MayBreak(kind="reach", name="linkage"),
        MayBreak(kind="gap", name="outer joint to rim"),
        MayBreak(kind="lock", name="rod"),
    ]
    result = with_custom("wishbone")
    wheels = [
        wheel.model_copy(update={"limits_within_tolerance": broken})
        for wheel in result.custom.wheels
    ]
    custom = result.custom.model_copy(update={"wheels": wheels})
    result = result.model_copy(update={"custom": custom})
    assert (
        "a limit may not be kept: tilt of the outer joint, reach of the linkage, outer joint to "
        "rim, jamming of the rod before full lock." in " ".join(lines(result))
    )


@pytest.mark.parametrize(("unit", "least"), [("deg", "0.001 deg"), ("in", "0.0004 in")])
def test_what_a_millimeter_must_save_is_never_told_as_nothing(unit, least):
    farther = Farther(pivot="outer", axis="x", move_mm=-10.0)
    result = with_custom("wishbone")
    (wheel,) = result.custom.wheels
    left = LeftByRule(moves=(farther,), gain_deg=0.01)
    wheels = [wheel.model_copy(update={"left_by_rule": left})]
    custom = result.custom.model_copy(update={"wheels": wheels})
    subject = result.subject.model_copy(update={"toe_unit": unit, "toe_diameter_mm": 609.6})
    said = " ".join(lines(result.model_copy(update={"subject": subject, "custom": custom})))
    assert f"a millimeter that saves less than {least} is left out." in said
