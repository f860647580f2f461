"""How sure a choice was by tape alone, and how sure it is after what was read, in words."""

from optimizer.models.how_sure import Compared, HowSure, Role, SureAfter
from optimizer.wording.fitting import what_to_fit
from optimizer.wording.odds import OTHER_WHEEL
from optimizer.wording.reader import Reader

HEADING = "How sure it was by tape, and how sure it is now"
ROLES: dict[Role, str] = {"next": "next", "now": "now", "by-tape": "best by tape"}
SURER = (
    "With {what} 9 of 10 such cars peak between {low} and {high}; from the tape "
    "alone that would be {low_before} to {high_before}."
)
CARS = (
    "Of {cars:,} cars at each stage, drawn with what tape, readings and build leave open. Near the "
    "best: within {resolution} of the best that can be built for that car."
)
BY_TAPE = "Best by tape: {what}."


def known_by(stage: SureAfter) -> str:
    """Name what is known at a stage, in a cell."""
    if stage.beside:
        return "all read"
    if not stage.sweeps:
        return "tape"
    return f"{stage.sweeps} sweep{'s' if stage.sweeps > 1 else ''}"


def roles_in_words(one: Compared) -> str:
    """Name what is fitted, in a cell."""
    return ", ".join(ROLES[role] for role in one.roles)


def how_sure_in_words(sure: HowSure, reader: Reader) -> list[str]:
    """Say what the readings made of the promise, what is counted, and what the tape would fit."""
    before, after = (sure.stages[k].chances[0] for k in (0, -1))
    told = []
    if before is not None and after is not None:
        bands = {"low": after.peak_05_deg, "high": after.peak_95_deg}
        bands |= {"low_before": before.peak_05_deg, "high_before": before.peak_95_deg}
        stays = "now" in sure.compared[0].roles
        what = "what stays fitted" if stays else "what is to be fitted next"
        said = {name: reader.toe_with_unit(angle) for name, angle in bands.items()}
        told = [
            SURER.format(what=what, **said),
            CARS.format(cars=after.cars, resolution=reader.resolution),
            *([OTHER_WHEEL] if after.other_wheel else []),
        ]
    return [
        *told,
        *(
            BY_TAPE.format(what=what_to_fit(x, reader))
            for x in sure.compared
            if x.roles == ["by-tape"]
        ),
    ]
