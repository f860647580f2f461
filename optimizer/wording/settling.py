"""Toe to set on a car that is yet to settle, in words."""

from optimizer.models.settling import Settling
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence


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
