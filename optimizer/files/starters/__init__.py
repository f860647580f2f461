"""Commented starter cases, one for each layout: invented cars to be overwritten."""

from importlib.resources import files
from typing import get_args

from optimizer.errors import PivotwrightError
from optimizer.models.base import quoted
from optimizer.models.case import Layout


def starter_case(layout: str) -> str:
    """Text of a commented case file for a layout.

    Raises
    ------
    PivotwrightError
        If there is no starter for it.
    """
    layouts = get_args(Layout)
    if layout not in layouts:
        raise PivotwrightError(f"layout must be {' or '.join(layouts)}, got {quoted(layout)}")
    return (files("optimizer.files.starters") / f"{layout}.toml").read_text(encoding="utf-8")
