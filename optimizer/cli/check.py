"""`pivotwright check CASE`: validate a case and explain every doubt."""

import argparse
import sys

from optimizer.cli.files_out import add_files_out, refuse_files_out
from optimizer.cli.options import (
    add_case,
    add_json,
    add_what_to_read,
    printed_as_json,
    with_what_to_read,
)
from optimizer.errors import file_name

SUMMARY = "validate and sanity-check a case; explain every doubt"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `check`."""
    add_case(parser)
    add_json(parser)
    add_what_to_read(parser)
    add_files_out(parser, ("page",))


def run(options: argparse.Namespace) -> int:
    """Print what the case says and what looks wrong."""
    from optimizer.answers.check import check
    from optimizer.files.case_file import read_car

    refuse_files_out(options, [options.case])
    vehicle = read_car(options.case)
    result = with_what_to_read(check(vehicle), vehicle, options)
    if not printed_as_json(options, result, result.subject):
        from optimizer.reports.terminal_check import check_report

        sys.stdout.write(check_report(result, file_name(options.case)))
    if options.page is not None:
        from optimizer.answers.pictures import views_of_wheels
        from optimizer.cli.files_out import source_of, write_page
        from optimizer.reports.pages.check import check_page

        drawn = views_of_wheels(vehicle.wheels)
        write_page(options.page, check_page(result, drawn, source_of(options.case)))
    return 0
