"""The options of a ranking described, with what was proved of them."""

import numpy as np

from optimizer.answers.chances import chances
from optimizer.answers.options import described_option
from optimizer.models.setting import Ranked
from optimizer.models.suggest import Certificate
from optimizer.options.dimensions import OptionSpace
from optimizer.options.drawn import DrawnCars
from optimizer.options.ranking import Ranking
from optimizer.options.study.run import StudyOutcome
from optimizer.options.trade_offs import Rivals


def ranked_options(space: OptionSpace, ranking: Ranking, drawn: DrawnCars) -> list[Ranked]:
    """Describe the options of a ranking, those that fit first."""
    rivals = Rivals(space)
    options = [*ranking.fitting, *ranking.refused]
    for k, wheel in enumerate(space.wheels):
        wheel.find_clearances(np.unique([option.rows[k] for option in options]))
    how_sure = chances(space, options, drawn)
    return [
        Ranked(
            **dict(described_option(space, option)),
            rank=rank,
            leading=rank <= len(ranking.fitting) and space.peak(option) <= ranking.limit,
            is_as_is=option == space.as_is,
            unbeaten=rivals.unbeaten(option),
            chances=how_sure[rank - 1],
        )
        for rank, option in enumerate(options, start=1)
    ]


def certificate_of(space: OptionSpace, outcome: StudyOutcome) -> Certificate:
    """Say how far a ranking is proved."""
    best, found = (
        float(np.degrees(peak)) if np.isfinite(peak) else None
        for peak in (outcome.ranking.best_peak, outcome.best_peak)
    )
    counted = [lot for lot in space.lots if not space.hardware[lot.hardware].must_leave]
    return Certificate(
        kind="exhaustive",
        combinations=sum(lot.count for lot in counted),
        wheel_settings=[
            len(np.unique(np.concatenate([lot.rows[k] for lot in counted])))
            for k in range(len(space.wheels))
        ],
        solved_exactly=sum(int((~np.isnan(wheel.peak)).sum()) for wheel in space.wheels),
        best_peak_toe_change_deg=best,
        study_peak_toe_change_deg=found,
        study_gap_deg=None if best is None or found is None else found - best,
        study_trials=outcome.trials,
    )
