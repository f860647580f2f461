"""What to do next, and what must be told first: each once, for every wheel."""

import re

import pytest

from optimizer.answers.suggest import suggest
from optimizer.files.case_file import car_from_toml
from optimizer.models.kits import Kit
from optimizer.models.suggest import SuggestResult
from optimizer.reports.terminal_suggest import suggest_report
from optimizer.wording.fitting import toe_reset_in_words
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.steps import STEPS, next_steps
from tests.optimizer.two_sided_cars import DEMO_TEXT, ROOT, kit
from tests.optimizer.wording.readers import MM

WISHBONE_TEXT = (ROOT / "cases" / "track-wishbone.toml").read_text(encoding="utf-8")
ALIGNED = '\n[alignment]\nby = "upper-arm"\ncamber_deg = -1.5\n'
TAPERED = '\n[stud]\nseat = "tapered"\ndiameter = 15.0\nstandard_height = 22.0\n'
CARS = {"one wheel": WISHBONE_TEXT, "two": DEMO_TEXT}


def answer(text: str, *kits: Kit) -> SuggestResult:
    return suggest(car_from_toml(text, "car"), kits)


def steps_of(result: SuggestResult) -> dict[str, str]:
    return next_steps(result.first, result, Reader(result.subject))


@pytest.mark.parametrize("text", CARS.values(), ids=CARS)
def test_an_aligned_car_is_aligned_between_fitting_and_the_toe_reset(text):
    result = answer(text + ALIGNED)
    steps = steps_of(result)
    assert list(steps) == list(STEPS) == ["fit", "align", "reset-toe", "sweep", "if-not"]
    reader = Reader(result.subject)
    for wheel, first in zip(result.wheels, result.first.wheels, strict=True):
        assert sentence(wheel.alignment.what_to_move, reader) in steps["align"]
        assert f"{abs(first.tie_rod_length_change_mm):.1f} mm" in steps["reset-toe"]
    resets = [step for step in steps.values() if step.startswith("Reset toe")]
    assert resets == [steps["reset-toe"]]


@pytest.mark.parametrize("text", CARS.values(), ids=CARS)
def test_without_an_alignment_there_is_none_to_set(text):
    assert list(steps_of(answer(text))) == ["fit", "reset-toe", "sweep", "if-not"]


def test_both_rods_come_out_of_one_toe_reset():
    assert re.fullmatch(
        r"Reset toe at ride height: the rods come out about [\d.]+ mm \w+ left and [\d.]+ mm \w+ "
        r"right than measured\.",
        steps_of(answer(DEMO_TEXT))["reset-toe"],
    )


def test_a_rack_that_is_raised_is_said_to_be_one():
    raised = answer(DEMO_TEXT + "\n[effort]\nrack = 0.1\n")
    kept = answer(DEMO_TEXT.replace("[0.0, 2.0, 4.0]", "[0.0]"))
    assert raised.first.rack_raise_mm
    assert "There is one rack: what raises it goes under both ends." in steps_of(raised)["fit"]
    assert not kept.first.rack_raise_mm
    assert "There is one rack" not in steps_of(kept)["fit"]


def test_a_kit_goes_on_both_wheels():
    fit = steps_of(answer(DEMO_TEXT, kit("drilled", seat="straight-bolt")))["fit"]
    assert fit.startswith("Fit: drilled on both wheels: on the left drop outer ")
    fit = steps_of(answer(WISHBONE_TEXT, kit("drilled", seat="straight-bolt")))["fit"]
    assert fit.startswith("Fit: drilled: drop outer ")


@pytest.mark.parametrize("text", CARS.values(), ids=CARS)
def test_no_caution_is_dropped_for_beginning_as_another_does(text):
    """A straight bolt named like no stud: both cautions open with the kit's name."""
    bolt = kit("Bolt without a stud", seat="straight-bolt")
    result = answer(text + TAPERED, bolt)
    assert result.first.kit == bolt.name
    assert {wheel.stud for wheel in result.wheels} == {None}
    assert [caution.kind for caution in result.cautions[:2]] == ["taper-drilled", "stud-unknown"]
    report = " ".join(suggest_report(result, "car.toml").split())
    for caution in result.cautions:
        assert report.count(f"- {sentence(caution, Reader(result.subject))}") == 1
    assert (
        "Bolt without a stud states no stud, and the car's own is held otherwise: what the "
        in report
    )
    assert "stack asks of the stud is not judged." in report


@pytest.mark.parametrize(
    ("longer_mm", "told"),
    [
        ([("left", 1.24)], "the rod comes out about 1.2 mm longer than measured."),
        ([("left", -0.04)], "the rod comes out as long as measured."),
        ([("left", 0.0), ("right", -0.01)], "the rods come out as long as measured."),
        (
            [("left", -0.3), ("right", 0.1)],
            "the rods come out about 0.3 mm shorter left and 0.1 mm longer right than measured.",
        ),
        (
            [("left", -0.3), ("right", 0.0)],
            "the rods come out about 0.3 mm shorter left than measured, as long as measured right.",
        ),
    ],
)
def test_a_rod_that_a_toe_reset_leaves_alone_is_told_to_be_as_long_as_measured(longer_mm, told):
    assert toe_reset_in_words(longer_mm, MM) == f"Reset toe at ride height: {told}"
