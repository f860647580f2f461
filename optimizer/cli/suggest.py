"""`pivotwright suggest CASE`: the main job."""

import argparse
import sys
from typing import TYPE_CHECKING

from optimizer.cli.options import add_case, add_json, add_kits, count, kits_of, seed

if TYPE_CHECKING:
    from optimizer.models.result import SuggestResult

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
    from optimizer.answers.plausibility import refuse_impossible
    from optimizer.answers.suggest import SuggestPlan, suggest
    from optimizer.cli.progress import study_progress
    from optimizer.files.case_file import read_car
    from optimizer.models.case import Case
    from optimizer.models.together import SuggestOfBothSides
    from optimizer.options.study.search import StudyPlan

    car = read_car(options.case)
    refuse_impossible(car, options.case)
    for case in (car,) if isinstance(car, Case) else car.wheels:
        if options.custom and case.custom_pivot is None:
            from optimizer.answers.custom import (
                missing_room,  # brings scipy.optimize, slow to import
            )
            from optimizer.errors import CaseFileError

            raise CaseFileError(options.case, [missing_room(case)])
    plan = SuggestPlan(
        StudyPlan(trials=options.trials, seed=options.seed, storage=options.study),
        options.show,
        options.custom,
    )
    kits = kits_of(options)
    with study_progress() as progress:
        result: SuggestResult
        if isinstance(car, Case):
            if kits is None:
                result = suggest(car, plan, progress)
            else:
                from optimizer.answers.kit_ranking import suggest_kits

                result = suggest_kits(car, kits, plan, progress)
        elif kits is None:
            from optimizer.answers.sides.suggest import suggest_both

            result = suggest_both(car, plan, progress)
        else:
            from optimizer.answers.sides.kit_ranking import suggest_kits_for_both

            result = suggest_kits_for_both(car, kits, plan, progress)
    path = options.case.as_posix()
    if options.json:
        sys.stdout.write(result.model_dump_json(indent=2) + "\n")
    elif isinstance(result, SuggestOfBothSides):
        from optimizer.reports.terminal_pair import suggest_both_report

        sys.stdout.write(suggest_both_report(result, path))
    else:
        from optimizer.reports.terminal import suggest_report

        sys.stdout.write(suggest_report(result, path))
    return 0 if _anything_fits(result) else 1


def _anything_fits(result: "SuggestResult") -> bool:
    """Whether anything fits; of both wheels at once, where both were measured."""
    from optimizer.models.together import SuggestOfBothSides

    if isinstance(result, SuggestOfBothSides):
        customs = (result.custom, result.right.custom)
        made = all(custom is not None and custom.fits for custom in customs)
        return made or any(pair.fits for pair in result.together.ranked)
    custom = [] if result.custom is None else [result.custom]
    return any(setting.fits for setting in [*result.ranked, *custom])
