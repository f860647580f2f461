"""Cases, shelves and files that are far too large: answered in little memory, or refused."""

import subprocess
import sys
from pathlib import Path
from time import process_time

import numpy as np
import pytest

from optimizer.errors import LISTED, CaseFileError, Fault, PivotwrightError
from optimizer.files.case_file import read_case
from optimizer.gauging.measured import SAME_HEIGHT_MM, heights_read_both_ways
from optimizer.models.case import Case
from optimizer.models.hardware import Rack
from optimizer.models.shelf import OuterPivot, Shelf, Stack
from optimizer.models.stacks import buildable_stacks
from optimizer.models.vehicle import Vehicle
from optimizer.options.dimensions import option_space
from optimizer.options.study.run import StudyPlan, run_study

from .command_line import ROOT, STRUT, changed, run

TWENTY_KINDS = {
    "shims": [{"thickness": round(0.5 + 0.137 * k, 3), "count": 1000} for k in range(20)]
}


def car_with(shelf: object, stack: dict[str, float] | None) -> Case:
    limits = OuterPivot(stack=None if stack is None else Stack.model_validate(stack))
    known = None if shelf is None else Shelf.model_validate(shelf)
    return read_case(STRUT).model_copy(update={"shelf": known, "outer_pivot": limits})


def test_twenty_kinds_of_a_thousand_shims_are_listed_between_limits_by_height_alone():
    start = process_time()
    stacks = buildable_stacks(car_with(TWENTY_KINDS, {"min": 0.0, "max": 20.0}))
    assert process_time() - start < 10.0  # trying every number of every kind never ended
    heights = [stack.height for stack in stacks]
    assert len(set(heights)) == len(heights) > 2_000
    assert all(abs(sum(stack.pieces) - stack.height) < 1e-9 for stack in stacks)


def test_twenty_kinds_of_a_thousand_shims_without_limits_are_refused_with_the_number():
    start = process_time()
    with pytest.raises(PivotwrightError, match="builds more than 200000 different stacks"):
        buildable_stacks(car_with(TWENTY_KINDS, None))
    assert process_time() - start < 10.0


def test_stacks_of_pieces_past_counting_are_refused():
    two_kinds = {"shims": [{"thickness": t, "count": 440} for t in (1.0, 441.0)]}
    with pytest.raises(PivotwrightError, match=r"more than 5,000,000 pieces"):
        buildable_stacks(car_with(two_kinds, None))


def test_check_refuses_the_settings_that_suggest_refuses(tmp_path, capsys):
    case = tmp_path / "fine.toml"
    text = changed(STRUT, r"^stack = .*$", "stack = { min = 0.0, max = 49.9, step = 0.0005 }")
    text = text[: text.index("[shelf]")] + text[text.index("[custom_pivot]") :]
    spacers = [round(-5.0 + 0.5 * k, 1) for k in range(21)]
    case.write_text(text.replace("[-6.0, -3.0, 0.0, 3.0, 6.0]", str(spacers)), encoding="utf-8")
    told = []
    for command in ("check", "suggest"):
        assert run(command, case) == 2
        told.append(capsys.readouterr().err)
    assert told[0] == told[1]
    assert "allows 2,095,821 settings, more than 1,000,000" in told[0]


def test_eight_hundred_heights_of_the_rack_are_searched_in_proportion():
    case = car_with(None, {"min": 0.0, "max": 9.0, "step": 1.0})
    times = []
    for heights in (100, 800):
        rack = Rack(spacers=tuple(round(-40.0 + 0.1 * k, 1) for k in range(heights)))
        space = option_space(Vehicle((case.model_copy(update={"rack": rack}),)))
        start = process_time()
        run_study(space, StudyPlan(), 6)
        times.append(process_time() - start)
    assert times[1] < 16.0 * max(times[0], 0.1)


@pytest.mark.slow
@pytest.mark.skipif(
    sys.platform != "linux", reason="reads the peak of the memory as Linux tells it"
)
def test_a_million_settings_are_searched_in_400_mb(tmp_path):
    # Not getrusage: a child's ru_maxrss starts at the peak of the process that started it.
    case = tmp_path / "million.toml"
    text = changed(STRUT, r"^stack = .*$", "stack = { min = 0.0, max = 49.5, step = 0.0005 }")
    text = text[: text.index("[shelf]")] + text[text.index("[custom_pivot]") :]
    spacers = [-4.0 + k for k in range(10)]
    case.write_text(text.replace("[-6.0, -3.0, 0.0, 3.0, 6.0]", str(spacers)), encoding="utf-8")
    code = (
        "import sys; from optimizer.cli.main import main; main(sys.argv[1:]); "
        "status = open('/proc/self/status').read(); "
        "print(status.split('VmHWM:')[1].split()[0], file=sys.stderr)"
    )
    command = [sys.executable, "-c", code, "suggest", str(case), "--json"]
    ended = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=True)
    assert '"combinations": 990010' in ended.stdout
    assert int(ended.stderr.split()[-1]) * 1024 < 400e6


def test_a_file_lists_its_first_faults_and_counts_the_others():
    faults = [Fault(f"obstacles[{k}].kind", "must be known") for k in range(1, 1001)]
    told = str(CaseFileError(Path("car.toml"), faults)).splitlines()
    assert told[0] == "car.toml has 1000 faults:"
    assert len(told) == 1 + LISTED + 1
    assert told[-1] == f"  and {1000 - LISTED} more"
    few = str(CaseFileError(Path("car.toml"), faults[:LISTED])).splitlines()
    assert len(few) == 1 + LISTED


@pytest.mark.parametrize("seed", range(10))
def test_heights_read_both_ways_are_those_that_comparing_each_with_all_finds(seed):
    rng = np.random.default_rng(seed)
    travel = np.round(rng.uniform(-60.0, 60.0, 80), 1)
    stroke = rng.choice([-1.0, 1.0] if seed else [1.0], 80)
    up, down = travel[stroke > 0.0], travel[stroke < 0.0]
    near = [mm for mm in up if any(abs(mm - other) <= SAME_HEIGHT_MM for other in down)]
    assert heights_read_both_ways(travel, stroke) == len({round(mm) for mm in near})
