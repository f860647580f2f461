"""Reports as deep as they are asked for: the verdict first, all of it only with --verbose."""

from collections.abc import Callable
from pathlib import Path

import pytest

from optimizer.cli.main import main
from optimizer.reports import terminal_parts

ROOT = Path(__file__).parents[3]
CASE, KITS = "cases/track-wishbone.toml", "cases/kits.toml"
SWEPT = ("cases/lowered-strut.toml", "cases/readings/lowered-strut.toml")
MOST_LINES = 60
HOW_SURE_LINES = 10  # the table of a gauge, two stages of three settings
MOST_VERDICT_LINES = 12  # below the two lines that name the car
COMMANDS = {
    "suggest": ("suggest", CASE),
    "suggest-quiet": ("suggest", CASE, "--quiet"),
    "suggest-verbose": ("suggest", CASE, "--verbose"),
    "suggest-kits": ("suggest", CASE, "--kits", KITS),
    "suggest-both": ("suggest", "cases/two-sided-wishbone.toml"),
    "curve": ("curve", CASE),
    "curve-with": ("curve", CASE, "--with", "drop 7.5, rack 4"),
    "explain": ("explain", "slope"),
    "reach": ("reach", CASE, "--kits", KITS),
    "gauge": ("gauge", *SWEPT),
    "gauge-verbose": ("gauge", *SWEPT, "--verbose"),
    "check": ("check", CASE),
    "sheet": ("sheet", CASE, "--text"),
    "survey": ("survey", "cases/surveys/inch-coupe.toml"),
    "survey-verbose": ("survey", "cases/surveys/inch-coupe.toml", "--verbose"),
}


@pytest.fixture
def printed(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., str]:
    """What a command prints where the terminal is so many columns wide."""
    monkeypatch.chdir(ROOT)

    def run(*arguments: str, width: int = terminal_parts.WIDTH) -> str:
        monkeypatch.setattr(terminal_parts, "WIDTH", width)
        assert main(arguments) in (0, 1)
        return capsys.readouterr().out

    return run


@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_prints_as_it_did_at_80_and_at_120_columns(
    name: str, width: int, printed: Callable[..., str], same_as_golden: Callable[[str, str], None]
) -> None:
    text = printed(*COMMANDS[name], width=width)
    if name != "sheet":  # a sheet of paper is as wide as it is
        assert max(map(len, text.splitlines())) <= width
    same_as_golden(f"{name}.{width}.txt", text)


@pytest.mark.parametrize("width", [80, 120])
def test_a_screening_prints_as_it_did(
    width: int,
    printed: Callable[..., str],
    same_as_golden: Callable[[str, str], None],
    tmp_path: Path,
) -> None:
    heights = ("--heights", "0:20:20", "--workers", "1")
    text = printed(
        "screen", CASE, SWEPT[0], "--kits", KITS, *heights, "--to", str(tmp_path), width=width
    )
    shown = " ".join(text.split()).replace(str(tmp_path), "FOLDER")
    assert shown.startswith("2 cars x 6 kits x 2 ride heights: 24 rows in FOLDER")
    lines = text[text.index("Cars that meet") :]  # what stands above is as long as the folder
    assert max(map(len, lines.splitlines())) <= width
    same_as_golden(f"screen.{width}.txt", lines)


def test_a_report_without_flags_is_short_on_every_demo_car(
    any_demo_car: Path, printed: Callable[..., str]
) -> None:
    assert len(printed("suggest", str(any_demo_car)).splitlines()) <= MOST_LINES


def test_the_verdict_of_every_demo_car_is_short_and_alone_with_quiet(
    any_demo_car: Path, printed: Callable[..., str]
) -> None:
    quiet = printed("suggest", str(any_demo_car), "--quiet")
    assert len(quiet.splitlines()) - 2 <= MOST_VERDICT_LINES
    assert printed("suggest", str(any_demo_car)).startswith(quiet)


def test_the_gauge_opens_with_its_verdict_and_is_short(printed: Callable[..., str]) -> None:
    quiet = printed("gauge", *SWEPT, "--quiet")
    assert len(quiet.splitlines()) - 2 <= MOST_VERDICT_LINES + 1
    whole = printed("gauge", *SWEPT)
    assert whole.startswith(quiet)
    assert len(whole.splitlines()) <= MOST_LINES + HOW_SURE_LINES


def test_number_1_of_the_ranking_takes_one_line_at_80_columns(
    any_demo_car: Path, printed: Callable[..., str]
) -> None:
    lines = printed("suggest", str(any_demo_car), width=80).splitlines()
    place = next(k for k, line in enumerate(lines) if line.lstrip().startswith(("1* ", "1  ")))
    assert lines[place + 1].lstrip().startswith(("2* ", "2  "))


def test_definitions_and_proof_wait_for_verbose(printed: Callable[..., str]) -> None:
    short, long = (
        " ".join(printed("suggest", CASE, *flags).split()) for flags in ((), ("--verbose",))
    )
    for words in ("Proof:", "SAE J1574", "Unchanged:", "What the car does now"):
        assert words in long
        assert words not in short
