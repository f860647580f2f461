"""The options of a ranking described, with what was proved of them."""

from collections.abc import Sequence

import numpy as np
from msgspec.structs import replace

from optimizer.answers.options import described_options
from optimizer.models.kits import Kit
from optimizer.models.setting import Ranked
from optimizer.models.suggest import Certificate, RankedBy, Surer
from optimizer.models.vehicle import Vehicle
from optimizer.options.chances import chances
from optimizer.options.dimensions import Option, OptionSpace, option_space
from optimizer.options.drawn import Criterion, DrawnCars, OverCars
from optimizer.options.ranking import Ranking, ranked
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
            **dict(described),
            rank=rank,
            leading=rank <= len(ranking.fitting) and space.peak(option) <= ranking.limit,
            is_as_is=option == space.as_is,
            unbeaten=rivals.unbeaten(option),
            chances=how_sure[rank - 1],
            ranked_peak_deg=_ranked_peak(space, option),
        )
        for rank, (option, described) in enumerate(
            zip(options, described_options(space, options), strict=True), start=1
        )
    ]


def _ranked_peak(space: OptionSpace, option: Option) -> float | None:
    peak = np.inf if space.over is None else space.peak(option)
    return float(np.degrees(peak)) if np.isfinite(peak) else None


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


def over_cars(criterion: Criterion, vehicle: Vehicle, drawn: DrawnCars) -> OverCars | None:
    """What ranks options by the possible cars; None where the car as measured decides."""
    if criterion == "nominal":
        return None
    return OverCars(criterion, drawn, vehicle.case.limits.kept_share)


def least_peak(ranked: Sequence[Ranked]) -> float | None:
    """Least peak, on the car as measured, of what is shown to fit; None where nothing does."""
    return min((row.peak_toe_change_deg for row in ranked if row.fits), default=None)


def surer_than_first(ranked: Sequence[Ranked], kept: float) -> Surer | None:
    """What keeps every limit in such a share of the possible cars, where number 1 does not."""
    first = ranked[0]
    if not first.fits or first.chances is None or _keeps(first, kept):
        return None
    others = (row.rank for row in ranked if row.fits and not row.is_as_is and _keeps(row, kept))
    return Surer(rank=next(others, None), limits_kept=kept)


def _keeps(row: Ranked, share: float) -> bool:
    return row.chances is not None and row.chances.keeps_limits_probability >= share


def ranked_by(
    vehicle: Vehicle, kits: Sequence[Kit], space: OptionSpace, ranking: Ranking, drawn: DrawnCars
) -> RankedBy:
    """Say by what options were ranked, and what the car as measured would have put first."""
    assert space.over is not None
    other = next(iter(ranked(option_space(vehicle, kits), 1).fitting), None)
    found = None
    if other is not None and other not in ranking.fitting[:1]:
        shown = [option for option in ranking.refused if option != other]
        *_, found = ranked_options(space, replace(ranking, refused=[*shown, other]), drawn)
    return RankedBy(
        criterion=space.over.criterion, limits_kept=space.over.kept, nominal_first=found
    )
