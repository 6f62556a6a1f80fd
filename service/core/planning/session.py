"""The next session: exercises in order, sets a side, roles, and why; or the constraint that leaves none."""

from dataclasses import dataclass

from service.core.errors import Infeasible
from service.core.estimates import Reason
from service.core.planning.ordering import Role, first_side, order_key, tier
from service.core.planning.request import SIDES, Candidate, LimbSide, PlanRequest
from service.core.planning.selecting import Option, Search, Selection, select
from service.core.planning.timing import first_ramp_s, ramps, seconds_of
from service.core.planning.vetoes import open_sides, vetoes
from service.core.units import Share

#: A muscle below this chance of being ready is left alone. (judgement)
READY_FROM = 0.5
#: Share from which an exercise counts as direct work for a muscle, as in the count of weekly sets.
DIRECT_SHARE = 0.75
#: What leaves out a lift that was never done, though nothing about the body speaks against it.
_NOT_YET = frozenset({"planning.veto_needs_teaching", "planning.veto_too_hard_yet"})


@dataclass(frozen=True, slots=True)
class PlannedExercise:
    """One exercise with its sets a side.

    ``first_side`` goes first (one-sided lifts); ``ramped`` says whether a warm-up leads up to it; ``muscles``
    are those it is there for, the most served first; ``share`` is what it adds to the plan's worth. [1]
    """

    exercise_id: str
    role: Role
    sets_left: int
    sets_right: int
    first_side: LimbSide | None
    ramped: bool
    minutes: float
    muscles: tuple[str, ...]
    share: Share
    reasons: tuple[Reason, ...]

    @property
    def rounds(self) -> int:
        """Sets of the side that does most."""
        return max(self.sets_left, self.sets_right)


@dataclass(frozen=True, slots=True)
class SessionPlan:
    """A whole session; ``left_out`` says what was ruled out, and why."""

    items: tuple[PlannedExercise, ...]
    minutes: float
    objective: float
    left_out: tuple[tuple[str, Reason], ...]
    reasons: tuple[Reason, ...]


def plan_session(request: PlanRequest) -> SessionPlan:
    """Return the session that serves what is wanted best, within everything that constrains it.

    Raises
    ------
    Infeasible
        With ``constraint``: ``nothing_wanted``, ``nothing_at_site``, ``no_safe_match``, ``nothing_ready``,
        ``week_is_done`` or ``minutes_too_few``, the first that leaves nothing; ``left_out`` holds what was
        ruled out.

    References
    ----------
    [Pelland2025]_ (concave weekly benefit), [Nunes2021]_ (order); weights and costs are judgement.
    """
    wanted = [row.weight for row in request.muscles] + [work.weight for work in request.works]
    if max(wanted, default=0.0) <= 0.0:
        raise Infeasible(constraint="nothing_wanted", left_out=())
    options, left_out = _options(request)
    search = Search(request, options)
    selection = select(search)
    if selection is None:
        raise Infeasible(constraint=_binding(request, search, left_out), left_out=left_out)
    items = _in_order(request, search, selection)
    reasons = _reasons(request, items, left_out)
    return SessionPlan(items, selection.seconds / 60.0, selection.objective, left_out, reasons)


def _binding(request: PlanRequest, search: Search, left_out: tuple[tuple[str, Reason], ...]) -> str:
    """Return what leaves nothing worth doing, though there is something that may be done."""
    if search.nothing().best() is not None:
        return "minutes_too_few"
    wanted = [row for row in request.muscles if row.weight > 0.0]
    if all(row.done_sets >= row.target_sets for row in wanted):
        return "week_is_done"
    codes = {reason.code for _, reason in left_out}
    if codes - {"planning.not_at_site", "planning.not_ready"}:
        return "no_safe_match"
    if "planning.not_ready" in codes:
        return "nothing_ready"
    return "nothing_at_site" if codes else "nothing_wanted"


def _options(request: PlanRequest) -> tuple[tuple[Option, ...], tuple[tuple[str, Reason], ...]]:
    """Return what may be done; raises where a whole class of constraints leaves nothing."""
    there = [candidate for candidate in request.candidates if candidate.available]
    left_out = [
        (candidate.exercise_id, Reason("planning.not_at_site"))
        for candidate in request.candidates
        if not candidate.available
    ]
    if not there:
        raise Infeasible(constraint="nothing_at_site", left_out=tuple(left_out))
    safe: list[Option] = []
    for candidate in there:
        sides = open_sides(candidate, request.restrictions)
        if sides:
            safe.append(Option(candidate, sides))
        else:
            left_out.append((candidate.exercise_id, _why_not(request, candidate)))
    if not safe:
        raise Infeasible(constraint="no_safe_match", left_out=tuple(left_out))
    ready = []
    for option in safe:
        sides = _ready_sides(request, option)
        if sides:
            ready.append(Option(option.candidate, sides, _extra(request, option.candidate, sides)))
        else:
            left_out.append((option.candidate.exercise_id, Reason("planning.not_ready")))
    if not ready:
        raise Infeasible(constraint="nothing_ready", left_out=tuple(left_out))
    return tuple(ready), tuple(left_out)


def _why_not(request: PlanRequest, candidate: Candidate) -> Reason:
    found = (reason for side in SIDES for reason in vetoes(candidate, request.restrictions, side))
    return next(found)


def _ready_sides(request: PlanRequest, option: Option) -> tuple[LimbSide, ...]:
    direct = {muscle_id for muscle_id, share in option.candidate.involvement if share >= DIRECT_SHARE}
    tired = {row.side for row in request.muscles if row.muscle_id in direct and row.p_ready < READY_FROM}
    sides = tuple(side for side in option.sides if side not in tired)
    if option.candidate.limbs != "one_sided" and len(sides) < len(SIDES):
        return ()
    return sides


def _extra(request: PlanRequest, candidate: Candidate, sides: tuple[LimbSide, ...]) -> tuple[LimbSide, ...]:
    """Return the sides that may have a set more: only a side whose lag is decided, never one operated on or held."""
    lagging = candidate.lagging
    if lagging == candidate.without_extra or lagging in dict(candidate.fewer_sets):
        return ()
    if candidate.limbs != "one_sided" or lagging not in sides or lagging is None or len(sides) < 2:
        return ()
    return () if lagging in request.restrictions.no_extra_sets else (lagging,)


def _in_order(request: PlanRequest, search: Search, selection: Selection) -> tuple[PlannedExercise, ...]:
    chosen = [index for index, sets in enumerate(selection.sets) if any(sets)]
    shares = {index: _share(search, selection, index) for index in chosen}
    chosen.sort(
        key=lambda index: (
            *order_key(
                search.options[index].candidate,
                shares[index],
            ),
            index,
        )
    )
    candidates = tuple(search.options[index].candidate for index in chosen)
    owed = _owed_ramp(candidates)
    main = _main(candidates)
    return tuple(
        _item(
            request,
            candidate,
            selection.sets[index],
            shares[index],
            "main" if place == main else _role(candidate),
            owed_ramp=place == owed,
        )
        for place, (index, candidate) in enumerate(zip(chosen, candidates, strict=True))
    )


def _share(search: Search, selection: Selection, index: int) -> Share:
    """Return what the plan would lose in weekly benefit without one exercise. [1]"""
    worth = search.worth
    sets = [(left, right) for left, right in selection.sets]
    dose = sum(
        left * worth.left[i] + right * worth.right[i] for i, (left, right) in enumerate(sets) if left or right
    )
    left, right = sets[index]
    without = dose - left * worth.left[index] - right * worth.right[index]
    return float(worth.of(dose[None, :])[0] - worth.of(without[None, :])[0])


def _owed_ramp(candidates: tuple[Candidate, ...]) -> int | None:
    if not first_ramp_s(candidates):
        return None
    return next(place for place, candidate in enumerate(candidates) if candidate.ramped)


def _main(candidates: tuple[Candidate, ...]) -> int:
    """Return the place of the main lift: an aimed one, else the first."""
    return next((place for place, candidate in enumerate(candidates) if candidate.aimed), 0)


def _role(candidate: Candidate) -> Role:
    return "second" if tier(candidate) < 2 else "accessory"


def _item(
    request: PlanRequest,
    candidate: Candidate,
    sets: tuple[int, int],
    share: Share,
    role: Role,
    *,
    owed_ramp: bool,
) -> PlannedExercise:
    left, right = sets
    seconds = seconds_of(candidate, left, right) + (first_ramp_s((candidate,)) if owed_ramp else 0.0)
    first = first_side(candidate, left, right)
    muscles = _served(request, candidate)
    reasons = _item_reasons(candidate, sets, muscles)
    return PlannedExercise(
        candidate.exercise_id, role, left, right, first, owed_ramp or ramps(candidate), seconds / 60.0, muscles, share,
        reasons,
    )  # fmt: skip


def _served(request: PlanRequest, candidate: Candidate) -> tuple[str, ...]:
    weights: dict[str, float] = {}
    for row in request.muscles:
        weights[row.muscle_id] = max(weights.get(row.muscle_id, 0.0), row.weight)
    served = [
        (-round(share * weights.get(muscle_id, 0.0), 9), muscle_id)
        for muscle_id, share in candidate.involvement
        if share >= 0.5 and weights.get(muscle_id, 0.0) > 0.0
    ]
    return tuple(muscle_id for _, muscle_id in sorted(served))


def _item_reasons(
    candidate: Candidate, sets: tuple[int, int], muscles: tuple[str, ...]
) -> tuple[Reason, ...]:
    found = []
    if candidate.aimed:
        found.append(Reason("planning.aimed_lift"))
    if muscles:
        found.append(Reason("planning.for_muscles", {"muscles": ", ".join(muscles[:3])}))
    found.append(Reason("planning.kept_lift" if candidate.familiar else "planning.new_lift"))
    left, right = sets
    if candidate.lagging is not None and left and right:
        found.append(Reason("planning.lagging_side_first", {"side": candidate.lagging}))
    if left != right and left and right:
        found.append(_why_unequal(candidate, left, right))
    if bool(left) != bool(right) and candidate.limbs == "one_sided":
        found.append(_why_one_side(candidate, "left" if left else "right"))
    return tuple(found)


def _why_one_side(candidate: Candidate, works: LimbSide) -> Reason:
    if candidate.unwanted and works not in candidate.unwanted:
        return Reason("planning.one_side_unwanted", {"side": works})
    return Reason("planning.one_side_only", {"side": works})


def _why_unequal(candidate: Candidate, left: int, right: int) -> Reason:
    fewer: LimbSide = "left" if left < right else "right"
    if fewer in dict(candidate.fewer_sets):
        return Reason("planning.fewer_sets_one_side", {"side": fewer, "sets": abs(left - right)})
    return Reason("planning.extra_set_lagging", {"side": candidate.lagging, "sets": abs(left - right)})


def _reasons(
    request: PlanRequest, items: tuple[PlannedExercise, ...], left_out: tuple[tuple[str, Reason], ...]
) -> tuple[Reason, ...]:
    sets = sum(item.rounds for item in items)
    params = {"exercises": len(items), "sets": sets, "minutes": request.allowance.minutes}
    found = [Reason("planning.session", params)]
    codes = [reason.code for _, reason in left_out]
    not_yet = sum(code in _NOT_YET for code in codes)
    closed = sum(code not in {*_NOT_YET, "planning.not_at_site", "planning.not_ready"} for code in codes)
    if closed:
        found.append(Reason("planning.ruled_out", {"count": closed}))
    if not_yet:
        found.append(Reason("planning.not_yet", {"count": not_yet}))
    resting = codes.count("planning.not_ready")
    if resting:
        found.append(Reason("planning.resting", {"count": resting}))
    return tuple(found)
