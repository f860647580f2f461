"""`pivotwright suggest CASE`: the main job."""

import argparse
import sys
from typing import TYPE_CHECKING

from optimizer.cli.files_out import add_files_out, refuse_files_out
from optimizer.cli.options import (
    add_case,
    add_depth,
    add_json,
    add_kits,
    add_rank_by,
    add_what_to_read,
    count,
    kits_for,
    printed_as_json,
    seed,
    with_what_to_read,
)
from optimizer.errors import CaseFileError, PivotwrightError, file_name

if TYPE_CHECKING:
    from optimizer.answers.suggest import SuggestPlan
    from optimizer.models.suggest import SuggestResult
    from optimizer.models.vehicle import Vehicle

SUMMARY = "search, prove and rank what to fit"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `suggest`."""
    add_case(parser)
    add_json(parser)
    add_files_out(parser, ("page", "csv", "plot", "drawing"))
    add_depth(parser)
    add_kits(parser)
    parser.add_argument(
        "--trials",
        type=count,
        default=60,
        metavar="N",
        help="trials of the search for a custom pivot (60); what can be listed needs no limit",
    )
    parser.add_argument(
        "--seed",
        type=seed,
        default=0,
        metavar="N",
        help="seed of that search, and of how sure an answer is (0)",
    )
    parser.add_argument(
        "--study",
        metavar="FILE",
        help="keep the study in this file and resume it; or a database URL that machines share",
    )
    parser.add_argument(
        "--show", type=count, default=6, metavar="N", help="settings that fit to show (6)"
    )
    add_rank_by(parser)
    add_what_to_read(parser)
    parser.add_argument(
        "--custom",
        action="store_true",
        help="also find a pivot made to measure, within the case's [custom_pivot] room",
    )


def run(options: argparse.Namespace) -> int:
    """Print the ranked answer; 1 if nothing that fits meets the tolerance."""
    from optimizer.answers.suggest import suggest
    from optimizer.cli.progress import study_progress
    from optimizer.files.case_file import read_car

    refuse_files_out(options, [options.case, options.kits])
    vehicle = read_car(options.case)
    if options.drawing is not None and not options.custom:
        raise PivotwrightError("--drawing: is of a pivot made to measure; say --custom too")
    if options.custom:
        _refuse_without_room(vehicle, options)
    kits = kits_for(vehicle, options)
    with study_progress() as progress:
        result = suggest(vehicle, kits.kits, _plan(options), progress, currency=kits.currency)
    result = with_what_to_read(result, vehicle, options)
    if not printed_as_json(options, result, result.subject):
        sys.stdout.write(_report(options, result))
    _keep(options, result)
    found = result.verdict
    by_custom = any(way.kind == "custom" and way.meets for way in found.ways_out)
    return 0 if found.meets or by_custom else 1


def _keep(options: argparse.Namespace, result: "SuggestResult") -> None:
    """Write the files that are asked for."""
    from optimizer.cli.files_out import (
        source_of,
        write_drawing,
        write_file,
        write_page,
        write_plot,
    )

    if options.csv is not None:
        from optimizer.reports.csv_rows import ranking_csv

        write_file("csv", options.csv, ranking_csv(result))
    if options.plot is not None:
        from optimizer.reports.pages.suggest import suggest_figures

        write_plot(options.plot, suggest_figures(result))
    if options.drawing is not None:
        write_drawing(options.drawing, result)
    if options.page is not None:
        from optimizer.reports.pages.suggest import suggest_page

        write_page(options.page, suggest_page(result, source_of(options.case, options.kits)))


def _report(options: argparse.Namespace, result: "SuggestResult") -> str:
    """The report as deep as was asked for."""
    from optimizer.reports.terminal_brief import brief_report, verdict_report
    from optimizer.reports.terminal_suggest import suggest_report

    case = file_name(options.case)
    if options.verbose:
        return suggest_report(result, case)
    kits = None if options.kits is None else file_name(options.kits)
    return (verdict_report if options.quiet else brief_report)(result, case, kits)


def _refuse_without_room(vehicle: "Vehicle", options: argparse.Namespace) -> None:
    """Stop where a case states no room for the custom pivot that is asked for."""
    for case in vehicle.wheels:
        if case.custom_pivot is None:
            from optimizer.answers.custom import missing_room  # brings highspy

            raise CaseFileError(options.case, [missing_room(case)])


def _plan(options: argparse.Namespace) -> "SuggestPlan":
    from optimizer.answers.suggest import SuggestPlan
    from optimizer.options.study.run import StudyPlan

    pictures = options.page is not None or options.plot is not None
    study = StudyPlan(trials=options.trials, seed=options.seed, storage=options.study)
    return SuggestPlan(
        study,
        options.show,
        options.custom,
        pictures=pictures,
        criterion=options.rank_by,
    )
