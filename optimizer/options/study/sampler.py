"""Optuna samplers to which a trial's number says what it is, whichever worker has it."""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import optuna
from optuna.distributions import BaseDistribution

Params = dict[str, Any]


class ByNumber(optuna.samplers.BaseSampler):
    """Proposes the parameters that belong to a trial's number; none where the walk has ended.

    Every worker of a study knows the same walk, so the number says which option a trial is.
    """

    def __init__(
        self, proposal: Callable[[int], Params | None], space: dict[str, BaseDistribution]
    ) -> None:
        self._space = space
        self._proposal = proposal

    def infer_relative_search_space(
        self, study: optuna.Study, trial: optuna.trial.FrozenTrial
    ) -> dict[str, BaseDistribution]:
        """Take the whole space for what is proposed: nothing is learned from trials."""
        return {} if self._proposal(trial.number) is None else self._space

    def sample_relative(
        self,
        study: optuna.Study,
        trial: optuna.trial.FrozenTrial,
        search_space: dict[str, BaseDistribution],
    ) -> Params:
        """Propose what belongs to the trial's number."""
        return self._proposal(trial.number) or {}

    def sample_independent(
        self,
        study: optuna.Study,
        trial: optuna.trial.FrozenTrial,
        param_name: str,
        param_distribution: BaseDistribution,
    ) -> Any:
        """Refuse: every parameter belongs to a proposal."""
        raise ValueError(f"{param_name} is not part of what is proposed")


class KnownFirst(ByNumber):
    """Proposes what is known first; then each number has a random stream of its own."""

    def __init__(
        self, known: Sequence[Params], space: dict[str, BaseDistribution], seed: int
    ) -> None:
        super().__init__(dict(enumerate(known)).get, space)
        self._seed = seed
        self._streams: dict[int, optuna.samplers.TPESampler] = {}

    def sample_independent(
        self,
        study: optuna.Study,
        trial: optuna.trial.FrozenTrial,
        param_name: str,
        param_distribution: BaseDistribution,
    ) -> Any:
        """Draw from the stream of the trial's number, wiser by what all workers have found."""
        if trial.number not in self._streams:
            seed = np.random.SeedSequence([self._seed, trial.number]).generate_state(1)[0]
            self._streams[trial.number] = optuna.samplers.TPESampler(seed=int(seed))
        stream = self._streams[trial.number]
        return stream.sample_independent(study, trial, param_name, param_distribution)
