"""The command line as a parser: one command a module, and what all of them take."""

import argparse
import sys
from collections.abc import Collection, Sequence
from types import ModuleType
from typing import NoReturn

from optimizer.cli import (
    check,
    completion,
    curve,
    explain,
    gauge,
    new,
    reach,
    schema,
    screen,
    sheet,
    suggest,
    survey,
)
from optimizer.cli.lengths import WRITTEN
from optimizer.cli.meant import choice_meant, command_meant, option_meant
from optimizer.errors import PivotwrightError

COMMANDS = {
    "suggest": suggest,
    "curve": curve,
    "reach": reach,
    "screen": screen,
    "gauge": gauge,
    "sheet": sheet,
    "survey": survey,
    "check": check,
    "new": new,
    "explain": explain,
    "schema": schema,
    "completion": completion,
}
EXIT_CODES = (
    "Exit codes: 0 done; 1 done, but nothing buildable meets the limits and the tolerance, or "
    "a wheel has no pose at the height asked for; 2 the input is wrong, or the answer could not be "
    "written; 70 a fault of the program itself; 130 stopped by hand."
)
MISSING = {
    "CASE": ", a case file (`pivotwright new strut > my-car.toml` starts one)",
    "WHAT": ", a layout such as strut or double-wishbone, or readings, kits or survey",
    "KIND": ", case, kits, readings, survey or answer",
    "SHELL": ", bash, zsh or fish",
}
COLORS = ("auto", "always", "never")


class Parser(argparse.ArgumentParser):
    """A parser whose complaints are those of the program."""

    of_commands: dict[str, argparse.ArgumentParser]

    def error(self, message: str) -> NoReturn:
        """Say what is wrong in one line, and where to read what is right."""
        wanted = MISSING.get(message.removeprefix("the following arguments are required: "), "")
        raise PivotwrightError(f"{message}{wanted}; {self.prog} --help says more")

    def _check_value(self, action: argparse.Action, value: object) -> None:
        if action.choices is not None and value not in action.choices:
            told = choice_meant(str(value), [str(one) for one in action.choices])
            raise argparse.ArgumentError(action, told)


def parsed(given: Sequence[str]) -> argparse.Namespace:
    """What the arguments ask for; without any, for help."""
    complete()
    command = next((word for word in given if not word.startswith("-")), None)
    if command is not None and command not in COMMANDS:
        raise PivotwrightError(command_meant(command, list(COMMANDS)))
    parser = command_line([command])
    options, unknown = parser.parse_known_args(_signs_kept(given) or ["--help"])
    if unknown and command is not None:
        raise PivotwrightError(option_meant(unknown[0], command, command_line().of_commands))
    return options


def _signs_kept(given: Sequence[str]) -> list[str]:
    """Tie lengths below 0, such as -1/8, to the options that they follow: they are none."""
    words: list[str] = []
    for word in given:
        sized = WRITTEN.fullmatch(word)
        if sized and sized["sign"] == "-" and words and words[-1].startswith("--"):
            words[-1] = f"{words[-1]}={word}"
        else:
            words.append(word)
    return words


def complete() -> None:
    """Answer a shell that asks how a line may go on; `completion` tells it to."""
    from os import environ

    if "_ARGCOMPLETE" in environ:
        import argcomplete

        argcomplete.autocomplete(command_line())


def command_line(wanted: Collection[str | None] = COMMANDS) -> Parser:
    """The parser of every command, with the options of those that are wanted."""
    parser = Parser(
        prog="pivotwright",
        description="Find where the pivots of tie rod or toe link must sit so that the wheels do "
        "not steer themselves over bumps.",
        epilog=EXIT_CODES,
    )
    parser.add_argument("--version", action=Version, nargs=0, help="print the version, and stop")
    commands = parser.add_subparsers(metavar="COMMAND", required=True)
    for name, command in COMMANDS.items():
        summary = command.SUMMARY
        one = commands.add_parser(
            name, help=summary, description=f"{summary[0].upper()}{summary[1:]}."
        )
        if name in wanted:
            _add_options(one, command)
    parser.of_commands = dict(commands.choices)
    return parser


def _add_options(parser: argparse.ArgumentParser, command: ModuleType) -> None:
    """Those of a command, and what all of them take."""
    command.add_options(parser)
    parser.add_argument(
        "--color", choices=COLORS, default="auto", help="auto (only for a terminal)"
    )
    parser.add_argument(
        "--debug", action="store_true", help="show where a fault of the program came about"
    )
    parser.set_defaults(run=command.run)


class Version(argparse.Action):
    """Prints the version; it is looked up only then."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        """Print it."""
        from importlib.metadata import version

        sys.stdout.write(f"pivotwright {version('pivotwright')}\n")
        parser.exit()
