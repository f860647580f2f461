"""What is worse in a bend than on the car as it is says so, with both numbers, whatever it is."""

import pytest

from optimizer.answers.worsened import TURN_APART_DEG, worsened
from optimizer.models.aim import Aim
from optimizer.models.side_effects import SideEffects, Turn, TurnAngles
from optimizer.models.suggest import SuggestResult
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from tests.optimizer.command_line import (
    CASES,
    STRUT,
    WISHBONE,
    answer_of,
    changed,
    printed,
    run,
    suggested,
)

FIVE_LINK = CASES / "five-link-front.toml"


def answer(capsys, path):
    run("suggest", path, "--json")
    return answer_of(SuggestResult, capsys.readouterr().out)


def turn(at, before, after, ackermann=None):
    """A turn at a rack travel, by its toe-out before and after. [mm, deg]"""
    angles = [
        TurnAngles(
            inner_deg=30.0 + out, outer_deg=30.0, toe_out_deg=out, ackermann_toe_out_deg=ackermann
        )
        for out in (before, after)
    ]
    return Turn(rack_travel_mm=at, before=angles[0], after=angles[1])


def turns_alone(*turns):
    """Side effects of which nothing but the turns counts."""
    return SideEffects.model_construct(steered=[], turn_toe_out=list(turns))


def test_a_custom_pivot_that_turns_the_wheels_far_apart_is_held_to_the_same_caution(capsys):
    (wheel,) = suggested(capsys, FIVE_LINK, "--custom").custom.wheels
    last = wheel.steering.turn_toe_out[-1]
    assert last.after_deg - last.before_deg > 10.0  # at full lock
    (worse,) = wheel.steering.worsened
    assert (worse.kind, worse.custom, worse.rack_travel_mm) == ("turn", True, 70.0)
    assert (worse.before_deg, worse.after_deg) == (last.before_deg, last.after_deg)
    said = printed(capsys, "suggest", FIVE_LINK, "--custom")
    assert (
        "With the rack 70.0 mm off the custom pivot steers the inner wheel of a turn 11.23 deg "
        "more than the outer one, in place of 0.16 deg more."
    ) in said


def test_a_custom_pivot_is_looked_at_in_the_turns_in_which_number_1_is(capsys, tmp_path):
    path = tmp_path / "car.toml"
    text = changed(FIVE_LINK, r"^rack_travel = 70.0", "rack_travel = 70.0\ncheck_at = [20.0, 40.0]")
    path.write_text(text, "utf-8")
    found = suggested(capsys, path, "--custom")
    turns = found.custom.wheels[0].steering.turn_toe_out
    of_first = found.wheels[0].side_effects.turn_toe_out
    assert [(x.rack_travel_mm, x.before_deg) for x in turns] == [
        (x.rack_travel_mm, pytest.approx(x.before.toe_out_deg, abs=1e-9)) for x in of_first
    ]
    assert [x.rack_travel_mm for x in turns] == [20.0, 40.0, 70.0]


@pytest.mark.parametrize(
    ("before", "after", "ackermann", "worse"),
    [
        (0.2, 1.0, None, False),
        (0.2, 0.3 + TURN_APART_DEG, None, True),
        (3.0, 2.9 - TURN_APART_DEG, None, True),
        (0.2, 3.0, 3.5, False),  # nearer to what tires that roll freely ask for
        (3.0, 0.2, 3.5, True),
        (0.3, -0.2, None, True),  # turned round
        (-0.3, -0.2, None, False),
    ],
)
def test_a_turn_is_worse_where_it_goes_away_from_what_is_known_to_be_right(
    before, after, ackermann, worse
):
    found = worsened("left", turns_alone(turn(30.0, before, after, ackermann)), Aim())
    assert [(x.kind, x.before_deg, x.after_deg, x.ackermann_deg) for x in found] == (
        [("turn", before, after, ackermann)] if worse else []
    )


def test_of_several_turns_that_are_worse_the_worst_is_told():
    turns = turns_alone(turn(30.0, 0.0, 2.0), turn(60.0, 0.0, 5.0))
    assert [x.rack_travel_mm for x in worsened("left", turns, Aim())] == [60.0]


def test_the_caution_holds_the_curve_that_is_made_worse_and_no_other(capsys):
    found = answer(capsys, STRUT)
    assert found.side_effects_of == 1
    worse = [x.worsened for x in found.cautions if x.kind == "steered"]
    curves = [
        (curve.rack_travel_mm, curve.peak_deg.before, curve.peak_deg.after)
        for curve in found.wheels[0].side_effects.steered
        if curve.peak_deg.after > curve.peak_deg.before + found.tolerance_deg
    ]
    assert [(x.rack_travel_mm, x.before_deg, x.after_deg) for x in worse] == curves
    assert len(curves) == 1
    run("suggest", STRUT)
    said = " ".join(capsys.readouterr().out.split())
    assert "With the rack 31.0 mm to the right number 1 makes toe change more over the travel" in (
        said
    )
    assert "by 0.617 deg in place of 0.150 deg" in said
    assert "or state a limit to it (aim.also.steered_deg)" in said


def test_who_has_stated_a_limit_is_told_to_lower_it_not_to_state_it(capsys, tmp_path):
    path = tmp_path / "car.toml"
    text = changed(STRUT, r"^tolerance_deg = 0.05", r"\g<0>\nalso = { steered_deg = 1.0 }")
    path.write_text(text, "utf-8")
    assert "or lower the limit to it (aim.also.steered_deg)" in printed(capsys, "suggest", path)
    narrow = Aim.model_validate({"also": {"turn_toe_out_deg": [-9.0, 9.0]}})
    (turned,) = worsened("left", turns_alone(turn(30.0, 0.2, 5.0)), narrow)
    said = sentence(turned, Reader(answer(capsys, path).subject))
    assert said.endswith("or narrow the limits to it (aim.also.turn_toe_out_deg).")


def test_a_number_1_that_betters_every_steered_curve_needs_no_caution(capsys):
    found = answer(capsys, WISHBONE)
    for curve in found.wheels[0].side_effects.steered:
        assert curve.peak_deg.after < curve.peak_deg.before
    assert not [x for x in found.cautions if x.kind == "steered"]


def test_what_is_near_enough_says_how_much_worse_is_worth_a_word(capsys, tmp_path):
    path = tmp_path / "car.toml"
    path.write_text(changed(STRUT, r"^tolerance_deg = 0.05", "tolerance_deg = 0.6"), "utf-8")
    found = answer(capsys, path)
    assert found.tolerance_deg == pytest.approx(0.6)
    assert not [x for x in found.cautions if x.kind == "steered"]
