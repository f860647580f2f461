"""The measuring sheet: how to prepare the car, which heights to read, what to expect."""

import numpy as np

from optimizer.answers.suggest import READING_STEP_IN_MM, READING_STEP_MM
from optimizer.car.adjust import Settings
from optimizer.car.alignment import alignment_of
from optimizer.car.evaluate import Evaluator, stepped_travel
from optimizer.car.subject import subject_of
from optimizer.errors import PivotwrightError
from optimizer.limits.cautions import judgement
from optimizer.limits.strength import rod_thread, strength_figures, stud_section
from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.case import Case
from optimizer.models.result import Reading
from optimizer.models.setting import Strength
from optimizer.models.sheet import BLANKS, SET_UP, Sheet
from optimizer.units import length_text

# Common practice, no source.
PREPARE = (
    "Set tire pressures, ride height, {words.aligned} first; a change of any of them "
    "later means sweeping again.",
    "Put right worn joints, {words.also_worn}bearings and bushings; play makes two curves of one.",
    "With driver's weight in, record the ride height as hub to arch: ______ left ______ right.",
    "Stands under the body, wheels chocked, hands clear: with the spring out the arm is on a jack.",
    "Take the spring out or back it off, disconnect the anti-roll bar, note where the bump rubber "
    "touches.",
    "{words.lock}",
    "Set the gauge's plate square to the axle and level at ride height, and zero the gauge there.",
    "Sweep from full droop to full bump and back; write down every height both ways.",
)


def sheet(case: Case, setting: Settings, fit: str, kind: str) -> Sheet:
    """Make the sheet for a car with one setting fitted.

    Parameters
    ----------
    case : Case
        The car.
    setting : Settings
        A batch of one: what will be fitted when the wheel is swept.
    fit : str
        The setting in words.
    kind : str
        Gauge, a key of `optimizer.models.sheet.BLANKS`.

    Returns
    -------
    Sheet
        One row a height, in the steps of the trade.

    Raises
    ------
    PivotwrightError
        The tie rod can't follow the wheel with that setting.
    """
    step = READING_STEP_MM if case.units == "mm" else READING_STEP_IN_MM
    case, alignment = alignment_of(case)
    evaluator = Evaluator.of(case, stepped_travel(case.ride.bump, case.ride.droop, step))
    change = evaluator.toe_change(setting)[0] + evaluator.wanted
    if np.isnan(change).any():
        raise PivotwrightError(
            f"{fit}: the {case.words.rod} could not follow the wheel over the used travel"
        )
    lowered = case.ride.lowered_by
    away = f"{length_text(abs(lowered), case.units)} {'below' if lowered >= 0.0 else 'above'}"
    steps = [text.format(words=case.words) for text in PREPARE]
    longer = evaluator.rod_length_change(setting)
    drop = evaluator.corner.drop_along_stud(setting)
    return Sheet(
        subject=subject_of(case),
        kind=kind,
        fit=fit,
        tie_rod_length_change_mm=longer[0],
        stud=stud_section(case),
        thread=rod_thread(case),
        strength=Strength(**strength_figures(case, drop, longer).row(0)),
        prepare=[
            f"Ride height {away} the one at which the car was measured.",
            *_alignment_to_set(alignment, steers=case.words.steers),
            *(text for text in steps if text),
        ],
        set_up=SET_UP[kind],
        blanks=list(BLANKS[kind]),
        rows=[
            Reading(travel_mm=height, toe_change_deg=angle)
            for height, angle in zip(evaluator.travel, np.degrees(change), strict=True)
        ],
        cautions=[judgement(case.words)],
    )


def _alignment_to_set(answer: AlignmentAnswer | None, *, steers: bool) -> list[str]:
    if answer is None:
        return []
    angles = f"camber {answer.camber_deg:.2f} deg"
    if steers:
        angles += f", caster {answer.caster_deg:.2f} deg"
    return [f"Alignment at that height: {angles} ({answer.what_to_move} from where measured)."]
