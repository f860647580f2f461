"""Readings that the others can't explain: found one after the other, never corrected.

A mistake is looked for in every reading by itself, in every floor mark (both ways at once) and in
the floor below it.  The one that explains most is named, with all others that would explain as
much, and weighed as no better than the mistake that it seems to hold; then the next is looked for
(data snooping; Baarda, as in `geometry.network`).
"""

from math import erfc, log, sqrt

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from geometry.network import Adjusted, adjusted, soon_left
from geometry.vectors import Array
from optimizer.surveying.observations import Network, Observation
from optimizer.surveying.start import base_of, rows_far_off, start_of

WRONGLY_NAMED = 0.02  # share of surveys without a mistake in which one is named all the same
ALIKE = 3.0  # of the logarithm of a probability: what explains as much as the best
MOST_ALIKE = 4
MOST_MISTAKES = 8


class Suspect(Struct, frozen=True):
    """One explanation: the observations that would be wrong, and by how much. [mm, deg].

    `by` has one number a row, read less meant.
    """

    rows: tuple[int, ...]
    by: tuple[float, ...]
    log_probability: float
    sigmas: float
    """How far it stands apart: the normalised residual, of two the root of their chi-square."""


class Snooped(Struct, frozen=True):
    """A network with the readings that stand apart weighed down, and the explanations of each."""

    network: Network
    fit: Adjusted
    mistakes: list[list[Suspect]]
    first: Adjusted
    """As it was before any reading was weighed down."""


def snooped(network: Network, start: Array) -> Snooped:
    """Adjust a network, and name what stands apart.

    Raises
    ------
    numpy.linalg.LinAlgError
        The readings leave a point open.
    """
    fit = first = _adjusted(network, start)
    mistakes: list[list[Suspect]] = []
    for row in rows_far_off(network.places, network.observations, start):
        # So large a mistake bends the whole net to it, and the true readings are blamed.
        one = network.observations[row]
        by = one.value - base_of(network.places, start)
        sigmas = abs(by) / one.sigma
        found = [Suspect((row,), (by,), _log_tail(sigmas**2, 1), sigmas)]
        mistakes.append(found)
        network = replace(network, observations=_weighed_down(network.observations, found))
    if mistakes:
        fit = _adjusted(network, start)
    while len(mistakes) < MOST_MISTAKES:
        found = _most_likely(network.observations, fit)
        if not found:
            break
        mistakes.append(found)
        network = replace(network, observations=_weighed_down(network.observations, found))
        fit = _adjusted(network, fit.unknowns)
    return Snooped(network, fit, mistakes, first)


def left_from_start(network: Network, rounds: int) -> float:
    """Chi-square of a network as it is, mistakes and all, as far as it comes in so many rounds."""
    start = start_of(network.places, network.observations)
    return soon_left(network, start, network.values, network.sigma, rounds)


def _adjusted(network: Network, start: Array) -> Adjusted:
    return adjusted(network, start, network.values, network.sigma)


def _most_likely(observations: list[Observation], fit: Adjusted) -> list[Suspect]:
    """Explanations of what stands out most, none where nothing does."""
    suspects = [suspect_of(rows, fit) for rows in hypotheses(observations)]
    best = min(suspects, key=lambda one: one.log_probability)
    least = log(WRONGLY_NAMED / len(suspects))
    if best.log_probability > least:
        return []
    most = min(least, best.log_probability + ALIKE)
    alike = [one for one in suspects if one.log_probability <= most]
    return sorted(alike, key=lambda one: one.log_probability)[:MOST_ALIKE]


def hypotheses(observations: list[Observation]) -> list[tuple[int, ...]]:
    """Observations that one mistake would spoil together, for each that is looked for."""
    alone = [
        (k,) for k, one in enumerate(observations) if not one.kind.startswith(("plumb-", "slope-"))
    ]
    plumb = [k for k, one in enumerate(observations) if one.kind == "plumb-x"]
    return [*alone, *((k, k + 1) for k in plumb)]


def suspect_of(rows: tuple[int, ...], fit: Adjusted) -> Suspect:
    """The explanation that some observations are wrong together, by what a fit leaves of them."""
    if len(rows) == 1:
        sigmas, by = abs(float(fit.normalized[rows[0]])), fit.mistakes[[*rows]]
    else:
        sigmas, by = sqrt(fit.explained_by([*rows])), fit.mistakes_in([*rows])
    return Suspect(rows, tuple(by.tolist()), _log_tail(sigmas**2, len(rows)), sigmas)


def _log_tail(chi_square: float, freedom: int) -> float:
    """Logarithm of the probability that chi-square comes out larger, of 1 or 2 freedoms."""
    if freedom == 2:
        return -0.5 * chi_square
    tail = erfc(sqrt(0.5 * max(chi_square, 0.0)))
    far = -0.5 * chi_square - 0.5 * log(max(chi_square, 1.0) * 1.5707963267948966)
    return log(tail) if tail > 0.0 else far


def _weighed_down(observations: list[Observation], found: list[Suspect]) -> list[Observation]:
    weighed = [*observations]
    for suspect in found:
        size = float(np.hypot.reduce(suspect.by))
        for row in suspect.rows:
            one = weighed[row]
            weighed[row] = replace(one, sigma=float(np.hypot(one.sigma, size)))
    return weighed
