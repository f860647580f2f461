"""`pivotwright gauge [CASE] READINGS…`: readings to a curve, and to the next stack."""

import argparse
import sys
from pathlib import Path

from optimizer.cli.options import add_json, seed

SUMMARY = "turn gauge readings into a toe curve, a corrected model and the next stack"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `gauge`."""
    parser.add_argument(
        "files",
        metavar="[CASE] READINGS",
        nargs="+",
        type=Path,
        help="case file, if there is one, then one or more readings files of the same wheel",
    )
    add_json(parser)
    parser.add_argument("--seed", type=seed, default=0, metavar="N", help="seed of the draw (0)")
    parser.add_argument(
        "--write", type=Path, metavar="FILE", help="write the corrected case, comments kept"
    )
    parser.add_argument(
        "--overwrite", action="store_true", help="let --write replace a file that exists"
    )


def run(options: argparse.Namespace) -> int:
    """Print what the readings say; 1 if nothing buildable fits."""
    from optimizer.case_file import read_case
    from optimizer.corrected_case import refuse_existing, write_corrected
    from optimizer.errors import PivotwrightError
    from optimizer.gauge.loop import gauge
    from optimizer.plausibility import refuse_impossible
    from optimizer.readings_file import read_readings
    from optimizer.toml_file import file_text, table_from_text

    first, *others = options.files
    is_case = "layout" in table_from_text(file_text(first), str(first))
    if is_case and not others:
        raise PivotwrightError("name one readings file or more after the case")
    case = read_case(first) if is_case else None
    if case is not None:
        refuse_impossible(case, first)
    if options.write is not None:
        refuse_existing(options.write, case, overwrite=options.overwrite)
    readings = [read_readings(path) for path in options.files[is_case:]]
    result = gauge(case, readings, seed=options.seed)
    if options.json:
        sys.stdout.write(result.model_dump_json(indent=2) + "\n")
    else:
        from optimizer.reports.terminal_gauge import gauge_report

        sys.stdout.write(gauge_report(result, [path.as_posix() for path in options.files]))
    if case is not None and options.write is not None:
        write_corrected(options.write, file_text(first), case, result)
    return 1 if case is not None and result.next is None else 0
