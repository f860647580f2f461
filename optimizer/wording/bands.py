"""Whether a toe curve keeps a wanted band."""

from optimizer.models.setting import BandVerdict
from optimizer.units import length_text
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence


@sentence.register
def _verdict(found: BandVerdict, reader: Reader) -> str:
    """Without its subject, its capital and its full stop."""
    if not found.judged:
        return f"not covered by the wanted band at any of its {found.what}"
    if found.travel_mm is None or found.beyond_deg is None:
        return f"inside the wanted band at all {found.judged} {found.what} that it covers"
    way = "toe-in" if found.beyond_deg > 0.0 else "toe-out"
    at = length_text(found.travel_mm, reader.subject.units)
    return (
        f"outside the wanted band at {found.outside} of {found.judged} {found.what}, most at "
        f"travel {at}: {abs(found.beyond_deg):.3f} deg more {way} than it allows"
    )
