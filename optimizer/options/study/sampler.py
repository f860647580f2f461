"""An Optuna sampler that proposes what a walk solves, in its order, and stops where it ends."""

from collections.abc import Iterator
from typing import Any

import optuna
from optuna.distributions import BaseDistribution

Params = dict[str, Any]


class InOrder(optuna.samplers.BaseSampler):
    """Proposes parameters in the order in which an iterator gives them.

    The study that asks it for more than there is stops: the iterator ends where nothing that is
    left could be better than what was found.
    """

    def __init__(self, proposals: Iterator[Params], space: dict[str, BaseDistribution]) -> None:
        self.space = space
        self._proposals = proposals
        self._next = next(proposals, None)

    @property
    def exhausted(self) -> bool:
        """Whether nothing is left to propose."""
        return self._next is None

    def infer_relative_search_space(
        self, study: optuna.Study, trial: optuna.trial.FrozenTrial
    ) -> dict[str, BaseDistribution]:
        """Take the space as it is: nothing is learned from trials."""
        return self.space

    def sample_relative(
        self,
        study: optuna.Study,
        trial: optuna.trial.FrozenTrial,
        search_space: dict[str, BaseDistribution],
    ) -> Params:
        """Propose what comes next."""
        return self._next or {}

    def sample_independent(
        self,
        study: optuna.Study,
        trial: optuna.trial.FrozenTrial,
        param_name: str,
        param_distribution: BaseDistribution,
    ) -> Any:
        """Refuse: every parameter belongs to a proposal."""
        raise ValueError(f"{param_name} is not part of what is proposed")

    def after_trial(
        self,
        study: optuna.Study,
        trial: optuna.trial.FrozenTrial,
        state: optuna.trial.TrialState,
        values: Any,
    ) -> None:
        """Go on to the next proposal; end the study where there is none."""
        self._next = next(self._proposals, None)
        if self._next is None:
            study.stop()
