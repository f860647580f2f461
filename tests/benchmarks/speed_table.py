"""The table of speeds: lines, which goals are missed, and its place in DEVELOPERS.md."""

import re
from pathlib import Path

Row = tuple[str, str, str]
PLACE = re.compile(
    r"(?<=<!-- one run of the benchmarks -->\n).*?(?=<!-- end of the run -->\n)", re.DOTALL
)
NUMBER = re.compile(r"-?[\d,]*\.?\d+")


def lines(rows: list[Row]) -> list[str]:
    """What was measured, the figure and the goal of each row, below each other."""
    widths = [max(len(row[column]) for row in rows) for column in range(2)]
    return [
        f"{what:<{widths[0]}}  {figure:>{widths[1]}}  {goal and 'goal ' + goal}".rstrip()
        for what, figure, goal in rows
    ]


def missed(rows: list[Row]) -> list[str]:
    """What does not meet its goal."""
    return [what.strip() for what, figure, goal in rows if goal and not _meets(figure, goal)]


def _meets(figure: str, goal: str) -> bool:
    sign = goal.split()[0]
    found, wanted = (float(NUMBER.search(text)[0].replace(",", "")) for text in (figure, goal))
    return {"<": found < wanted, "<=": found <= wanted, ">=": found >= wanted}[sign]


def written_into(page: str, rows: list[Row], run: str) -> str:
    """A page with a run's table in the place of the one before; `run` says when and of what.

    Raises
    ------
    ValueError
        The page has no such place, or more than one.
    """
    if len(PLACE.findall(page)) != 1:
        raise ValueError("the page must have one place for the table")
    table = "\n".join(lines(rows))
    names = missed(rows)
    told = "Every goal is met." if not names else "Goals missed:\n\n- " + "\n- ".join(names)
    text = f"{run}\n\n```\n{table}\n```\n\n{told}\n"
    return PLACE.sub(lambda _: text, page)


def write(path: Path, rows: list[Row], run: str) -> None:
    """Write a run's table into a file."""
    path.write_text(written_into(path.read_text("utf-8"), rows, run), encoding="utf-8")
