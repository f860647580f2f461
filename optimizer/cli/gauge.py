"""`pivotwright gauge [CASE] READINGS…`: readings to a curve, and to the next stack."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.cli.files_out import add_files_out, refuse_files_out
from optimizer.cli.lengths import add_lengths, in_millimeters, length
from optimizer.cli.options import add_depth, add_json, printed_as_json, seed
from optimizer.errors import PivotwrightError, file_name

if TYPE_CHECKING:
    from optimizer.models.gauge import GaugeResult
    from optimizer.models.pictures import WheelViews
    from optimizer.models.readings import Readings
    from optimizer.models.vehicle import Vehicle

GUESSED = (
    "are a guess: the readings contradict those of the case; the file says so, and --overwrite "
    "takes a better one"
)
SUMMARY = "turn gauge readings into a toe curve, a corrected model and the next stack"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `gauge`."""
    parser.add_argument(
        "files",
        metavar="[CASE] READINGS",
        nargs="+",
        type=Path,
        help="case file, if there is one, then one or more readings files of its wheel or wheels",
    )
    add_json(parser)
    parser.add_argument(
        "--csv-anywhere",
        action="store_true",
        help="let readings_csv name a file that is not beside or below its readings file",
    )
    add_files_out(parser, ("page", "csv", "plot"))
    add_depth(parser)
    parser.add_argument("--seed", type=seed, default=0, metavar="N", help="seed of the draw (0)")
    add_lengths(
        parser,
        [("--lowered-by", length, "judge the car so much lower than swept, without a case (0)")],
    )
    parser.add_argument(
        "--write", type=Path, metavar="FILE", help="write the corrected case, comments kept"
    )


def run(options: argparse.Namespace) -> int:
    """Print what the readings say.

    1 with a case of which nothing that can be built keeps the limits and meets what is wanted;
    without one nothing is proved, so that is 0.
    """
    from optimizer.files.case_file import read_car
    from optimizer.files.corrected_before import refuse_corrected_by, refuse_to_write
    from optimizer.files.readings_file import (
        holds_no_readings,
        read_readings,
        refuse_twice,
        with_named_csv,
    )
    from optimizer.files.toml_file import file_text, table_from_text
    from optimizer.gauging.loop import gauge

    refuse_twice(options.files)
    first, *others = options.files
    table = table_from_text(file_text(first), str(first))
    if not others and holds_no_readings(table):
        return _worth(options)
    is_case = "layout" in table
    if is_case and not others:
        raise PivotwrightError("name one readings file or more after the case")
    vehicle = read_car(first) if is_case else None
    sweeps = options.files[is_case:]
    held = with_named_csv(sweeps)
    if options.write is not None:
        refuse_to_write(options.write, vehicle, held, overwrite=options.overwrite)
    refuse_files_out(options, [first, *held])
    readings = [read_readings(path, csv_anywhere=options.csv_anywhere) for path in sweeps]
    if vehicle is not None:
        refuse_corrected_by(first, file_text(first), readings)
    in_millimeters(options, readings[0].units)
    if vehicle is not None and options.lowered_by is not None:
        raise PivotwrightError(
            "--lowered-by: the case says at which height the car stands; see [ride]"
        )
    answer = gauge(
        vehicle,
        readings,
        seed=options.seed,
        lowered_by=options.lowered_by or 0.0,
        stages=options.verbose or options.json or options.page is not None,
    )
    _tell(options, vehicle, readings, answer)
    found = [one.next for one in answer.wheels]
    met = all(one is not None and one.meets for one in found)
    return 0 if vehicle is None or met else 1


def _tell(
    options: argparse.Namespace,
    vehicle: "Vehicle | None",
    readings: "list[Readings]",
    answer: "GaugeResult",
) -> None:
    """Write what is to be kept, then print."""
    from optimizer.cli.files_out import write_file
    from optimizer.files.toml_file import file_text

    first = options.files[0]
    if vehicle is not None and options.write is not None:
        from optimizer.files.corrected_case import corrected_text

        write_file("write", options.write, corrected_text(file_text(first), answer, readings))
        if any(wheel.contradictory for wheel in answer.wheels):
            sys.stderr.write(f"--write: the points in {file_name(options.write)} {GUESSED}\n")
    if options.csv is not None:
        from optimizer.reports.csv_rows import converted_csv

        write_file("csv", options.csv, converted_csv(answer))
    drawn = _drawn(options, vehicle, answer)
    if options.plot is not None:
        from optimizer.cli.files_out import write_plot
        from optimizer.reports.pages.gauge import gauge_figures

        write_plot(options.plot, gauge_figures(answer, drawn))
    if not printed_as_json(options, answer, answer.subject):
        from optimizer.reports.terminal_gauge import gauge_brief, gauge_report

        paths = [file_name(path) for path in options.files]
        by_points = any(wheel.fitted_points for wheel in answer.wheels)
        if options.quiet or (by_points and not options.verbose):
            sys.stdout.write(gauge_brief(answer, paths, quiet=options.quiet))
        else:
            sys.stdout.write(gauge_report(answer, paths, every_row=options.verbose))
    if options.page is not None:
        from optimizer.cli.files_out import source_of, write_page
        from optimizer.reports.pages.gauge import gauge_page

        write_page(options.page, gauge_page(answer, drawn, source_of(*options.files)))


def _drawn(
    options: argparse.Namespace, vehicle: "Vehicle | None", answer: "GaugeResult"
) -> "list[WheelViews]":
    """What is drawn of each wheel, where anything is."""
    if vehicle is None or (options.page is None and options.plot is None):
        return []
    from optimizer.answers.pictures import views_of_next

    return views_of_next(vehicle, answer)


def _worth(options: argparse.Namespace) -> int:
    """Print what a shim is worth, where there are lengths and no readings."""
    from optimizer.files.readings_file import read_lengths
    from optimizer.gauging.worth import worth

    for name in ("write", "csv", "page", "plot", "lowered_by"):
        if getattr(options, name) is not None:
            option = f"--{name.replace('_', '-')}"
            raise PivotwrightError(f"{option}: {options.files[0]} holds no readings")
    answer = worth(read_lengths(options.files[0]))
    if not printed_as_json(options, answer, answer.subject):
        from optimizer.reports.terminal_gauge import worth_report

        sys.stdout.write(worth_report(answer))
    return 0
