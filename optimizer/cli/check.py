"""`pivotwright check CASE`: validate a case and explain every doubt."""

import argparse
import sys

from optimizer.cli.options import add_case, add_json

SUMMARY = "validate and sanity-check a case; explain every doubt"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `check`."""
    add_case(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print what the case says and what looks wrong."""
    from optimizer.answers.plausibility import check, refuse_impossible
    from optimizer.answers.sides.check import check_both
    from optimizer.files.case_file import read_car
    from optimizer.models.case import Case
    from optimizer.models.together import CheckOfBothSides

    car = read_car(options.case)
    refuse_impossible(car, options.case)
    result = check(car) if isinstance(car, Case) else check_both(car)
    path = options.case.as_posix()
    if options.json:
        sys.stdout.write(result.model_dump_json(indent=2) + "\n")
    elif isinstance(result, CheckOfBothSides):
        from optimizer.reports.terminal_sides import check_both_report

        sys.stdout.write(check_both_report(result, path))
    else:
        from optimizer.reports.terminal import check_report

        sys.stdout.write(check_report(result, path))
    return 0
