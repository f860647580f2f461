"""All that a page draws of a wheel, as data."""

from collections.abc import Sequence

import numpy as np

from geometry.toe_curve import toe_change
from optimizer.answers.expected import reading_heights
from optimizer.answers.limit_maps import limit_maps, tried_settings
from optimizer.answers.linkage_poses import linkage_poses
from optimizer.answers.uncertainty import tape_band
from optimizer.car.adjust import linkage_choice
from optimizer.car.alignment import aligned_case
from optimizer.car.evaluate import Evaluator
from optimizer.car.looked_at import listed
from optimizer.car.settings import Settings
from optimizer.models.case import Case
from optimizer.models.gauge import GaugeResult, WheelGauge
from optimizer.models.pictures import DrawnCurve, ToeOverTravel, WheelPictures, WheelViews
from optimizer.models.setting import Fitted
from optimizer.models.suggest import WheelAnswer
from optimizer.models.vehicle import Vehicle
from optimizer.options.candidates import Candidates
from optimizer.options.dimensions import OptionSpace
from optimizer.options.ranking import Ranking

BAND_SEED = 0
MOST_CURVES = 3  # beside number 1 and the car as it is


def with_pictures(
    answers: Sequence[WheelAnswer], space: OptionSpace, ranking: Ranking, seed: int
) -> list[WheelAnswer]:
    """Answers with what is drawn of each wheel, with number 1, or as it is where nothing fits."""
    drawn = ranking.fitting[: 1 + MOST_CURVES]
    return [
        answer.model_copy(
            update={"pictures": wheel_pictures(wheel, [option.rows[k] for option in drawn], seed)}
        )
        for k, (answer, wheel) in enumerate(zip(answers, space.wheels, strict=True))
    ]


def wheel_pictures(wheel: Candidates, ranked: Sequence[int], seed: int) -> WheelPictures:
    """What is drawn of one wheel, with the first of its `ranked` rows fitted."""
    shown = ranked[0] if ranked else wheel.left
    part = wheel.place(shown)[0]
    evaluator, setting = wheel.parts[part].evaluator, wheel.settings.rows(np.array([shown]))
    own, of_part = wheel.rows_of(part), int(shown - wheel.starts[part])
    return WheelPictures(
        **dict(views(evaluator, setting)) | {"tape": tape_band(evaluator, setting, seed)},
        travel_mm=evaluator.travel.tolist(),
        tolerance_deg=evaluator.case.aim.tolerance_deg,
        curves=[
            _curve(wheel, wheel.left, None),
            *(_curve(wheel, row, rank) for rank, row in enumerate(ranked, start=1)),
        ],
        settings=tried_settings(evaluator, wheel.settings.rows(own), of_part),
    )


def views(evaluator: Evaluator, setting: Settings) -> WheelViews:
    """A wheel's linkage and limits with one setting fitted."""
    return WheelViews(
        side=evaluator.case.side,
        linkage=linkage_poses(evaluator, setting),
        maps=limit_maps(evaluator, setting),
    )


def views_of_wheels(
    cases: Sequence[Case], settings: Sequence[Settings] | None = None
) -> list[WheelViews]:
    """Linkage and limits of each wheel with its own setting, or as it is; alignments are set."""
    if settings is None:
        settings = [Settings.single()] * len(cases)
    return [
        views(Evaluator.of(case), setting) for case, setting in zip(cases, settings, strict=True)
    ]


def views_of_next(vehicle: Vehicle, told: GaugeResult) -> list[WheelViews]:
    """Linkage and limits of each swept wheel at its corrected points, with the next stack."""
    cases = {case.side: case for case in vehicle.wheels}
    return [
        _view_of_next(aligned_case(cases[wheel.side]), wheel, wheel.next)
        for wheel in told.wheels
        if wheel.next is not None and wheel.side in cases
    ]


def _view_of_next(case: Case, wheel: WheelGauge, fitted: Fitted) -> WheelViews:
    place = linkage_choice(case, fitted.model_dump())
    known = {"covariance_root": wheel.covariance_root, "x": "measured"}
    now = {"points": case.points.model_copy(update=wheel.fitted_points)} | (
        {"accuracy": case.accuracy.model_copy(update=known)} if wheel.covariance_root else {}
    )
    evaluator = Evaluator.of(case.model_copy(update=now))
    setting = Settings.single(
        fitted.outer_drop_mm, fitted.rack_raise_mm, place, fitted.rack_fore_aft_mm
    )
    read = [row.travel_mm for row in wheel.expected]
    drawn = views(evaluator, setting).model_copy(
        update={"toe": _toe_between(evaluator, setting, read)}
    )
    if not wheel.covariance_root:
        return drawn
    band, wanted = tape_band(evaluator, setting, BAND_SEED), np.degrees(evaluator.wanted)
    whole = {
        "low_deg": (band.low_deg + wanted).tolist(),
        "high_deg": (band.high_deg + wanted).tolist(),
    }
    return drawn.model_copy(update={"tape": band.model_copy(update=whole)})


def _toe_between(evaluator: Evaluator, setting: Settings, read: list[float]) -> ToeOverTravel:
    """Toe change over the used travel, and at heights that were read."""
    travel = np.unique(np.round(np.append(reading_heights(evaluator.case), read), 6))
    toe = toe_change(travel, evaluator.toe(setting, travel)[0])
    return ToeOverTravel(travel_mm=travel.tolist(), toe_change_deg=listed(np.degrees(toe)))


def _curve(wheel: Candidates, row: int, rank: int | None) -> DrawnCurve:
    evaluator = wheel.parts[wheel.place(row)[0]].evaluator
    change = evaluator.toe_change(wheel.settings.rows(np.array([row])))
    return DrawnCurve(
        rank=rank, fitted=wheel.fitted(row), toe_change_deg=listed(np.degrees(change))
    )
