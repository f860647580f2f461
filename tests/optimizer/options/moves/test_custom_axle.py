"""A custom pivot on a beam axle, and at a rear wheel that nothing steers."""

import numpy as np
import pytest

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.files.case_file import car_from_toml
from optimizer.models.suggest import SuggestResult
from optimizer.options.moves.space import CustomSpace
from optimizer.options.study.run import StudyPlan
from optimizer.reports.terminal_suggest import suggest_report
from optimizer.wording.cures import cure_in_words
from tests.optimizer.command_line import CASES, run, strictly_json

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
TRUCK = CASES / "lifted-beam-axle.toml"
REAR = CASES / "five-link-rear.toml"
ROOM = "[custom_pivot]\nouter = { z = [0.0, 15.0] }\n"


@pytest.fixture(scope="module")
def truck() -> SuggestResult:
    """A truck that has its drop pitman arm and may get a riser for the lateral link."""
    text = (
        TRUCK.read_text()
        .replace("spacers = [0.0, -45.0]", "spacers = [-45.0]")
        .replace("frame_bracket = [0.0, -40.0]", "frame_bracket = [0.0]")
        .replace("axle_bracket  = [0.0, 25.0, 50.0]", "axle_bracket  = [0.0, 25.0]")
    )
    car = car_from_toml(f"{text}\n{ROOM}", "truck")
    return suggest(car, (), SuggestPlan(StudyPlan(trials=3), custom=True))


def test_a_custom_pivot_of_a_beam_axle_names_the_brackets_that_go_with_it(truck):
    assert truck.custom.axle_bracket_raise_mm == 25.0
    assert truck.custom.wheels[0].axle_bracket_raise_mm == 25.0
    report = " ".join(suggest_report(truck, "truck.toml").split())
    assert (
        "with the pitman ball lowered by 45.0 mm and the lateral link's axle bracket raised by "
        "25.0 mm" in report
    )


@pytest.mark.slow
def test_brackets_from_which_a_lock_is_out_of_reach_may_still_hold_the_best_pivot():
    room = "outer = { x = [-10.0, 10.0], y = [-15.0, 15.0], z = [-30.0, 20.0] }"
    car = car_from_toml(f"{TRUCK.read_text()}\n[custom_pivot]\n{room}\n", "truck")
    found = suggest(car, (), SuggestPlan(StudyPlan(trials=20), custom=True))
    assert found.custom.fits
    assert found.custom.peak_toe_change_deg < found.ranked[0].peak_toe_change_deg
    for offer in found.custom.trade_offs:
        assert found.custom.peak_toe_change_deg <= offer.peak_toe_change_deg + ANGLE_ATOL_DEG


def test_a_drag_link_too_long_or_short_is_cured_toward_or_away_from_the_wheel():
    """Its pitman ball lies past the middle, where inboard would be the wrong way."""
    words = car_from_toml(TRUCK.read_text(), "truck").case.words
    too_long = cure_in_words("shorten-rod", words)
    assert "too long: move the inner pivot toward this wheel" in too_long
    assert "too short: move the inner pivot away from this wheel" in cure_in_words(
        "lengthen-rod", words
    )


def test_reach_looks_from_the_height_as_measured_to_some_above_a_lift(capsys):
    run("reach", TRUCK, "--json")
    heights = [row["lowered_by_mm"] for row in strictly_json(capsys.readouterr().out)["heights"]]
    assert heights == [float(height) for height in range(-80, 5, 5)]


def test_a_turn_on_a_beam_axle_is_told_by_its_other_wheel_here_too(truck):
    """The cross rod steers the other wheel: it is no mirror image with the rod moved back."""
    told = {
        turn.rack_travel_mm: turn.before_deg
        for turn in truck.custom.wheels[0].steering.turn_toe_out
    }
    elsewhere = {
        turn.rack_travel_mm: turn.before.toe_out_deg
        for turn in truck.wheels[0].side_effects.turn_toe_out
    }
    assert told == pytest.approx(elsewhere, rel=0, abs=ANGLE_ATOL_DEG)
    assert min(told.values()) > 0.0


def test_brackets_count_by_how_far_they_move_and_not_by_their_number():
    case = car_from_toml(f"{TRUCK.read_text()}\n{ROOM}", "truck").case
    space = CustomSpace.of([case])
    pairs = np.array([[0, 0, 0, pair] for pair in range(space.sizes[3])])
    expected = [abs(frame) + abs(axle) for frame in (0.0, -40.0) for axle in (0.0, 25.0, 50.0)]
    change = space.change(pairs, np.zeros((6, 6)))
    assert change == pytest.approx(expected, abs=LENGTH_ATOL_MM)


@pytest.mark.parametrize("inner", [0.0, -11.8])
def test_trade_offs_show_the_inner_pivot_s_moves_where_it_moves(truck, inner):
    offer = truck.custom.trade_offs[0]
    (wheel,) = offer.wheels
    wheel = wheel.model_copy(update={"moves_mm": [0.0, 0.0, 9.0, 0.0, 0.0, inner]})
    offer = offer.model_copy(update={"wheels": [wheel], "change_mm": 1.0})
    custom = truck.custom.model_copy(update={"trade_offs": [offer]})
    report = suggest_report(truck.model_copy(update={"custom": custom}), "truck.toml")
    assert "0.0, 0.0, 9.0" in report
    assert ("inner x, y, z" in report) == ("0.0, 0.0, -11.8" in report) == (inner != 0.0)


def test_a_rear_wheel_s_custom_pivot_says_nothing_of_steering(capsys, tmp_path):
    path = tmp_path / "rear.toml"
    path.write_text(f"{REAR.read_text()}\n[custom_pivot]\nouter = {{ z = [-20.0, 0.0] }}\n")
    options = ["suggest", path, "--custom", "--trials", 2]
    assert run(*options, "--json") == 0
    custom = strictly_json(capsys.readouterr().out)["custom"]
    assert [wheel["steering"] for wheel in custom["wheels"]] == [None]
    traded = [wheel for offer in custom["trade_offs"] for wheel in offer["wheels"]]
    assert all(wheel["steer_rate_change_percent"] is None for wheel in traded)
    assert run(*options) == 0
    section = capsys.readouterr().out.split("A pivot made to measure")[1]
    section = section.split("Before it goes on the road")[0]
    assert "Peak" in section
    assert not any(word in section for word in ("Steering", "rack", "lock", "turn", "tie rod"))


@pytest.mark.parametrize("car", [TRUCK, REAR], ids=["beam axle", "rear wheel"])
def test_a_custom_pivot_without_room_is_asked_for_its_room(capsys, car):
    assert run("suggest", car, "--custom") == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "custom_pivot  must be given where a custom pivot is asked for" in err
