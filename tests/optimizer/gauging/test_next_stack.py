"""The stack to fit next: what can be built, under every limit, and what it promises."""

import numpy as np
import pytest

from optimizer.car.adjust import linkage_choice
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.files.case_file import case_from_toml, read_case
from optimizer.files.toml_file import file_text
from optimizer.gauging.fit import fitted_points
from optimizer.gauging.loop import gauge
from optimizer.gauging.next_stack import expected_peaks, next_stack
from optimizer.gauging.swept import swept
from optimizer.limits.margins import margins
from optimizer.models.shelf import Shelf
from optimizer.models.vehicle import Vehicle
from optimizer.options.space import space_of
from optimizer.reports.terminal_gauge import gauge_report
from optimizer.wording.gauge_next import NOTHING_FITS

from .sweeps import as_swept, judged, readings, true_car

TRAVEL = np.arange(-40.0, 41.0, 10.0)
EXACT = "\n[accuracy]\npoints = 0.001\n"


def exact_case(folder, name, more=""):
    """A demo car whose points are known exactly, so the best stack is known too."""
    return case_from_toml(file_text(folder / f"{name}.toml") + EXACT + more, name)


def sweep_of(case, drop=0.0, rack=0.0, **keys):
    return as_swept(Evaluator.of(case), TRAVEL, drop, rack, **keys)


def peak_of(case, setting):
    place = linkage_choice(case, setting.model_dump())
    fitted = Settings.single(setting.outer_drop_mm, setting.rack_raise_mm, place)
    return float(np.degrees(Evaluator.of(case).curve(fitted).peak[0]))


def best_peak(case):
    """Smallest peak of all settings that keep every limit, by solving each."""
    evaluator, space = Evaluator.of(case), space_of(case)
    peaks = np.degrees(np.abs(evaluator.toe_change(space.settings)).max(axis=1))
    for row in np.argsort(peaks):
        setting = space.settings.rows(np.array([row]))
        if all(margin.margin.min() >= 0.0 for margin in margins(evaluator, setting)):
            return float(peaks[row])
    return None


@pytest.mark.parametrize("name", ["lowered-strut", "track-wishbone"])
def test_with_exact_points_it_is_the_best_that_can_be_built_within_the_limits(demo_folder, name):
    case = exact_case(demo_folder, name)
    answer = judged(case, [sweep_of(case)]).next
    # 0.01 deg is what fewer parts may cost, and 0.002 what the sampled heights leave out.
    assert peak_of(case, answer) <= best_peak(case) + 0.012
    assert answer.peak_toe_change_deg == pytest.approx(peak_of(case, answer), abs=0.004)
    assert answer.peak_toe_change_95_deg >= answer.peak_toe_change_deg - 1e-9
    assert not answer.stop


def test_a_better_stack_that_touches_the_rim_is_not_taken(demo_folder):
    case = exact_case(demo_folder, "track-wishbone")
    answer = judged(case, [sweep_of(case)]).next
    free = case.model_copy(update={"obstacles": ()})
    without = judged(free, [sweep_of(free)]).next
    assert peak_of(case, without) < peak_of(case, answer) - 0.002
    setting = Settings.single(answer.outer_drop_mm, answer.rack_raise_mm)
    assert min(margin.margin.min() for margin in margins(Evaluator.of(case), setting)) >= 0.0


def test_it_counts_from_the_standard_seat_whatever_was_fitted_while_measuring(demo_folder):
    case = exact_case(demo_folder, "lowered-strut")
    answers = [
        judged(case, [sweep_of(case, drop, rack)]).next
        for drop, rack in ((0.0, 0.0), (15.0, 0.0), (3.0, 6.0))
    ]
    places = {(answer.outer_drop_mm, answer.rack_raise_mm) for answer in answers}
    assert len(places) == 1


def test_a_stack_comes_in_pieces_from_the_shelf(demo_folder):
    case = exact_case(demo_folder, "lowered-strut")
    answer = judged(case, [sweep_of(case)]).next
    assert sum(answer.stack_mm) == pytest.approx(answer.outer_drop_mm)
    assert set(answer.stack_mm) <= {shim.thickness for shim in case.shelf.shims}


def test_what_is_fitted_stays_where_no_gauge_could_show_the_gain(demo_folder):
    case = exact_case(demo_folder, "lowered-strut")
    best = judged(case, [sweep_of(case)]).next
    again = judged(case, [sweep_of(case, best.outer_drop_mm, best.rack_raise_mm)])
    assert again.next.stop
    assert again.next.outer_drop_mm == best.outer_drop_mm
    assert again.next.stack_mm == best.stack_mm


def test_a_stack_that_the_shelf_can_t_build_may_stay_too(demo_folder):
    case = exact_case(demo_folder, "lowered-strut")
    best = judged(case, [sweep_of(case)]).next
    odd = best.outer_drop_mm + 0.05
    again = judged(case, [sweep_of(case, odd, best.rack_raise_mm)]).next
    assert again.stop
    assert again.stack_mm == [odd]


def test_what_is_fitted_does_not_stay_where_it_breaks_a_limit(demo_folder):
    case = exact_case(demo_folder, "track-wishbone")
    answer = judged(case, [sweep_of(case, drop=12.5)]).next  # it touches the rim
    assert not answer.stop
    assert answer.outer_drop_mm != 12.5


def test_a_wanted_gain_is_aimed_at(demo_folder):
    case = exact_case(demo_folder, "lowered-strut")
    wanted = {"toe_gain_deg_per_10mm": -0.03, "tolerance_deg": 0.1}
    zero, toe_out = judged(case, [sweep_of(case)]), judged(case, [sweep_of(case, aim=wanted)])

    def slope(answer):
        changes = {row.travel_mm: row.toe_change_deg for row in answer.expected}
        return (changes[10.0] - changes[-10.0]) / 2.0

    assert slope(toe_out) == pytest.approx(slope(zero) - 0.03, abs=0.012)  # the shelf's 0.5 mm
    assert toe_out.next.peak_toe_change_deg < 0.15


def test_the_readings_to_expect_are_in_the_gauge_s_own_numbers_and_units(demo_folder):
    case = exact_case(demo_folder, "lowered-strut")
    toe = np.radians([row.toe_change_deg for row in judged(case, [sweep_of(case)]).expected])
    true = Evaluator.of(case).toe(Settings.single(), TRAVEL / 1.0)[0]
    rows = np.column_stack([TRAVEL, 0.0 * TRAVEL, 500.0 * np.tan(true)]).tolist()
    dials = judged(case, [readings("two-dial", rows, noise=0.02)])
    assert [row.travel_mm for row in dials.expected] == TRAVEL.tolist()
    shown = [row.gauge for row in dials.expected]
    assert shown == pytest.approx((500.0 * np.tan(toe)).tolist(), abs=1e-2)
    assert (dials.gauge_shows.name, dials.gauge_shows.unit) == ("rear - front", "mm")
    inches = [[row[0] / 25.4, row[1] / 25.4, row[2] / 25.4] for row in rows]
    sweep = readings("two-dial", inches, units="in", spacing=500.0 / 25.4, noise=0.02 / 25.4)
    again = judged(case, [sweep])
    assert [row.gauge * 25.4 for row in again.expected] == pytest.approx(shown, abs=1e-6)
    assert again.gauge_shows.unit == "in"


def test_what_was_promised_for_the_next_stack_is_what_the_true_car_then_reads(demo_folder):
    case = read_case(demo_folder / "track-wishbone.toml")
    tape = Evaluator.of(case)
    true = true_car(tape, 8)
    answer = judged(case, [as_swept(true, TRAVEL)])
    fitted = Settings.single(answer.next.outer_drop_mm, answer.next.rack_raise_mm)
    then = np.degrees(true.toe(fitted, TRAVEL)[0])
    promised = [row.toe_change_deg for row in answer.expected]
    assert promised == pytest.approx((then - then[4]).tolist(), abs=0.05)
    assert peak_true(true, fitted) <= answer.next.peak_toe_change_95_deg


def peak_true(true, setting):
    return float(np.degrees(true.curve(setting).peak[0]))


def test_nothing_is_named_where_nothing_keeps_the_limits(demo_folder):
    text = file_text(demo_folder / "lowered-strut.toml")
    tight = text.replace("tilt_limit_deg = 22.0", "tilt_limit_deg = 0.1")
    assert tight != text
    case = case_from_toml(tight, "tight")
    answer = gauge(Vehicle((case,)), [sweep_of(case)])
    assert answer.wheels[0].next is None
    assert answer.wheels[0].expected == answer.cautions == []
    assert NOTHING_FITS in " ".join(gauge_report(answer, ["tight.toml"]).split())


def test_the_same_seed_gives_the_same_answer_and_another_hardly_another(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    sweep = sweep_of(case)
    first, again, other = (judged(case, [sweep], seed=seed) for seed in (0, 0, 1))
    assert first == again
    # 400 cars tell a 95 % bound to a few percent.
    bounds = [answer.next.peak_toe_change_95_deg for answer in (first, other)]
    assert bounds[0] == pytest.approx(bounds[1], rel=0.1)


def test_cars_that_can_t_follow_take_no_part_unless_they_are_many():
    peaks = np.ones((2, 100))
    peaks[0, :2], peaks[1, :10] = np.inf, np.inf
    assert expected_peaks(peaks).tolist() == [1.0, np.inf]


def test_no_hardware_leaves_the_seat_as_the_only_choice(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    bare = case.model_copy(
        update={
            "shelf": None,
            "outer_pivot": case.outer_pivot.model_copy(update={"stack": None}),
            "rack": case.rack.model_copy(update={"spacers": (0.0,)}),
        }
    )
    tape = Evaluator.of(bare)
    fit = fitted_points(tape, [swept(sweep_of(bare), tape).toe_seen()])
    chosen = next_stack(tape, fit, space_of(bare), Settings.single(), seed=0)
    assert chosen.stop
    assert chosen.pieces == ()
    assert chosen.peak == chosen.best_of_hardware


def test_one_shim_is_taken_for_several_where_no_gauge_could_tell_them_apart(demo_folder):
    case = exact_case(demo_folder, "track-wishbone")
    free = {"obstacles": (), "rack": case.rack.model_copy(update={"spacers": (0.0,)})}
    best = judged(case.model_copy(update=free), [sweep_of(case)]).next.outer_drop_mm
    assert best >= 4.0
    shims = [
        {"thickness": best + 0.1, "count": 1},
        {"thickness": best - 1.0, "count": 1},
        {"thickness": 1.0, "count": 3},
    ]
    shelf = Shelf.model_validate({"shims": shims})
    pivot = case.outer_pivot.model_copy(update={"stack": None})
    on_shelf = case.model_copy(update={**free, "shelf": shelf, "outer_pivot": pivot})
    answer = judged(on_shelf, [sweep_of(case)]).next
    assert answer.stack_mm == [best + 0.1]  # not best - 1 and 1, which would peak a hair lower
