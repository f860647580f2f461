"""The base of all models, and what it makes of values that don't fit them.

Every model turns its own validation errors into `Fault`s in plain words before they leave it, so
that the model next further out only has to say where they are.
"""

import ast
import inspect
import json
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from difflib import get_close_matches
from functools import cache
from itertools import pairwise
from math import isfinite
from textwrap import dedent
from typing import Any, Self, TypeVar, get_args

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    ModelWrapValidatorHandler,
    ValidationError,
    ValidationInfo,
    model_validator,
)
from pydantic_core import ErrorDetails

from optimizer.errors import Fault
from optimizer.models.other_names import did_you_mean, reversed_key
from optimizer.units import Units, in_decimals

Key = TypeVar("Key", str, int)
Taken = TypeVar("Taken")
LONGEST_QUOTE = 60  # characters of a wrong value that a message repeats


class FaultList(ValueError):
    """Faults found by one validator, located from the value that it was given."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = list(faults)
        super().__init__("; ".join(f"{fault.location} {fault.message}" for fault in self.faults))


def refuse(faults: Iterable[Fault]) -> None:
    """Raise all faults that were found, if there are any."""
    if found := list(faults):
        raise FaultList(found)


def each_taken(
    typed: Iterable[tuple[Key, Any]], take: Callable[[Key, Any], Taken]
) -> dict[Key, Taken]:
    """What `take` makes of each value by its key or place; all that it refuses is named."""
    taken, found = {}, []
    for key, value in typed:
        try:
            taken[key] = take(key, value)
        except ValueError as error:
            found.append(Fault(location([key]), str(error)))
    refuse(found)
    return taken


def file_units(info: ValidationInfo) -> Units:
    """Name the units of the file that is being validated; millimeters where there is no file."""
    units: Units = (info.context or {}).get("units", "mm")
    return units


class FrozenModel(BaseModel):
    """Base of all models: can't be changed, takes no unknown keys, no NaN and no infinity."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        allow_inf_nan=False,
        validate_default=True,
        defer_build=True,
    )

    @classmethod
    def meaning_of(cls, field: str) -> str:
        """What a field's docstring says; read from the source only where a fault asks for it."""
        for base in cls.__mro__:
            if issubclass(base, FrozenModel) and field in _attribute_docstrings(base):
                return _attribute_docstrings(base)[field]
        raise KeyError(field)

    @model_validator(mode="wrap")
    @classmethod
    def _in_plain_words(
        cls, typed: Any, handler: ModelWrapValidatorHandler[Self], info: ValidationInfo
    ) -> Self:
        try:
            read = handler(typed)
        except ValidationError as error:
            order = list(typed) if isinstance(typed, Mapping) else []
            raise FaultList(faults_in(error, cls, order)) from None
        refuse(read._faults(file_units(info)))
        return read

    def _faults(self, units: Units) -> Iterable[Fault]:
        """What is wrong with values of which each by itself is right; in the file's units."""
        return ()


def as_empty() -> Any:
    """Read a table that is left out as if it stood there empty."""
    return Field(default_factory=dict)


@cache
def _attribute_docstrings(model: type) -> dict[str, str]:
    """Docstrings of a class's attributes: each the string that follows it."""
    (tree,) = ast.parse(dedent(inspect.getsource(model))).body
    assert isinstance(tree, ast.ClassDef)
    return {
        field.target.id: inspect.cleandoc(said.value.value)
        for field, said in pairwise(tree.body)
        if isinstance(field, ast.AnnAssign)
        and isinstance(field.target, ast.Name)
        and isinstance(said, ast.Expr)
        and isinstance(said.value, ast.Constant)
        and isinstance(said.value.value, str)
    }


def faults_in(
    error: ValidationError, model: type[FrozenModel], order: Sequence[str] = ()
) -> list[Fault]:
    """Say in plain words what a validation error holds.

    Parameters
    ----------
    error : ValidationError
        Raised by `model`.
    model : type of FrozenModel
        Its field docstrings explain missing keys, its field names unknown ones.
    order : sequence of str
        Keys as typed; faults come in this order, missing keys last.

    Returns
    -------
    list of Fault
        Located from `model`.
    """
    found = error.errors(include_url=False)
    place = {key: number for number, key in enumerate(order)}
    found.sort(key=lambda detail: place.get(str((*detail["loc"], "")[0]), len(place)))
    return [fault for detail in found for fault in _faults_of(detail, model)]


def _faults_of(detail: ErrorDetails, model: type[FrozenModel]) -> list[Fault]:
    here = location(detail["loc"])
    cause = detail.get("ctx", {}).get("error")
    if isinstance(cause, FaultList):
        return [fault.inside(here) for fault in cause.faults]
    return [Fault(here, _message(detail, model))]


def location(keys: Iterable[str | int]) -> str:
    """Write a path into a file as it is typed, list items counted from 1."""
    text = ""
    for key in keys:
        text += f"[{key + 1}]" if isinstance(key, int) else f".{_bare(key)}"
    return text.removeprefix(".")


def _bare(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]{1,60}", key) else quoted(key)


def _message(detail: ErrorDetails, model: type[FrozenModel]) -> str:
    kind, typed = detail["type"], detail["input"]
    key = str(detail["loc"][-1]) if detail["loc"] else ""
    if kind == "missing":
        return f"must be given\n({model.meaning_of(key)})"
    if kind == "extra_forbidden":
        return unknown_key(key, model.model_fields)
    if kind == "value_error":
        return str(detail["ctx"]["error"])
    if kind == "literal_error":
        expected = str(detail["ctx"]["expected"]).replace("'", '"')
        known = re.findall(r'"([^"]+)"', expected)
        return f"must be {expected}, got {quoted(typed)}{did_you_mean(typed, known)}"
    brackets = _brackets(key, kind, typed, model)
    return f"must be {KINDS.get(kind, 'of another kind')}, got {quoted(typed)}{brackets}"


def _brackets(key: str, kind: str, typed: Any, model: type[FrozenModel]) -> str:
    """Say which brackets a header takes, where it stands in those of the other kind."""
    if kind == "model_type" and isinstance(typed, list) and typed and isinstance(typed[0], Mapping):
        return "\n(its header stands once, in single brackets)"
    field = model.model_fields.get(key)
    of_tables = field is not None and _holds_a_table(field.annotation)
    if kind == "tuple_type" and isinstance(typed, Mapping) and of_tables:
        return f"\n(its header stands in double brackets, as often as need be: [[{key}]])"
    return ""


def _holds_a_table(annotation: Any) -> bool:
    """Whether a type is that of a table, or of several."""
    if isinstance(annotation, type):
        return issubclass(annotation, BaseModel)
    return any(map(_holds_a_table, get_args(annotation)))


KINDS = {
    "string_type": "text in quotes",
    "bool_type": "true or false",
    "int_type": "a whole number",
    "tuple_type": "a list [...]",
    "model_type": "a table",
}


def unknown_key(key: str, known: Iterable[str]) -> str:
    """Say that a key is not known, and which one may have been meant."""
    known = list(known)
    near = reversed_key(key, known) or next(
        iter(get_close_matches(key, known, n=1, cutoff=0.6)), None
    )
    if near:
        return f"is not a known key; did you mean {near}?"
    return f"is not a known key here\n(known: {', '.join(known)})"


def quoted(typed: object) -> str:
    """Repeat a value as it stands in the file, cut short if it is long."""
    text = _toml(typed)
    return text if len(text) <= LONGEST_QUOTE else text[: LONGEST_QUOTE - 3] + "..."


def _toml(typed: object) -> str:
    if isinstance(typed, bool):
        return str(typed).lower()
    if isinstance(typed, str):
        return json.dumps(typed[:LONGEST_QUOTE], ensure_ascii=not typed.isprintable())
    if isinstance(typed, Mapping):
        return "a table"
    if isinstance(typed, list | tuple):
        return f"[{', '.join(_toml(item) for item in typed[:LONGEST_QUOTE])}]"
    if isinstance(typed, int):
        return str(typed) if abs(typed) < 10**LONGEST_QUOTE else "a number too large to print"
    return str(typed)


def number(typed: object) -> float:
    """Take a finite number; true, false and text are none.

    Raises
    ------
    ValueError
        In plain words, for anything else.
    """
    if isinstance(typed, bool) or not isinstance(typed, int | float):
        raise ValueError(f"must be a number, got {quoted(typed)}{_as_a_number(typed)}")
    try:
        value = float(typed)
    except OverflowError:
        value = float("inf")
    if not isfinite(value):
        raise ValueError(f"must be a finite number, got {quoted(typed)}")
    return value


def _as_a_number(typed: object) -> str:
    """How a fraction in quotes is to be written."""
    decimals = in_decimals(typed) if isinstance(typed, str) else None
    return f"\n(in decimals and without quotes: {decimals})" if decimals else ""
