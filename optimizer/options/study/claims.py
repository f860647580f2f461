"""Trials shared by workers: each number is one worker's, and a dead worker's is taken over.

A trial is claimed by asking the storage for one, which no two workers are given; it says whose it
is.  One that is not needed after all goes back into the queue.  So does, to be claimed again, one
that was left behind: once a worker has nothing else to do, that of a process of this machine which
has ended, and any that stays open for long.  What is long follows from how long the study's trials
take, and from no time in which the storage itself did not answer.
"""

import logging
import os
import time
from contextlib import AbstractContextManager, suppress
from socket import gethostname

import numpy as np
import optuna
from optuna.trial import TrialState

WORKER = "worker"  # whose a trial is: the name of a machine, and the number of a process there
SILENT_S = 5.0  # and as many usual trials, after which an open one counts as left behind
SILENT_TRIALS = 10
LOOK_S = 0.05  # between two looks at the others' trials
CLAIMED_S = 2 * LOOK_S  # within which one that is claimed says so
TOLD_S = 3.0  # of waiting without a word
WAITING = "pivotwright: waiting for trials that others have open; each is taken over after {:.0f} s"
LOG = logging.getLogger(__name__)  # where nobody listens, on stderr, at once


class Claims:
    """The trials of a study that a storage holds."""

    def __init__(self, study: optuna.Study, store: optuna.storages.BaseStorage) -> None:
        self.study, self.store = study, store

    @property
    def count(self) -> int:
        """How many trials there are, whoever has them."""
        return len(self.study.get_trials(deepcopy=False))

    @property
    def queued(self) -> list[int]:
        """Numbers of the trials that wait to be claimed."""
        waiting = self.study.get_trials(deepcopy=False, states=(TrialState.WAITING,))
        return [trial.number for trial in waiting]

    def left(self, wanted: int) -> int:
        """How many of the wanted trials no worker has."""
        return max(0, wanted - self.count) + sum(number < wanted for number in self.queued)

    def claim(self) -> optuna.Trial:
        """Claim a trial: the first that waits, or else a new one."""
        trial = self.study.ask()
        with self.telling():
            trial.set_user_attr(WORKER, _this_worker())
        return trial

    def telling(self) -> AbstractContextManager[None]:
        """What is told of a trial that another worker has taken over and finished is not needed."""
        return suppress(optuna.exceptions.UpdateFinishedTrialError)

    def finish(self, trial: optuna.Trial, value: float) -> None:
        """Finish a trial, unless another worker has taken it over and finished it."""
        try:
            self.study.tell(trial, value, skip_if_finished=True)
        except (optuna.exceptions.UpdateFinishedTrialError, ValueError):
            if self.study.get_trials(deepcopy=False)[trial.number].state == TrialState.RUNNING:
                raise

    def give_back(self, trial: optuna.Trial) -> None:
        """Let another worker have a trial."""
        self._free(trial._trial_id)

    def take_over(self) -> bool:
        """Wait for the trials that others still have; whether one was left behind and waits now."""
        seen: dict[int, float] = {}
        silent_s, began, told = self._silent_s(), time.monotonic(), False
        while True:
            asked = time.monotonic()
            running = self.study.get_trials(deepcopy=False, states=(TrialState.RUNNING,))
            now = time.monotonic()
            if now - asked > SILENT_S:
                seen.clear()
            silent = [
                one
                for one in running
                if now - seen.setdefault(one.number, now)
                > (CLAIMED_S if _has_ended(one.user_attrs.get(WORKER)) else silent_s)
            ]
            for trial in silent:
                self._free(trial._trial_id)
            if silent or not running:
                return bool(silent)
            if not told and now - began > TOLD_S:
                LOG.warning(WAITING.format(silent_s))
                told = True
            time.sleep(LOOK_S)

    def _silent_s(self) -> float:
        """How long a trial of this study may stay open. [s]."""
        took = [trial.duration for trial in self.study.get_trials(deepcopy=False)]
        usual = [one.total_seconds() for one in took if one is not None]
        return SILENT_S + SILENT_TRIALS * (float(np.median(usual)) if usual else 0.0)

    def _free(self, trial_id: int) -> None:
        with self.telling():
            self.store.set_trial_state_values(trial_id, TrialState.WAITING)


def _this_worker() -> str:
    return f"{gethostname()} {os.getpid()}"


def _has_ended(worker: object) -> bool:
    """Whether a worker is another process of this machine that has ended, as far as can be told."""
    if os.name != "posix" or not isinstance(worker, str):  # elsewhere signal 0 is no question
        return False
    machine, _, process = worker.rpartition(" ")
    if machine != gethostname() or not process.isdecimal():
        return False
    if int(process) == os.getpid():  # one before this had the same number: this one has none open
        return True
    try:
        os.kill(int(process), 0)
    except ProcessLookupError:
        return True
    except (OSError, OverflowError):
        return False
    return False
