"""Points from a table in any axes and units, under the names that people use, as a case."""

import re
from math import isfinite
from pathlib import Path

import tomlkit

from optimizer.errors import CaseFileError, Fault, PivotwrightError
from optimizer.files.csv_rows import csv_rows
from optimizer.files.in_inches import in_inches
from optimizer.files.starters import starter_case
from optimizer.models.base import quoted
from optimizer.models.points import POINTS_OF_LAYOUT
from optimizer.units import MM_PER_INCH, Units

Triple = tuple[float, float, float]
Axes = tuple[str, str, str]
Rows = list[tuple[int, list[str]]]  # cells by the number of their line

MM_PER_TABLE_UNIT = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH, "ft": 12 * MM_PER_INCH}

# Where an axis may point, as an axis of ISO 8855 and a sign.
DIRECTIONS = {
    "forward": (0, 1.0),
    "rearward": (0, -1.0),
    "left": (1, 1.0),
    "right": (1, -1.0),
    "up": (2, 1.0),
    "down": (2, -1.0),
}

UNIT_WORDS = {name: name for name in MM_PER_TABLE_UNIT} | {
    "inch": "in",
    "inches": "in",
    "feet": "ft",
}

# Words that mean the same; common practice, no source.
SAME_WORD = {
    "lca": "lower arm",
    "uca": "upper arm",
    "lower control arm": "lower arm",
    "upper control arm": "upper arm",
    "lower wishbone": "lower arm",
    "upper wishbone": "upper arm",
    "lower a arm": "lower arm",
    "upper a arm": "upper arm",
    "bottom": "lower",
    "top wishbone": "upper arm",
    "fore": "front",
    "fwd": "front",
    "aft": "rear",
    "back": "rear",
    "lbj": "lower ball joint",
    "ubj": "upper ball joint",
    "balljoint": "ball joint",
    "lower arm outer": "lower ball joint",
    "upper arm outer": "upper ball joint",
    "lower outer": "lower ball joint",
    "upper outer": "upper ball joint",
    "lower front": "lower arm front",
    "lower rear": "lower arm rear",
    "upper front": "upper arm front",
    "upper rear": "upper arm rear",
    "track rod": "tie rod",
    "trackrod": "tie rod",
    "tierod": "tie rod",
    "toe link": "tie rod",
    "steering rod": "tie rod",
    "tre": "tie rod outer",
    "outer tie rod": "tie rod outer",
    "inner tie rod": "tie rod inner",
    "rack end": "tie rod inner",
    "rack": "tie rod inner",
    "tie rod end": "tie rod outer",
    "tie rod knuckle": "tie rod outer",
    "tie rod rack": "tie rod inner",
    "steering arm": "tie rod outer",
    "wheel centre": "wheel center",
    "hub center": "wheel center",
    "hub centre": "wheel center",
    "spindle": "wheel center",
    "hub": "wheel center",
    "top mount": "strut top",
    "strut mount": "strut top",
    "strut upper": "strut top",
    "strut lower": "strut axis",
    "strut bottom": "strut axis",
    "pitman": "drag link inner",
    "pitman ball": "drag link inner",
    "pitman arm": "drag link inner",
    "king pin": "kingpin",
    "cross rod": "cross rod end",
    "shackle pin": "shackle frame",
    "shackle eye": "shackle spring",
    "center bolt": "spring seat",
    "spring pad": "spring seat",
    "chassis": "inner",
    "frame": "inner",
    "subframe": "inner",
    "inboard": "inner",
    "upright": "outer",
    "knuckle": "outer",
    "outboard": "outer",
}


def axes_of(text: str) -> tuple[str, str, str]:
    """Read where a table's x, y and z point: "rearward, right, up".

    Raises
    ------
    PivotwrightError
        Where the three words do not name one direction of each axis of the car.
    """
    words = tuple(word for word in re.split(r"[\s,;/]+", text.strip().lower()) if word)
    known = [DIRECTIONS[word][0] for word in words if word in DIRECTIONS]
    if len(words) != 3 or sorted(known) != [0, 1, 2]:
        raise PivotwrightError(
            "--axes must say where x, y and z of the table point, one word each of "
            f"{', '.join(DIRECTIONS)}, got {quoted(text)}\n"
            "(for example: --axes forward,left,up, which are the axes of a case file)"
        )
    return words[0], words[1], words[2]


def axes_for(path: Path, rows: Rows, asked: str | None, unit: str) -> Axes:
    """Axes of a table's rows: as asked for, else as its heading says, else those of a case file.

    Raises
    ------
    CaseFileError
        Where the heading says something that is not understood, or another unit or other axes
        than are asked for.
    PivotwrightError
        Where what is asked for names no three axes.
    """
    line, cells = next(iter(rows), (1, [""]))
    cells = cells[1:] if _is_heading(cells) else []
    words = [re.findall(r"[a-z]+", cell.lower()) for cell in cells]
    ways = [[word for word in of if word in DIRECTIONS] for of in words]
    letters = [word for of in words for word in of if word in ("x", "y", "z")]
    units = {UNIT_WORDS[word] for of in words for word in of if word in UNIT_WORDS}
    wrong = None
    if letters and letters != ["x", "y", "z"]:
        wrong = "must head its columns x, y, z in this order"
    elif any(ways) and [len(of) for of in ways] != [1, 1, 1]:
        wrong = f"must say of each column where it points, one of {', '.join(DIRECTIONS)}"
    elif units - {unit}:
        wrong = f"must be of the unit asked for, {unit}; or say --points-unit"
    says = ",".join(of[0] for of in ways) if any(ways) and wrong is None else None
    axes = axes_of(asked or says or "forward,left,up")
    if says is not None and axes != axes_of(says):
        wrong = f"must point as --axes says, {','.join(axes)}"
    if wrong is not None:
        raise CaseFileError(
            path, [Fault(f"line {line}", f"{wrong}, got {quoted(','.join(cells))}")]
        )
    return axes


def points_from_table(path: Path, layout: str, asked: str | None, unit: str) -> dict[str, Triple]:
    """Read rows of name, x, y, z into the points of a layout, axes as in `axes_for`. [mm].

    Raises
    ------
    CaseFileError
        With every row that can't be read, every name that isn't known or comes twice, and every
        point that is missing.
    """
    starter_case(layout)  # says so where there is no such layout
    model = next(points for name, points in POINTS_OF_LAYOUT.items() if name == layout)
    wanted = list(model.model_fields)
    rows = csv_rows(path)
    axes = axes_for(path, rows, asked, unit)
    found: dict[str, Triple] = {}
    faults = []
    for line, cells in _of_points(path, rows):
        name = recognized(cells[0], wanted)
        if name is None and len(cells) == 1:
            faults.append(
                Fault(
                    f"line {line}",
                    "must be name, x, y, z with commas, semicolons or tabs between them, got "
                    f"{quoted(cells[0])}",
                )
            )
        elif name is None:
            faults.append(
                Fault(f"line {line}", f"names a point that is not known: {quoted(cells[0])}")
            )
        elif name in found:
            faults.append(Fault(f"line {line}", f"names {name} again: {quoted(cells[0])}"))
        else:
            try:
                found[name] = _placed(cells[1:], axes, MM_PER_TABLE_UNIT[unit])
            except ValueError as error:
                found[name] = (0.0, 0.0, 0.0)
                faults.append(Fault(f"line {line}", str(error)))
    missing = [name for name in wanted if name not in found]
    if missing:
        faults.append(Fault("missing", f"{', '.join(missing)}\n(name them so, or nearly so)"))
    if faults:
        raise CaseFileError(path, faults)
    return {name: found[name] for name in wanted}


def recognized(name: str, wanted: list[str]) -> str | None:
    """Name of the point that people mean by `name`, None where that is not clear."""
    text = " ".join(re.findall(r"[a-z]+|\d+", name.lower()))
    text = re.sub(r"\b(left|right|lh|rh|l|r|fl|fr|point|pivot|joint center|pt)\b", " ", text)
    for phrase in ["", *sorted(SAME_WORD, key=len, reverse=True)]:
        text = re.sub(rf"\b{phrase}\b", SAME_WORD[phrase], text) if phrase else text
        words = sorted({*text.split()})
        if point := next((one for one in wanted if sorted(one.split("_")) == words), None):
            return point
    return None


def case_from_table(
    path: Path, layout: str, asked: str | None, unit: str, of_case: Units = "mm"
) -> str:
    """Text of a starter case whose points come from a table of lengths in `unit`.

    With the axes that are `asked` for, or else those that its heading says.
    """
    starter = starter_case(layout)
    document = tomlkit.parse(in_inches(starter) if of_case == "in" else starter)
    table = tomlkit.table()
    table.add(
        tomlkit.comment(f"These points are from {quoted(path.name)}; the rest of the file is")
    )
    table.add(tomlkit.comment("still the invented car's: overwrite it."))
    for name, point in points_from_table(path, layout, asked, unit).items():
        table[name] = list(point) if of_case == "mm" else [round(x / MM_PER_INCH, 4) for x in point]
    document["points"] = table
    return tomlkit.dumps(document)


def _of_points(path: Path, rows: Rows) -> Rows:
    """Rows of points, a heading left out."""
    if not rows:
        raise CaseFileError(path, [Fault("", "is empty; it must hold rows of name, x, y, z")])
    return rows[1:] if _is_heading(rows[0][1]) else rows


def _is_heading(cells: list[str]) -> bool:
    return not re.search(r"\d", "".join(cells[1:]))


def _placed(cells: list[str], axes: Axes, mm: float) -> Triple:
    if len(cells) != 3:
        hint = "\n(numbers with decimal commas need semicolons between the cells)"
        raise ValueError(
            f"must be name, x, y, z, got {len(cells) + 1} cells{hint if len(cells) > 3 else ''}"
        )
    point = [0.0, 0.0, 0.0]
    for word, cell in zip(axes, cells, strict=True):
        try:
            value = float(cell.replace(",", "."))
        except ValueError:
            raise ValueError(f"must hold three numbers, got {quoted(cell)}") from None
        if not isfinite(value):
            raise ValueError(f"must hold three finite numbers, got {quoted(cell)}")
        axis, sign = DIRECTIONS[word]
        point[axis] = sign * value * mm
    return point[0], point[1], point[2]
