"""A case with the points of a survey and their covariance, all else kept."""

from collections.abc import MutableMapping
from math import hypot
from typing import Any

import tomlkit

from optimizer.errors import PivotwrightError
from optimizer.files.covariance_table import put_covariance
from optimizer.files.in_inches import in_inches
from optimizer.files.starters import starter_case
from optimizer.models.accuracy import WORST_ACCURACY_MM
from optimizer.models.surveyed import SurveyAnswer
from optimizer.models.vehicle import Vehicle
from optimizer.units import MM_PER, Units, short_length

POINT_DECIMALS: dict[Units, int] = {"mm": 1, "in": 3}
ROOT_DECIMALS: dict[Units, int] = {"mm": 2, "in": 4}
NOTE = "# Points and their covariance are from a survey by tape, plumb line and level.\n"
INVENTED = "# All but points, accuracy and tire_radius is still the invented car's: overwrite it.\n"
ROOT_NOTE = "how errors of the points hang together, from the survey (see the guide of case files)"


def refuse_other_car(vehicle: Vehicle, answer: SurveyAnswer, path: str) -> None:
    """Stop where a survey is of another layout or wheel than the case that it is to go into.

    Raises
    ------
    PivotwrightError
        Names both.
    """
    side, layout = answer.subject.sides[0], answer.subject.layout
    if vehicle.case.layout != layout:
        raise PivotwrightError(f"--case {path}: is a {vehicle.case.layout}, the survey {layout}")
    if not any(case.side == side for case in vehicle.wheels):
        raise PivotwrightError(f"--case {path}: has no {side} wheel, which the survey is of")


def refuse_unsure_points(answer: SurveyAnswer) -> None:
    """Stop where a point is known too badly for any case.

    Raises
    ------
    PivotwrightError
        Names the worst one.
    """
    spreads = {
        name: max(hypot(*row) for row in rows) for name, rows in answer.covariance_root.items()
    }
    worst = max(spreads, key=spreads.__getitem__)
    if spreads[worst] > WORST_ACCURACY_MM:
        sure = short_length(spreads[worst], answer.subject.units)
        raise PivotwrightError(
            f"--write: {worst} is known to {sure} alone (one standard deviation), too badly for a "
            "case; settle what survey asks to look at again, then write it"
        )


def surveyed_case(answer: SurveyAnswer) -> str:
    """Text of the layout's starter case with what was surveyed in its place."""
    starter = starter_case(answer.subject.layout)
    units = answer.subject.units
    document = tomlkit.parse(in_inches(starter) if units == "in" else starter)
    document["name"] = answer.subject.name
    _put(document, answer, units)
    center = next(point.at_mm[2] for point in answer.points if point.name == "wheel_center")
    document["wheel"]["tire_radius"] = _rounded(center, units)
    return NOTE + INVENTED + tomlkit.dumps(document)


def case_with_survey(text: str, vehicle: Vehicle, answer: SurveyAnswer) -> str:
    """Text of a case file with what was surveyed in the place of its points, comments kept."""
    document = tomlkit.parse(text)
    own: Any = document[answer.subject.sides[0]] if vehicle.both_wheels else document
    _put(own, answer, vehicle.case.units)
    return NOTE + tomlkit.dumps(document).removeprefix(NOTE)


def _put(own: MutableMapping[str, Any], answer: SurveyAnswer, units: Units) -> None:
    for point in answer.points:
        own["points"][point.name] = [_rounded(x, units) for x in point.at_mm]
    put_covariance(
        own, answer.covariance_root, units, decimals=ROOT_DECIMALS[units], note=ROOT_NOTE
    )


def _rounded(length_mm: float, units: Units) -> float:
    return round(length_mm / MM_PER[units], POINT_DECIMALS[units]) + 0.0
