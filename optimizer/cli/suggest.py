"""`pivotwright suggest CASE`: the main job."""

import argparse
import sys

from optimizer.cli.options import add_case, add_json, add_kits, count, kits_of, seed

SUMMARY = "search, prove and rank what to fit"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Take the options of `suggest`."""
    add_case(parser)
    add_json(parser)
    add_kits(parser)
    parser.add_argument(
        "--trials", type=count, default=60, metavar="N", help="trials of the study (60)"
    )
    parser.add_argument("--seed", type=seed, default=0, metavar="N", help="seed of the study (0)")
    parser.add_argument(
        "--study",
        metavar="FILE",
        help="keep the study in this file and resume it; or a database URL that machines share",
    )
    parser.add_argument(
        "--show", type=count, default=6, metavar="N", help="settings that fit to show (6)"
    )
    parser.add_argument(
        "--custom",
        action="store_true",
        help="also find a pivot made to measure, within the case's [custom_pivot] room",
    )


def run(options: argparse.Namespace) -> int:
    """Print the ranked answer; 1 if nothing fits."""
    from optimizer.case_file import read_case
    from optimizer.cli.progress import study_progress
    from optimizer.plausibility import refuse_impossible
    from optimizer.search.study import StudyPlan
    from optimizer.suggest import SuggestPlan, suggest

    case = read_case(options.case)
    refuse_impossible(case, options.case)
    if options.custom and case.custom_pivot is None:
        from optimizer.custom import missing_room  # brings scipy.optimize, slow to import
        from optimizer.errors import CaseFileError

        raise CaseFileError(options.case, [missing_room(case)])
    plan = SuggestPlan(
        StudyPlan(trials=options.trials, seed=options.seed, storage=options.study),
        options.show,
        options.custom,
    )
    kits = kits_of(options)
    with study_progress() as progress:
        if kits is None:
            result = suggest(case, plan, progress)
        else:
            from optimizer.kit_ranking import suggest_kits

            result = suggest_kits(case, kits, plan, progress)
    if options.json:
        sys.stdout.write(result.model_dump_json(indent=2) + "\n")
    else:
        from optimizer.reports.terminal import suggest_report

        sys.stdout.write(suggest_report(result, options.case.as_posix()))
    found = [*result.ranked, *([] if result.custom is None else [result.custom])]
    return 0 if any(setting.fits for setting in found) else 1
