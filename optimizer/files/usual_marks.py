"""About where the floor marks of a layout will lie: below the joints of its starter car."""

from optimizer.files.case_file import case_from_toml
from optimizer.files.starters import starter_case
from optimizer.models.survey import Survey

Place = tuple[float, float]

AWAY_MM = 900.0  # of the base marks from the axle; common practice, no source


def usual_marks(survey: Survey) -> tuple[dict[str, Place], Place]:
    """Marks below the points, x and y, and x of base marks A and B. [mm]."""
    points = case_from_toml(starter_case(survey.layout), survey.layout).points.model_dump()
    sign = 1.0 if survey.side == "left" else -1.0
    return {name: (x, sign * y) for name, (x, y, _) in points.items()}, (AWAY_MM, -AWAY_MM)
