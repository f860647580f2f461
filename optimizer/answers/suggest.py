"""The main job: search, prove, rank, and say what to expect."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from optimizer.answers.alignment_effect import alignment_effect
from optimizer.answers.shopping import next_shim
from optimizer.answers.side_effects import side_effects
from optimizer.answers.uncertainty import uncertainty
from optimizer.car.adjust import Rows
from optimizer.car.diagnosis import diagnosis
from optimizer.car.evaluate import Evaluator, stepped_travel
from optimizer.car.subject import subject_of
from optimizer.car.wanted import wanted_slope
from optimizer.limits.cautions import cautions
from optimizer.limits.described import described_settings
from optimizer.limits.strength import rod_thread, stud_section
from optimizer.models.case import Case
from optimizer.models.custom_pivot import CustomPivot
from optimizer.models.kits import Kit
from optimizer.models.result import Certificate, Curves, Diagnosis, Ranked, Reading, SuggestResult
from optimizer.models.setting import Setting
from optimizer.options.candidates import Candidates
from optimizer.options.proof import RESOLUTION, Proof, prove
from optimizer.options.space import Shared, Space, space_of
from optimizer.options.study.search import Progress, StudyOutcome, StudyPlan, run_study
from optimizer.options.trade_offs import rate_change, unbeaten_rows

SCORES = set(Setting.model_fields)
READING_STEP_MM = 10.0
READING_STEP_IN_MM = 12.7  # half an inch


@dataclass(frozen=True)
class SuggestPlan:
    """How to search and how much to show: `shown` settings that fit, and fewer that don't.

    With `custom`, a pivot made to measure is sought too, within the room that the case states.
    """

    study: StudyPlan = field(default_factory=StudyPlan)
    shown: int = 6
    custom: bool = False


def suggest(
    case: Case,
    plan: SuggestPlan | None = None,
    progress: Progress | None = None,
    space: Space | None = None,
) -> SuggestResult:
    """Find what to fit.

    Parameters
    ----------
    case : Case
        The car, its hardware and its limits.
    plan : SuggestPlan, optional
        Trials, seed, storage, and how many settings to show.
    progress : callable, optional
        Called with (trials done, trials wanted).
    space : Space, optional
        The settings to choose from; all that the hardware allows if not given.

    Returns
    -------
    SuggestResult
        Ranked settings, those that fit first; `ranked` names the reason of every other.
    """
    plan = SuggestPlan() if plan is None else plan
    case, alignment = alignment_effect(case)
    space = space_of(case) if space is None else space
    candidates = Candidates(Evaluator.of(case), space)
    outcome = run_study(candidates, plan.study, progress)
    proof = prove(candidates, wanted=plan.shown)
    ranked = _ranked(candidates, proof, plan.shown)
    as_is = Setting(**next(row for row in ranked if row.is_as_is).model_dump(include=SCORES))
    best = ranked[0] if ranked[0].fits else None
    certificate = _certificate(candidates, proof, outcome)
    least = certificate.best_peak_toe_change_deg
    return SuggestResult(
        subject=subject_of(case),
        alignment=alignment,
        tolerance_deg=case.aim.tolerance_deg,
        toe_gain_deg_per_10mm=float(np.degrees(wanted_slope(case.aim))) * 10.0,
        as_is=as_is,
        diagnosis=_diagnosis(candidates, as_is),
        ranked=ranked,
        certificate=certificate,
        uncertainty=uncertainty(
            candidates.evaluator, space.settings.rows(_winner(candidates, proof)), plan.study.seed
        ),
        curves=_curves(candidates, proof),
        expected=_expected(candidates, proof),
        side_effects=side_effects(
            candidates.evaluator, space.settings.rows(_left_and_winner(candidates, proof))
        ),
        stud=stud_section(case),
        thread=rod_thread(case),
        custom=custom_of(candidates.evaluator, plan, least, progress, shared=space.shared),
        next_shim=next_shim(candidates.evaluator, proof.best_peak, space.shared),
        cautions=cautions(case, as_is if best is None else best),
    )


def custom_of(
    evaluator: Evaluator,
    plan: SuggestPlan,
    least_deg: float | None,
    progress: Progress | None,
    kits: Sequence[Kit] = (),
    shared: Shared | None = None,
) -> CustomPivot | None:
    """Find the custom pivot that a plan asks for, see `custom_pivot`; None where it doesn't.

    `shared` is what the other wheel of the car has settled.
    """
    if not plan.custom:
        return None
    from optimizer.answers.custom import (
        custom_pivot,  # brings scipy.optimize, which is slow to import
    )

    if shared is not None:
        evaluator = replace(evaluator, case=_with_settled(evaluator.case, shared))
    return custom_pivot(evaluator, plan.study, least_deg, progress, kits)


def _with_settled(case: Case, shared: Shared) -> Case:
    """Make the case that leaves only what the other wheel has settled to choose from."""
    rack = case.rack.model_copy(update={"spacers": (shared.rack_raise,)})
    joint = case.lower_ball_joint.model_copy(update={"drop": (shared.ball_joint_drop,)})
    return case.model_copy(update={"rack": rack, "lower_ball_joint": joint})


def settings_of(candidates: Candidates, rows: Rows) -> list[Setting]:
    """Describe rows in full: figures of the toe curve, margins, and what stops them."""
    if not rows.size:
        return []
    space = candidates.space
    return described_settings(
        candidates.evaluator,
        space.settings.rows(rows),
        candidates.margins(rows),
        [space.pieces(int(row)) for row in rows],
    )


def _ranked(candidates: Candidates, proof: Proof, shown: int) -> list[Ranked]:
    """Those that fit, then the better ones that don't; leaving it as it is among them."""
    left = candidates.space.left
    fitting, refused = proof.fitting, proof.refused[: max(1, shown // 2)]
    if left not in fitting and left not in refused:
        if candidates.space.left_competes and candidates.fits(np.array([left]))[0]:
            fitting = np.append(fitting, left)
        else:
            refused = np.append(refused, left)
    rows = np.concatenate([fitting, refused])
    leading = candidates.peak[rows] <= proof.best_peak + RESOLUTION
    faster, steers = 100.0 * rate_change(candidates)[rows], candidates.evaluator.case.words.steers
    described = settings_of(candidates, rows)
    unbeaten = unbeaten_rows(candidates, rows)
    return [
        Ranked(
            **setting.model_dump(),
            rank=k + 1,
            leading=bool(leading[k]) and setting.fits and k < fitting.size,
            is_as_is=bool(rows[k] == left),
            unbeaten=unbeaten[k],
            steer_rate_change_percent=faster[k] if steers else None,
        )
        for k, setting in enumerate(described)
    ]


def _winner(candidates: Candidates, proof: Proof) -> Rows:
    """Row of the best setting that fits, or of leaving it as it is where none does."""
    return proof.fitting[:1] if proof.fitting.size else np.array([candidates.space.left])


def _left_and_winner(candidates: Candidates, proof: Proof) -> Rows:
    """Rows of leaving it as it is and of the best setting that fits, if any."""
    return np.concatenate([[candidates.space.left], proof.fitting[:1]]).astype(np.intp)


def _diagnosis(candidates: Candidates, as_is: Setting) -> Diagnosis:
    evaluator, space = candidates.evaluator, candidates.space
    change = evaluator.toe_change(space.settings.rows(np.array([space.left])))[0]
    return diagnosis(
        as_is,
        np.degrees(change),
        evaluator.travel,
        arms_ahead=evaluator.corner.arms_ahead,
        tolerance_deg=evaluator.case.aim.tolerance_deg,
        words=evaluator.case.words,
    )


def _certificate(candidates: Candidates, proof: Proof, outcome: StudyOutcome) -> Certificate:
    best = float(np.degrees(proof.best_peak)) if np.isfinite(proof.best_peak) else None
    found = None
    if outcome.best is not None:
        # A resumed study may name a row that this run has not met.
        candidates.find_peaks(np.array([outcome.best]))
        found = float(np.degrees(candidates.peak[outcome.best]))
    return Certificate(
        kind="exhaustive",
        combinations=proof.combinations,
        solved_exactly=proof.solved,
        best_peak_toe_change_deg=best,
        study_peak_toe_change_deg=found,
        study_gap_deg=None if best is None or found is None else found - best,
        study_trials=outcome.trials,
    )


def _curves(candidates: Candidates, proof: Proof) -> Curves:
    evaluator, space = candidates.evaluator, candidates.space
    rows = _left_and_winner(candidates, proof)
    change = np.degrees(evaluator.toe_change(space.settings.rows(rows)))
    return Curves(
        travel_mm=evaluator.travel.tolist(),
        as_is_deg=change[0].tolist(),
        best_deg=change[1].tolist() if len(change) > 1 else None,
    )


def _expected(candidates: Candidates, proof: Proof) -> list[Reading]:
    """Toe change that a gauge should show with the winner fitted, in the steps of the trade."""
    if not proof.fitting.size:
        return []
    case = candidates.evaluator.case
    step = READING_STEP_MM if case.units == "mm" else READING_STEP_IN_MM
    travel = stepped_travel(case.ride.bump, case.ride.droop, step)
    evaluator = Evaluator.of(case, travel)
    change = evaluator.toe_change(candidates.space.settings.rows(proof.fitting[:1]))[0]
    total = np.degrees(change + evaluator.wanted)
    return [
        Reading(travel_mm=height, toe_change_deg=angle)
        for height, angle in zip(travel, total, strict=True)
    ]
