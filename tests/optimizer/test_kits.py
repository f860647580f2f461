"""Kits files: what is read, what is left out; and kits ranked against each other for a car."""

import json
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.car.evaluate import Evaluator
from optimizer.errors import CaseFileError
from optimizer.files.case_file import read_case
from optimizer.files.kits import Kits, read_kits
from optimizer.models.case import Case
from optimizer.models.cautions import Caution
from optimizer.models.kits import Kit
from optimizer.models.suggest import SuggestResult
from optimizer.models.vehicle import Vehicle
from optimizer.options.candidates import Candidates
from optimizer.options.hardware import case_with_kit
from optimizer.options.proof import prove
from optimizer.options.space import space_of
from optimizer.options.study.run import StudyPlan
from tests.optimizer.command_line import outcome

RESOLUTION_DEG = 0.01  # what a gauge tells apart
# A pair is solved in a batch of its own, so sums are rounded in another order.
SAME_ANGLE_ATOL_DEG = 1e-9
ROOT = Path(__file__).parents[2]
WISHBONE = ROOT / "cases" / "track-wishbone.toml"
DEMO_KITS = ROOT / "cases" / "kits.toml"
HEAD = 'format = 1\nunits = "mm"\n'
GOOD = """
[[kits]]
name = "good"
seat = "tapered"
stack = { min = 0.0, max = 16.0, step = 1.0 }
"""


@cache
def car() -> Case:
    return read_case(WISHBONE)


@cache
def demo_kits() -> Kits:
    return read_kits(DEMO_KITS)


def file_with(folder: Path, text: str) -> Path:
    path = folder / "kits.toml"
    path.write_text(text, encoding="utf-8")
    return path


# --- files


@pytest.mark.parametrize(
    ("units", "stack", "place"),
    [
        ("mm", "stack = { min = 0.0, max = 0.75, step = 0.0625 }", "kits[1].stack"),
        ("in", "stack = { min = 0.0, max = 15.0, step = 1.0 }", "kits[1].stack"),
        ("in", "shelf = { shims = [{ thickness = 1.0, count = 4 }] }", "kits[1].shelf"),
        ("in", 'shelf = { shims = [{ thickness = 1.0, units = "mm", count = 4 }] }', None),
        ("mm", "stack = { min = -8.0, max = 16.0, step = 1.0 }", None),
    ],
)
def test_a_stack_in_another_unit_is_doubted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], units: str, stack: str, place: str | None
) -> None:
    row = f'[[kits]]\nname = "odd"\nseat = "tapered"\n{stack}\n'
    path = file_with(tmp_path, f'format = 1\nunits = "{units}"\n{row}')
    kits = read_kits(path)
    assert [kit.name for kit in kits.kits] == ["odd"]
    assert [odd.location for odd in kits.doubted] == ([] if place is None else [place])
    _, _, said = outcome(capsys, "reach", WISHBONE, "--heights", "0:0:5", "--kits", path)
    assert (f"kits.toml: {place} goes from 0 {units} to " in said) == (place is not None)


def test_a_step_that_goes_beyond_the_range_is_refused(tmp_path: Path) -> None:
    text = HEAD + GOOD.replace("step = 1.0", "step = 25.0")
    with pytest.raises(CaseFileError, match=r"kits\[1\]\.stack\.step +must not go beyond max"):
        read_kits(file_with(tmp_path, text))


def test_the_demo_kits_are_six_or_more_and_all_of_them_can_be_used():
    assert len(demo_kits().kits) >= 6
    assert demo_kits().refused is None
    assert {kit.seat for kit in demo_kits().kits} == {"tapered", "straight-bolt"}
    assert any(kit.shelf is not None for kit in demo_kits().kits)


def test_a_kits_file_in_inches_is_read_in_millimeters(tmp_path):
    text = HEAD.replace('"mm"', '"in"') + GOOD.replace("16.0", "0.5").replace("= 1.0", "= 0.125")
    (kit,) = read_kits(file_with(tmp_path, text)).kits
    assert (kit.stack.max, kit.stack.step) == (12.7, 3.175)


BAD_ROWS = {
    "no stack": ('name = "bad"\nseat = "tapered"', "stack", "must be given, or a shelf"),
    "a step and a shelf": (
        'name = "bad"\nseat = "tapered"\nstack = { max = 9.0, step = 1.0 }\n'
        "shelf = { shims = [{ thickness = 1.0, count = 2 }] }",
        "stack.step",
        "must be left out",
    ),
    "an unknown seat": (
        'name = "bad"\nseat = "glued"\nstack = { max = 9.0, step = 1.0 }',
        "seat",
        "",
    ),
    "a key that isn't one": (
        'name = "bad"\nseat = "tapered"\nstack = { max = 9.0, step = 1.0 }\nprize = 9.0',
        "prize",
        "did you mean price?",
    ),
    "a range that ends before it starts": (
        'name = "bad"\nseat = "tapered"\nstack = { min = 9.0, max = 5.0, step = 1.0 }',
        "stack.max",
        "must not be below min",
    ),
    "a shelf that builds nothing within the limits": (
        'name = "bad"\nseat = "tapered"\nstack = { min = 5.0, max = 9.0 }\n'
        "shelf = { shims = [{ thickness = 1.0, count = 2 }] }",
        "shelf",
        "must build a stack",
    ),
    "a stud that sits another way than the kit": (
        'name = "bad"\nseat = "tapered"\nstack = { max = 9.0, step = 1.0 }\n'
        'stud = { seat = "straight-bolt", diameter = 12.0, standard_height = 20.0 }',
        "stud.seat",
        "as the kit says",
    ),
    "a rod end without its race": (
        'name = "bad"\nseat = "tapered"\nstack = { max = 9.0, step = 1.0 }\n'
        "rod_end = { ball_width = 16.0, ball_diameter = 22.0 }",
        "rod_end.race_width",
        "must be given along with",
    ),
    "a grade that no table lists": (
        'name = "bad"\nseat = "tapered"\nstack = { max = 9.0, step = 1.0 }\n'
        'stud = { diameter = 12.0, standard_height = 20.0, grade = "class 14.9" }',
        "stud.grade",
        "must be a grade that the tables list",
    ),
    "the name of another": (
        'name = "good"\nseat = "tapered"\nstack = { max = 9.0, step = 1.0 }',
        "name",
        "must differ",
    ),
}


@pytest.mark.parametrize("row", list(BAD_ROWS))
def test_a_bad_row_is_named_where_it_is_typed_and_the_rest_is_used(row, tmp_path):
    text, location, words = BAD_ROWS[row]
    read = read_kits(file_with(tmp_path, f"{HEAD}{GOOD}\n[[kits]]\n{text}\n"))
    assert [kit.name for kit in read.kits] == ["good"]
    (fault,) = read.refused.faults
    assert fault.location == f"kits[2].{location}"
    assert words in fault.message


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (GOOD, "format"),
        (HEAD, "kits"),
        (HEAD + "kits = 3", "kits"),
        (HEAD + "kits = []", "kits"),
        (HEAD.replace("1", "2") + GOOD, "format"),
        (HEAD + "color = 3\n" + GOOD, "color"),
        (HEAD + "[[kits]]\nname = 3", "kits[1].name"),
        ("format = ", "is not TOML"),
        ("name,min,max\nLong stud,0,25\n", "is a table of cells (CSV), where TOML is needed"),
    ],
)
def test_a_file_without_a_kit_to_use_is_refused(text, words, tmp_path):
    with pytest.raises(CaseFileError, match=r".") as refusal:
        read_kits(file_with(tmp_path, text))
    assert words in str(refusal.value)


def test_an_empty_kits_file_is_not_sent_to_the_starter_cases(tmp_path):
    with pytest.raises(CaseFileError, match=r"is empty$"):
        read_kits(file_with(tmp_path, ""))


def test_a_kits_file_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(CaseFileError, match="does not exist"):
        read_kits(tmp_path / "none.toml")


def ranked(case: Case, kits: Sequence[Kit] = ()) -> SuggestResult:
    return suggest(Vehicle((case,)), kits, SuggestPlan(StudyPlan(trials=2)))


# --- a kit in a case


def test_a_kit_replaces_what_it_states_and_leaves_the_rest():
    kit = Kit.model_validate(
        {
            "name": "one",
            "seat": "straight-bolt",
            "stack": {"max": 9.0, "step": 1.0},
            "rod_end": {"tilt_limit_deg": 20.0, "housing_height": 25.0},
        }
    )
    fitted = case_with_kit(car(), kit)
    assert fitted.outer_pivot.stack == kit.stack
    assert fitted.outer_pivot.stud_axis == car().outer_pivot.stud_axis
    assert fitted.joint.outer.tilt_limit_deg == 20.0
    assert fitted.joint.outer.bolt_axis == car().joint.outer.bolt_axis
    assert fitted.joint.housing_height == 25.0
    assert fitted.joint.housing_diameter == car().joint.housing_diameter
    assert fitted.joint.inner == car().joint.inner
    assert fitted.stud == car().stud
    assert Case.model_validate(fitted.model_dump()) == fitted


def test_the_rod_force_is_the_car_s_whatever_stud_the_kit_brings():
    stud = {"diameter": 12.0, "standard_height": 20.0, "grade": "ISO 898-1 class 10.9"}
    own = {"seat": "tapered", "rod_force_n": 3000.0, **stud}
    case = Case.model_validate(car().model_dump() | {"stud": own})
    stack = {"max": 9.0, "step": 1.0}
    kit = Kit.model_validate({"name": "one", "seat": "straight-bolt", "stack": stack, "stud": stud})
    fitted = case_with_kit(case, kit)
    assert fitted.stud.rod_force_n == 3000.0
    assert fitted.stud.seat == "straight-bolt"


@pytest.mark.parametrize(
    ("own", "of_kit", "stays"),
    [
        ("tapered", "tapered", True),
        ("tapered", "straight-bolt", False),
        ("straight-bolt", "tapered", False),
    ],
)
def test_the_car_s_stud_stays_only_in_a_kit_with_a_seat_of_its_kind(own, of_kit, stays):
    stud = {"seat": own, "diameter": 16.0, "standard_height": 24.0}
    case = Case.model_validate(car().model_dump() | {"stud": stud})
    stack = {"max": 9.0, "step": 1.0}
    kit = Kit.model_validate({"name": "one", "seat": of_kit, "stack": stack})
    assert case_with_kit(case, kit).stud == (case.stud if stays else None)
    cautions = ranked(case, [kit]).cautions
    assert (Caution(kind="stud-unknown", kit="one") in cautions) != stays
    of_seat = {"tapered": "taper-gone", "straight-bolt": "taper-drilled"}[of_kit]
    assert (Caution(kind=of_seat, kit="one") in cautions) == (own != of_kit)


# --- the ranking


@cache
def ranking() -> SuggestResult:
    return ranked(car(), demo_kits().kits)


def test_every_kit_is_ranked_once_and_so_is_leaving_the_car_as_it_is():
    names = [row.kit for row in ranking().ranked]
    assert sorted(names, key=str) == sorted([None, *(k.name for k in demo_kits().kits)], key=str)
    assert [row.rank for row in ranking().ranked] == list(range(1, len(names) + 1))
    (as_is,) = (row for row in ranking().ranked if row.is_as_is)
    assert as_is.kit is None
    assert as_is.reasons == ranked(car()).as_is.reasons


def test_each_kit_stands_in_the_ranking_with_what_suggest_finds_for_it_alone():
    for kit in demo_kits().kits:
        alone = ranked(case_with_kit(car(), kit))
        (row,) = (row for row in ranking().ranked if row.kit == kit.name)
        best = alone.certificate.best_peak_toe_change_deg
        fits = [one for one in alone.ranked if one.fits and not one.is_as_is]
        assert row.fits == bool(fits)
        if fits:
            assert row.peak_toe_change_deg >= best - SAME_ANGLE_ATOL_DEG
            assert row.peak_toe_change_deg <= best + RESOLUTION_DEG


def test_no_kit_s_best_beats_the_proof():
    cases = [case_with_kit(car(), kit) for kit in demo_kits().kits]
    proofs = [prove(Candidates.of(Evaluator.of(x), space_of(x)), wanted=1) for x in cases]
    told = ranking().certificate
    assert told.best_peak_toe_change_deg == pytest.approx(
        np.degrees(min(proof.best_peak for proof in proofs)), rel=0.0, abs=SAME_ANGLE_ATOL_DEG
    )
    # Leaving the car as it is is no setting of a kit, nothing stacked is one where that is built.
    assert told.combinations == sum(space_of(x).built for x in cases)


def test_what_fits_comes_first_and_the_leading_leave_the_taper_alone_first():
    rows = ranking().ranked
    fits = [row.fits for row in rows]
    assert fits == sorted(fits, reverse=True)
    drilled = {kit.name: kit.irreversible for kit in demo_kits().kits}
    leading = [drilled[row.kit] for row in rows if row.leading and row.kit is not None]
    assert leading == sorted(leading)
    assert {True, False} <= set(leading)
    others = [row.peak_toe_change_deg for row in rows if row.fits and not row.leading]
    assert others == sorted(others)


def test_a_kit_that_drills_the_taper_out_says_so_first():
    told = ranked(car(), [kit for kit in demo_kits().kits if kit.irreversible])
    assert told.ranked[0].kit
    assert told.cautions[0] == Caution(kind="taper-drilled", kit=told.ranked[0].kit)


# --- the commands


def test_suggest_names_the_kit_of_each_setting(capsys):
    code, out, err = outcome(
        capsys, "suggest", WISHBONE, "--kits", DEMO_KITS, "--trials", 2, "--json"
    )
    told = json.loads(out)
    assert (code, err) == (0, "")
    assert told["ranked"][0]["kit"] == "Short tapered stud"
    assert told["currency"] == "EUR"
    assert {kit["name"] for kit in told["kits"]} == {kit.name for kit in demo_kits().kits}


@pytest.mark.parametrize("command", ["suggest", "reach"])
def test_a_bad_row_goes_to_stderr_and_the_answer_to_stdout(command, capsys, tmp_path):
    path = file_with(tmp_path, HEAD + GOOD + '[[kits]]\nname = "bad"\n')
    code, out, err = outcome(capsys, command, WISHBONE, "--kits", path, "--json")
    assert json.loads(out)["format"] == 2
    assert code == 0
    assert "kits[2].seat" in err
    assert "used are good" in err
    assert "Traceback" not in err


@pytest.mark.parametrize("command", ["suggest", "reach"])
def test_a_kits_file_without_a_good_row_is_wrong_input(command, capsys, tmp_path):
    path = file_with(tmp_path, HEAD + '[[kits]]\nname = "bad"\n')
    code, out, err = outcome(capsys, command, WISHBONE, "--kits", path)
    assert (code, out) == (2, "")
    assert "kits[1].seat" in err


def test_the_report_says_which_kit_can_t_be_undone_and_what_each_costs(capsys):
    code, out, _ = outcome(capsys, "suggest", WISHBONE, "--kits", DEMO_KITS, "--trials", 2)
    assert code == 0
    said = " ".join(out.split())
    assert "Straight bolt, small rod end: straight bolt: needs the taper drilled out" in said
    assert "74 EUR a wheel, 310 g" in said
