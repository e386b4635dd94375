"""A mixed-integer linear model, built column by column and row by row, and solved by HiGHS.

The solver is run on one thread with a fixed seed, so that the same model gives the same answer.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum, auto
from typing import Any

import highspy
import numpy as np

INFINITY = highspy.kHighsInf
TOLERANCE = 1e-7  # how close to the best cost a proof comes, in the stock's currency


class Outcome(Enum):
    """What a run ended with."""

    PROVED = auto()  # the best answer, proved
    STOPPED = auto()  # out of time, or told to stop; there may be an answer
    IMPOSSIBLE = auto()  # proved to have no answer


@dataclass(frozen=True, slots=True)
class Answer:
    """How a run ended. values: None when no answer was found. bound: no answer is below it."""

    outcome: Outcome
    values: Sequence[float] | None
    objective: float
    bound: float
    duals: Sequence[float] = ()


class _SilentHighs(highspy.Highs):
    """HiGHS that writes nothing: it would greet on standard output before its output can be turned off."""

    def enableCallbacks(self) -> None:  # noqa: N802
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()  # type: ignore[no-untyped-call]


@dataclass
class Model:
    """Columns with costs and bounds, rows with coefficients and bounds; the cost is to be least."""

    costs: list[float] = field(default_factory=list)
    lows: list[float] = field(default_factory=list)
    highs: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    row_lows: list[float] = field(default_factory=list)
    row_highs: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=lambda: [0])
    columns: list[int] = field(default_factory=list)
    coefficients: list[float] = field(default_factory=list)
    gap: float = 0.0  # share of the cost within which an answer is good enough
    # HiGHS 1.16's presolve has been seen to call integer models impossible that are not, and to miss their
    # best answers (as in its issue 3296). So a proof never rests on it; a quick plan, which is checked
    # anyway, may use it.
    presolve: bool = False

    def add_column(
        self, cost: float = 0.0, low: float = 0.0, high: float = INFINITY, whole: bool = False
    ) -> int:
        """A new column; its number."""
        self.costs.append(cost)
        self.lows.append(low)
        self.highs.append(high)
        self.whole.append(whole)
        return len(self.costs) - 1

    def add_row(self, terms: Mapping[int, float], low: float = -INFINITY, high: float = INFINITY) -> int:
        """A new row low <= sum of terms <= high; its number."""
        for column, coefficient in terms.items():
            if coefficient:
                self.columns.append(column)
                self.coefficients.append(coefficient)
        self.starts.append(len(self.columns))
        self.row_lows.append(low)
        self.row_highs.append(high)
        return len(self.row_lows) - 1

    def solve(
        self,
        seconds: float,
        *,
        relaxed: bool = False,
        start: Mapping[int, float] | None = None,
        on_step: Callable[[float, float], bool] | None = None,
    ) -> Answer:
        """Solve within so many seconds.

        relaxed: let integer columns be fractions; the answer then has row duals.
        start: values of some columns, from which to begin.
        on_step: told the best objective and bound now and then; returning True stops the run.
        """
        if seconds <= 0:
            return Answer(Outcome.STOPPED, None, INFINITY, -INFINITY)
        solver = self.solver(seconds, relaxed=relaxed)
        if start is not None:
            columns = np.array(list(start), dtype=np.int32)
            solver.setSolution(len(columns), columns, np.array(list(start.values()), dtype=np.float64))
        if on_step is not None and not relaxed:

            def look(event: Any) -> None:
                best, bound = event.data_out.mip_primal_bound, event.data_out.mip_dual_bound
                if on_step(best, bound):
                    event.data_in.user_interrupt = 1

            solver.cbMipInterrupt += look
        solver.run()
        return _answer(solver, relaxed)

    def solver(self, seconds: float, *, relaxed: bool) -> Any:
        """HiGHS, loaded with the model."""
        solver: Any = _SilentHighs()  # type: ignore[no-untyped-call]
        for name, value in {
            "output_flag": False,
            "threads": 1,
            "random_seed": 1,
            "time_limit": float(seconds),
            "mip_rel_gap": self.gap,
            "mip_abs_gap": TOLERANCE,
            "presolve": "choose" if self.presolve or relaxed else "off",
        }.items():
            solver.setOptionValue(name, value)
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.costs), len(self.row_lows)
        lp.col_cost_ = np.array(self.costs, dtype=np.float64)
        lp.col_lower_ = np.array(self.lows, dtype=np.float64)
        lp.col_upper_ = np.array(self.highs, dtype=np.float64)
        lp.row_lower_ = np.array(self.row_lows, dtype=np.float64)
        lp.row_upper_ = np.array(self.row_highs, dtype=np.float64)
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.array(self.starts, dtype=np.int32)
        lp.a_matrix_.index_ = np.array(self.columns, dtype=np.int32)
        lp.a_matrix_.value_ = np.array(self.coefficients, dtype=np.float64)
        if not relaxed:
            kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
            lp.integrality_ = [kinds[whole] for whole in self.whole]
        solver.passModel(lp)
        return solver


class GrowingLp:
    """A linear model that is solved again and again as columns are added, each time from where it stood."""

    def __init__(self, model: Model) -> None:
        self._solver = model.solver(INFINITY, relaxed=True)

    def add_column(self, cost: float, terms: Mapping[int, float]) -> None:
        """A new column, 0 or more, with its coefficients by row."""
        rows = np.array(list(terms), dtype=np.int32)
        values = np.array(list(terms.values()), dtype=np.float64)
        self._solver.addCol(cost, 0.0, INFINITY, len(rows), rows, values)

    def add_row(self, low: float = -INFINITY, high: float = INFINITY) -> int:
        """A new row, nothing in it yet; its number."""
        self._solver.addRow(low, high, 0, np.array([], dtype=np.int32), np.array([], dtype=np.float64))
        return int(self._solver.getNumRow()) - 1

    def price(self, column: int, cost: float) -> None:
        """A column costs something else from now on."""
        self._solver.changeColCost(column, cost)

    def solve(self) -> tuple[float, Sequence[float]]:
        """The least cost, and what a unit of each row is worth."""
        cost, duals, _ = self.solved()
        return cost, duals

    def solved(self) -> tuple[float, Sequence[float], Sequence[float]]:
        """The least cost, what a unit of each row is worth, and how much of each column is used."""
        self._solver.run()
        solution = self._solver.getSolution()
        cost = self._solver.getInfo().objective_function_value
        return cost, list(solution.row_dual), list(solution.col_value)


def _answer(solver: Any, relaxed: bool) -> Answer:
    status, info = solver.getModelStatus(), solver.getInfo()
    solution = solver.getSolution()
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    values = list(solution.col_value) if found else None
    objective = info.objective_function_value if found else INFINITY
    duals = list(solution.row_dual) if relaxed and found else ()
    if status == highspy.HighsModelStatus.kOptimal:
        return Answer(Outcome.PROVED, values, objective, objective if relaxed else info.mip_dual_bound, duals)
    if status == highspy.HighsModelStatus.kInfeasible:
        return Answer(Outcome.IMPOSSIBLE, None, INFINITY, INFINITY)
    return Answer(Outcome.STOPPED, values, objective, -INFINITY if relaxed else info.mip_dual_bound)
