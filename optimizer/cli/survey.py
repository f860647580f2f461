"""`pivotwright survey FILE`: points from tape, plumb line and level, and what to read again."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.cli.files_out import add_files_out, refuse_files_out
from optimizer.cli.options import add_depth, add_json, printed_as_json
from optimizer.errors import PivotwrightError, file_name

if TYPE_CHECKING:
    from optimizer.models.surveyed import SurveyAnswer

SUMMARY = "find the points from tape, plumb line and level, and what to read again"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `survey`."""
    parser.add_argument(
        "survey",
        metavar="FILE",
        type=Path,
        help="survey file (TOML); pivotwright new survey LAYOUT prints one to fill in",
    )
    add_json(parser)
    add_depth(parser)
    parser.add_argument(
        "--write", type=Path, metavar="CASE", help="write a case with these points and covariance"
    )
    parser.add_argument(
        "--case", type=Path, metavar="CASE", help="take all but the points from this case"
    )
    add_files_out(parser, ("sheet", "plan", "page"))


def run(options: argparse.Namespace) -> int:
    """Print where the points are, and what to read again."""
    from optimizer.files.survey_file import read_survey
    from optimizer.files.whole_file import refuse_file
    from optimizer.surveying.survey import survey

    if options.case is not None and options.write is None:
        raise PivotwrightError("--case: is what --write takes the rest from; say --write FILE too")
    if options.write is not None:
        refuse_file("--write", options.write, [options.survey], overwrite=options.overwrite)
    refuse_files_out(options, [options.survey])
    if options.sheet is not None:
        return _sheet(options)
    answer = survey(read_survey(options.survey), file_name(options.survey))
    _keep(options, answer)
    if not printed_as_json(options, answer, answer.subject):
        from optimizer.reports.terminal_survey import survey_report

        sys.stdout.write(
            survey_report(
                answer, file_name(options.survey), verbose=options.verbose, quiet=options.quiet
            )
        )
    return 0


def _sheet(options: argparse.Namespace) -> int:
    """Write the list to take along; there may be nothing read yet."""
    from optimizer.cli.files_out import write_file
    from optimizer.files.survey_file import read_survey
    from optimizer.files.usual_marks import usual_marks
    from optimizer.reports.survey_sheet import survey_sheet_html, survey_sheet_text

    for name in ("write", "plan", "page"):
        if getattr(options, name) is not None:
            raise PivotwrightError(f"--{name}: is of what was read; say it without --sheet")
    survey = read_survey(options.survey)
    as_text = options.sheet.suffix.lower() == ".txt"
    write_file(
        "sheet",
        options.sheet,
        survey_sheet_text(survey) if as_text else survey_sheet_html(survey, *usual_marks(survey)),
    )
    return 0


def _keep(options: argparse.Namespace, answer: "SurveyAnswer") -> None:
    """Write what is to be kept."""
    if options.plan is not None:
        from optimizer.cli.files_out import write_file
        from optimizer.reports.pages.floor_plan import floor_plan, plan_svg

        write_file("plan", options.plan, plan_svg(floor_plan(answer)))
    if options.page is not None:
        from optimizer.cli.files_out import source_of, write_page
        from optimizer.reports.pages.survey import survey_page

        write_page(options.page, survey_page(answer, source_of(options.survey)))
    if options.write is not None:
        from optimizer.cli.files_out import write_file
        from optimizer.wording.survey import written_with

        write_file("write", options.write, _case(options.case, answer))
        if told := written_with(answer):
            sys.stderr.write(f"{told}\n")


def _case(path: Path | None, answer: "SurveyAnswer") -> str:
    """Text of the case to write, which must be one."""
    from optimizer.files.case_file import car_from_toml, read_car
    from optimizer.files.surveyed_case import (
        case_with_survey,
        refuse_other_car,
        refuse_unsure_points,
        surveyed_case,
    )
    from optimizer.files.toml_file import file_text

    refuse_unsure_points(answer)
    if path is None:
        text = surveyed_case(answer)
    else:
        vehicle = read_car(path)
        refuse_other_car(vehicle, answer, file_name(path))
        text = case_with_survey(file_text(path), vehicle, answer)
    car_from_toml(text, "the case that these readings make")
    return text
