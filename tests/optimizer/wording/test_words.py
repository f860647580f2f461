"""Every report speaks of the car that it is about: rack, center link, or a rear axle's toe link."""

import re
from collections.abc import Callable, Iterator
from functools import cache

import numpy as np
import pytest

from optimizer.answers.check import check
from optimizer.answers.curve import curve
from optimizer.answers.reach import reach
from optimizer.answers.sheet import sheet
from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.files.case_file import case_from_toml, read_car
from optimizer.files.kits import read_kits
from optimizer.files.readings_file import read_readings
from optimizer.gauging.loop import gauge
from optimizer.limits.cautions import cautions
from optimizer.models.cautions import Caution
from optimizer.models.curve import CurveRequest
from optimizer.models.questions import OtherAxle
from optimizer.models.suggest import SuggestResult
from optimizer.models.vehicle import Vehicle
from optimizer.models.vocabulary import CENTER_LINK, RACK, TOE_LINK
from optimizer.options.dimensions import option_space
from optimizer.options.study.run import StudyPlan
from optimizer.reports.sheet import sheet_html, sheet_text
from optimizer.reports.terminal_check import check_report
from optimizer.reports.terminal_curve import curve_report
from optimizer.reports.terminal_gauge import gauge_report
from optimizer.reports.terminal_reach import reach_report
from optimizer.reports.terminal_suggest import suggest_report
from optimizer.wording.cures import CURES, cure_in_words
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from tests.optimizer.command_line import CASES, run
from tests.optimizer.gauging.sweeps import angles, judged, kind_of, only

TRAVEL = np.arange(-40.0, 41.0, 10.0)
STATED = """
[stud]
seat = "tapered"
diameter = 15.0
standard_height = 22.0
grade = "ISO 898-1 class 10.9"

[thread]
diameter = 14.0
pitch = 1.5
engaged = 30.0
"""
LOCKS = 'arms        = "behind"\nrack_travel = 62.0       # straight ahead to lock\n'
REAR, CENTER, FRONT = "rear", "center-link", "rack"
# What a report must not say, once keys as typed in files and the trade's own names are taken out.
# ISO 8855 and ISO 23365 give steer angle, ride steer and roll steer to wheels of any axle.
STANDARD = r"(bump|ride|roll) steer|steer angle|it steers the car from the rear"
KEYS = r"\b\w+_\w+\b|\bsteering\.arms\b|tie_rod\S*"
WRONG = {
    REAR: r"steer|\bracks?\b|tie.rod|center.link|\blocks?\b|pitman|idler|"
    r"scrub|caster|kingpin|trail",
    CENTER: r"\bracks?\b|toe.link|subframe|bracket|rear wheel",
    FRONT: r"toe.link|center.link|pitman|idler|subframe|bracket|rear wheel",
}


@cache
def car(kind: str) -> Vehicle:
    """The lowered strut coupe, told as an axle of another kind."""
    text = (CASES / "lowered-strut.toml").read_text(encoding="utf-8") + STATED
    said = {
        FRONT: LOCKS,
        CENTER: f'kind = "center-link"\n{LOCKS}',
        REAR: 'arms = "behind"\n\n[car]\naxle = "rear"\ntrack = 1540.0\n',
    }[kind]
    name = {
        FRONT: "Coupe, strut front, arms behind the axle",
        CENTER: "Coupe with a steering box, arms behind the axle",
        REAR: "Coupe, strut rear, toe link behind the axle",
    }[kind]
    assert text.count(LOCKS) == 1
    text = re.sub(r"(?m)^name   = .*", f'name = "{name}"', text.replace(LOCKS, said), count=1)
    return Vehicle((case_from_toml(text, kind),))


def gauge_car(kind: str) -> dict[str, object]:
    """What a readings file says of such a car where there is no case."""
    said = {FRONT: {}, CENTER: {"steering": "center-link"}, REAR: {"axle": "rear"}}[kind]
    return {"rod_length": 370.0, "steering_arm": 130.0, "arms": "behind", **said}


def sweep(kind: str, slope: float, square: float = 0.0, **keys: object):
    toe = dict(zip(TRAVEL, slope * TRAVEL + square * TRAVEL**2, strict=True))
    return angles(toe, **{"car": gauge_car(kind), **keys})


def gauge_without_case(kind: str) -> str:
    """Sweeps that give rise to everything that is said of height, length, sides and stacks."""
    lower = {"outer_drop": 6.0, "name": "lower"}
    no_arms = {key: x for key, x in gauge_car(kind).items() if key not in ("arms", "rod_length")}
    sweeps = [
        [sweep(kind, -0.01, 1e-4), sweep(kind, -0.0052, 1e-4, **lower)],
        [sweep(kind, -0.01, 1e-4), sweep(kind, -0.02, 1e-4, **lower)],
        [sweep(kind, -0.01, 1e-4, side="left"), sweep(kind, 0.01, -1e-4, side="right")],
        [sweep(kind, -0.01, 1e-4, car=no_arms)],
        [sweep(kind, -0.01, 1e-4, car=no_arms | {"arms": "ahead"})],
        [played(kind)],
    ]
    return "\n".join(gauge_report(gauge(None, some), ["sweep.toml"]) for some in sweeps)


def played(kind: str):
    """Up and down strokes 0.2 deg apart."""
    rows = [[t, -0.01 * t] for t in TRAVEL] + [[t, -0.01 * t + 0.2] for t in TRAVEL[::-1]]
    one = sweep(kind, 0.0)
    return one.model_copy(update={"readings": tuple(tuple(row) for row in rows)})


def gauge_with_case(kind: str) -> str:
    readings = read_readings(CASES / "readings" / "lowered-strut.toml")
    said = readings.model_copy(update={"car": readings.car.model_copy(update={"arms": "ahead"})})
    return gauge_report(gauge(car(kind), [said]), ["sweep.toml"])


@cache
def answer(kind: str) -> SuggestResult:
    return suggest(car(kind))


def kits_report(kind: str) -> str:
    return suggest_report(suggest(car(kind), read_kits(CASES / "kits.toml").kits), "case.toml")


def custom_report(kind: str) -> str:
    plan = SuggestPlan(StudyPlan(trials=4), custom=True)
    return suggest_report(suggest(car(kind), plan=plan), "case.toml")


def curve_reports(kind: str) -> str:
    whole = CurveRequest(bump=300.0, droop=300.0, step=50.0, outer_drop=10.0, rack_raise=3.0)
    return curve_report(curve(car(kind))) + curve_report(curve(car(kind), whole))


def sheets(kind: str) -> str:
    stack = {"outer_drop_mm": 5.0, "stack_mm": [5.0], "rack_raise_mm": 3.0}
    fitted = answer(kind).as_is.wheels[0].model_copy(update=stack)
    made = sheet(car(kind), [fitted], "two-dial", "best")
    return sheet_text(made) + sheet_html(made)


REPORTS: dict[str, Callable[[str], str]] = {
    "suggest": lambda kind: suggest_report(answer(kind), "case.toml"),
    "custom": custom_report,
    "kits": kits_report,
    "curve": curve_reports,
    "reach": lambda kind: reach_report(reach(car(kind), [0.0, 40.0, 90.0, 200.0]), "case.toml"),
    "gauge": gauge_with_case,
    "gauge without a case": gauge_without_case,
    "sheet": sheets,
    "check": lambda kind: check_report(check(car(kind)), "case.toml"),
}
SAID = {
    REAR: {
        "suggest": ["left rear wheel", "lower inner bracket", "toe-link arms behind the axle",
                    "the toe link comes out", "Toe-link thread", "toe link force"],
        "custom": ["inner bracket"],
        "kits": ["toe link", "inner bracket"],
        "curve": ["Toe link +", "the toe link can't follow"],
        "reach": ["left rear wheel"],
        "gauge": ["toe-link arms behind the axle", "inner bracket drop", "it steers the car from"],
        "gauge without a case": [
            "outer drop plus inner bracket raise", "(or the inner bracket raised)",
            "the toe link is too", "a subframe that is not level", "toe links of unequal length",
            "no band that is accepted for a rear axle", "where the toe-link arms are",
        ],
        "sheet": ["inner bracket", "left rear wheel", "camber and static toe first"],
        "check": ["left rear wheel", "toe-link arm ", "inner bracket spacers", "a maker may mean"],
    },
    CENTER: {
        "suggest": ["center link", "the rod comes out", "Tie-rod thread", "on its pitman and idler",
                    "never bend a pitman or idler arm", "deg per mm of center link"],
        "custom": ["deg per mm of center link", "of center link travel"],
        "kits": ["center link"],
        "curve": ["Tie rod +", "the tie rod can't follow"],
        "reach": ["left wheel"],
        "gauge": ["steering arms behind the axle", "center link drop"],
        "gauge without a case": [
            "outer drop plus center link raise", "(or the center link raised)",
            "the tie rod is too", "a center link that is not level", "tie rods of unequal length",
            "rod ends, idler and pitman arm, bushings",
        ],
        "sheet": ["center link", "Lock the steering at the center link"],
        "check": ["left wheel", "steering arm ", "center link spacers", "bolt_axis"],
    },
    FRONT: {
        "gauge without a case": ["outer drop plus rack raise", "a rack that is not level"],
        "suggest": ["rack", "steering ratio", "caster", "scrub radius"],
    },
}  # fmt: skip


pytestmark = pytest.mark.usefixtures("no_terminal")


@cache
def report(kind: str, name: str) -> str:
    return REPORTS[name](kind)


def said(text: str) -> str:
    """Text as a sentence is read, across the ends of lines."""
    return " ".join(text.split())


def wrong_words(text: str, kind: str) -> list[str]:
    """Words of another car, each with what stands beside it."""
    own = re.sub(STANDARD, "", re.sub(KEYS, "", said(text)), flags=re.I)
    return re.findall(rf".{{0,30}}(?:{WRONG[kind]}).{{0,30}}", own, flags=re.I)


@pytest.mark.parametrize("name", REPORTS)
@pytest.mark.parametrize("kind", [REAR, CENTER, FRONT])
def test_a_report_holds_no_word_of_another_car(kind, name):
    assert wrong_words(report(kind, name), kind) == []


@pytest.mark.parametrize(("kind", "name"), [(k, n) for k, names in SAID.items() for n in names])
def test_a_report_holds_the_words_of_its_car(kind, name):
    text = said(report(kind, name))
    assert [words for words in SAID[kind][name] if words not in text] == []


@pytest.mark.parametrize("kind", [REAR, CENTER])
def test_words_of_a_rack_would_be_found(kind):
    """The check itself: a front car's reports are full of words that the others must not hold."""
    for name in REPORTS:
        assert wrong_words(report(FRONT, name), REAR) != []
    assert wrong_words(report(FRONT, "suggest"), kind) != []


@pytest.mark.parametrize("name", ["suggest", "curve", "reach", "gauge without a case", "check"])
@pytest.mark.parametrize("kind", [REAR, CENTER])
def test_reports_of_other_axles_read_as_they_did(kind, name, same_as_golden):
    text = re.sub(r"[\d,]+ solved exactly", "N solved exactly", report(kind, name))
    same_as_golden(f"words-{kind}.{name.replace(' ', '-')}.txt", text)


@pytest.mark.parametrize("kind", [REAR, CENTER])
def test_a_sheet_for_another_axle_reads_as_it_did(kind, same_as_golden):
    same_as_golden(f"words-{kind}.sheet.txt", report(kind, "sheet"))


def vocabulary_texts(words) -> Iterator[str]:
    yield from (str(getattr(words, name)) for name in words.__struct_fields__)
    yield from (cure_in_words(cure, words) for cure in CURES)


@pytest.mark.parametrize(
    ("words", "kind"), [(TOE_LINK, REAR), (CENTER_LINK, CENTER), (RACK, FRONT)]
)
def test_no_phrase_of_a_vocabulary_belongs_to_another(words, kind):
    assert wrong_words("\n".join(vocabulary_texts(words)), kind) == []


# --- cautions


def all_cautions(kind: str) -> str:
    """Cautions of a car that states neither tilt limit, obstacle nor thread, everything moved."""
    result = answer(kind)
    (setting,) = result.ranked[0].wheels
    moved = {"outer_drop_mm": 0.0, "rack_raise_mm": 3.0, "tie_rod_length_change_mm": 0.5}
    bare = {"tilt_margin_deg": None, "clearance_mm": None, "thread_engagement_mm": None}
    long = {"rack_raise_mm": 0.0, "tie_rod_length_change_mm": 5.0, "outer_drop_mm": 5.0}
    return "\n".join(
        sentence(caution, Reader(result.subject))
        for update in (moved | bare, long | {"thread_engagement_mm": None})
        for caution in cautions([setting.model_copy(update=update)], {})
    )


def test_a_rear_toe_link_is_said_to_steer_the_car_when_it_fails():
    text = all_cautions(REAR)
    assert wrong_words(text, REAR) == []
    assert "it steers the car from the rear" in text
    assert "Spacers under the toe link's inner bracket ask for longer bolts" in text
    assert "check toe link and joint by hand against rim, disc and arm at full bump" in text
    assert "The toe reset changes the toe link's length" in text


def test_a_center_link_is_set_at_idler_and_pitman_and_neither_is_bent():
    text = all_cautions(CENTER)
    assert wrong_words(text, CENTER) == []
    assert "height is set at the idler and the pitman arm" in text
    assert "take play out of idler and steering box first" in text
    assert "never bend a pitman or idler arm" in text
    assert "A steering part that fails takes the steering with it." in text


def test_a_drag_link_s_length_centers_the_steering_wheel_and_sets_no_toe(capsys):
    found = reach(read_car(CASES / "lifted-leaf-axle.toml"), [-60.0, -55.0])
    told = sentence(Caution(kind="thread", length_mm=9.1), Reader(found.subject))
    assert told == (
        "Centering the steering wheel changes the drag link's length by 9.1 mm: check how much "
        "thread is left engaged at both ends."
    )
    heights = reach_report(found, "truck.toml")
    assert "steering wheel centered at each" in " ".join(heights.split())
    assert "toe reset" not in heights
    run("sheet", CASES / "lifted-leaf-axle.toml", "--text", "--outer-drop", 0)
    page = " ".join(capsys.readouterr().out.split())
    assert "Center the steering wheel at ride height by the drag link, and write that" in page
    assert "fit the stack that `gauge` asks for, center the steering wheel, and read" in page
    assert "eset toe" not in page


# --- what a rear wheel does not have


def test_the_figures_of_a_rear_wheel_are_those_of_the_same_links_at_the_front_unsteered():
    rear, front = answer(REAR), answer(FRONT)
    assert rear.as_is.peak_toe_change_deg == front.as_is.peak_toe_change_deg
    assert (rear.subject.axle, rear.subject.steering_kind) == ("rear", None)
    assert (front.subject.axle, front.subject.steering_kind) == ("front", "rack")
    assert answer(CENTER).subject.steering_kind == "center-link"
    assert {row.wheels[0].steer_rate_change_percent for row in rear.ranked} == {None}
    (wheel,) = rear.wheels
    assert wheel.side_effects.steer_rate_deg_per_mm.before is None
    assert wheel.side_effects.steer_rate_deg_per_mm.after is None
    assert wheel.side_effects.steered == []
    assert wheel.side_effects.turn_toe_out == []


@pytest.mark.parametrize("kind", [REAR, CENTER, FRONT])
def test_a_steering_ratio_counts_against_no_setting_where_nothing_steers(kind):
    (wheel,) = option_space(car(kind)).wheels
    assert wheel.rate_change.any() == (kind != REAR)


def test_rack_travel_on_a_rear_axle_ends_with_code_2(capsys):
    assert run("curve", CASES / "five-link-rear.toml", "--rack-travel", "10") == 2
    out, err = capsys.readouterr()
    assert (out, "a rear wheel has no lock" in err) == ("", True)


def test_readings_of_a_rear_wheel_beside_a_front_case_are_asked_about():
    front, rear = (judged(car(kind).case, [sweep(REAR, -0.01)]).questions for kind in (FRONT, REAR))
    assert only(OtherAxle, front) == OtherAxle(said="rear", measured="front")
    assert kind_of(OtherAxle, rear) == []


def test_the_words_without_a_case_are_those_that_the_readings_ask_for():
    subjects = [gauge(None, [sweep(kind, -0.01)]).subject for kind in (REAR, CENTER, FRONT)]
    assert [(one.axle, one.steering_kind) for one in subjects] == [
        ("rear", None),
        ("front", "center-link"),
        ("front", "rack"),
    ]
