"""An option as the parameters of an Optuna trial: each is a place in a list."""

from typing import Any

import numpy as np
import optuna
from optuna.distributions import (
    BaseDistribution,
    CategoricalDistribution,
    FloatDistribution,
    IntDistribution,
)

from optimizer.options.dimensions import Option, OptionSpace
from optimizer.options.space import Space
from optimizer.options.study.sampler import Params

HARDWARE = "hardware"


class Parameters:
    """Names and ranges of a space's dimensions; what both wheels share has one name.

    A stack's place past its list stands for leaving the wheel as it is, where that is none of what
    can be built.
    """

    def __init__(self, space: OptionSpace) -> None:
        self.space = space
        several = len(space.wheels) > 1
        self.names: list[tuple[str, ...]] = []
        self.distributions: dict[str, BaseDistribution] = {}
        if len(space.hardware) > 1:
            # A category would be compared with all others anew in each trial.
            self.distributions[HARDWARE] = IntDistribution(0, len(space.hardware) - 1)
        for wheel in space.wheels:
            own = f" {wheel.evaluator.case.side}" if several else ""
            shared = "" if space.shares_rack else own
            names = (
                f"stack{own}",
                f"rack{shared}",
                f"rack fore and aft{shared}",
                f"linkage{shared}",
            )
            self.names.append(names)
            most = np.max([part.space.sizes for part in wheel.parts], axis=0)
            for name, size in zip(names, most.tolist(), strict=True):
                self.distributions[name] = IntDistribution(0, size)

    def of(self, option: Option) -> Params:
        """Parameters of an option."""
        found: Params = {}
        for names, wheel, row in zip(self.names, self.space.wheels, option.rows, strict=True):
            part, local = wheel.place(row)
            if HARDWARE in self.distributions:
                found[HARDWARE] = part
            places = _places(wheel.parts[part].space, local)
            found |= dict(zip(names, places, strict=True))
        return found

    def suggested(self, trial: optuna.Trial) -> Option:
        """Option that a trial is to try."""
        found = {name: suggested(trial, name, one) for name, one in self.distributions.items()}
        part, rows = found.get(HARDWARE, 0), []
        for names, wheel in zip(self.names, self.space.wheels, strict=True):
            space = wheel.parts[part].space
            stack, *others = (found[name] for name in names)
            local = space.left if stack == len(space.stacks) else space.row(stack, *others)
            rows.append(int(wheel.starts[part]) + local)
        return Option(tuple(rows))


def suggested(trial: optuna.Trial, name: str, one: BaseDistribution) -> Any:
    """Value of a parameter that a trial is to try."""
    if isinstance(one, IntDistribution):
        return trial.suggest_int(name, one.low, one.high)
    if isinstance(one, FloatDistribution):
        return trial.suggest_float(name, one.low, one.high)
    assert isinstance(one, CategoricalDistribution)
    return trial.suggest_categorical(name, one.choices)


def _places(space: Space, row: int) -> tuple[int, ...]:
    if row < space.built:
        return space.places(row)
    racks = [
        each.index(0.0) if 0.0 in each else len(each) for each in (space.raises, space.forwards)
    ]
    return len(space.stacks), *racks, 0
