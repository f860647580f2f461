"""Files that can't be written, or only in part: the answer stands, and nothing is half-written."""

import os
import resource
import subprocess
import sys

import pytest

from tests.optimizer.command_line import CASES, ROOT, STRUT, WISHBONE, everything_in, process

ROOM = 2048  # bytes that each file may hold


def on_a_full_disk(*command: object) -> subprocess.CompletedProcess[str]:
    """A run whose files can hold no more than so many bytes."""

    def fill() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (ROOM, ROOM))

    return subprocess.run(
        [sys.executable, "-B", "-m", "optimizer.cli", *map(str, command)],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
        preexec_fn=fill,
    )


def test_a_study_s_file_on_a_full_disk_costs_no_answer(tmp_path, row_of_trust):
    whole = process("suggest", WISHBONE, "--json").stdout
    place = tmp_path / "study.log"
    ended = on_a_full_disk("suggest", WISHBONE, "--json", "--study", place)
    row_of_trust("disk full, study in a file", 1, f"exit code {ended.returncode}", ended.returncode)
    assert ended.returncode == 0
    assert "the record could not be kept" in ended.stderr
    assert ended.stderr.count("\n") == 1
    told, wanted = (text.partition('"certificate"')[0] for text in (ended.stdout, whole))
    assert told == wanted
    assert process("suggest", WISHBONE, "--json", "--study", place).stdout == whole


SWEEP = CASES / "readings" / "lowered-strut.toml"
WRITES = {
    "a page": ("suggest", STRUT, "--page"),
    "rows as CSV": ("curve", STRUT, "--step", "0.5", "--csv"),
    "a drawing": ("curve", STRUT, "--plot"),
    "a corrected case": ("gauge", STRUT, SWEEP, "--write"),
}
ENDINGS = {"a page": "html", "rows as CSV": "csv", "a drawing": "svg", "a corrected case": "toml"}


@pytest.mark.parametrize("what", WRITES)
def test_a_file_is_written_whole_or_not_at_all(tmp_path, row_of_trust, what):
    out = tmp_path / f"out.{ENDINGS[what]}"
    ended = on_a_full_disk(*WRITES[what], out)
    row_of_trust(f"disk full, {what}", 1, f"exit code {ended.returncode}", ended.returncode != 2)
    assert ended.returncode == 2, ended.stderr
    assert "Traceback" not in ended.stderr
    assert everything_in(tmp_path) == {}


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="has no device that is always full")
@pytest.mark.parametrize("more", [(), ("--json",)], ids=["report", "JSON"])
def test_an_answer_to_a_full_disk_is_a_refusal(row_of_trust, more):
    with open("/dev/full", "w") as full:
        command = [sys.executable, "-m", "optimizer.cli", "check", str(STRUT), *more]
        ended = subprocess.run(
            command, stdout=full, stderr=subprocess.PIPE, text=True, cwd=ROOT, check=False
        )
    row_of_trust("disk full, stdout", 1, f"exit code {ended.returncode}", ended.returncode != 2)
    assert ended.returncode == 2
    assert "No space left on device" in ended.stderr
    assert ended.stderr.count("\n") == 1


@pytest.mark.skipif(sys.platform != "linux", reason="needs a folder that nobody may write to")
@pytest.mark.parametrize("what", WRITES)
def test_a_folder_that_is_read_only_is_named(row_of_trust, what):
    out = f"/proc/self/out.{ENDINGS[what]}"  # whoever asks: no mode stops the superuser
    ended = process(*WRITES[what], out)
    row_of_trust(f"read-only, {what}", 1, f"exit code {ended.returncode}", ended.returncode != 2)
    assert ended.returncode == 2
    assert out in ended.stderr
    assert "Traceback" not in ended.stderr
