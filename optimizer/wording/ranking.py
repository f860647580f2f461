"""What stands under a ranking: its marks, what does not fit, what is tightest, the wanted band."""

from optimizer.models.setting import Ranked, WheelSetting
from optimizer.models.suggest import Certificate, SuggestResult
from optimizer.wording.odds import chance
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.stops import over_everything

NOTHING_FITS = "Nothing that can be built keeps every limit; see the reasons."
CANT_BE_JUDGED = "Tightest: can't be judged; the case states no tilt limit and no obstacle."


def unbeaten_in_words(result: SuggestResult) -> list[str]:
    """Say what the mark of an unbeaten option means, where there is one."""
    if not any(row.unbeaten for row in result.ranked):
        return []
    of_kits = " of any kit" if result.kits else ""
    counts = ", gap and steering ratio" if result.subject.words.steers else " and gap"
    return [f"* no setting{of_kits} that fits beats it on peak, effort{counts} at once."]


def refusals_in_words(row: Ranked, reader: Reader) -> list[str]:
    """Say what stops an option that does not fit."""
    if not row.reasons:
        return []
    reasons = "; ".join(sentence(reason, reader) for reason in row.reasons)
    return [f"Number {row.rank} does not fit: {reasons}."]


def first_in_words(first: WheelSetting, reader: Reader) -> list[str]:
    """Say of one wheel where number 1 comes nearest to its limits, and whether it keeps a band."""
    wheel = reader.of_wheel(first.side)
    band = [] if first.band is None else [f"{wheel}Number 1 is {sentence(first.band, reader)}."]
    return [f"{wheel}{_tightest(first, reader)}", *band]


def _tightest(first: WheelSetting, reader: Reader) -> str:
    tight = [sentence(one, reader) for one in (first.tightest_joint, first.tightest_gap) if one]
    over = over_everything(reader)
    return f"Tightest with number 1{over}: {'; '.join(tight)}." if tight else CANT_BE_JUDGED


SHOWN = (
    " A row is the pair{of} whose worse wheel peaks least, or the simplest of those within 0.01 "
    "deg of the best of all."
)

PEAKS: dict[str | None, str] = {
    None: "peaks below",
    "expected": "has a mean peak{each}, over the possible cars, below",
    "worst": "keeps its peak{each}, in 95 of 100 possible cars, below",
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
    each = ", of each wheel by itself" if result.subject.both_wheels else ""
    below = f"{PEAKS[by].format(each=each)} {reader.toe_with_unit(best)}"
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
