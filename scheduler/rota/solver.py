"""Integer programs, built row by row and solved by HiGHS: the only place that knows it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import highspy

INFINITY = math.inf


@dataclass(frozen=True, slots=True)
class Solved:
    """A solution: its values, what it costs, and what none can go below."""

    values: Sequence[float]
    objective: float
    bound: float


@dataclass(slots=True)
class Program:
    """Minimise cost over variables between bounds, some of them whole numbers, under rows between bounds."""

    cost: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    row_lower: list[float] = field(default_factory=list)
    row_upper: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=lambda: [0])
    columns: list[int] = field(default_factory=list)
    factors: list[float] = field(default_factory=list)

    def variable(
        self, cost: float = 0.0, upper: float = INFINITY, *, lower: float = 0.0, whole: bool = False
    ) -> int:
        """Add a variable; return its number."""
        self.cost.append(cost)
        self.lower.append(lower)
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, lower: float, upper: float, terms: Iterable[tuple[int, float]]) -> None:
        """Add a row: the sum of the variables, each times its factor, lies between the bounds."""
        for column, factor in terms:
            self.columns.append(column)
            self.factors.append(factor)
        self.starts.append(len(self.columns))
        self.row_lower.append(lower)
        self.row_upper.append(upper)

    def solve(
        self,
        *,
        within: float = 1e-6,
        seconds: float = INFINITY,
        nodes: int | None = None,
        lower: Mapping[int, float] | None = None,
        upper: Mapping[int, float] | None = None,
    ) -> Solved | None:
        """Return the best solution found, or None where there is none in the time.

        It stops when it is `within` so much of its bound. `nodes` limits the search alike on every machine,
        `seconds` only as the last resort. `lower` and `upper` are bounds for this time only.
        """
        import highspy

        solver = _solver()
        solver.setOptionValue("mip_rel_gap", 0.0)
        solver.setOptionValue("mip_abs_gap", within)
        if nodes is not None:
            solver.setOptionValue("mip_max_nodes", nodes)
        if seconds != INFINITY:
            solver.setOptionValue("time_limit", max(0.05, seconds))
        problem = self._problem()
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        problem.integrality_ = [kinds[is_whole] for is_whole in self.whole]
        solver.passModel(problem)
        for column in {**(lower or {}), **(upper or {})}:
            most = (upper or {}).get(column, self.upper[column])
            solver.changeColBounds(column, min(most, (lower or {}).get(column, self.lower[column])), most)
        solver.run()
        info = solver.getInfo()
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return None
        objective = info.objective_function_value
        bound = info.mip_dual_bound if any(self.whole) else objective
        return Solved(list(solver.getSolution().col_value), objective, min(bound, objective))

    def relaxed(self) -> Relaxed:
        """Return the program with all variables as fractions, to be solved again and again."""
        return Relaxed(self)

    def _problem(self) -> highspy.HighsLp:
        import highspy
        import numpy as np

        problem = highspy.HighsLp()
        problem.num_col_, problem.num_row_ = len(self.cost), len(self.row_lower)
        problem.col_cost_ = np.array(self.cost, dtype=float)
        problem.col_lower_ = np.array(self.lower, dtype=float)
        problem.col_upper_ = np.array(self.upper, dtype=float)
        problem.row_lower_ = np.array(self.row_lower, dtype=float)
        problem.row_upper_ = np.array(self.row_upper, dtype=float)
        matrix = problem.a_matrix_
        matrix.format_ = highspy.MatrixFormat.kRowwise
        matrix.start_ = np.array(self.starts, dtype=np.int32)
        matrix.index_ = np.array(self.columns, dtype=np.int32)
        matrix.value_ = np.array(self.factors, dtype=float)
        return problem


class Relaxed:
    """A linear program that goes on from its last solution when bounds change: that takes a fraction of the
    time."""

    def __init__(self, program: Program) -> None:
        """Take the program."""
        import highspy

        self._optimal = highspy.HighsModelStatus.kOptimal
        self._solver = _solver()
        self._solver.passModel(program._problem())

    def run(self) -> Solved:
        """Solve it. The programs of a rota always have a solution: nobody has to take anything."""
        self._solver.run()
        status = self._solver.getModelStatus()
        assert status == self._optimal, status
        objective = self._solver.getInfo().objective_function_value
        return Solved(list(self._solver.getSolution().col_value), objective, objective)

    def limit(self, upper: Mapping[int, float]) -> None:
        """Change the upper bounds of variables."""
        for column, most in upper.items():
            self._solver.changeColBounds(column, 0.0, most)


def _solver() -> highspy.Highs:
    import highspy

    class Quiet(highspy.Highs):
        """HiGHS greets on standard output, where our data go, when it prepares its callbacks; none are needed
        here."""

        def enableCallbacks(self) -> None:  # noqa: N802 - the name is theirs
            self.setOptionValue("output_flag", False)

    solver: highspy.Highs = Quiet()  # type: ignore[no-untyped-call]
    # One thread and one seed: the same input gives the same rota.
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("random_seed", 0)
    return solver
