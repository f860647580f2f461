"""The study beside the proof: reproducible, compared with the proof, resumable, in any storage."""

import json
from pathlib import Path

import numpy as np
import pytest

from optimizer.answers.suggest import SuggestPlan, suggest
from optimizer.car.evaluate import Evaluator
from optimizer.cli.main import main
from optimizer.errors import PivotwrightError
from optimizer.files.case_file import read_case
from optimizer.models.case import Case
from optimizer.models.hardware import OuterPivot
from optimizer.options.candidates import Candidates
from optimizer.options.proof import prove
from optimizer.options.space import space_of
from optimizer.options.study.search import StudyOutcome, StudyPlan, run_study
from optimizer.options.study.storage import study_storage
from optimizer.reports.terminal import suggest_report

CASES = Path(__file__).parents[3] / "cases"
WISHBONE = CASES / "track-wishbone.toml"


def candidates_of(case: Case) -> Candidates:
    return Candidates(Evaluator.of(case), space_of(case))


def studied(case: Case, plan: StudyPlan) -> tuple[StudyOutcome, list[int]]:
    """Outcome of a study, and the trials that it ran itself."""
    ran: list[int] = []
    outcome = run_study(candidates_of(case), plan, lambda done, _: ran.append(done))
    return outcome, ran


def one_line(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def wishbone() -> Case:
    return read_case(WISHBONE)


def test_the_same_seed_gives_the_same_answer_to_the_last_digit(wishbone):
    plan = SuggestPlan(StudyPlan(trials=25, seed=3))
    assert suggest(wishbone, plan) == suggest(wishbone, plan)


def tried_rows(case: Case, seed: int) -> set[int]:
    candidates = candidates_of(case)
    run_study(candidates, StudyPlan(trials=25, seed=seed))
    return set(np.flatnonzero(np.isfinite(candidates.peak)).tolist())


def test_the_same_seed_tries_the_same_settings_and_another_seed_others(wishbone):
    assert tried_rows(wishbone, 0) == tried_rows(wishbone, 0)
    assert tried_rows(wishbone, 0) != tried_rows(wishbone, 1)


def test_another_seed_ranks_the_same(wishbone):
    one, other = (
        suggest(wishbone, SuggestPlan(StudyPlan(trials=25, seed=seed))) for seed in (0, 1)
    )
    assert one.ranked == other.ranked


def assert_study_is_compared_with_the_proof(case: Case, trials: int) -> None:
    answer = suggest(case, SuggestPlan(StudyPlan(trials=trials)))
    proof = answer.certificate
    assert proof.study_trials == trials
    assert proof.study_gap_deg == pytest.approx(
        proof.study_peak_toe_change_deg - proof.best_peak_toe_change_deg, abs=1e-12
    )
    said = one_line(suggest_report(answer, "case.toml"))
    if proof.study_gap_deg == 0.0:
        assert f"The study ({trials} trials) found the same." in said
    else:
        assert proof.study_gap_deg > 0.0
        assert f"The study ({trials} trials) stopped " in said
        assert "above it; the ranking uses the better." in said


def test_the_study_s_best_is_the_proof_s_or_the_gap_is_printed(demo_car):
    assert_study_is_compared_with_the_proof(read_case(demo_car), 10)


@pytest.mark.parametrize("trials", [1, 2, 60])
def test_a_study_of_any_length_is_compared_with_the_proof(wishbone, trials):
    assert_study_is_compared_with_the_proof(wishbone, trials)


def test_a_study_that_stopped_short_of_the_best_does_not_spoil_the_ranking(wishbone):
    poor = suggest(wishbone, SuggestPlan(StudyPlan(trials=1)))
    good = suggest(wishbone, SuggestPlan(StudyPlan(trials=30)))
    assert poor.certificate.study_gap_deg > 0.5
    assert poor.ranked == good.ranked


def test_the_study_starts_from_the_car_as_it_is_and_the_fitted_pivot(demo_car):
    case = read_case(demo_car)
    candidates = candidates_of(case)
    starts = 1 + len(candidates.space.raises) * len(candidates.space.drops)
    run_study(candidates, StudyPlan(trials=starts))
    found = np.degrees(candidates.peak)
    assert np.isfinite(found[candidates.space.left])
    best_of_all = np.degrees(np.abs(candidates.evaluator.toe_change(candidates.space.settings)))
    # The fit is least squares, the score a peak: near the best, seldom the best itself.
    assert np.nanmin(found) < best_of_all.max(axis=1).min() + 0.02


def test_the_study_is_never_longer_than_there_are_settings():
    case = read_case(CASES / "extended-strut.toml")
    outcome, ran = studied(case, StudyPlan(trials=500))
    assert outcome.trials == len(ran) == len(space_of(case).settings)


def test_a_study_that_finds_nothing_that_fits_says_so(wishbone):
    joint = wishbone.joint.model_copy(
        update={"outer": wishbone.joint.outer.model_copy(update={"tilt_limit_deg": 0.5})}
    )
    outcome, _ = studied(wishbone.model_copy(update={"joint": joint}), StudyPlan(trials=5))
    assert outcome == StudyOutcome(best=None, trials=5)


@pytest.mark.parametrize("place", ["study.log", "sqlite:///{folder}/study.db"])
def test_a_study_resumes_where_it_stopped(wishbone, tmp_path, place):
    storage = place.format(folder=tmp_path)
    storage = storage if "://" in storage else str(tmp_path / storage)
    first, ran_first = studied(wishbone, StudyPlan(trials=3, storage=storage))
    second, ran_second = studied(wishbone, StudyPlan(trials=5, storage=storage))
    third, ran_third = studied(wishbone, StudyPlan(trials=5, storage=storage))
    assert (first.trials, second.trials, third.trials) == (3, 5, 5)
    assert ran_first == [1, 2, 3]
    assert ran_second == [4, 5]
    assert ran_third == []
    assert second.best == third.best


def test_a_study_file_holds_each_trial_once_and_a_finished_study_adds_none(wishbone, tmp_path):
    path = tmp_path / "study.log"
    studied(wishbone, StudyPlan(trials=6, storage=str(path)))
    before = path.read_text()
    studied(wishbone, StudyPlan(trials=6, storage=str(path)))
    added = path.read_text().removeprefix(before)
    assert before.count('"row"') == 6
    assert "trial_id" not in added
    assert [entry.name for entry in tmp_path.iterdir()] == ["study.log"]


@pytest.mark.parametrize("trials", [1, 6])
def test_a_finished_study_gives_the_same_answer_when_it_is_opened_again(wishbone, tmp_path, trials):
    plan = SuggestPlan(StudyPlan(trials=trials, storage=str(tmp_path / "study.log")))
    first = suggest(wishbone, plan)
    again = suggest(wishbone, plan)
    assert again.ranked == first.ranked
    assert again.certificate.study_trials == trials
    assert again.certificate.study_gap_deg == pytest.approx(
        first.certificate.study_gap_deg, abs=1e-12
    )


def test_another_case_in_the_same_file_is_another_study(wishbone, tmp_path):
    storage = str(tmp_path / "study.log")
    studied(wishbone, StudyPlan(trials=6, storage=storage))
    stiffer = wishbone.model_copy(
        update={"aim": wishbone.aim.model_copy(update={"toe_gain_deg_per_10mm": 0.02})}
    )
    outcome, ran = studied(stiffer, StudyPlan(trials=6, storage=storage))
    assert outcome.trials == len(ran) == 6
    back, ran = studied(wishbone, StudyPlan(trials=6, storage=storage))
    assert (back.trials, ran) == (6, [])


def test_a_study_of_another_range_in_the_same_file_names_its_own_settings(wishbone, tmp_path):
    storage = str(tmp_path / "study.log")
    studied(wishbone, StudyPlan(trials=10, storage=storage))
    narrow = OuterPivot.model_validate({"stack": {"min": 0.0, "max": 4.0, "step": 0.5}})
    shorter = wishbone.model_copy(update={"outer_pivot": narrow})
    outcome, _ = studied(shorter, StudyPlan(trials=10, storage=storage))
    candidates = candidates_of(shorter)
    best = prove(candidates, wanted=1).fitting[0]
    assert outcome.best is not None
    assert candidates.fits(np.array([outcome.best]))[0]
    assert candidates.peak[outcome.best] >= candidates.peak[best]


def test_a_study_cut_off_while_writing_goes_on_from_its_last_whole_line(wishbone, tmp_path):
    path = tmp_path / "study.log"
    studied(wishbone, StudyPlan(trials=8, storage=str(path)))
    path.write_bytes(path.read_bytes()[:-10])  # the power went while the last line was written
    for trials in (10, 12):
        outcome, _ = studied(wishbone, StudyPlan(trials=trials, storage=str(path)))
        assert outcome.trials == trials
    assert all(json.loads(line) for line in path.read_text().splitlines())


FOREIGN = {
    "one line of prose": b"hello",
    "prose": b"The car darts.\nIt always did.\n",
    "one line of prose, ended": b"hello\n",
    "a JSON object of something else": b'{"a": 1}\n',
    "a record that says nothing": b'{"op_code": 0}\n',
    "a record of no known kind": b'{"op_code": 99}\n',
    "a JSON list": b"[1]\n",
    "a JSON number": b"1\n",
    "a case file": WISHBONE.read_bytes(),
    "a picture": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
    "bytes that are no text": b"\xff\xfe\n\xff\n",
}


@pytest.mark.parametrize("content", FOREIGN.values(), ids=FOREIGN)
def test_a_file_that_is_no_study_is_refused_and_left_as_it_was(capsys, tmp_path, content):
    path = tmp_path / "notes.txt"
    path.write_bytes(content)
    assert main(["suggest", str(WISHBONE), "--trials", "2", "--study", str(path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == f"--study {path}: this file is not a study's record\n"
    assert path.read_bytes() == content
    assert [entry.name for entry in tmp_path.iterdir()] == ["notes.txt"]


UNUSABLE = {
    "{folder}/missing/study.log": "must be a file in a folder that exists",
    "{folder}": "must be a file in a folder that exists",
    "sqlite:///{folder}/missing/study.db": "the database does not answer",
    "sqlite:///{folder}/notes.txt": "the database does not answer",
    "postgresql+nodriver://nobody@127.0.0.1:1/none": "",
    "nosuchdatabase://somewhere": "",
    "://": "",
    "mysql://nobody@127.0.0.1:port/none": "",
}


@pytest.mark.parametrize("place", UNUSABLE)
def test_a_study_that_can_t_be_kept_there_ends_with_one_sentence(capsys, tmp_path, place):
    (tmp_path / "notes.txt").write_text("nothing like a database\n" * 100)
    named = place.format(folder=tmp_path)
    assert main(["suggest", str(WISHBONE), "--trials", "2", "--study", named]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f"--study {named}: {UNUSABLE[place]}")
    assert err.count("\n") == 1
    assert [entry.name for entry in tmp_path.iterdir()] == ["notes.txt"]


def test_a_storage_that_does_not_open_is_a_user_s_mistake_in_the_library_too(tmp_path):
    with pytest.raises(PivotwrightError, match=r"--study .*: must be a file in a folder"):
        study_storage(str(tmp_path / "missing" / "study.log"))
