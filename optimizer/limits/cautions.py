"""What a technician must be told before fitting a setting: the usual cautions, most pressing first.

Common practice, no source: no load, limit or strength is invented here.
"""

from optimizer.models.case import Case
from optimizer.models.setting import Setting
from optimizer.models.vocabulary import Vocabulary
from optimizer.units import length_text

JUDGEMENT = (
    "{words.failure} Have the work judged by someone licensed to do so where you live, and ask "
    "which changes the local roadworthiness rules allow."
)
ALWAYS = (
    "{words.reset} before driving, use new self-locking nuts or split pins, re-torque after the "
    "first drive, and inspect after every event and every contact.",
    "Drilling a taper out to fit a bolt can't be undone, and heating, bending or welding a "
    "{words.arm} is work for a specialist, where it is allowed at all{words.never}.",
)
MOST_OF_ITS_OWN = 3
THREAD_CHANGE_MM = 3.0  # a toe reset beyond this is worth a look at the thread


def cautions(case: Case, setting: Setting) -> list[str]:
    """Cautions that a setting calls for, three at most, those that always hold, and who judges."""
    own = [text for applies, text in _of_a_setting(case, setting) if applies]
    always = (text.format(words=case.words) for text in ALWAYS)
    return [*own[:MOST_OF_ITS_OWN], *always, judgement(case.words)]


def judgement(words: Vocabulary) -> str:
    """Say what hangs on the parts, and who judges them."""
    return JUDGEMENT.format(words=words)


def _of_a_setting(case: Case, setting: Setting) -> list[tuple[bool, str]]:
    words, raised = case.words, setting.rack_raise_mm != 0.0
    stacked = setting.outer_drop_mm != 0.0
    height = length_text(abs(setting.outer_drop_mm), case.units)
    change = length_text(abs(setting.tie_rod_length_change_mm), case.units)
    spacer = (
        "Once the height is proved on the car, replace the washers by one solid spacer."
        if len(setting.stack_mm) > 1
        else "Make it one solid spacer, not many washers."
    )
    return [
        (
            stacked,
            f"A stack of {height} puts the stud in single shear and bends it; stress grows with "
            "height. This program states no greatest height. A tapered seat with a solid adapter, "
            f"double shear, or moving the {words.inner} instead spares the stud. "
            f"{spacer}",
        ),
        (
            setting.tilt_margin_deg is None,
            "No tilt limit is stated for the joints: with the spring out, swing the wheel by hand "
            f"from full droop to full bump{words.at_locks} and make sure that no joint binds.",
        ),
        (
            setting.clearance_mm is None,
            f"No obstacles are stated: check {words.short_rod} and joint by hand against rim, disc "
            f"and arm at {words.extremes}, tire and wheel fitted.",
        ),
        (raised, words.raised),
        (
            setting.frame_bracket_raise_mm != 0.0 or setting.axle_bracket_raise_mm != 0.0,
            "A lateral link's brackets hold the whole axle sideways: have them designed, made and "
            "braced by someone qualified, set the link to the length that centers the axle, and "
            "check it against everything around it over the whole travel.",
        ),
        (
            setting.thread_engagement_mm is None
            and abs(setting.tie_rod_length_change_mm) > THREAD_CHANGE_MM,
            f"Resetting toe changes the {words.short_rod}'s length by {change}: check how much "
            "thread is left engaged at both ends, and that both sides of the car come out alike.",
        ),
    ]
