"""Two-sided cars for tests: the demo car, mirror images, and those with one thing spoiled."""

import re
from collections.abc import Iterator
from pathlib import Path

from optimizer.files.case_file import car_from_toml, case_from_toml
from optimizer.models.case import Case
from optimizer.models.kits import Kit
from optimizer.models.vehicle import Vehicle

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "cases" / "two-sided-wishbone.toml"
MIRRORED = ROOT / "tests" / "optimizer" / "good_cases" / "both_sides.toml"
DEMO_TEXT = DEMO.read_text(encoding="utf-8")
MIRRORED_TEXT = MIRRORED.read_text(encoding="utf-8")
LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9


def car_of(text: str) -> Vehicle:
    """Car of a case file's text."""
    car = car_from_toml(text, "car")
    assert car.both_wheels
    return car


def with_tape(text: str, deviation: float) -> str:
    """Text with all points known as well as `deviation`. [mm]."""
    text = re.sub(r"\[accuracy\.points\]\n(.+\n)+", "", text)
    return re.sub(r"\[accuracy\].*\npoints.*\n", "", text) + f"\n[accuracy]\npoints = {deviation}\n"


def moved(text: str, side: str, point: str, by: tuple[float, float, float]) -> str:
    """Text with one point of one side moved along the axes of the file. [mm]."""
    pattern = rf"(\[{side}\.points\]\n(?:.+\n)*?{point}\s*= )\[([^]]*)\]"

    def place(found: re.Match[str]) -> str:
        x = [float(number) + d for number, d in zip(found[2].split(","), by, strict=True)]
        return f"{found[1]}{x}"

    text, times = re.subn(pattern, place, text)
    assert times == 1
    return text


def mirrored(points: str) -> str:
    """Rows of points with the sign of every y turned."""
    return re.sub(
        r"\[\s*(-?[\d.]+),\s*(-?[\d.]+),",
        lambda found: f"[{found[1]}, {-float(found[2])},",
        points,
    )


def with_sides_changed_over(text: str) -> str:
    """Text of the mirror image of a car: each wheel's points on the other side."""
    blocks = dict(re.findall(r"\[(left|right)\.points\]\n((?:\w.+\n)+)", text))
    for side in blocks:
        text = text.replace(blocks[side], f"#{side}#\n", 1)
    for side, other in (("left", "right"), ("right", "left")):
        text = text.replace(f"#{side}#\n", mirrored(blocks[other]), 1)
    return text


def mirror_car_text(text: str) -> str:
    """Text of a car whose wheels are mirror images, from a case of either of them."""
    block = re.search(r"\[points\]\n((?:\w.+\n)+)", text)[1]
    center = re.search(r"wheel_center\s*= \[\s*\S+\s*(-?)", block)
    sides = ("right", "left") if center[1] else ("left", "right")
    tables = f"[{sides[0]}.points]\n{block}\n[{sides[1]}.points]\n{mirrored(block)}"
    return text.replace(f"[points]\n{block}", tables, 1)


def one_wheel(text: str, side: str) -> Case:
    """The case of one wheel of a mirror car, as a file of one wheel would have it."""
    other = "right" if side == "left" else "left"
    text = re.sub(rf"\[{other}\.points\]\n(.+\n)+", "", text)
    return case_from_toml(text.replace(f"[{side}.points]", "[points]"), "one wheel")


def numbers(
    answer: object, *, without: tuple[str, ...] = ("subject", "side")
) -> Iterator[tuple[str, float]]:
    """Every number of an answer by its path, apart from the names of side and subject."""
    if isinstance(answer, dict):
        for key, value in answer.items():
            if key not in without:
                for path, number in numbers(value, without=without):
                    yield f"{key}.{path}", number
    elif isinstance(answer, list | tuple):
        for k, value in enumerate(answer):
            for path, number in numbers(value, without=without):
                yield f"{k}.{path}", number
    elif isinstance(answer, int | float):
        yield "", answer


def kit(name: str, **changes: object) -> Kit:
    """A kit of heights for either car."""
    stack = {"min": 0.0, "max": 16.0, "step": 0.5}
    return Kit.model_validate({"name": name, "seat": "tapered", "stack": stack} | changes)
