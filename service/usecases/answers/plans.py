"""May this plan be issued: consent, an open gate, known exercises, and every item inside limits and clearance."""

from collections.abc import Iterator
from uuid import UUID

from service.catalogue.records import Exercise
from service.catalogue.texts import Texts
from service.core.planning import JointRange, Restrictions, open_sides
from service.core.units import mass_to_kg
from service.usecases.answers.history import read_histories
from service.usecases.answers.plan_limits import clearance_ranges, hands_loaded, load_cap_of, min_reserve_of
from service.usecases.answers.plan_request import SessionCase, candidate_of, read_case
from service.usecases.answers.situation import read_situation
from service.usecases.answers.telling import Teller, documents
from service.usecases.errors import ClearanceRequired, FieldFault, NotPossible, UnknownReference
from service.usecases.exercises import ExerciseBook
from service.usecases.kinds import PLAN
from service.usecases.ports import UnitOfWork
from service.usecases.records.base import Side
from service.usecases.records.plans import Plan, PlanItem, PlannedSet

#: Loads are shown to three decimals, in either unit. [kg]
_SHOWN_KG = 1e-3


def may_issue(
    work: UnitOfWork, book: ExerciseBook, texts: Texts, athlete_id: UUID, plan_id: UUID, plan: Plan
) -> None:
    """Refuse a plan that must not be issued now; one that was issued already is left to its own rules.

    Raises what ``read_situation`` raises; ``ClearanceRequired`` while training is closed, or for an item outside a
    clearance; ``UnknownReference`` for an exercise that does not exist; ``NotPossible`` for an item outside a limit.
    """
    if work.resources.get(PLAN, plan_id, athlete_id) is not None:
        return
    situation = read_situation(work, athlete_id, book=book)
    teller = Teller(texts, situation.unit)
    situation.require_open(teller)
    _known(book, plan)
    case = read_case(work, book, situation, read_histories(situation, book), None)
    faults = [fault for place, item in enumerate(plan.items) for fault in _faults(case, place, item)]
    if not faults:
        return
    if situation.gate.clearance is not None:
        raise ClearanceRequired(
            "The plan leaves the clearance or another limit.",
            faults=faults,
            reasons=documents(teller.reasons(situation.gate.reasons)),
            cautions=documents(teller.cautions(situation.gate.cautions)),
        )
    raise NotPossible("The plan leaves what this athlete's limits allow.", faults=faults)


def _known(book: ExerciseBook, plan: Plan) -> None:
    faults = [
        FieldFault(
            f"/items/{place}/exercise_id", "unknown_exercise", item.exercise_id, "an exercise_id of GET /v1/exercises"
        )
        for place, item in enumerate(plan.items)
        if book.find(item.exercise_id) is None
    ]  # fmt: skip
    if faults:
        raise UnknownReference(faults=faults)


def _faults(case: SessionCase, place: int, item: PlanItem) -> Iterator[FieldFault]:
    exercise = case.exercises[item.exercise_id]
    yield from _side_faults(case, place, item, exercise)
    yield from _reserve_faults(case, place, item, exercise)
    yield from _load_faults(case, place, item, exercise)


def _side_faults(case: SessionCase, place: int, item: PlanItem, exercise: Exercise) -> Iterator[FieldFault]:
    """Yield one fault where an item works a side on which the exercise is ruled out."""
    candidate = candidate_of(case, exercise)
    free = set(open_sides(candidate, case.restrictions))
    asked = {one.side for one in item.sets}
    worked = {"left", "right"} if exercise.laterality != "one_sided" or asked - {"left", "right"} else asked
    if worked <= free:
        return
    ranges: tuple[JointRange, ...] = clearance_ranges(case.situation)
    outside = bool(ranges) and not worked <= set(open_sides(candidate, Restrictions(joint_ranges=ranges)))
    code = "outside_clearance" if outside else "outside_limit"
    yield FieldFault(f"/items/{place}/exercise_id", code, exercise.name, "an exercise that the limits allow")


def _side_of(planned: PlannedSet, exercise: Exercise) -> Side:
    """Return the side that a set works: one of a lift that moves both limbs works both."""
    return planned.side if exercise.laterality == "one_sided" else "both"


def _reserve_faults(
    case: SessionCase, place: int, item: PlanItem, exercise: Exercise
) -> Iterator[FieldFault]:
    for number, planned in enumerate(item.sets):
        asked = min_reserve_of(case.situation, exercise, _side_of(planned, exercise))
        least, told = max(case.situation.gate.min_reserve, asked), planned.reps_in_reserve or 0.0
        if least > 0.0 and not planned.ramp and told < least:
            where = f"/items/{place}/sets/{number}/reps_in_reserve"
            yield FieldFault(where, "reserve_too_small", f"{told:g}", f"at least {least:g}")


def _load_faults(case: SessionCase, place: int, item: PlanItem, exercise: Exercise) -> Iterator[FieldFault]:
    if exercise.load_basis == "assistance":
        return  # help is no load
    for number, planned in enumerate(item.sets):
        cap = load_cap_of(case.situation, exercise, _side_of(planned, exercise))
        if cap is None:
            continue
        where, most = f"/items/{place}/sets/{number}", f"at most {cap:g} kg"
        if planned.level is not None:
            # What a level weighs is not known: none is light enough, as in the previewed plan.
            expected = f"no level, for what it weighs is not known; a `load` of {most}"
            yield FieldFault(f"{where}/level", "level_under_cap", planned.level, expected)
        load = planned.load
        if load is not None and hands_loaded(exercise) * mass_to_kg(load.value, load.unit) > cap + _SHOWN_KG:
            yield FieldFault(f"{where}/load", "load_too_great", f"{load.value:g} {load.unit}", most)
