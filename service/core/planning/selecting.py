"""Which exercises and how many sets a side: the best gain for the time first, as long as there is a gain.

The order in which sets are added does not depend on the minutes; the minutes only say how far down it the
plan may go, and what is left of them is filled with further sets of what is already there. So fewer minutes
never give a better plan. Equal inputs give the same plan; ties go to the first id.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from service.core.planning.request import SIDES, Candidate, LimbSide, PlanRequest
from service.core.planning.timing import first_ramp_s, seconds_of
from service.core.planning.worth import Array, Worth, once_cost, set_cost, unwanted_cost, worth_of
from service.core.units import Seconds

#: Sets that a lagging side may have beyond the other in one exercise and session. (common practice, no
#: source)
EXTRA_SETS = 1
#: Gains closer than this are equal, so that rounding decides nothing. [1]
SAME_GAIN = 1e-9
#: Most sets that a plan may hold in all: a bound on the search. (judgement)
MOST_STEPS = 60


@dataclass(frozen=True, slots=True)
class Option:
    """A candidate with the sides on which it may be done, and those that may have a set more."""

    candidate: Candidate
    sides: tuple[LimbSide, ...]
    extra: tuple[LimbSide, ...] = ()

    def beginnings(self) -> tuple[tuple[LimbSide, ...], ...]:
        """Return the sides that may work together: all, or of one limb at a time those that are not unwanted.

        The side ahead does not go on alone where a gap is to be closed.
        """
        candidate = self.candidate
        wanted = tuple(side for side in self.sides if side not in candidate.unwanted)
        widens = candidate.closing and candidate.lagging is not None and candidate.lagging not in wanted
        if candidate.limbs != "one_sided" or widens or wanted in {(), self.sides}:
            return (self.sides,)
        return (self.sides, wanted)


@dataclass(frozen=True, slots=True)
class Selection:
    """Sets a side by option, what they are worth, and how long they take. [1, s]"""

    sets: tuple[tuple[int, int], ...]
    objective: float
    seconds: Seconds


class Search:
    """The running search over one request: doses and costs of every option, computed once."""

    def __init__(self, request: PlanRequest, options: tuple[Option, ...]) -> None:
        self.options = tuple(sorted(options, key=lambda option: option.candidate.exercise_id))
        self.allowance = request.allowance
        candidates = tuple(option.candidate for option in self.options)
        self.worth: Worth = worth_of(request, candidates)
        self.once = [once_cost(candidate) for candidate in candidates]
        self.each = [set_cost(candidate) for candidate in candidates]

    def nothing(self) -> "Partial":
        """Return the empty plan."""
        return Partial(self, {}, np.zeros(self.worth.weights.size))


@dataclass(frozen=True, slots=True)
class Move:
    """So many more sets a side of one option."""

    index: int
    left: int
    right: int


class Partial:
    """A plan on the way: sets by option, and the dose that they add up to."""

    def __init__(self, search: Search, sets: dict[int, tuple[int, int]], dose: Array) -> None:
        self.search = search
        self.sets = sets
        self.dose = dose

    def after(self, move: Move) -> "Partial":
        """Return the plan with a move made."""
        left, right = self.sets.get(move.index, (0, 0))
        worth = self.search.worth
        dose = self.dose + move.left * worth.left[move.index] + move.right * worth.right[move.index]
        return Partial(self.search, {**self.sets, move.index: (left + move.left, right + move.right)}, dose)

    @property
    def seconds(self) -> Seconds:
        """How long the plan takes. [s]"""
        options = self.search.options
        chosen = tuple(options[index].candidate for index in sorted(self.sets))
        work = sum(seconds_of(options[index].candidate, *self.sets[index]) for index in sorted(self.sets))
        return work + first_ramp_s(chosen)

    @property
    def objective(self) -> float:
        """What the plan is worth, less what it costs. [1]"""
        cost = sum(
            self._begin(index, *sets) + self.search.each[index] * max(sets)
            for index, sets in sorted(self.sets.items())
        )
        return float(self.search.worth.of(self.dose[None, :])[0]) - cost

    def _begin(self, index: int, left: int, right: int) -> float:
        """Return what it costs to have an exercise in the plan at all, on the sides that work. [1]"""
        return self.search.once[index] + unwanted_cost(self.search.options[index].candidate, left, right)

    def moves(self, *, only_more_sets: bool = False) -> Iterator[Move]:
        """Yield every move that the caps allow, whatever its worth."""
        room = len(self.sets) < self.search.allowance.exercises
        new = sum(not self.search.options[index].candidate.familiar for index in self.sets)
        for index, option in enumerate(self.search.options):
            if index in self.sets:
                yield from self._more(index, option)
            elif room and not only_more_sets and (option.candidate.familiar or self._may_be_new(new)):
                yield from self._first(index, option)

    def _may_be_new(self, new: int) -> bool:
        return new < self.search.allowance.first_times

    def _first(self, index: int, option: Option, more: int = 0, *, ahead: bool = False) -> Iterator[Move]:
        """Yield how an exercise may begin, with so many sets more than the fewest."""
        candidate = option.candidate
        extra = option.extra if candidate.closing or ahead else ()
        for sides in option.beginnings():
            left, right = (
                min(candidate.fewest_sets + more, candidate.most_on(side))
                + (EXTRA_SETS if side in extra else 0)
                if side in sides
                else 0
                for side in SIDES
            )
            yield Move(index, left, right)

    def longer_starts(self) -> Iterator[Move]:
        """Yield every exercise that may still be begun, with each number of sets above the fewest that it may have."""
        begun = {move.index for move in self.moves() if move.index not in self.sets}
        for index in sorted(begun):
            option = self.search.options[index]
            candidate = option.candidate
            for more in range(candidate.most_sets - candidate.fewest_sets + 1):
                yield from self._first(index, option, more) if more else ()
                yield from self._first(index, option, more, ahead=True) if option.extra else ()

    def _more(self, index: int, option: Option) -> Iterator[Move]:
        left, right = self.sets[index]
        if max(left, right) < option.candidate.most_sets:
            more = [
                int(0 < done < option.candidate.most_on(side))
                for side, done in zip(SIDES, (left, right), strict=True)
            ]
            if any(more):
                yield Move(index, *more)
        for side in option.extra if left and right else ():
            ahead = left - right if side == "left" else right - left
            if ahead < EXTRA_SETS:
                yield Move(index, int(side == "left"), int(side == "right"))

    def best(self, *, only_more_sets: bool = False) -> Move | None:
        """Return the allowed move with the most gain for its time, None where no move gains anything.

        Where no next step pays for itself, an exercise may begin with so many sets at once that they repay what it costs.
        """
        found = self._best_of(list(self.moves(only_more_sets=only_more_sets)))
        return found if found is not None or only_more_sets else self._best_of(list(self.longer_starts()))

    def _best_of(self, moves: list[Move]) -> Move | None:
        if not moves:
            return None
        rates = self.rates(moves)
        best = float(rates.max())
        return moves[int(np.argmax(rates >= best - SAME_GAIN))] if best > SAME_GAIN else None

    def rates(self, moves: list[Move]) -> Array:
        """Return what each move gains for each minute it takes; negative where a cap forbids it. [1/min]"""
        worth, search = self.search.worth, self.search
        rows = [move.index for move in moves]
        left = np.array([[move.left] for move in moves], dtype=float)
        right = np.array([[move.right] for move in moves], dtype=float)
        added = left * worth.left[rows] + right * worth.right[rows]
        dose = self.dose + added
        over = ((dose > worth.caps + 1e-9) & (added > 0.0)).any(axis=1)
        gain = worth.of(dose) - worth.of(self.dose[None, :])[0]
        cost = np.array(
            [
                (0.0 if move.index in self.sets else self._begin(move.index, move.left, move.right))
                + search.each[move.index] * max(move.left, move.right)
                for move in moves
            ]
        )
        net = np.where(over, -1.0, gain - cost)
        # A cost that only later sets repay is no gain now: a move must pay for itself, see `longer_starts`.
        return np.asarray(net / np.array([self._seconds(move) for move in moves]) * 60.0)

    def _seconds(self, move: Move) -> Seconds:
        candidate = self.search.options[move.index].candidate
        left, right = self.sets.get(move.index, (0, 0))
        before = seconds_of(candidate, left, right)
        return seconds_of(candidate, left + move.left, right + move.right) - before


def select(search: Search) -> Selection | None:
    """Return the best plan that the minutes allow, None where not even one exercise fits."""
    budget = search.allowance.minutes * 60.0
    plans = [*_ways_to_fill(search, budget), *_alone(search, budget)]
    best: Partial | None = None
    for plan in plans:
        if plan.sets and (best is None or plan.objective > best.objective + SAME_GAIN):
            best = plan
    if best is None:
        return None
    sets = tuple(best.sets.get(index, (0, 0)) for index in range(len(search.options)))
    return Selection(sets, best.objective, best.seconds)


def _steps(plan: Partial, budget: Seconds, *, only_more_sets: bool = False) -> Iterator[Partial]:
    """Yield a plan and every plan along the greedy way from it, up to the first that takes too long."""
    for _ in range(MOST_STEPS):
        if plan.seconds > budget:
            return
        yield plan
        move = plan.best(only_more_sets=only_more_sets)
        if move is None:
            return
        plan = plan.after(move)


def _ways_to_fill(search: Search, budget: Seconds) -> Iterator[Partial]:
    """Yield, for every stop along the way, the plan with what is left of the minutes filled with sets."""
    for stop in _steps(search.nothing(), budget):
        *_, filled = _steps(stop, budget, only_more_sets=True)
        yield filled


def _alone(search: Search, budget: Seconds) -> Iterator[Partial]:
    """Yield the plans of one exercise that fit: what is left where the first step already takes too long.

    What sets are worth together is no more than what they are worth one by one. So where any plan is worth its cost one of
    a single exercise is, and all of those stand here.
    """
    empty = search.nothing()
    starts = (*empty.moves(), *empty.longer_starts())
    moves = [move for move in starts if empty.after(move).seconds <= budget]
    for move, rate in zip(moves, empty.rates(moves) if moves else (), strict=True):
        if rate > SAME_GAIN:
            yield empty.after(move)
