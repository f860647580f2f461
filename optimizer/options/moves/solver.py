"""Linear programs as HiGHS solves them, called without the layers of a larger package.

The refinement of a pivot asks for dozens of small programs; by way of `scipy.optimize`, which calls
the same solver, the import alone takes longer than they do.
"""

from functools import cache

import highspy
import numpy as np

from geometry.vectors import Array


def least_cost(cost: Array, rows: Array, at_most: Array, low: Array, high: Array) -> Array | None:
    """Solve for the x (N,) of least cost . x with rows . x <= at_most and low <= x <= high.

    `rows` are (M, N).  None where there is no such x.
    """
    count, unknowns = rows.shape
    program = highspy.HighsLp()
    program.num_row_, program.num_col_ = count, unknowns
    program.col_cost_, program.col_lower_, program.col_upper_ = cost, low, high
    program.row_lower_, program.row_upper_ = np.full(count, -np.inf), at_most
    matrix = program.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kRowwise
    matrix.start_ = np.arange(count + 1) * unknowns
    matrix.index_ = np.tile(np.arange(unknowns), count)
    matrix.value_ = rows.ravel()
    solver = _solver()
    solver.passModel(program)
    solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    return np.array(solver.getSolution().col_value)


class _Quiet(highspy.Highs):
    """HiGHS without a word: version 1.16 greets on stdout unless told otherwise at once."""

    def enableCallbacks(self) -> None:  # highspy asks for this name, first of all
        self.setOptionValue("output_flag", False)


@cache
def _solver() -> highspy.Highs:
    solver = _Quiet()  # type: ignore[no-untyped-call]
    solver.setOptionValue("threads", 1)  # so that every run goes the same way
    return solver
