"""What a setting asks of the stud and leaves of the thread, from the case to the report."""

import copy
import re
import tomllib
from math import pi

import numpy as np
import pytest
from msgspec.structs import replace

from optimizer.answers.suggest import suggest
from optimizer.car.adjust import corner_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.plausibility import refuse_impossible
from optimizer.car.settings import Settings
from optimizer.car.subject import subject_of
from optimizer.errors import CaseFileError, PivotwrightError
from optimizer.files.case_file import read_case
from optimizer.limits.cautions import cautions
from optimizer.limits.margins import margins
from optimizer.limits.stops import stops
from optimizer.limits.strength import (
    rod_thread,
    section_diameter,
    strength_figures,
    strength_limits,
    stud_lever,
    stud_section,
)
from optimizer.models.case import Case
from optimizer.models.setting import Strength
from optimizer.models.vehicle import Vehicle
from optimizer.reports.terminal_suggest import suggest_report
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.stud import stud_and_thread

from .case_texts import GOOD_CASES, HERE

CASES = HERE.parents[1] / "cases"
WISHBONE = tomllib.loads(GOOD_CASES["double-wishbone"].read_text(encoding="utf-8"))
LENGTH_ATOL_MM = 1e-9
FORCE_RTOL = 1e-12
DROPS = np.array([0.0, 10.0, 20.0])
SHANK = {"seat": "tapered", "diameter": 15.0, "standard_height": 25.0}
GRADE = {"grade": "ISO 898-1 class 10.9"}


def stacks_of(drops):
    """Stacks of these heights, nothing else changed."""
    return Settings(drops, np.zeros(drops.size), np.zeros(drops.size, dtype=np.intp))


def case_with(stud=None, thread=None):
    parts = {"stud": stud, "thread": thread}
    parts = {name: part for name, part in parts.items() if part is not None}
    return Case.model_validate(copy.deepcopy(WISHBONE) | parts)


def figures_of(stud, drops=DROPS):
    return strength_figures(case_with(stud), drops, np.zeros(drops.size))


def least_force(stress, lever, diameter):
    """Bending and shear as if they met in one place, written out in another way than geometry's."""
    area, modulus = pi * diameter**2 / 4.0, pi * diameter**3 / 32.0
    return stress / ((lever / modulus) ** 2 + 3.0 * (4.0 / (3.0 * area)) ** 2) ** 0.5


# --- the stud ------------------------------------------------------------------------------------


def test_a_stack_lengthens_the_lever_by_its_height():
    stud = case_with(SHANK).stud
    assert stud_lever(stud, DROPS).tolist() == [25.0, 35.0, 45.0]
    assert figures_of(SHANK).height_ratio.tolist() == [1.0, 1.4, 1.8]


def test_a_custom_pivot_below_its_seat_lengthens_the_lever_by_its_way_along_the_stud():
    drops, move = np.array([0.0, 6.0]), np.array([[3.0, -4.0, -20.0], [0.0, 0.0, 2.0]])
    case = case_with(SHANK | GRADE | {"rod_force_n": 4000.0})
    settings = replace(stacks_of(drops), outer_move=move)
    corner = corner_of(case)
    assert corner.stud_axis.tolist() == [0.0, 0.0, -1.0]
    assert corner.drop_along_stud(settings).tolist() == [20.0, 4.0]
    assert corner.drop_along_stud(replace(settings, outer_move=None)).tolist() == drops.tolist()
    (found,) = [m for m in margins(Evaluator.of(case), settings) if m.kind == "stud"]
    straight = figures_of(SHANK | GRADE | {"rod_force_n": 4000.0}, np.array([20.0, 4.0]))
    assert found.value == pytest.approx(straight.safety_factor, rel=FORCE_RTOL)


@pytest.mark.parametrize("arm", [8.0, 15.0])
def test_on_the_arm_s_other_side_the_lever_is_never_taken_too_short(arm):
    stud = case_with(SHANK).stud
    beyond = 4.0  # from the arm's other face to the joint's center
    drop = -(stud.standard_height + arm + beyond)
    assert stud_lever(stud, np.array([drop]))[0] >= beyond


def test_a_joint_lowered_into_its_seat_keeps_at_least_what_is_left_of_its_lever():
    stud = case_with(SHANK).stud
    assert stud_lever(stud, np.array([-5.0, -20.0])).tolist() == [20.0, 20.0]


@pytest.mark.parametrize(
    ("size", "diameter"),
    [
        ({"diameter": 15.0}, 15.0),
        # ISO 724 root diameter, and the minor-diameter area of 1/2-20 in print: tests/published.
        ({"thread": {"diameter": 12.0, "pitch": 1.5}}, 10.160),
        ({"thread": {"diameter": 12.7, "threads_per_inch": 20.0}}, 25.4 * (4 * 0.1486 / pi) ** 0.5),
    ],
)
def test_the_section_that_carries_the_load_is_the_shank_or_the_thread_s_root(size, diameter):
    stud = {"seat": "straight-bolt", "standard_height": 25.0} | size
    # 0.005 mm: half of the last printed digit, in area for the inch thread.
    assert section_diameter(case_with(stud).stud) == pytest.approx(diameter, abs=5e-3)


def test_the_stud_reaches_its_strengths_at_the_forces_of_its_lever():
    figures = figures_of(SHANK | GRADE)
    for found, strength in ((figures.proof_force, 830.0), (figures.yield_force, 940.0)):
        expected = [least_force(strength, 25.0 + drop, 15.0) for drop in DROPS]
        assert found == pytest.approx(expected, rel=FORCE_RTOL)


def test_a_strength_may_be_given_with_its_own_source():
    given = {"proof_mpa": 830.0, "yield_mpa": 940.0, "strength_source": "a certificate"}
    ours, tables = figures_of(SHANK | given), figures_of(SHANK | GRADE)
    assert ours.proof_force.tolist() == tables.proof_force.tolist()
    assert stud_section(case_with(SHANK | given)).source == "a certificate"


def test_without_a_strength_only_the_height_is_compared():
    assert figures_of(SHANK).row(1) == {
        "stud_height_ratio": 1.4,
        "stud_proof_force_n": None,
        "stud_yield_force_n": None,
        "stud_safety_factor": None,
        "thread_engagement_mm": None,
    }


def test_without_a_stated_force_no_safety_factor_is_given_and_nothing_is_judged():
    weak = SHANK | {"diameter": 3.0, "standard_height": 200.0} | GRADE
    case = case_with(weak)
    assert strength_figures(case, DROPS, DROPS).safety_factor is None
    assert list(strength_limits(case, DROPS, DROPS)) == []


def test_the_safety_factor_is_the_lower_strength_against_the_stated_force():
    figures = figures_of(SHANK | GRADE | {"rod_force_n": 4000.0})
    assert figures.safety_factor == pytest.approx(figures.proof_force / 4000.0, rel=FORCE_RTOL)


def test_a_steel_without_a_proof_strength_is_judged_by_its_yield_strength():
    stud = SHANK | {"grade": "AISI 4140 tempered at 540 C", "rod_force_n": 4000.0}
    figures = figures_of(stud)
    assert figures.proof_force is None
    assert figures.safety_factor == pytest.approx(figures.yield_force / 4000.0, rel=FORCE_RTOL)
    ((kind, name, _, least),) = strength_limits(case_with(stud), DROPS, DROPS)
    assert (kind, name, least) == ("stud", "yield strength", 1.0)


@pytest.mark.parametrize(
    ("stud", "section"),
    [
        (SHANK, "large end of the taper"),
        (SHANK | {"seat": "straight-bolt"}, "shank"),
        (
            {
                "seat": "straight-bolt",
                "thread": {"diameter": 12.0, "pitch": 1.5},
                "standard_height": 9.0,
            },
            "root of the thread",
        ),
    ],
)
def test_the_seat_is_described_by_the_section_that_carries_the_load(stud, section):
    assert stud_section(case_with(stud)).section == section


@pytest.mark.parametrize(
    ("stud", "words"),
    [
        ({"grade": "SAE J429 grade 9"}, 'the tables list, got "SAE J429 grade 9"\n(did you mean '),
        ({"grade": "chrome"}, "(known: SAE J429 grade 2, "),
        (
            {"grade": "SAE J429 grade 2", "diameter": 20.0},
            "for 20 mm\n(it covers 6.35 mm to 19.05 mm and 22.225 mm to 38.1 mm; or state",
        ),
    ],
)
def test_a_grade_that_the_tables_do_not_have_is_refused_with_its_key(stud, words):
    case = case_with(SHANK | stud)
    with pytest.raises(CaseFileError, match=r"^car has 1 fault:\n  stud\.grade  must ") as refusal:
        refuse_impossible(Vehicle((case,), "car"))
    (fault,) = refusal.value.faults
    assert words in fault.message
    with pytest.raises(PivotwrightError, match="must "):
        strength_figures(case, DROPS, DROPS)


# --- the thread ----------------------------------------------------------------------------------


M14 = {"diameter": 14.0, "pitch": 1.5, "engaged": 30.0}


def test_a_rod_that_grows_longer_loses_as_much_engagement():
    figures = strength_figures(case_with(thread=M14), DROPS, np.array([-2.0, 0.0, 5.5]))
    assert figures.engagement == pytest.approx([32.0, 30.0, 24.5], abs=LENGTH_ATOL_MM)


def test_one_and_a_half_diameters_must_stay_engaged_unless_another_least_is_stated():
    assert case_with(thread=M14).thread.least == 21.0
    assert case_with(thread=M14 | {"minimum": 18.0}).thread.least == 18.0


def test_the_engagement_of_full_strength_is_known_where_the_pitch_is():
    known = rod_thread(case_with(thread={"diameter": 12.7, "threads_per_inch": 20, "engaged": 30}))
    # FED-STD-H28/2B form 13 for 1/2-20, tests/published/threads.toml; half of its last digit
    assert known.full_strength_mm / 25.4 == pytest.approx(0.435612, abs=5e-7)
    assert (
        rod_thread(case_with(thread={"diameter": 14.0, "engaged": 30.0})).full_strength_mm is None
    )


# --- as limits -----------------------------------------------------------------------------------


def found_margins(case, drops=DROPS, **choices):
    settings = stacks_of(drops)
    return margins(Evaluator.of(case), settings, **choices)


@pytest.mark.parametrize("ends_only", [True, False])
def test_thread_and_stud_are_limits_only_where_the_case_states_them(ends_only):
    stated = case_with(SHANK | GRADE | {"rod_force_n": 1.0}, M14)
    without = found_margins(case_with(), ends_only=ends_only)
    added = found_margins(stated, ends_only=ends_only)[len(without) :]
    assert [margin.kind for margin in without if margin.kind in ("thread", "stud")] == []
    assert [margin.kind for margin in added] == ["thread", "stud"]


def test_a_broken_limit_is_put_into_words_with_the_amount():
    case = case_with(SHANK | GRADE | {"rod_force_n": 7000.0}, M14 | {"engaged": 21.0})
    found = found_margins(case)
    change = Evaluator.of(case).rod_length_change(
        Settings(DROPS, 0 * DROPS, np.zeros(DROPS.size, dtype=np.intp))
    )
    factor = figures_of(SHANK | GRADE | {"rod_force_n": 7000.0}).safety_factor
    for k in range(DROPS.size):
        said = said_of(case, found, k)
        thread = [text for text in said if text.startswith("tie-rod thread")]
        stud = [text for text in said if text.startswith("stud")]
        assert len(thread) == (change[k] > 0.0)
        for text in thread:
            told = re.fullmatch(
                r"tie-rod thread keeps (\S+) mm engaged after the toe reset, "
                r"(\S+) mm less than the least of 21\.0 mm",
                text,
            )
            assert told is not None
            amounts = [float(told[1]), float(told[2])]
            assert amounts == pytest.approx([21.0 - change[k], change[k]], abs=0.05)
            assert amounts[1] > 0.0
        assert stud == (
            [f"stud reaches its proof strength at {factor[k]:.2f} x the stated rod force"]
            if factor[k] < 1.0
            else []
        )
    assert change.max() > 0.0
    assert factor.min() < 1.0 < factor.max()


def test_a_rod_out_of_its_thread_comes_apart_and_keeps_nothing_below_nothing():
    case = case_with(thread=M14 | {"engaged": 0.001})
    found = found_margins(case)
    (thread,) = [margin for margin in found if margin.kind == "thread"]
    worst = int(np.argmin(thread.value))
    assert thread.value[worst] < 0.0
    (said,) = [text for text in said_of(case, found, worst) if "thread" in text]
    past = case.thread.least - thread.value[worst]
    assert said == (
        f"tie-rod thread comes apart in the toe reset, {past:.1f} mm short of the least of 21.0 mm "
        "engaged"
    )
    engaged, reader = Strength(thread_engagement_mm=thread.value[worst]), reader_of(case)
    (told,) = stud_and_thread(engaged, None, rod_thread(case), reader)
    assert told.startswith("Tie-rod thread: nothing engaged after the toe reset")


def said_of(case, found, row):
    return [sentence(stop, reader_of(case)) for stop in stops(found, row, "left")]


def reader_of(case):
    return Reader(subject_of(Vehicle((case,))))


def cautions_of(answer, wheels):
    return [sentence(caution, Reader(answer.subject)) for caution in cautions(wheels, {})]


# --- in the answer -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def saloon():
    return read_case(CASES / "extended-strut.toml")


@pytest.fixture(scope="module")
def answer(saloon):
    return suggest(Vehicle((saloon,)))


def without_either(case):
    return Vehicle((case.model_copy(update={"stud": None, "thread": None}),))


def test_every_ranked_setting_carries_its_figures(answer, saloon):
    for option in [answer.as_is, *answer.ranked]:
        (setting,) = option.wheels
        lever = saloon.stud.standard_height + setting.outer_drop_mm
        assert setting.stud_height_ratio == pytest.approx(lever / saloon.stud.standard_height)
        assert setting.stud_proof_force_n == pytest.approx(
            least_force(830.0, lever, saloon.stud.diameter), rel=FORCE_RTOL
        )
        assert setting.stud_safety_factor is None
        assert setting.thread_engagement_mm == pytest.approx(
            saloon.thread.engaged - setting.tie_rod_length_change_mm, abs=LENGTH_ATOL_MM
        )


def test_the_report_speaks_of_stud_and_thread_only_where_they_are_stated(answer, saloon):
    told = " ".join(suggest_report(answer, "case").split())
    silent = suggest_report(suggest(without_either(saloon)), "case")
    assert "Stud and thread" in told
    assert "x std" in told
    assert "No rod force is stated, so no safety factor is given." in told
    assert "large end of the taper" in told
    assert "strengths by property class" in told
    for word in ("Stud and thread", "x std", "proof strength", "Tie-rod thread"):
        assert word not in silent


def test_stating_what_does_not_bind_leaves_the_ranking_as_it_is(answer, saloon):
    silent = suggest(without_either(saloon))
    assert [row.wheels[0].outer_drop_mm for row in answer.ranked] == [
        row.wheels[0].outer_drop_mm for row in silent.ranked
    ]


def test_a_stated_force_beyond_the_stud_s_strength_rules_the_tall_stacks_out(saloon):
    stud = saloon.stud.model_copy(update={"rod_force_n": 5800.0})
    ranked = suggest(Vehicle((saloon.model_copy(update={"stud": stud}),))).ranked
    (best,) = ranked[0].wheels
    assert best.fits
    assert best.stud_safety_factor >= 1.0
    taller = [wheel for row in ranked for wheel in row.wheels if not wheel.fits]
    taller = [wheel for wheel in taller if wheel.outer_drop_mm > best.outer_drop_mm]
    assert taller
    for wheel in taller:
        assert (wheel.reasons[-1].kind, wheel.reasons[-1].name) == ("stud", "proof strength")


@pytest.mark.parametrize(
    "word",
    [
        "single shear",
        "one solid spacer",
        "re-torque",
        "inspect",
        "can't be undone",
        "local roadworthiness rules",
        "licensed",
    ],
)
@pytest.mark.parametrize("place", [0, 1, 2])
def test_the_usual_cautions_stand_in_the_report_of_every_stack(answer, saloon, word, place):
    wheels = answer.ranked[place].wheels
    assert wheels[0].outer_drop_mm > 0.0
    assert any(word in text for text in cautions_of(answer, wheels))
    assert word in " ".join(suggest_report(answer, "case").split())


def test_many_washers_are_to_be_replaced_once_the_height_is_proved(answer, saloon):
    (first,) = answer.ranked[0].wheels
    washers = first.model_copy(update={"stack_mm": [20.0, 10.0, 4.0]})
    told = cautions_of(answer, [washers])
    assert any("replace the washers by one solid spacer" in text for text in told)
