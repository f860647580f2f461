"""What pivotwright answers, as functions: the library face, imported only as far as it is used.

>>> from optimizer import read_case, suggest
>>> suggest(read_case("cases/track-wishbone.toml")).ranked[0].wheels[0].outer_drop_mm
7.5
"""

from collections.abc import Callable, Collection, Sequence
from functools import wraps
from importlib import import_module
from numbers import Real
from types import UnionType
from typing import TYPE_CHECKING, Any, get_args, get_origin

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


WANTED = {  # what is passed for an argument, where a slip is easy
    "vehicle": "what read_case gives",
    "kits": "a list of kits, such as read_kits(FILE).kits",
    "readings": "a list of what read_readings gives, one for each sweep",
    "lowered_by": "a number, for reach a list of numbers",
    "read": "what read_survey gives",
}


def __getattr__(name: str) -> Any:
    if name not in ROOMS:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found = getattr(import_module(ROOMS[name]), NAMES.get(name, name))
    return found if isinstance(found, type) else _at_the_door(found)


def _at_the_door(function: Callable[..., Any]) -> Callable[..., Any]:
    """The function, once every argument is of the kind that its annotation says."""
    from inspect import signature
    from reprlib import repr as shown

    asked = signature(function)

    @wraps(function)
    def checked(*positional: Any, **named: Any) -> Any:
        for name, value in asked.bind(*positional, **named).arguments.items():
            if name in WANTED and not _is_a(value, asked.parameters[name].annotation):
                from optimizer.errors import PivotwrightError

                raise PivotwrightError(f"{name} must be {WANTED[name]}, got {shown(value)}")
        return function(*positional, **named)

    return checked


def _is_a(value: Any, kind: Any) -> bool:
    """Whether a value is of an annotated kind."""
    if get_origin(kind) is UnionType:
        return any(_is_a(value, one) for one in get_args(kind))
    if get_origin(kind) is Sequence:
        listed = isinstance(value, Collection) and not isinstance(value, str)
        return listed and all(_is_a(one, get_args(kind)[0]) for one in value)
    return isinstance(value, Real if kind is float else kind)
