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
    from optimizer.case_file import read_case
    from optimizer.plausibility import check, refuse_impossible

    case = read_case(options.case)
    refuse_impossible(case, options.case)
    result = check(case)
    if options.json:
        sys.stdout.write(result.model_dump_json(indent=2) + "\n")
    else:
        from optimizer.reports.terminal import check_report

        sys.stdout.write(check_report(result, options.case.as_posix()))
    return 0
