"""The program asks numpy for one thread, unless its user has asked for more."""

import os
import subprocess
import sys

import pytest

from tests.optimizer.command_line import ROOT

STARTED = """
import os, sys
from optimizer.cli.__main__ import start
sys.argv = ["pivotwright", "--version"]
try:
    start()
except SystemExit:
    pass
print(os.environ["OPENBLAS_NUM_THREADS"])
"""


@pytest.mark.parametrize(("asked", "given"), [({}, "1"), ({"OPENBLAS_NUM_THREADS": "2"}, "2")])
def test_numpy_works_on_one_thread_unless_told_otherwise(asked, given):
    kept = {name: value for name, value in os.environ.items() if not name.endswith("_THREADS")}
    ran = subprocess.run(
        [sys.executable, "-c", STARTED],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env=kept | asked,
        check=True,
    )
    assert ran.stdout.splitlines()[-1] == given
