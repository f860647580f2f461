"""Processor time and peak memory of the whole program on very large files."""

import subprocess
import sys
from pathlib import Path
from time import perf_counter

import numpy as np
import pytest

ROOT = Path(__file__).parents[2]
CASES = ROOT / "cases"
TUBES, ROWS = 5_000, 10_000
TOLD = """
import sys
from pathlib import Path
from time import process_time
from optimizer.cli.main import main
main(sys.argv[1:])
peak = Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]
print(process_time(), int(peak) / 1024, file=sys.stderr)
"""
TUBE = """
[[obstacles]]
kind = "tube"
name = "tube {number}"
fixed_to = "chassis"
start = {start}
end = {end}
diameter = 10.0
"""
pytestmark = [
    pytest.mark.benchmark(timer=perf_counter),
    pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="reads memory in /proc"),
]


def run(*command: object) -> tuple[float, float]:
    """Processor time [s] and peak memory [MB] of a run."""
    ended = subprocess.run(
        [sys.executable, "-c", TOLD, *map(str, command), "--json"],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=True,
    )
    seconds, peak = map(float, ended.stderr.split()[-2:])
    return seconds, peak


def test_a_car_among_very_many_tubes(benchmark, row_of_table, tmp_path):
    rng, path = np.random.default_rng(8), tmp_path / "tubes.toml"
    low, high = np.array([[-400.0, 200.0, 300.0], [400.0, 700.0, 700.0]])
    starts = rng.uniform(low, high, (TUBES, 3)).round(1)
    ends = (starts + rng.uniform(-50.0, 50.0, (TUBES, 3))).round(1)
    tubes = "".join(
        TUBE.format(number=k, start=start.tolist(), end=end.tolist())
        for k, (start, end) in enumerate(zip(starts, ends, strict=True))
    )
    path.write_text((CASES / "track-wishbone.toml").read_text("utf-8") + tubes, "utf-8")
    seconds, peak = benchmark.pedantic(run, ("suggest", path), rounds=1)
    row_of_table(f"suggest among {TUBES:,} tubes", f"{seconds:.1f} s", "<= 4 s")
    row_of_table("  peak memory", f"{peak:.0f} MB", "< 400 MB")


def test_a_sweep_of_very_many_rows(benchmark, row_of_table, tmp_path):
    rng, path = np.random.default_rng(8), tmp_path / "rows.toml"
    text = (CASES / "readings" / "lowered-strut.toml").read_text("utf-8")
    travel = rng.uniform(-60.0, 50.0, ROWS).round(2)
    front, rear = (
        (a * travel**2 + b * travel + rng.normal(0.0, 0.03, ROWS)).round(2)
        for a, b in ((-8e-4, 0.01), (-8e-4, -0.1))
    )
    rows = np.stack([travel, front, rear], axis=1).tolist()
    path.write_text(f"{text[: text.index('readings =')]}readings = {rows}\n", "utf-8")
    words = ("gauge", CASES / "lowered-strut.toml", path)
    seconds, peak = benchmark.pedantic(run, words, rounds=1)
    row_of_table(f"gauge of {ROWS:,} rows", f"{seconds:.1f} s", "<= 2 s")
    row_of_table("  peak memory", f"{peak:.0f} MB", "< 300 MB")
