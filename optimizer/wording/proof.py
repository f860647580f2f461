"""What was proved of a ranking."""

from optimizer.models.suggest import Certificate, SuggestResult
from optimizer.wording.odds import chance
from optimizer.wording.reader import Reader

SHOWN = (
    " A row is the pair{of} whose worse wheel peaks least, or the simplest of those within 0.01 "
    "deg of the best of all."
)

PEAKS: dict[str | None, str] = {
    None: "peaks below",
    "expected": "has a mean peak, over the possible cars, below",
    "worst": "keeps its peak, in 95 of 100 possible cars, below",
}


def proof_in_words(result: SuggestResult, reader: Reader) -> str:
    """Say how much was scored and solved, and what no option comes below."""
    proof = result.certificate
    scored = f"Proof: {_scored(proof, reader)}, {proof.solved_exactly:,} solved exactly"
    best = proof.best_peak_toe_change_deg
    if best is None:
        if result.ranked_by is None:
            return f"{scored}; none of them keeps every limit."
        asked = chance(result.ranked_by.limits_kept)
        return f"{scored}; none of them keeps every limit in {asked} possible cars."
    by = None if result.ranked_by is None else result.ranked_by.criterion
    below = f"{PEAKS[by]} {reader.toe_with_unit(best)}"
    return f"{scored}; none that fits {below}.{_shown(result)}"


def _scored(proof: Certificate, reader: Reader) -> str:
    if not reader.subject.both_wheels:
        return f"all {proof.combinations:,} settings scored"
    counts = zip(proof.wheel_settings, reader.subject.sides, strict=True)
    of_each = " and ".join(f"{count:,} {side}" for count, side in counts)
    return f"all {proof.combinations:,} pairs of settings scored, of {of_each}"


def _shown(result: SuggestResult) -> str:
    """Which of all the pairs a row of the ranking is."""
    subject = result.subject
    if not subject.both_wheels:
        return ""
    of = f" at its {subject.words.inner} height" if subject.words.steers else ""
    return SHOWN.format(of=" of its kit" if result.kits else of)
