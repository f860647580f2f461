"""Trials shared by workers: each number is one worker's, and a dead worker's is taken over.

A trial is claimed by asking the storage for one, which no two workers are given.  One that is not
needed after all goes back into the queue.  One that stays open for long after a worker has nothing
else to do was left behind by a worker that died: it goes back as well, and is claimed again.
"""

import time

import optuna
from optuna.trial import TrialState

SILENT_S = 5.0  # after which an open trial counts as left behind
LOOK_S = 0.05  # between two looks at the others' trials


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
        return self.study.ask()

    def finish(self, trial: optuna.Trial, value: float) -> None:
        """Finish a trial, unless another worker has taken it over and finished it."""
        try:
            self.study.tell(trial, value, skip_if_finished=True)
        except (optuna.exceptions.UpdateFinishedTrialError, ValueError):
            if self.study.get_trials(deepcopy=False)[trial.number].state == TrialState.RUNNING:
                raise

    def give_back(self, trial: optuna.Trial) -> None:
        """Let another worker have a trial."""
        self.store.set_trial_state_values(trial._trial_id, TrialState.WAITING)

    def take_over(self) -> bool:
        """Wait for the trials that others still have; whether one was left behind and waits now."""
        seen: dict[int, float] = {}
        while running := self.study.get_trials(deepcopy=False, states=(TrialState.RUNNING,)):
            now = time.monotonic()
            silent = [x for x in running if now - seen.setdefault(x.number, now) > SILENT_S]
            for trial in silent:
                self.store.set_trial_state_values(trial._trial_id, TrialState.WAITING)
            if silent:
                return True
            time.sleep(LOOK_S)
        return False
