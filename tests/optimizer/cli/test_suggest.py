"""The command `suggest`, on a case of one wheel and of two: exit codes, options, progress."""

import re
import subprocess
import sys
from io import StringIO

import pytest

from optimizer.cli.progress import study_progress
from optimizer.files.case_file import read_car
from tests.optimizer.command_line import ROOT, WISHBONE, changed, run, strictly_json
from tests.optimizer.two_sided_cars import DEMO

CARS = pytest.mark.parametrize("car", [WISHBONE, DEMO], ids=["one wheel", "two"])


def printed(capsys, *arguments):
    """Standard output of the program where it went well."""
    assert run(*arguments) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def test_a_report_is_on_stdout_and_nothing_on_stderr(capsys, any_demo_car):
    assert run("suggest", any_demo_car) in (0, 1)
    out, err = capsys.readouterr()
    assert err == ""
    assert read_car(any_demo_car).case.name in out
    assert "\x1b" not in out


@CARS
def test_it_ends_with_1_where_nothing_buildable_fits(capsys, tmp_path, car):
    path = tmp_path / "binds.toml"
    path.write_text(
        changed(car, r"^outer = \{ tilt_limit_deg = .*", "outer = { tilt_limit_deg = 0.5 }")
    )
    assert run("suggest", path, "--json") == 1
    document = strictly_json(capsys.readouterr().out)
    assert not any(option["fits"] for option in document["ranked"])
    assert all(option["reasons"] for option in document["ranked"])
    assert document["certificate"]["best_peak_toe_change_deg"] is None
    assert run("suggest", path, "--verbose") == 1
    assert "none of them keeps every limit" in " ".join(capsys.readouterr().out.split())


@CARS
def test_a_custom_pivot_without_room_is_refused(capsys, tmp_path, car):
    path = tmp_path / "no-room.toml"
    path.write_text(re.sub(r"\[custom_pivot\].*\n(.+\n)+", "", car.read_text(encoding="utf-8")))
    assert run("suggest", path, "--custom") == 2
    out, err = capsys.readouterr()
    assert (out, "custom_pivot  must be given" in err) == ("", True)


@pytest.mark.parametrize("shown", [1, 3])
def test_it_shows_as_many_settings_as_asked_for(capsys, shown):
    ranked = strictly_json(printed(capsys, "suggest", WISHBONE, "--json", "--show", shown))[
        "ranked"
    ]
    assert sum(option["fits"] and not option["is_as_is"] for option in ranked) == shown


@CARS
def test_trials_bound_the_search_of_a_custom_pivot_alone(capsys, car):
    one, many = (printed(capsys, "suggest", car, "--trials", n) for n in (1, 99))
    assert one == many


@CARS
def test_a_study_is_kept_where_it_is_asked_for_and_resumed(capsys, tmp_path, car):
    path = tmp_path / "study.log"
    first, again = (
        strictly_json(printed(capsys, "suggest", car, "--json", "--study", path)) for _ in range(2)
    )
    assert path.stat().st_size > 0
    assert again["ranked"] == first["ranked"]
    assert again["certificate"]["study_trials"] >= first["certificate"]["study_trials"] > 0


def test_progress_is_shown_on_a_terminal_alone(monkeypatch):
    with study_progress() as progress:
        assert progress is None
    terminal = StringIO()
    terminal.isatty = lambda: True
    monkeypatch.setattr(sys, "stderr", terminal)
    monkeypatch.setenv("TERM", "xterm")
    with study_progress() as progress:
        progress(2, 5)
    assert "Searching" in terminal.getvalue()


def test_no_terminal_library_is_loaded_for_json():
    code = (
        "import sys; from optimizer.cli.main import main; "
        f"main(['suggest', {str(WISHBONE)!r}, '--json']); "
        "sys.exit(sum(name.partition('.')[0] == 'rich' for name in sys.modules))"
    )
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, cwd=ROOT, check=False)
    assert ended.returncode == 0
