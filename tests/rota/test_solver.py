"""The programs of weeks, and small ones, against another way to solve them.

Linear programs are given to scipy's `linprog`. It rests on a solver of the same family, so its answer is not taken on
trust: the multipliers that it returns are multiplied out here, and by weak duality no solution can cost less than what
they come to. Small integer programs are solved by trying everything.
"""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import LinearConstraint, linprog, milp
from scipy.sparse import csr_matrix
from support.depth import examples
from support.rota.small_sites import sample

from scheduler.rota.solver import Program, Relaxed

NEAR = 1e-6


def matrix(program):
    """Return the rows of a program as scipy has them."""
    return csr_matrix(
        (program.factors, program.columns, program.starts), shape=(len(program.row_lower), len(program.cost))
    )


def certified(program):
    """Return the least cost by linprog, after its proof has been checked: no solution costs less."""
    rows, low, high = matrix(program), np.array(program.row_lower), np.array(program.row_upper)
    same = low == high
    below, above = ~same & np.isfinite(high), ~same & np.isfinite(low)
    upper = csr_matrix(np.vstack([rows[below].toarray(), -rows[above].toarray()]))
    limits = np.concatenate([high[below], -low[above]])
    cost, least, most = map(np.array, (program.cost, program.lower, program.upper))
    found = linprog(
        cost,
        A_ub=upper if upper.shape[0] else None,
        b_ub=limits if upper.shape[0] else None,
        A_eq=rows[same] if same.any() else None,
        b_eq=low[same] if same.any() else None,
        bounds=np.column_stack([least, most]),
    )
    assert found.status == 0, found.message
    # Multipliers: rows from above take at most nothing, bounds from below at least nothing.
    rest = cost - found.lower.marginals - found.upper.marginals
    proven = np.where(np.isfinite(least), least, 0.0) @ found.lower.marginals
    proven += np.where(np.isfinite(most), most, 0.0) @ found.upper.marginals
    if upper.shape[0]:
        assert (found.ineqlin.marginals <= NEAR).all()
        rest = rest - upper.T @ found.ineqlin.marginals
        proven += limits @ found.ineqlin.marginals
    if same.any():
        rest = rest - rows[same].T @ found.eqlin.marginals
        proven += low[same] @ found.eqlin.marginals
    assert (found.lower.marginals >= -NEAR).all()
    assert (found.upper.marginals <= NEAR).all()
    assert np.abs(rest).max() <= NEAR * max(1.0, np.abs(cost).max())
    assert proven == pytest.approx(found.fun, rel=1e-7, abs=1e-5)
    return found.fun


def keeps_the_rows(program, values, *, upper=None):
    """Tell whether values lie within the bounds and the rows."""
    x = np.array(values)
    most = np.array([(upper or {}).get(n, u) for n, u in enumerate(program.upper)])
    sums = matrix(program) @ x
    return (
        (x >= np.array(program.lower) - 1e-5).all()
        and (x <= most + 1e-5).all()
        and (sums >= np.array(program.row_lower) - 1e-4).all()
        and (sums <= np.array(program.row_upper) + 1e-4).all()
    )


@pytest.fixture
def relaxed_programs(monkeypatch):
    """Collect every program that a rota solves in fractions, with its first answer."""
    found = []
    begin, run = Relaxed.__init__, Relaxed.run
    seen = {}

    def starting(self, program):
        begin(self, program)
        seen[id(self)] = program

    def running(self):
        answer = run(self)
        if id(self) in seen:
            found.append((seen.pop(id(self)), answer))
        return answer

    monkeypatch.setattr(Relaxed, "__init__", starting)
    monkeypatch.setattr(Relaxed, "run", running)
    return found


@pytest.mark.parametrize(
    ("name", "weeks", "at_least"),
    [("household", 4, 15), pytest.param("rescue", 2, 20, marks=pytest.mark.slow)],
)
def test_every_linear_program_of_a_rota_is_solved_to_the_proven_least(
    relaxed_programs, name, weeks, at_least
):
    sample(name, weeks).rota()
    assert len(relaxed_programs) >= at_least
    for program, answer in relaxed_programs:
        assert keeps_the_rows(program, answer.values)
        assert np.array(program.cost) @ answer.values == pytest.approx(answer.objective, rel=1e-7, abs=1e-5)
        assert answer.objective == pytest.approx(certified(program), rel=1e-6, abs=1e-4)


@pytest.mark.parametrize(
    ("name", "weeks"), [("household", 4), pytest.param("rescue", 4, marks=pytest.mark.slow)]
)
def test_the_bound_of_a_rota_is_the_proven_least_of_its_first_program(relaxed_programs, name, weeks):
    """The first one is that of the whole span; nothing that any rota of it can cost lies below."""
    made = sample(name, weeks).rota()
    left = sum(one.item.job.minutes for one in made.unfilled)
    if not made.fairness.by_class and left:
        # Nobody could take it on any day: the programs are those of the rest.
        assert name == "household"
        assert certified(relaxed_programs[-1][0]) + 1000 * left == pytest.approx(
            made.fairness.bound, rel=1e-7
        )
        return
    if not made.fairness.by_class:
        assert certified(relaxed_programs[0][0]) == pytest.approx(made.fairness.bound, rel=1e-7)
        return
    # What is left was given up for something more urgent: the last program is that of the rest, with what is left beside it.
    assert name == "household"
    assert certified(relaxed_programs[-1][0]) + 1000 * left == pytest.approx(made.fairness.bound, rel=1e-7)
    assert certified(relaxed_programs[0][0]) <= made.fairness.bound


@pytest.fixture
def whole_programs(monkeypatch):
    """Collect every program that a rota solves in whole items, with what was asked and the answer."""
    found = []
    solve = Program.solve

    def solving(self, **asked):
        answer = solve(self, **asked)
        found.append((self, asked, answer))
        return answer

    monkeypatch.setattr(Program, "solve", solving)
    return found


def test_weeks_in_whole_items_against_scipys_integer_programs(whole_programs):
    """`milp` proves its own least; what a week took must lie within the gap that it says, and the bound below it."""
    made = sample("household", 4).rota()
    assert made.rounds
    assert len(whole_programs) >= 5
    for program, asked, answer in whole_programs:
        upper = np.array([(asked.get("upper") or {}).get(n, u) for n, u in enumerate(program.upper)])
        lower = np.minimum(
            upper, [(asked.get("lower") or {}).get(n, lo) for n, lo in enumerate(program.lower)]
        )
        best = milp(
            np.array(program.cost),
            integrality=np.array(program.whole, dtype=int),
            bounds=(lower, upper),
            constraints=LinearConstraint(matrix(program), program.row_lower, program.row_upper),
            options={"time_limit": 5.0, "mip_rel_gap": 1e-4},
        )
        if answer is None:
            assert best.status == 2, "none was found where there is one"
            continue
        assert keeps_the_rows(program, answer.values, upper=dict(enumerate(upper)))
        for value, is_whole in zip(answer.values, program.whole, strict=True):
            assert not is_whole or abs(value - round(value)) < 1e-5
        assert answer.bound <= best.fun + 1e-4 * abs(best.fun) + 1e-6
        assert answer.objective >= best.mip_dual_bound - 1e-6 * max(1.0, abs(best.mip_dual_bound))


whole_numbers = st.integers(-4, 4)


@st.composite
def small_programs(draw):
    """Up to five variables from 0 to 3, up to four rows. Some have no solution."""
    program = Program()
    size = draw(st.integers(1, 5))
    for _ in range(size):
        program.variable(
            float(draw(whole_numbers)), float(draw(st.integers(0, 3))), whole=draw(st.integers(0, 3)) > 0
        )
    for _ in range(draw(st.integers(0, 4))):
        terms = [(n, float(draw(whole_numbers))) for n in range(size)]
        low = draw(st.integers(-6, 6))
        kind = draw(st.sampled_from(["both", "below", "above"]))
        high = low + draw(st.integers(0, 5))
        program.row(
            -math.inf if kind == "above" else float(low), math.inf if kind == "below" else float(high), terms
        )
    return program


def best_by_trying(program):
    """Return the least cost of all whole values; None where none keeps the rows."""
    costs = [
        np.array(program.cost) @ values
        for values in itertools.product(*[range(int(most) + 1) for most in program.upper])
        if keeps_the_rows(program, values)
    ]
    return min(costs, default=None)


@given(small_programs())
@settings(max_examples=examples(60))
def test_small_integer_programs_against_trying_everything(program):
    program.whole = [True] * len(program.cost)
    best, answer = best_by_trying(program), program.solve()
    if best is None:
        assert answer is None
        return
    assert answer is not None
    assert answer.objective == pytest.approx(best, abs=NEAR)
    assert keeps_the_rows(program, answer.values)
    assert answer.bound <= best + NEAR


@given(small_programs(), st.data())
@settings(max_examples=examples(60))
def test_bounds_for_one_time_hold_that_time_and_no_longer(program, data):
    program.whole = [True] * len(program.cost)
    upper = {n: float(data.draw(st.integers(0, int(most)))) for n, most in enumerate(program.upper)}
    narrow = Program(**{name: list(getattr(program, name)) for name in Program.__slots__})
    narrow.upper = [upper[n] for n in range(len(upper))]
    best, answer = best_by_trying(narrow), program.solve(upper=upper)
    assert (answer is None) == (best is None)
    if answer is not None:
        assert answer.objective == pytest.approx(best, abs=NEAR)
    again, whole = program.solve(), best_by_trying(program)
    assert (again.objective if again else None) == (None if whole is None else pytest.approx(whole, abs=NEAR))


@st.composite
def always_solvable(draw):
    """A program as a rota has them: every row has a variable that takes what is left, at a cost."""
    program = draw(small_programs())
    for row in range(len(program.row_lower)):
        over, under = (program.variable(float(draw(st.integers(20, 30)))) for _ in range(2))
        end = program.starts[row + 1]
        program.columns[end:end] = [over, under]
        program.factors[end:end] = [-1.0, 1.0]
        program.starts[row + 1 :] = [at + 2 for at in program.starts[row + 1 :]]
    return program


@given(always_solvable())
@settings(max_examples=examples(60))
def test_small_linear_programs_against_linprog(program):
    answer = program.relaxed().run()
    assert answer.objective == pytest.approx(certified(program), abs=NEAR)
    assert keeps_the_rows(program, answer.values)


@given(always_solvable(), st.data())
@settings(max_examples=examples(40))
def test_going_on_from_the_last_solution_is_as_good_as_beginning_anew(program, data):
    relaxed = program.relaxed()
    relaxed.run()
    for _ in range(3):
        one = data.draw(st.integers(0, len(program.cost) - 1))
        most = program.upper[one] if program.upper[one] < math.inf else 5.0
        program.upper[one] = float(data.draw(st.integers(0, int(most))))
        relaxed.limit({one: program.upper[one]})
        if not has_a_solution(program):
            return
        assert relaxed.run().objective == pytest.approx(certified(program), abs=NEAR)


def has_a_solution(program):
    found = milp(
        np.zeros(len(program.cost)),
        bounds=(np.array(program.lower), np.array(program.upper)),
        constraints=LinearConstraint(matrix(program), program.row_lower, program.row_upper),
    )
    return found.status == 0


@given(always_solvable())
@settings(max_examples=examples(30))
def test_the_bound_in_fractions_is_never_above_the_best_in_whole_numbers(program):
    assert program.relaxed().run().objective <= program.solve().objective + NEAR


def test_a_program_that_nothing_solves_is_said_to_have_no_solution():
    program = Program()
    one = program.variable(1.0, 1.0, whole=True)
    program.row(2.0, 2.0, [(one, 1.0)])
    assert program.solve() is None
