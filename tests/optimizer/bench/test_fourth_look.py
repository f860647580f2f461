"""What a fourth look at the program found said wrongly or not at all, each where it was seen."""

import re
from types import SimpleNamespace

import pytest

from optimizer.answers.alignment_effect import alignment_effect
from optimizer.answers.check import check, doubted
from optimizer.answers.reach import reach
from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.car.alignment import alignment_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.subject import subject_of
from optimizer.files.case_file import car_from_toml, read_car
from optimizer.files.kits import read_kits
from optimizer.files.starters import starter
from optimizer.models.kits import Kit
from optimizer.models.next_reading import Nearer, NextReading, NextReadings
from optimizer.models.reach import ReachResult
from optimizer.models.suggest import SuggestResult
from optimizer.models.vehicle import Vehicle
from optimizer.reports.ranking_columns import columns_within, ranking_columns
from optimizer.reports.reach_cells import reached_in_a_cell
from optimizer.reports.terminal_reach import reach_report
from optimizer.wording.alignment import alignment_in_words
from optimizer.wording.check import doubts_in_words
from optimizer.wording.diagnosis import what_it_does
from optimizer.wording.kits import kits_in_words
from optimizer.wording.next_readings import next_reading_in_brief, next_readings
from optimizer.wording.reader import Reader
from tests.optimizer.command_line import CASES, STRUT, WISHBONE, answer_of, changed, printed, run
from tests.optimizer.two_sided_cars import MIRRORED_TEXT, car_of


def typed(tmp_path, text):
    path = tmp_path / "car.toml"
    path.write_text(text, encoding="utf-8")
    return path


def with_other_arms():
    return changed(STRUT, r"^arms +=.*", 'arms = "ahead"')


def with_ends_exchanged():
    text = STRUT.read_text(encoding="utf-8")
    return re.sub(
        r"^(tie_rod_)(inner|outer) ",
        lambda found: found[1] + {"inner": "outer ", "outer": "inner "}[found[2]],
        text,
        flags=re.MULTILINE,
    )


@pytest.mark.parametrize("command", [("suggest", "--verbose"), ("suggest",), ("reach",)])
@pytest.mark.parametrize(
    ("text", "said"),
    [
        (with_other_arms(), 'steering.arms: says "ahead", but tie_rod_outer lies behind'),
        (with_ends_exchanged(), "points.tie_rod_inner: lies outboard of tie_rod_outer"),
    ],
)
def test_a_doubt_that_turns_every_cure_round_is_told_with_the_answer(
    command, text, said, tmp_path, capsys
):
    path = typed(tmp_path, text)
    name, *flags = command
    told = printed(capsys, name, path, *flags)
    assert re.search(rf"`pivotwright check \S*car.toml` has at least \d doubts? .*{said}", told)


def test_such_a_doubt_is_told_beside_a_sheet(tmp_path, capsys):
    assert run("sheet", typed(tmp_path, with_other_arms()), "--text") == 0
    out, err = capsys.readouterr()
    assert 'steering.arms: says "ahead", but tie_rod_outer lies behind' in " ".join(err.split())
    assert "Worth a second look" not in out
    run("sheet", STRUT, "--text")
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(("command", "kind"), [("suggest", SuggestResult), ("reach", ReachResult)])
def test_an_answer_holds_what_turns_its_cures_round(command, kind, tmp_path, capsys):
    run(command, typed(tmp_path, with_other_arms()), "--json")
    found = answer_of(kind, capsys.readouterr().out).doubted
    assert [one.message.kind for one in found.turning] == ["other-arms"]
    assert found.at_least >= 1


def test_no_demo_car_is_doubted_more_than_check_doubts_it(any_demo_car):
    vehicle = read_car(any_demo_car)
    result = check(vehicle)
    found = doubted(vehicle)
    assert found.at_least <= len(doubts_in_words(result, Reader(result.subject)))
    assert not found.turning


def test_ends_of_a_rod_that_are_exchanged_are_doubted():
    (wheel,) = check(car_from_toml(with_ends_exchanged(), "car")).wheels
    kinds = {one.message.kind: one.location for one in wheel.doubts}
    assert kinds["swapped-rod"] == "points.tie_rod_inner"


def test_the_whole_table_of_two_wheels_shows_every_part_that_they_share():
    text = (
        MIRRORED_TEXT
        + "\n[knuckle_plate]\nthickness = [0.0, 15.0]\n\n[crossmember]\nspacer = [0.0, 10.0]\n"
    )
    result = suggest(car_of(text))
    titles = {
        " ".join(one.title.split()) for one in ranking_columns(result, Reader(result.subject))
    }
    assert {"knuckle plate mm", "member spacer mm"} <= titles


def without_rack_spacers(lowered_by):
    """The wishbone car, whose stacks come near to its lower arm where the rack stays."""
    text = changed(WISHBONE, r"^spacers .*", "spacers = [0.0]")
    return car_from_toml(re.sub(r"(?m)^lowered_by .*", f"lowered_by = {lowered_by}", text), "car")


def test_a_cell_of_reach_names_all_that_stops_a_kit():
    result = reach(read_car(WISHBONE), [60.0], in_depth=False)
    (row,) = result.heights
    assert row.blocked_by == ["gap"]
    both = row.model_copy(update={"blocked_by": ["stack", "gap"]})
    assert reached_in_a_cell(both, result, Reader(result.subject)).endswith(" range, gap")


def test_no_kit_is_named_with_a_stack_that_it_does_not_build():
    kit = Kit.model_validate(
        {"name": "Short", "seat": "tapered", "stack": {"min": 0.0, "max": 6.0, "step": 1.0}}
    )
    found = suggest(without_rack_spacers(15.0), [kit]).verdict
    assert found.kit == "Short"
    assert [way.kind for way in found.ways_out] == ["stack", "rod"]
    for way in found.ways_out:
        assert way.wheels[0].outer_drop_mm > 6.0
        assert way.kit is None


def test_a_way_out_is_told_once():
    found = suggest(without_rack_spacers(30.0)).verdict
    assert [way.kind for way in found.ways_out] == ["limit", "rod"]


@pytest.mark.parametrize(
    ("unit", "lost"), [("deg", "0.252 deg"), ("min", "15.1 min of arc"), ("in", "0.114 in")]
)
def test_what_is_lost_by_a_reading_is_told_in_the_unit_of_toe(unit, lost):
    subject = subject_of(read_car(STRUT))
    reader = Reader(subject.model_copy(update={"toe_unit": unit, "toe_diameter_mm": 660.4}))
    one = NextReading(
        kind="rod_turned",
        minutes=2.0,
        loss_deg=0.2515,
        enough_of_100=10.0,
        peak_mean_deg=0.3,
        meets_of_100=5.0,
        worth_it=False,
    )
    readings = NextReadings(
        loss_deg=0.2515, enough_of_100=10.0, peak_mean_deg=0.3, meets_of_100=5.0, ranked=[one]
    )
    now, (told,), _ = next_readings(readings, reader, before=True)
    assert f"On average {lost} is lost" in now
    assert f"(2 min): then enough in 10 of 100, {lost} lost" in told


def left_to_chance(loss_deg, enough_of_100, **more):
    return {
        "loss_deg": loss_deg,
        "enough_of_100": enough_of_100,
        "peak_mean_deg": 0.1,
        "meets_of_100": 50.0,
        **more,
    }


def test_a_loss_that_is_a_trifle_is_not_told_as_nothing():
    subject = subject_of(read_car(STRUT))
    inches = Reader(subject.model_copy(update={"toe_unit": "in", "toe_diameter_mm": 660.4}))
    now, _, _ = next_readings(NextReadings(**left_to_chance(0.0004, 80.0, ranked=[])), inches)
    assert "On average less than 0.001 in is lost" in now


def test_a_reading_that_makes_it_enough_in_no_more_cars_says_what_it_saves():
    turned = {"kind": "rod_turned", "minutes": 2.0, "worth_it": True}
    one = NextReading(**left_to_chance(0.003, 86.3, **turned))
    readings = NextReadings(**left_to_chance(0.005, 85.8, ranked=[one]))
    assert next_reading_in_brief(readings, Reader(subject_of(read_car(STRUT)))) == (
        "Enough in 86 of 100 such cars; read with the tie rod turned (2 min): saves 0.002 deg on "
        "average."
    )


def test_where_another_stack_is_nearer_and_no_reading_is_worth_it_that_stack_is_named():
    nearer = Nearer(outer_drop_mm=12.5, rack_raise_mm=-3.0, enough_of_100=99.5, gain_deg=0.008)
    readings = NextReadings(**left_to_chance(0.008, 71.0, ranked=[], nearer=nearer))
    reader = Reader(subject_of(read_car(STRUT)))
    that = (
        "uter drop 12.5 mm, rack drop 3.0 mm would be enough in more than 99, for a peak that is "
        "0.008 deg lower on average."
    )
    assert next_reading_in_brief(readings, reader) == (
        f"Enough in 71 of 100 such cars; no reading makes it more, but o{that}"
    )
    assert next_readings(readings, reader)[2].endswith(f"for this decision. O{that}")


def test_figures_of_an_alignment_say_with_which_ball_joint_they_are():
    text = STRUT.read_text(encoding="utf-8") + (
        "\n[lower_ball_joint]\ndrop = [0.0, 12.7]\n\n"
        '[alignment]\nby = "strut-top"\ncamber_deg = -2.5\nmost = 30.0\n'
    )
    now = car_from_toml(text, "car").case
    told = {}
    for drop in now.lower_ball_joint.drop:
        joint = now.lower_ball_joint.model_copy(update={"drop": (drop,)})
        case, answer = alignment_of(now.model_copy(update={"lower_ball_joint": joint}))
        effect = alignment_effect(answer, now, Evaluator.of(case))
        wheel = SimpleNamespace(side="left", alignment=effect)
        told[drop] = alignment_in_words([wheel], Reader(subject_of(read_car(STRUT))))
    assert told[0.0][0].startswith("Slide the strut top")
    assert told[0.0][1].startswith("That alone, no stack fitted, takes")
    assert told[12.7][0].startswith("With the lower ball joint 12.7 mm down, slide the strut top")
    assert "with the lower ball joint 12.7 mm down before and after but no stack" in told[12.7][1]


def test_numbers_stand_for_kits_where_their_names_would_be_broken_up():
    kits = read_kits(CASES / "kits.toml")
    result = suggest(read_car(WISHBONE), kits.kits)
    reader = Reader(result.subject)
    named, numbered = columns_within(100, result, reader)
    assert (named[1].cells[0], numbered) == (result.ranked[0].kit, False)
    narrow, numbered = columns_within(60, result, reader)
    place = [kit.name for kit in result.kits].index(result.ranked[0].kit) + 1
    assert (narrow[1].cells[0], numbered) == (f"{place}", True)
    told = kits_in_words(result.kits, None, numbered=True)
    assert told[place - 1].startswith(f"Kit {place}, {result.ranked[0].kit}: ")
    assert not any(one.title.startswith("rod") for one in narrow)


def test_a_room_that_holds_a_pivot_is_quoted_as_it_is_stated():
    text = starter("strut") + (
        "\n[custom_pivot]\nouter = { y = [-15.0, 25.0], z = [-30.0, 5.0] }\n\n"
        "[thread]\ndiameter = 14.0\npitch = 1.5\nengaged = 60.0\nminimum = 21.0\n"
    )
    pivot = suggest(car_from_toml(text, "car"), plan=SuggestPlan(custom=True)).custom
    (held,) = pivot.wheels[0].held_by
    (told,) = (one for one in pivot.wheels[0].coordinates if one.axis == held.axis)
    assert held.move_mm in told.room_mm
    assert held.move_mm == pytest.approx(told.move_mm, abs=0.1)
    assert held.move_mm != told.move_mm


def test_what_a_curve_counts_from_is_said_with_its_figures():
    case = read_car(CASES / "five-link-rear.toml").case
    gain = case.aim.model_copy(update={"toe_gain_deg_per_10mm": 0.05})
    for aim, more, slope in (
        (case.aim.model_copy(update={"toe_gain_deg_per_10mm": 0.0}), "toes", "Slope -"),
        (gain, "toe-in than wanted at", "Slope, beyond the wanted gain, "),
    ):
        result = suggest(Vehicle((case.model_copy(update={"aim": aim}),)))
        reader = Reader(result.subject)
        strokes, figures, *_ = what_it_does(
            result.wheels[0], result.as_is.wheels[0], result, reader
        )
        assert more in strokes
        assert figures.startswith(slope)


def test_a_map_of_reach_has_no_more_kits_side_by_side_than_its_lines_hold():
    kits = read_kits(CASES / "kits.toml").kits
    result = reach(read_car(WISHBONE), [60.0, 66.0], kits)
    rows = [
        row.model_copy(update={"reachable": False, "blocked_by": ["stack", "tilt", "gap"]})
        for row in result.heights
    ]
    lines = reach_report(result.model_copy(update={"heights": rows}), "car.toml").splitlines()
    assert sum(line.endswith(" range, tilt, gap") for line in lines) == 2 * len(kits) // 3
    assert not any(line.endswith(("range,", "tilt,")) for line in lines)
