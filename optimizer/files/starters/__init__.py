"""Commented starter files, to be overwritten or filled in: cases, readings, kits and surveys."""

from importlib.resources import files
from typing import get_args

from optimizer.errors import PivotwrightError
from optimizer.models.base import quoted
from optimizer.models.gauge_kinds import Kind
from optimizer.models.other_names import did_you_mean
from optimizer.models.points import Layout

READINGS, KITS, SURVEY = "readings", "kits", "survey"
OF_KINDS = {READINGS: ("gauge", get_args(Kind)), SURVEY: ("layout", get_args(Layout))}


def starter(what: str, kind: str | None = None) -> str:
    """Text of a file: a case or a survey of a layout, readings of a kind of gauge, or kits.

    Raises
    ------
    PivotwrightError
        If there is no starter for it.
    """
    if what in OF_KINDS:
        of, kinds = OF_KINDS[what]
        if kind not in kinds:
            said = f"say which {of}" if kind is None else f"there is no {of} {quoted(kind)}"
            raise PivotwrightError(f"new {what}: {said}; there are {', '.join(kinds)}")
        beside = _text("beside-toe.toml") if what == READINGS else ""
        return _text(f"{what}/{kind}.toml") + beside
    known = (*get_args(Layout), READINGS, KITS, SURVEY)
    if what not in known:
        near = did_you_mean(what, known)
        raise PivotwrightError(f"new: must be {' or '.join(known)}, got {quoted(what)}{near}")
    if kind is not None:
        raise PivotwrightError(f"new {what}: takes nothing more, got {quoted(kind)}")
    return _text(f"{KITS}.toml") if what == KITS else starter_case(what)


def starter_case(layout: str) -> str:
    """Text of a commented case file for a layout.

    Raises
    ------
    PivotwrightError
        If there is no starter for it.
    """
    layouts = get_args(Layout)
    if layout not in layouts:
        raise PivotwrightError(
            f"layout must be {' or '.join(layouts)}, got {quoted(layout)}"
            f"{did_you_mean(layout, layouts)}"
        )
    return _text(f"{layout}.toml")


def _text(path: str) -> str:
    return (files("optimizer.files.starters") / path).read_text(encoding="utf-8")
