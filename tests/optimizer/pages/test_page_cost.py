"""What a page costs beside the answer that it shows."""

import os
import subprocess
import sys

import pytest

from tests.optimizer.command_line import ROOT

TIMES = 3.0


def processor_time(*arguments):
    """Of the whole program. [s]."""
    before = os.times()
    command = [sys.executable, "-m", "optimizer.cli", *map(str, arguments)]
    ended = subprocess.run(command, cwd=ROOT, capture_output=True, check=False)
    assert ended.returncode in (0, 1)
    after = os.times()
    used = (
        after.children_user - before.children_user,
        after.children_system - before.children_system,
    )
    return sum(used)


@pytest.mark.slow
def test_a_page_costs_at_most_three_times_the_plain_answer(any_demo_car, tmp_path):
    page = tmp_path / "page.html"
    plain, drawn = [], []
    for _ in range(3):
        plain.append(processor_time("suggest", any_demo_car))
        drawn.append(processor_time("suggest", any_demo_car, "--page", page, "--overwrite"))
    assert min(drawn) <= TIMES * min(plain)
