"""Sentences that reports share."""

from optimizer.models.limits import TOLD_TO
from optimizer.models.result import Certificate, Diagnosis, Ranked, SuggestResult
from optimizer.models.setting import Setting, Uncertainty
from optimizer.reports.numbers import Reader
from optimizer.units import MM_PER

PLACES = {"ahead": "ahead of the axle", "behind": "behind the axle"}


def what_it_does(result: SuggestResult, reader: Reader) -> list[str]:
    """Say how the wheel steers itself now, what is wrong, and what cures it."""
    found, figures = result.diagnosis, result.as_is
    bump, droop = result.curves.as_is_deg[-1], result.curves.as_is_deg[0]
    up, down = result.curves.travel_mm[-1], -result.curves.travel_mm[0]
    strokes = [
        _stroke(found.steers_in_bump, bump, f"{reader.length_with_unit(up)} bump", reader),
        _stroke(found.steers_in_droop, droop, f"{reader.length_with_unit(down)} droop", reader),
    ]
    used = [text for text, travel in zip(strokes, (up, down), strict=True) if travel > 0.0]
    aim = ", beyond the wanted gain" if result.toe_gain_deg_per_10mm else ""
    if figures.band is not None:
        aim = ", from the middle of the wanted band"
    return [
        f"The wheel {' and '.join(used)}{aim}.",
        f"Slope {reader.slope(figures.toe_slope_deg_per_10mm)} {reader.short_toe_unit} per "
        f"{reader.per} ({figures.toe_slope_in_per_in:+.4f} in per in at "
        f"{reader.length_with_unit(result.subject.toe_diameter_mm)} diameter), curvature "
        f"{reader.toe_with_unit(figures.toe_curvature_deg, signed=True)}, remainder "
        f"{reader.toe_with_unit(figures.toe_remainder_deg)}; peak "
        f"{reader.toe_with_unit(figures.peak_toe_change_deg)}, wanted within "
        f"{reader.toe_with_unit(result.tolerance_deg)}.",
        *([] if figures.band is None else [f"It is {figures.band.sentence}."]),
        *_cures(found, reader),
    ]


def _stroke(steers: str, change_deg: float, where: str, reader: Reader) -> str:
    if steers == "no change":
        return f"keeps its toe at {where}"
    side = steers.removeprefix("toe-")
    return f"toes {side} by {reader.toe_with_unit(abs(change_deg))} at {where}"


def _cures(found: Diagnosis, reader: Reader) -> list[str]:
    arms = f"{reader.words.arm}s {PLACES[found.arms]}"
    lines = []
    if found.height_cure is not None:
        lines.append(f"Height error ({arms}): {found.height_cure}.")
    if found.length_cure is not None:
        lines.append(
            f"Length error ({arms}): {found.length_cure}; "
            "shims change the height only and can't cure this part."
        )
    if not lines:
        lines.append(f"Neither height nor length error worth curing ({arms}).")
    return lines


def what_to_fit(setting: Setting, reader: Reader, *, as_is: bool = False) -> str:
    """Name a setting as a technician would order it."""
    if as_is:
        return "leave it as it is"
    parts = []
    if setting.outer_drop_mm:
        way = "drop" if setting.outer_drop_mm > 0.0 else "raise"
        parts.append(f"{way} outer {stack_in_words(setting, reader)}")
    if setting.rack_raise_mm:
        way = "raise" if setting.rack_raise_mm > 0.0 else "lower"
        parts.append(f"{way} {reader.words.inner} {reader.fitted(abs(setting.rack_raise_mm))}")
    for end, raised in (
        ("frame", setting.frame_bracket_raise_mm),
        ("axle", setting.axle_bracket_raise_mm),
    ):
        if raised:
            way = "raise" if raised > 0.0 else "lower"
            by = reader.fitted(abs(raised))
            parts.append(f"{way} lateral link's {end} bracket {by}")
    return ", ".join(parts) or "standard seat"


def stack_in_words(setting: Setting, reader: Reader) -> str:
    """Write a stack's height, and its pieces where there are several."""
    height, pieces = abs(setting.outer_drop_mm), setting.stack_mm
    if len(pieces) < 2:
        return reader.fitted(height)
    return f"{reader.length_with_unit(height)} ({reader.pieces(pieces)})"


def what_to_build(winner: Ranked, result: SuggestResult, reader: Reader) -> str:
    """Name a ranked setting with all that belongs to it, its kit and its ball joint too."""
    kit = "" if winner.kit is None else f"{winner.kit}: "
    text = f"{kit}{what_to_fit(winner, reader, as_is=winner.is_as_is)}"
    if winner.ball_joint_drop_mm == result.as_is.ball_joint_drop_mm:
        return text
    return f"{text}, lower ball joint {reader.fitted(winner.ball_joint_drop_mm)} down"


def way_of_turn(rack_travel_mm: float, reader: Reader) -> str | None:
    """Which way a turn goes, where the two ways differ: on a beam axle."""
    if reader.words.rod != "drag link":
        return None
    return "left" if rack_travel_mm > 0.0 else "right"


def tightest_in_words(first: Ranked, reader: Reader) -> str:
    """Say where the first of the ranking comes nearest to binding and to touching."""
    found = [tight.sentence for tight in (first.tightest_joint, first.tightest_gap) if tight]
    if not found:
        return "Tightest: can't be judged; the case states no tilt limit and no obstacle."
    return f"Tightest with number 1{over_everything(reader)}: {'; '.join(found)}."


def over_everything(reader: Reader) -> str:
    """Where limits were looked at, and how exactly they are told."""
    lock = " and lock" if reader.words.steers else ""
    units = reader.subject.units
    return f" over the whole travel{lock}, to {TOLD_TO / MM_PER[units]:.1g} {units}"


def band_in_words(first: Ranked) -> list[str]:
    """Say whether the first of the ranking keeps the wanted band, where there is one."""
    return [] if first.band is None else [f"Number 1 is {first.band.sentence}."]


def proof_in_words(proof: Certificate, reader: Reader) -> str:
    """Say what was proved, and how near the study came."""
    scored = f"all {proof.combinations:,} settings scored, {proof.solved_exactly:,} solved exactly"
    best, found = proof.best_peak_toe_change_deg, proof.study_peak_toe_change_deg
    if best is None:
        return f"Proof: {scored}; none of them keeps every limit."
    text = f"Proof: {scored}; none that fits peaks below {reader.toe_with_unit(best)}."
    if found is None or proof.study_gap_deg is None:
        return f"{text} The study ({proof.study_trials} trials) found none that fits."
    if proof.study_gap_deg <= 0.0:
        return f"{text} The study ({proof.study_trials} trials) found the same."
    return (
        f"{text} The study ({proof.study_trials} trials) stopped "
        f"{reader.toe_with_unit(proof.study_gap_deg)} above it; the ranking uses the better."
    )


def sureness_in_words(sure: Uncertainty, result: SuggestResult, reader: Reader) -> str:
    """Say what the points' accuracy leaves of the promise, and what to measure again."""
    tolerance = reader.toe_with_unit(result.tolerance_deg)
    subject = "number 1" if result.ranked[0].fits else "the car left as it is"
    telling = (
        "; the most telling measurement is "
        f"{sure.remeasure} ({100.0 * sure.remeasure_share:.0f} % of the spread)"
        if sure.remeasure_share > 0.0
        else ""
    )
    return (
        f"With points as accurate as the case says, {subject} peaks below "
        f"{reader.toe_with_unit(sure.peak_95_deg)} with 95 % probability and stays within "
        f"{tolerance} with {100.0 * sure.meets_tolerance_probability:.0f} %{telling}. "
        "Only a gauge on the car makes it sure."
    )


def next_steps(winner: Ranked, result: SuggestResult, reader: Reader) -> list[str]:
    """Say what to do on the car, in order."""
    aligned, words = result.alignment, result.subject.words
    first = [] if aligned is None else [f"Align at ride height: {aligned.what_to_move}."]
    return [
        f"Fit: {what_to_build(winner, result, reader)}. Record the ride height first (hub to arch, "
        "driver's weight in).",
        *first,
        toe_reset_in_words(winner.tie_rod_length_change_mm, reader),
        f"Spring out, bar off, {words.locked}stands under the body: sweep the wheel with a gauge, "
        "up and down, and compare with the readings below.",
        "If a reading differs by more than the points can explain, measure the points again "
        "before changing the stack.",
    ]


def toe_reset_in_words(longer_mm: float, reader: Reader) -> str:
    """Say what the toe reset does to the tie rod."""
    way = "longer" if longer_mm > 0.0 else "shorter"
    change = reader.length_with_unit(abs(longer_mm))
    words = reader.words
    return (
        f"{words.reset} at ride height: the {words.short_rod} comes out about {change} {way} than "
        "measured."
    )
