"""How a wheel steers itself now, what is wrong with that, and what cures it."""

from optimizer.models.diagnosis import Diagnosis, Steers
from optimizer.models.setting import WheelSetting
from optimizer.models.suggest import SuggestResult, WheelAnswer
from optimizer.wording.cures import cure_in_words
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

PLACES = {"ahead": "ahead of the axle", "behind": "behind the axle"}
STROKES: dict[Steers, str] = {
    "toe-in": "toes in by {change} at {where}",
    "toe-out": "toes out by {change} at {where}",
    "no change": "keeps its toe at {where}",
}
BESIDE_WANTED: dict[Steers, str] = {
    "toe-in": "has {change} more toe-in than {wanted} at {where}",
    "toe-out": "has {change} less toe-in than {wanted} at {where}",
    "no change": "has as much toe as {wanted} at {where}",
}


def what_it_does(
    wheel: WheelAnswer, now: WheelSetting, result: SuggestResult, reader: Reader
) -> list[str]:
    """Say it of one wheel; `now` has its figures as it is."""
    band = [] if now.band is None else [f"It is {sentence(now.band, reader)}."]
    wanted = _wanted(now, result)
    return [
        f"The wheel {' and '.join(_strokes(wheel, wanted, reader))}.",
        _figures(now, result, reader),
        *band,
        *_cures(wheel.diagnosis, reader),
    ]


def _strokes(wheel: WheelAnswer, wanted: str | None, reader: Reader) -> list[str]:
    found, curves = wheel.diagnosis, wheel.curves
    said = STROKES if wanted is None else BESIDE_WANTED
    return [
        said[steers].format(
            wanted=wanted,
            change=reader.toe_with_unit(abs(curves.as_is_deg[end])),
            where=f"{reader.length_with_unit(abs(curves.travel_mm[end]))} {stroke}",
        )
        for steers, end, stroke in (
            (found.steers_in_bump, -1, "bump"),
            (found.steers_in_droop, 0, "droop"),
        )
        if curves.travel_mm[end]
    ]


def _wanted(now: WheelSetting, result: SuggestResult) -> str | None:
    """What the curve counts from, None where that is no change at all."""
    if now.band is not None:
        return "the middle of the wanted band"
    return "wanted" if result.toe_gain_deg_per_10mm else None


def _figures(now: WheelSetting, result: SuggestResult, reader: Reader) -> str:
    slope = reader.slope_in_words(now.toe_slope_deg_per_10mm, now.toe_slope_in_per_in)
    beyond = ", beyond the wanted gain," if result.toe_gain_deg_per_10mm else ""
    if now.band is not None:
        beyond = ", from the middle of the wanted band,"
    return (
        f"Slope{beyond} {slope}, curvature "
        f"{reader.toe_with_unit(now.toe_curvature_deg, signed=True)}, remainder "
        f"{reader.toe_with_unit(now.toe_remainder_deg)}; peak "
        f"{reader.toe_with_unit(now.peak_toe_change_deg)}, wanted within "
        f"{reader.toe_with_unit(result.tolerance_deg)}."
    )


def _cures(found: Diagnosis, reader: Reader) -> list[str]:
    words, arms = reader.words, f"{reader.words.arm}s {PLACES[found.arms]}"
    lines = []
    if found.height_cure is not None:
        lines.append(f"Height error ({arms}): {cure_in_words(found.height_cure, words)}.")
    if found.length_cure is not None:
        along = reader.subject.moves_along
        length_cure = cure_in_words(found.length_cure, words, along=along)
        lines.append(
            f"Length error ({arms}): {length_cure}; "
            "shims change the height only and can't cure this part."
        )
    lines = lines or [f"Neither height nor length error worth curing ({arms})."]
    return [*lines, *(sentence(one, reader) for one in found.drift)]
