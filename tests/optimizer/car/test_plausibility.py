"""What can't be a car, and what merely looks wrong."""

import re
import tomllib
from pathlib import Path
from typing import get_args

import numpy as np
import pytest
import tomlkit

from optimizer import PivotwrightError, curve, gauge, read_case, suggest
from optimizer.answers.check import check
from optimizer.answers.doubts import doubts as list_doubts
from optimizer.car.evaluate import Evaluator
from optimizer.car.plausibility import refuse_impossible
from optimizer.car.subject import subject_of
from optimizer.cli.main import main
from optimizer.errors import CaseFileError
from optimizer.files.case_file import car_from_toml, case_from_toml, read_car
from optimizer.files.starters import starter_case
from optimizer.models.curve import CurveRequest
from optimizer.models.points import Layout
from optimizer.models.vehicle import Vehicle
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from tests.optimizer.command_line import CASES, changed
from tests.optimizer.two_sided_cars import (
    DEMO,
    DEMO_TEXT,
    LENGTH_ATOL_MM,
    MIRRORED,
    car_of,
    moved,
)


def swapped(name: str, first: str, second: str, **ride: float) -> str:
    """A demo car's case with two of its points changed over."""
    car = tomllib.loads((CASES / f"{name}.toml").read_text(encoding="utf-8"))
    points = car["points"]
    points[first], points[second] = points[second], points[first]
    car["ride"] |= ride
    return tomlkit.dumps(car)


def doubts(text: str) -> dict[str, str]:
    """What `check` doubts, by place."""
    car = Vehicle((case_from_toml(text, "car"),))
    reader, (wheel,) = Reader(subject_of(car)), check(car).wheels
    return {found.location: sentence(found.message, reader) for found in wheel.doubts}


@pytest.mark.parametrize("link", [2, 3, 4])
def test_an_axle_s_link_measured_the_wrong_way_round_is_doubted(link: int) -> None:
    text = swapped(
        "lifted-beam-axle", f"link_{link}_inner", f"link_{link}_outer", bump=20, droop=20
    )
    assert "are the two swapped?" in doubts(text)[f"points.link_{link}_inner"]
    plain = (CASES / "lifted-beam-axle.toml").read_text(encoding="utf-8")
    assert set(doubts(plain)) == {"limits.transmission_angle_deg"}


@pytest.mark.parametrize(
    ("name", "first", "second"),
    [
        ("five-link-rear", "link_1_inner", "link_2_inner"),
        ("five-link-rear", "link_3_outer", "link_4_outer"),
        ("tension-link-strut", "link_1_outer", "link_2_outer"),
        ("lifted-beam-axle", "link_2_inner", "link_3_inner"),
        ("lifted-beam-axle", "link_3_outer", "link_4_outer"),
    ],
)
def test_links_that_would_run_through_each_other_are_doubted(
    name: str, first: str, second: str
) -> None:
    key = f"points.{first.replace('outer', 'inner')}"
    assert "are two ends changed over?" in doubts(swapped(name, first, second))[key]
    assert key not in doubts((CASES / f"{name}.toml").read_text(encoding="utf-8"))


def test_a_drop_pitman_arm_typed_as_a_raise_is_doubted_on_a_lifted_truck() -> None:
    text = (CASES / "lifted-beam-axle.toml").read_text(encoding="utf-8")
    raised = text.replace("spacers = [0.0, -45.0]", "spacers = [0.0, 45.0]")
    assert raised != text
    assert "raises the pitman ball by 45 mm, and nothing" in doubts(raised)["rack.spacers"]
    lowered = raised.replace("lowered_by = -60.0", "lowered_by = 0.0")
    assert "rack.spacers" not in doubts(lowered)


def test_a_damper_rod_s_two_points_the_wrong_way_round_are_doubted() -> None:
    found = doubts(swapped("lowered-strut", "strut_top", "strut_axis"))
    assert "lies above strut_top (z = 830.0 mm and 400.0 mm)" in found["points.strut_axis"]


@pytest.mark.parametrize(
    ("name", "point", "typed", "key", "said"),
    [
        # A height in meters, centimeters or inches in a file of millimeters.
        ("lowered-strut", "tie_rod_outer", [-128.0, 700.0, 0.262], "tie_rod_outer", "0.3 mm above"),
        ("lowered-strut", "tie_rod_inner", [-118.0, 330.0, 26.8], "tie_rod_inner", "26.8 mm above"),
        ("lowered-strut", "lower_arm_rear", [-190.0, 350.0, 8.4], "lower_arm_rear", "8.4 mm above"),
        ("lifted-beam-axle", "drag_link_inner", None, "drag_link_inner", "above the ground"),
        # A sign of x that is lost, a y in centimeters, x and z changed over.
        ("lowered-strut", "tie_rod_inner", [118.0, 330.0, 268.0], "tie_rod_inner", "far ahead of"),
        ("lowered-strut", "lower_arm_front", [160.0, 36.5, 205.0], "lower_arm_front", "far askew"),
        ("track-wishbone", "upper_arm_rear", None, "upper_arm_front", "far askew"),
        # A height that is another point's: nothing stands at an odd place, but the curve tells.
        ("lowered-strut", "tie_rod_inner", [-118.0, 330.0, 400.0], "", "make toe change by up to"),
    ],
)
def test_a_mistyped_point_is_doubted(
    name: str, point: str, typed: list[float] | None, key: str, said: str
) -> None:
    plain = (CASES / f"{name}.toml").read_text(encoding="utf-8")
    car = tomllib.loads(plain)
    x, y, z = car["points"][point]
    car["points"][point] = typed or ([x, y, 0.001 * z] if "link" in point else [z, y, x])
    location = ".".join(filter(None, ("points", key)))
    assert said in doubts(tomlkit.dumps(car))[location]
    assert location not in doubts(plain)


@pytest.mark.parametrize(
    ("name", "first", "second", "key", "said"),
    [
        ("kit-car-inches", "upper_arm_front", "upper_arm_rear", ".upper_arm_front", "lies behind"),
        ("kit-car-inches", "lower_arm_front", "tie_rod_inner", "", "make toe change by up to"),
        ("track-wishbone", "lower_arm_rear", "tie_rod_inner", "", "make toe change by up to"),
        ("five-link-rear", "link_1_inner", "link_3_inner", ".link_1_inner", "far from level"),
        ("five-link-rear", "link_1_outer", "link_3_outer", ".link_3_inner", "far from level"),
        ("lifted-beam-axle", "link_1_outer", "link_2_outer", ".link_2_outer", "mirror image of"),
        ("lifted-beam-axle", "link_1_outer", "link_4_outer", ".link_1_outer", "on the same side"),
    ],
)
def test_points_under_each_other_s_names_are_doubted(
    name: str, first: str, second: str, key: str, said: str
) -> None:
    assert said in doubts(swapped(name, first, second))[f"points{key}"]
    assert f"points{key}" not in doubts((CASES / f"{name}.toml").read_text(encoding="utf-8"))


def test_no_car_measured_five_millimeters_off_is_doubted_for_what_no_tape_does() -> None:
    rng = np.random.default_rng(7)
    for path in sorted(CASES.glob("*-*.toml")):
        for case in read_car(path).wheels:
            for _ in range(30):
                points = {
                    name: tuple(np.add(at, rng.normal(0.0, 5.0, 3)).tolist())
                    for name, at in case.points.model_dump(exclude_none=True).items()
                }
                off = case.model_copy(update={"points": case.points.model_copy(update=points)})
                kinds = {found.message.kind for found in list_doubts(off, Evaluator.of(off))}
                never = {
                    "steep-link",
                    "swapped-arm",
                    "toe-change",
                    "one-sided-link",
                    "unlike-links",
                }
                assert not kinds & never, path.name


def test_a_stack_in_another_unit_is_doubted() -> None:
    plain = (CASES / "lowered-strut.toml").read_text(encoding="utf-8")
    inches = plain.replace("stack = { min = 0.0, max = 20.0 }", "stack = { min = 0.0, max = 0.8 }")
    assert "goes to 0.8 mm" in doubts(inches)["outer_pivot.stack"]
    assert "outer_pivot.stack" not in doubts(plain)
    thick = plain.replace("thickness = 5.0", "thickness = 50.0")
    thick = thick.replace("stack = { min = 0.0, max = 20.0 }", "")
    assert "goes to 156.5 mm" in doubts(thick)["shelf"]


def test_a_car_that_can_t_be_assembled_is_told_which_points_look_wrong() -> None:
    car = tomllib.loads((CASES / "lowered-strut.toml").read_text(encoding="utf-8"))
    car["points"]["tie_rod_outer"] = [-12.8, 70.0, 26.2]  # centimeters
    with pytest.raises(CaseFileError) as caught:
        refuse_impossible(Vehicle((case_from_toml(tomlkit.dumps(car), "car"),)))
    assert "first look at points.tie_rod_outer" in " ".join(str(caught.value).split())


def test_a_doubt_about_the_arms_reads_as_a_sentence() -> None:
    text = (CASES / "lowered-strut.toml").read_text(encoding="utf-8")
    found = doubts(text.replace('arms        = "behind"', 'arms = "ahead"'))
    assert 'says "ahead", but tie_rod_outer lies behind the steering' in found["steering.arms"]
    text = (CASES / "kit-car-inches.toml").read_text(encoding="utf-8")
    found = doubts(text.replace('arms        = "ahead"', 'arms = "behind"'))
    assert "lies ahead of the steering axis" in found["steering.arms"]


def test_a_stroke_that_some_brackets_can_t_follow_is_one_fault_that_names_them() -> None:
    car = case_from_toml(swapped("lifted-beam-axle", "link_3_inner", "link_3_outer"), "car")
    with pytest.raises(CaseFileError, match="must be travel that the linkage can reach") as caught:
        refuse_impossible(Vehicle((car,)))
    (fault,) = caught.value.faults
    assert fault.location == "ride.droop"
    assert re.search(
        r"still reaches [\d.]+ mm there with the lateral link's frame_bracket at", fault.message
    )


def test_a_lift_that_the_old_springs_can_t_follow_is_asked_for_with_its_blocks_alone() -> None:
    """The springs that are there now, without a block, would hang straight at this height."""
    car = tomllib.loads((CASES / "lifted-leaf-axle.toml").read_text(encoding="utf-8"))
    car["ride"] |= {"lowered_by": -110.0, "bump": 60.0, "droop": 60.0}
    car["leaf_spring"] = {"lift_block": [0.0, 110.0]}
    with pytest.raises(CaseFileError, match="with a lift block of 0 mm; leave out of its list"):
        refuse_impossible(Vehicle((case_from_toml(tomlkit.dumps(car), "car"),)))
    car["leaf_spring"] = {"lift_block": [110.0]}
    refuse_impossible(Vehicle((case_from_toml(tomlkit.dumps(car), "car"),)))


@pytest.mark.parametrize(
    ("name", "stroke", "far", "step"),
    [
        ("lowered-strut", "bump", 300.0, 0.2),
        ("kit-car-inches", "droop", 12.0, 0.002),
        ("five-link-rear", "droop", 300.0, 0.2),
    ],
)
def test_the_wheel_goes_as_far_as_a_refused_stroke_says_and_no_farther(name, stroke, far, step):
    car = tomllib.loads((CASES / f"{name}.toml").read_text(encoding="utf-8"))

    def refused(length: float) -> str:
        car["ride"][stroke] = length
        with pytest.raises(CaseFileError) as caught:
            refuse_impossible(Vehicle((case_from_toml(tomlkit.dumps(car), "car"),)))
        return str(caught.value)

    end = float(re.search(r"still reaches ([\d.]+)", refused(far))[1])
    assert "the wheel free to turn by 5 deg either way" in refused(end + step)
    car["ride"][stroke] = end
    case = case_from_toml(tomlkit.dumps(car), "car")
    refuse_impossible(Vehicle((case,)))
    assert np.isfinite(Evaluator.of(case).poses(0).family).all()  # and can be searched there


@pytest.mark.parametrize("ask", [check, suggest, lambda car: gauge(car, [])])
def test_every_function_of_the_library_refuses_a_stroke_by_the_file_s_name(tmp_path, ask) -> None:
    path = tmp_path / "low.toml"
    path.write_text(
        changed(CASES / "five-link-rear.toml", "^droop .*", "droop = 300.0"), encoding="utf-8"
    )
    with pytest.raises(PivotwrightError, match=r"low\.toml has 1 fault:\n  ride\.droop  must be"):
        ask(read_case(path))
    assert curve(read_case(path), CurveRequest(droop=10.0)).wheels  # which goes there


def test_a_curve_of_a_car_that_stands_nowhere_is_refused() -> None:
    car = tomllib.loads((CASES / "lowered-strut.toml").read_text(encoding="utf-8"))
    car["ride"]["lowered_by"] = 400.0
    with pytest.raises(PivotwrightError, match=r"high\.toml has 1 fault:\n  ride\.lowered_by"):
        curve(car_from_toml(tomlkit.dumps(car), "high.toml"))


AXIS_LYING_DOWN = [
    ("lowered-strut", "strut_top", "tie_rod_inner"),
    ("track-wishbone", "tie_rod_inner", "upper_ball_joint"),
]


@pytest.mark.parametrize("command", ["check", "curve", "suggest", "sheet"])
@pytest.mark.parametrize("mistake", AXIS_LYING_DOWN)
def test_a_wheel_that_can_t_be_toed_at_ride_height_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str, mistake: tuple[str, str, str]
) -> None:
    path = tmp_path / "car.toml"
    path.write_text(swapped(*mistake), encoding="utf-8")
    assert main([command, str(path)]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "can't be turned by 5 deg either way" in captured.err


@pytest.mark.parametrize("mistake", AXIS_LYING_DOWN)
def test_a_wheel_that_can_t_be_toed_at_any_height_is_reached_at_none(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], mistake: tuple[str, str, str]
) -> None:
    path = tmp_path / "car.toml"
    path.write_text(swapped(*mistake), encoding="utf-8")
    assert main(["reach", str(path), "--heights", "20:40:20"]) == 1
    assert "which no stack cures" in " ".join(capsys.readouterr().out.split("How low")[1].split())


def test_a_rack_axis_that_points_to_the_right_is_refused() -> None:
    text = (CASES / "lowered-strut.toml").read_text(encoding="utf-8")
    text = text.replace("[steering]", "[steering]\nrack_axis = [0.0, -1.0, 0.0]")
    with pytest.raises(CaseFileError, match=r"steering\.rack_axis +must point to the left"):
        case_from_toml(text, "car")


@pytest.mark.parametrize(
    ("name", "table", "words"),
    [
        (
            "lifted-beam-axle",
            "frame_bracket = {}\naxle_bracket = {}",
            r"lateral_link\.axle_bracket +must give at most 400 pairs of heights .*, got 441",
        ),
        (
            "lowered-strut",
            "[lower_ball_joint]\ndrop = {}",
            r"lower_ball_joint\.drop +must give at most 400 drops, got 441",
        ),
    ],
)
def test_more_linkages_than_can_be_solved_in_a_while_are_refused(
    name: str, table: str, words: str
) -> None:
    text = (CASES / f"{name}.toml").read_text(encoding="utf-8")
    each = [k / 10.0 for k in range(21 if name == "lifted-beam-axle" else 441)]
    wanted = table.format(each, each)
    if name == "lifted-beam-axle":
        text = re.sub(r"(?m)^frame_bracket.*\naxle_bracket.*", wanted, text)
    else:
        text += wanted
    with pytest.raises(CaseFileError, match=words):
        case_from_toml(text, "car")


# --- both wheels measured


@pytest.mark.parametrize("layout", [one for one in get_args(Layout) if not one.endswith("-axle")])
def test_a_starter_takes_the_points_of_both_wheels_as_its_comment_says(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], layout: str
) -> None:
    text = starter_case(layout)
    assert "[left.points] and [right.points] then take the place of [points]" in text
    points = tomllib.loads(text)["points"]
    right = [f"{name} = [{x}, {-y}, {z}]\n" for name, (x, y, z) in points.items()]
    path = tmp_path / "car.toml"
    path.write_text(
        text.replace("\n[points] ", "\n[left.points] ") + "\n[right.points]\n" + "".join(right)
    )
    assert main(["check", str(path)]) == 0
    assert "The wheels pass for mirror images" in " ".join(capsys.readouterr().out.split())


def test_a_wheel_that_can_t_be_is_refused_by_its_side(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "car.toml"
    path.write_text(changed(DEMO, "^lowered_by = .*", "lowered_by = 350.0"))
    assert main(["check", str(path)]) == 2
    assert capsys.readouterr().err.startswith(
        f"pivotwright: error: {path} has 1 fault:\n  ride.lowered_by"  # both wheels say the same
    )
    path.write_text(changed(DEMO, "^bump .*", "bump = 390.0"))
    assert main(["check", str(path)]) == 2
    err = capsys.readouterr().err
    assert err.count("ride.bump") == 2
    assert "(on the left wheel)" in err
    assert "(on the right wheel)" in err


def test_a_possible_car_is_not_refused() -> None:
    car = car_of(MIRRORED.read_text(encoding="utf-8"))
    refuse_impossible(car)
    left, right = (wheel.figures for wheel in check(car).wheels)
    assert left.rod_mm == pytest.approx(right.rod_mm, abs=LENGTH_ATOL_MM)


def test_check_finds_the_doubts_of_each_wheel_where_they_stand() -> None:
    left, right = check(car_of(moved(DEMO_TEXT, "right", "wheel_center", (0.0, 60.0, 0.0)))).wheels
    assert left.doubts == []
    assert ("right.points.wheel_center", "right") in {(x.location, x.side) for x in right.doubts}
