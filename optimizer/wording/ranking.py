"""What stands under a ranking: its marks, what does not fit, what is tightest, the wanted band."""

from optimizer.models.setting import Ranked, WheelSetting
from optimizer.models.suggest import SuggestResult
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
