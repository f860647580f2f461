"""Many cars, kits and ride heights by the command, here and in processes that die."""

import csv
import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from optimizer.answers.reach import reach
from optimizer.files.case_file import read_car
from optimizer.files.kits import read_kits
from tests.optimizer.command_line import CASES, ROOT, changed, run, strictly_json

from .many_cars import KITS, kept, times_kept, write_cars

HEIGHTS = "0:40:20"
BAND = "band = [[-40.0, -0.1, 0.1], [0.0, 0.0, 0.0], [40.0, -0.1, 0.1]]"


def screen(folder: Path, *more: object) -> int:
    return run("screen", *more, "--kits", KITS, "--heights", HEIGHTS, "--to", folder)


@pytest.fixture
def cars(tmp_path: Path) -> Path:
    write_cars(tmp_path / "cars", 3)
    return tmp_path / "cars"


def test_a_row_is_what_reach_answers_for_that_car_kit_and_height(tmp_path, capsys):
    case = CASES / "two-sided-wishbone.toml"
    assert screen(tmp_path / "to", case, "--workers", 1) == 0
    kits = read_kits(KITS).kits
    answer = reach(read_car(case), [0.0, 20.0, 40.0], kits)
    rows = kept(tmp_path / "to")
    assert len(rows) == len(answer.heights) == 3 * len(kits)
    for row, expected in zip(rows, answer.heights, strict=True):
        of_row = {key: value for key, value in row.items() if key in dict(expected)}
        told = json.loads(expected.model_dump_json())
        wheels, expected_wheels = of_row.pop("wheels"), told.pop("wheels")
        assert of_row == {key: told[key] for key in of_row}
        for wheel, expected_wheel in zip(wheels, expected_wheels, strict=True):
            same = wheel.keys() & expected_wheel.keys()
            assert {"side", "outer_drop_mm", "stack_mm"} <= same
            assert {key: wheel[key] for key in same} == {key: expected_wheel[key] for key in same}


def test_the_csv_holds_every_row_of_the_record_with_a_column_a_figure(tmp_path, cars):
    screen(tmp_path / "to", cars, CASES / "two-sided-wishbone.toml", "--workers", 1)
    with (tmp_path / "to" / "rows.csv").open(encoding="utf-8", newline="") as file:
        table = list(csv.DictReader(file))
    rows = kept(tmp_path / "to")
    assert len(table) == len(rows) == 4 * 6 * 3
    for cells, row in zip(table, rows, strict=True):
        assert (cells["case"], cells["kit"]) == (row["case"], row["kit"])
        assert float(cells["lowered_by_mm"]) == row["lowered_by_mm"]
        assert cells["reachable"] == str(row["reachable"]).lower()
        assert cells["blocked_by"] == " ".join(row["blocked_by"])
        wheels = [cells["outer_drop_mm"], cells["right_outer_drop_mm"]][: len(row["wheels"])]
        assert wheels == [
            "" if wheel["outer_drop_mm"] is None else str(wheel["outer_drop_mm"])
            for wheel in row["wheels"]
        ]


def test_one_bad_case_is_reported_and_skipped(tmp_path, cars, capsys):
    broken = changed(cars / "car-002.toml", r"^bump *=.*$", "bump = -4.0")
    (cars / "car-002.toml").write_text(broken, encoding="utf-8")
    (cars / "car-004.toml").write_text("layout = ", encoding="utf-8")
    (cars / "notes.toml").write_text("a = 1\n", encoding="utf-8")
    assert screen(tmp_path / "to", cars, "--workers", 1, "--json") == 0
    out, err = capsys.readouterr()
    summary = strictly_json(out)
    assert summary["cars"] == 2
    assert {Path(one["case"]).name for one in summary["refused"]} == {
        "car-002.toml",
        "car-004.toml",
    }
    assert "ride.bump" in err
    assert "is not TOML" in err
    assert {Path(row["case"]).name for row in kept(tmp_path / "to")} == {
        "car-001.toml",
        "car-003.toml",
    }


def test_nothing_but_bad_cases_is_wrong_input(tmp_path, capsys):
    (tmp_path / "bad.toml").write_text("layout = 3", encoding="utf-8")
    assert screen(tmp_path / "to", tmp_path / "bad.toml", "--workers", 1) == 2
    assert "None of the cars could be screened." in capsys.readouterr().err


def test_a_run_that_screens_no_car_leaves_no_folder_behind(tmp_path, capsys):
    to = tmp_path / "some" / "where"
    assert screen(to, tmp_path / "nothere", "--workers", 1) == 2
    assert screen(to, CASES / "track-wishbone.toml", "--scheduler", "off") == 2
    assert list(tmp_path.iterdir()) == []
    of_mine = tmp_path / "mine"
    of_mine.mkdir()
    assert screen(of_mine, tmp_path / "nothere", "--workers", 1) == 2
    assert list(of_mine.iterdir()) == []


def test_a_file_in_the_place_of_the_folder_is_said_to_be_one(tmp_path, capsys):
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    for to in (tmp_path / "file", tmp_path / "file" / "within"):
        assert screen(to, CASES / "track-wishbone.toml", "--workers", 1) == 2
        assert f"--to {to}: a file is in the way; name a folder" in capsys.readouterr().err
    assert (tmp_path / "file").read_text(encoding="utf-8") == "mine"


def test_one_place_is_told_as_one(tmp_path, capsys):
    one = ("screen", CASES / "track-wishbone.toml", "--kits", KITS, "--heights", "0:0:5")
    run(*one, "--to", tmp_path / "to", "--workers", 1)
    said = capsys.readouterr().out
    assert "Of 1 place 1 (100 %) can be met" in said
    assert "\n\n\n" not in said


def test_ride_heights_are_told_in_the_unit_that_was_asked_for(tmp_path, capsys):
    asked = ("screen", CASES / "track-wishbone.toml", "--kits", KITS, "--workers", 1)
    run(*asked, "--heights", "0:1:0.5in", "--to", tmp_path / "in")
    said = capsys.readouterr().out
    assert "by kit and ride height (in lower than measured)" in said
    assert re.search(r"height +at all +0 +0\.5 +1\n", said)
    assert [row["lowered_by_mm"] for row in kept(tmp_path / "in")[::6]] == [0.0, 12.7, 25.4]
    run(*asked, "--heights", "0:20:20", "--to", tmp_path / "mm")
    assert "by kit and ride height (mm lower than measured)" in capsys.readouterr().out


def test_a_band_that_is_wanted_is_said_to_count(tmp_path, cars, capsys):
    text = changed(CASES / "track-wishbone.toml", r"^\[aim\]$", f"[aim]\n{BAND}")
    (tmp_path / "band.toml").write_text(text, encoding="utf-8")
    screen(tmp_path / "to", cars, tmp_path / "band.toml", "--workers", 1)
    said = " ".join(capsys.readouterr().out.split())
    assert "A band is wanted of 1 car: peaks count from its middle, and at each height" in said
    screen(tmp_path / "without", cars, "--workers", 1)
    assert "A band" not in capsys.readouterr().out


def test_two_processes_keep_the_same_rows_in_the_same_order_as_one(tmp_path, cars):
    screen(tmp_path / "one", cars, "--workers", 1)
    screen(tmp_path / "two", cars, "--workers", 2)
    first = (tmp_path / "one" / "rows.jsonl").read_bytes()
    assert (tmp_path / "two" / "rows.jsonl").read_bytes() == first
    assert (tmp_path / "two" / "rows.csv").read_bytes() == (
        tmp_path / "one" / "rows.csv"
    ).read_bytes()


def test_a_run_goes_on_from_a_torn_record_and_does_nothing_twice(tmp_path, cars, capsys):
    to = tmp_path / "to"
    screen(to, cars, "--workers", 1)
    whole = (to / "rows.jsonl").read_bytes()
    each = 6 * 3
    lines = whole.splitlines(keepends=True)
    (to / "rows.jsonl").write_bytes(b"".join(lines[: each + 5]) + lines[each + 5][:40])
    capsys.readouterr()
    assert screen(to, cars, "--workers", 1) == 0
    assert "1 car is in" in capsys.readouterr().err
    assert (to / "rows.jsonl").read_bytes() == whole


@pytest.mark.parametrize(
    ("written", "changed_to"),
    [
        (b'"peak_toe_change_deg"', b'"peek_toe_change_deg"'),
        (b'"kit":"Short', b'"kit":"Shirt'),
        (b'"wheels":[{', b'"wheels":[3,{'),
        (b'"lowered_by_mm":0.0', b'"lowered_by_mm":1.0'),
        (b'"digest":"', b'"digest":"0'),
        (b'"tolerance_deg":', b'"tolerance_deg":NaN,"was":'),
    ],
)
def test_a_car_whose_rows_were_changed_by_hand_is_screened_anew(
    tmp_path, cars, capsys, written, changed_to
):
    to = tmp_path / "to"
    screen(to, cars, "--workers", 1)
    whole = (to / "rows.jsonl").read_bytes()
    first, rest = whole.splitlines(keepends=True)[: 6 * 3], whole.splitlines(keepends=True)[6 * 3 :]
    altered = b"".join(first).replace(written, changed_to, 1)
    assert altered != b"".join(first)
    (to / "rows.jsonl").write_bytes(altered + b"".join(rest))
    capsys.readouterr()
    assert screen(to, cars, "--workers", 1) == 0
    assert "2 cars are in" in capsys.readouterr().err
    assert sorted((to / "rows.jsonl").read_bytes().splitlines()) == sorted(whole.splitlines())


def test_a_car_that_has_changed_since_is_screened_anew(tmp_path, cars, capsys):
    to = tmp_path / "to"
    screen(to, cars, "--workers", 1)
    before = kept(to)
    (cars / "car-002.toml").write_text(
        changed(cars / "car-002.toml", r"^lowered_by *=.*$", "lowered_by = 11.0"), encoding="utf-8"
    )
    capsys.readouterr()
    screen(to, cars, "--workers", 1)
    assert "2 cars are in" in capsys.readouterr().err
    after = kept(to)
    assert set(times_kept(to).values()) == {1}
    assert len(after) == len(before)
    digests = [{row["case"]: row["digest"] for row in rows} for rows in (before, after)]
    new = [case for case, digest in digests[0].items() if digests[1][case] != digest]
    assert [Path(case).name for case in new] == ["car-002.toml"]


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (("--heights", "0:10:10"), "other kits, heights or another version"),
        ((), "holds rows of 1 other car,"),
    ],
)
def test_a_folder_of_something_else_is_left_as_it_is(tmp_path, cars, capsys, more, told):
    to = tmp_path / "to"
    screen(to, cars, "--workers", 1)
    before = {path.name: path.read_bytes() for path in to.iterdir()}
    fewer = [cars / "car-001.toml", cars / "car-002.toml"]
    arguments = ["screen", *fewer, "--kits", KITS, "--heights", HEIGHTS, "--to", to, *more]
    assert run(*arguments) == 2
    assert told in capsys.readouterr().err
    assert {path.name: path.read_bytes() for path in to.iterdir()} == before


def test_a_folder_serves_one_run_at_a_time(tmp_path, cars, capsys):
    fcntl = pytest.importorskip("fcntl")
    to = tmp_path / "to"
    screen(to, cars, "--workers", 1)
    with (to / "rows.jsonl").open("ab") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        assert screen(to, cars, "--workers", 1) == 2
    assert "another run is writing there" in capsys.readouterr().err


def children_of(process: int) -> list[int]:
    """Worker processes of a run."""
    found = []
    for status in Path("/proc").glob("[0-9]*/stat"):
        try:
            parent = int(status.read_text().rpartition(")")[2].split()[1])
            command = (status.parent / "cmdline").read_bytes()
        except OSError:
            continue
        if parent == process and b"spawn_main" in command:
            found.append(int(status.parent.name))
    return found


def started(to: Path, cars: Path) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "optimizer.cli", "screen", cars, "--kits", KITS]
    more = ["--heights", HEIGHTS, "--to", to, "--workers", "2"]
    return subprocess.Popen(
        [*map(str, command), *map(str, more)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def wait_for_rows(to: Path) -> None:
    until = time.monotonic() + 60.0
    while not ((to / "rows.jsonl").exists() and (to / "rows.jsonl").stat().st_size):
        assert time.monotonic() < until
        time.sleep(0.02)


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="finds worker processes in /proc")
def test_no_row_is_lost_or_doubled_where_a_worker_process_is_killed(tmp_path):
    write_cars(tmp_path / "cars", 12)
    screen(tmp_path / "expected", tmp_path / "cars", "--workers", 2)
    to = tmp_path / "to"
    program = started(to, tmp_path / "cars")
    wait_for_rows(to)
    os.kill(children_of(program.pid)[0], signal.SIGKILL)
    _, err = program.communicate(timeout=120)
    assert program.returncode == 0, err
    assert (to / "rows.jsonl").read_bytes() == (tmp_path / "expected/rows.jsonl").read_bytes()


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="finds worker processes in /proc")
def test_a_killed_run_leaves_no_workers_behind_and_is_gone_on_with(tmp_path):
    write_cars(tmp_path / "cars", 12)
    to = tmp_path / "to"
    program = started(to, tmp_path / "cars")
    wait_for_rows(to)
    workers = children_of(program.pid)
    program.kill()
    program.communicate()
    until = time.monotonic() + 20.0
    while any(Path(f"/proc/{one}/cmdline").exists() for one in workers):
        assert time.monotonic() < until, "a worker outlives the run"
        time.sleep(0.05)
    assert screen(to, tmp_path / "cars", "--workers", 2) == 0
    assert set(times_kept(to).values()) == {1}
    assert len(kept(to)) == 12 * 6 * 3
