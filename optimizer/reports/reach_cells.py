"""The cells of the map of `reach`: ride heights down, kits across."""

from optimizer.models.reach import ReachResult, ReachRow
from optimizer.wording.odds import percent
from optimizer.wording.reach_map import stop_in_a_word
from optimizer.wording.reader import Reader


def angles_by_height(result: ReachResult) -> dict[str, list[str]]:
    """Camber and caster of one wheel by itself at each height, by their names."""
    if result.subject.both_wheels:
        return {}
    wheels = [row.wheels[0] for row in result.heights if row.kit == result.kits[0].name]
    caster = {"caster": [_angle(wheel.caster_deg) for wheel in wheels]}
    return {
        "camber": [_angle(wheel.camber_deg) for wheel in wheels],
        **(caster if result.subject.words.steers else {}),
    }


def _angle(angle_deg: float | None) -> str:
    return "-" if angle_deg is None else f"{angle_deg:+.2f}"


def tells_what_is_shared(result: ReachResult) -> bool:
    """Whether a cell names the rack height that both wheels share."""
    return result.subject.both_wheels and result.subject.words.steers


def reached_in_a_cell(row: ReachRow, result: ReachResult, reader: Reader) -> str:
    """The peak, where anything keeps every limit, and in a word what keeps it off the tolerance.

    Behind them the share of the possible cars in which it is met, where that was asked for.
    """
    cell = _as_measured(row, result, reader)
    return cell if row.chances is None else f"{cell}  {percent(row.chances.met_probability)}"


def _as_measured(row: ReachRow, result: ReachResult, reader: Reader) -> str:
    if row.peak_toe_change_deg is None:
        return stop_in_a_word(row, reader)
    peak = reader.toe(row.peak_toe_change_deg, signed=False)
    if tells_what_is_shared(result):
        peak += f" ({reader.length(row.rack_raise_mm or 0.0, signed=True)})"
    return peak if row.reachable else f"{peak} {stop_in_a_word(row, reader)}"
