"""How static toe drifts with ride height, and what to set on a car that is yet to settle."""

from optimizer.models.diagnosis import Settling, StaticDrift
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

SET_IT = "Set toe with the car loaded as it is driven, and again once its springs have settled."


@sentence.register
def _settling(found: Settling, reader: Reader) -> str:
    wheel, by = reader.of_wheel(found.side), reader.length_with_unit(found.settles_by_mm)
    if found.set_deg is None:
        return f"{wheel}When the car has come down another {by}, the wheel can't follow."
    now, then = (reader.toe_with_unit(x, signed=True) for x in (found.set_deg, found.toe_deg))
    return (
        f"{wheel}Set this wheel's toe to {now} now, toe-in positive, so that it is {then} when the "
        f"car has come down another {by}."
    )


@sentence.register
def _drift(found: StaticDrift, reader: Reader) -> str:
    ways = ((found.lower_deg, "lower"), (found.higher_deg, "higher"))
    told = [
        f"by {reader.toe_with_unit(change, signed=True)} where the car stands {by} {way}"
        for by in (reader.length_with_unit(found.by_mm),)
        for change, way in ways
        if change is not None
    ]
    return f"Static toe drifts with height: {' and '.join(told)}, toe-in positive. {SET_IT}"
