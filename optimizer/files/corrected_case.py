"""A case file with its points corrected, every comment kept."""

from collections.abc import MutableMapping, Sequence
from typing import Any

import tomlkit

from optimizer.files.corrected_before import named
from optimizer.files.covariance_table import put_covariance
from optimizer.models.gauge import BeforeAlignment, GaugeResult
from optimizer.models.readings import Readings
from optimizer.units import MM_PER

NOTE = (
    "# Points corrected by gauge readings; the same readings would correct them twice, so don't "
    "give them again.\n"
)
ALIGNMENT_NOTE = (
    "# Camber and caster under [alignment] are what the same moves give the corrected points.\n"
)
LENGTHS_NOTE = "# Lengths measured beside the points; [accuracy] counts what they told.\n"
DECIMALS = {"mm": 2, "in": 4}
ROOT_DECIMALS = {"mm": 4, "in": 6}  # much of what readings say stands in small differences
ROOT_NOTE = "what tape and readings leave open together (see the guide of case files)"
ANGLE_DECIMALS = 4


def corrected_text(text: str, result: GaugeResult, readings: Sequence[Readings] = ()) -> str:
    """Text of the case file with the fitted points of each swept wheel in place of the measured.

    Where an alignment is asked for, they are those of the car before it is set.  The readings that
    corrected them are named, so that they are known when they are given again.  Lengths that count
    in what the accuracy then states become comments, so that they don't count twice.
    """
    document = tomlkit.parse(text)
    units, notes, told = result.subject.units, [NOTE], ""
    shared = "measured" in document and result.subject.both_wheels
    all_known = len(result.wheels) == len(result.subject.sides) and all(
        wheel.covariance_root for wheel in result.wheels
    )
    for wheel in result.wheels:
        own = document[wheel.side] if result.subject.both_wheels else document
        before = wheel.before_alignment
        for name, point in (before.points if before else wheel.fitted_points).items():
            if len(own["points"][name]) == 2:  # typed as seen from the front
                own["points"][name].insert(0, 0.0)
            for place, length in enumerate(point):
                value = round(length / MM_PER[units], DECIMALS[units])
                own["points"][name][place] = value + 0.0  # never -0.0
        if wheel.covariance_root and (all_known or not shared):
            told += _lengths_as_comments(own)
            put_covariance(
                own,
                wheel.covariance_root,
                units,
                decimals=ROOT_DECIMALS[units],
                note=ROOT_NOTE,
            )
        if wheel.contradictory:
            own.setdefault("accuracy", tomlkit.table())["contradicted"] = True
        if before is not None:
            _set_angles(own, before)
            notes += [ALIGNMENT_NOTE] if ALIGNMENT_NOTE not in notes else []
    told += _lengths_as_comments(document) if all_known else ""
    body = tomlkit.dumps(document)
    for note in (NOTE, ALIGNMENT_NOTE):
        body = body.removeprefix(note)
    notes += [f"{named(one)}: {one.name}\n" for one in readings]
    return "".join(notes) + body + told


def _lengths_as_comments(own: MutableMapping[str, Any]) -> str:
    """Take the lengths measured beside the points out of a table, as lines of comment."""
    if "measured" not in own:
        return ""
    text = tomlkit.dumps({"measured": own.pop("measured")}).strip()
    return "\n" + LENGTHS_NOTE + "".join(f"# {line}".rstrip() + "\n" for line in text.split("\n"))


def _set_angles(wheel: MutableMapping[str, Any], before: BeforeAlignment) -> None:
    """Ask for the angles that the same moves give; for this wheel alone, if both are measured."""
    if "alignment" not in wheel:
        wheel["alignment"] = tomlkit.table()
    for key in ("camber_deg", "caster_deg"):
        angle = getattr(before, key)
        if angle is not None:
            wheel["alignment"][key] = round(angle, ANGLE_DECIMALS) + 0.0
