"""The columns of how sure a choice was by tape alone and is after what was read."""

from optimizer.models.how_sure import HowSure
from optimizer.reports.chances_cells import chances_of
from optimizer.reports.tables import Column
from optimizer.wording.how_sure import known_by, roles_in_words
from optimizer.wording.reader import Reader


def how_sure_columns(sure: HowSure, tolerance_deg: float, reader: Reader) -> list[Column]:
    """What is compared, stage by stage, with the columns that `suggest` has."""
    rows = [one for stage in sure.stages for one in stage.chances]
    blank = [""] * (len(sure.compared) - 1)
    known = [cell for stage in sure.stages for cell in (known_by(stage), *blank)]
    fitted = [*map(roles_in_words, sure.compared)] * len(sure.stages)
    return [
        Column("known\nfrom", known, "left"),
        Column("fitted\n", fitted, "left"),
        *chances_of(rows, [sure.limits_stated] * len(rows), tolerance_deg, reader),
    ]
