"""What a shim is worth, before any reading."""

from optimizer.models.lengths import ShimWorth
from optimizer.units import MM_PER_INCH, short_length
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

WAYS = {
    "behind": "toward toe-in in bump",
    "ahead": "toward toe-out in bump",
    None: "toward toe-in in bump with the {arm}s behind the axle, toward toe-out with them ahead",
}
PER_MM = {"mm": 25.0, "in": MM_PER_INCH}


@sentence.register
def _shim_worth(found: ShimWorth, reader: Reader) -> str:
    travel = PER_MM[found.units]
    minutes = found.slope_deg_per_10mm * travel / 10.0 * 60.0
    slope = reader.slope_in_words(found.slope_deg_per_10mm, found.slope_in_per_in)
    way = WAYS[found.arms].format(arm=reader.words.arm)
    return (
        f"{reader.fitted(found.height_mm)} of outer drop or {reader.words.inner} raise is worth "
        f"{minutes:.1f} minutes per {short_length(travel, found.units)} of travel, that is "
        f"{slope}, {way} (first order, front view)."
    )
