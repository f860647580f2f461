"""What pivotwright answers, as functions: the library face, imported only as far as it is used.

>>> from optimizer import read_case, suggest
>>> suggest(read_case("cases/track-wishbone.toml")).ranked[0].wheels[0].outer_drop_mm
7.5
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from optimizer.answers.check import check
    from optimizer.answers.curve import curve
    from optimizer.answers.reach import reach
    from optimizer.answers.suggest import suggest
    from optimizer.errors import PivotwrightError
    from optimizer.files.case_file import read_car as read_case
    from optimizer.files.kits import read_kits
    from optimizer.files.readings_file import read_readings
    from optimizer.files.survey_file import read_survey
    from optimizer.gauging.loop import gauge
    from optimizer.surveying.survey import survey

__all__ = [
    "PivotwrightError",
    "check",
    "curve",
    "gauge",
    "reach",
    "read_case",
    "read_kits",
    "read_readings",
    "read_survey",
    "suggest",
    "survey",
]

ROOMS = {
    "PivotwrightError": "optimizer.errors",
    "check": "optimizer.answers.check",
    "curve": "optimizer.answers.curve",
    "gauge": "optimizer.gauging.loop",
    "reach": "optimizer.answers.reach",
    "read_case": "optimizer.files.case_file",
    "read_kits": "optimizer.files.kits",
    "read_readings": "optimizer.files.readings_file",
    "read_survey": "optimizer.files.survey_file",
    "suggest": "optimizer.answers.suggest",
    "survey": "optimizer.surveying.survey",
}
NAMES = {"read_case": "read_car"}  # where a room calls it otherwise


def __getattr__(name: str) -> Any:
    if name not in ROOMS:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(ROOMS[name]), NAMES.get(name, name))
