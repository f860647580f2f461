"""The program `pivotwright`: picks the command, turns mistakes into exit code 2."""

import argparse
import io
import os
import sys
from collections.abc import Sequence

from optimizer.cli import check, curve, gauge, new, reach, screen, sheet, suggest
from optimizer.errors import PivotwrightError

DONE, NOTHING_FITS, WRONG_INPUT, STOPPED = 0, 1, 2, 130

COMMANDS = {
    "suggest": suggest,
    "curve": curve,
    "reach": reach,
    "screen": screen,
    "gauge": gauge,
    "sheet": sheet,
    "check": check,
    "new": new,
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Those of the process if left out.

    Returns
    -------
    int
        0 done; 1 done, but nothing buildable meets the limits and the tolerance; 2 the input is
        wrong.
    """
    options = _parser().parse_args(arguments)
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a terminal may know fewer letters than a report
    try:
        code: int = options.run(options)
        sys.stdout.flush()
    except PivotwrightError as mistake:
        sys.stderr.write(f"{mistake}\n")
        return WRONG_INPUT
    except KeyboardInterrupt:
        sys.stderr.write("Stopped.\n")
        return STOPPED
    except BrokenPipeError:
        # The reader has gone (a pager closed, say); keep Python from saying so at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except OSError as fault:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.stderr.write(f"The answer could not be written: {fault.strerror}.\n")
        return WRONG_INPUT
    return code


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="pivotwright",
        description="Find where the pivots of tie rod or toe link must sit so that the wheels do "
        "not steer themselves over bumps.",
        epilog="Exit codes: 0 done; 1 done, but nothing buildable meets the limits and the "
        "tolerance; 2 the input is wrong.",
    )
    commands = parser.add_subparsers(metavar="COMMAND", required=True)
    for name, command in COMMANDS.items():
        summary = command.SUMMARY
        one = commands.add_parser(
            name, help=summary, description=f"{summary[0].upper()}{summary[1:]}."
        )
        command.add_options(one)
        one.set_defaults(run=command.run)
    return parser


if __name__ == "__main__":
    sys.exit(main())
