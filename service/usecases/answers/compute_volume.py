"""What sets do to each muscle, from a body alone: nothing is stored."""

from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from math import exp
from types import MappingProxyType
from typing import Final

from service.catalogue.loading import load_catalogue
from service.catalogue.records import Exercise
from service.core.capability.reading import infer_warm_ups, shows_work
from service.core.curve import CURVE_PRIORS, CurvePrior, Work, log_ratio_at
from service.core.estimates import Basis, Reason
from service.core.units import Kilograms, Share, mass_to_kg
from service.core.volume.counting import DoneSet, count_set, why_not_counted
from service.core.volume.hard_sets import drop_set
from service.core.volume.weekly_dose import (
    MODEL_VERSION,
    CountedSet,
    Involvement,
    MuscleDose,
    SetContribution,
    SetSide,
    add_up,
)
from service.usecases.answers.compute import computed_answer, require_fit_to_train
from service.usecases.answers.telling import Teller, basis_document, documents, estimate_document
from service.usecases.answers.volume import DOSE_SOURCES
from service.usecases.documents import Document
from service.usecases.errors import FieldFault, NotPossible, UnknownReference
from service.usecases.loads import BodyMass, body_is_load, effective_of_external
from service.usecases.records.computations import CountedSetSaid, VolumeQuestion

#: Spread of an involvement that a body states: as that of the reference list's judged ones. (judgement) [1]
STATED_SHARE_SD: Final[Share] = 0.15
#: What a set of a lift of the list must tell, its own measure first. Of the length of a carry seconds tell too.
_MEASURES: Final[Mapping[Work, tuple[str, ...]]] = MappingProxyType(
    {"repetitions": ("reps",), "hold": ("hold_s",), "distance": ("distance_m", "hold_s")}
)
#: Repetitions to failure beyond which a set points to no 1RM (judgement).
_MOST_REPETITIONS = 40.0


@dataclass(frozen=True, slots=True)
class _Lift:
    """What of a lift enters the count, from the reference list or from the body; ``known`` is the list's own."""

    involvement: tuple[Involvement, ...]
    one_sided: bool
    curve: CurvePrior
    known: Exercise | None = None


def compute_volume(asked: VolumeQuestion, teller: Teller) -> Document:
    """Return the hard sets of each muscle and side that one week's sets in the body come to.

    Raises ``ClearanceRequired``; ``UnknownReference`` for an exercise that is not on the reference list and states no
    involvement, or for an unknown muscle; ``NotPossible`` for one named twice, and for a set with neither repetitions, seconds nor
    metres.
    """
    heed = require_fit_to_train(asked, teller)
    lifts = [_lift(place, said) for place, said in enumerate(asked.sets)]
    done = _done(asked, lifts)
    contributions = [
        _contribution(place, said, lifts[place], done[place], asked) for place, said in enumerate(asked.sets)
    ]
    doses = add_up(contributions, asked.mass)
    items = [_item(muscle, side, dose, teller) for (muscle, side), dose in doses.items()]
    left_out = [
        {"index": place, "reason": _said(Reason(code), teller)}
        for place, one in enumerate(done)
        if (code := why_not_counted(one)) is not None
    ]
    answer = computed_answer(MODEL_VERSION, teller, (), heed, DOSE_SOURCES)
    return {"items": items, "not_counted": left_out, **answer}


def _lift(place: int, said: CountedSetSaid) -> _Lift:
    """Return what a lift trains: a stated involvement holds, also over the reference list's."""
    catalogue = load_catalogue()
    exercise = catalogue.exercises.get(said.exercise_id)
    if said.involvement:
        _require_muscles(place, [one.muscle_id for one in said.involvement])
        stated = tuple(Involvement(one.muscle_id, one.share, STATED_SHARE_SD) for one in said.involvement)
        one_sided = exercise.laterality == "one_sided" if exercise is not None else said.one_sided
        curve = CURVE_PRIORS[exercise.curve_class if exercise is not None else "single_joint"]
        return _Lift(stated, one_sided, curve, exercise)
    if exercise is None:
        fault = FieldFault(
            f"/sets/{place}/exercise_id", "unknown_exercise", f"no exercise `{said.exercise_id}`",
            "an exercise of the list, or the lift's `involvement`",
        )  # fmt: skip
        raise UnknownReference(faults=[fault], exercise_id=said.exercise_id)
    known = tuple(
        Involvement(one.muscle_id, one.share, one.sd) for one in exercise.involvement if one.share > 0
    )
    return _Lift(known, exercise.laterality == "one_sided", CURVE_PRIORS[exercise.curve_class], exercise)


def _require_muscles(place: int, muscle_ids: Sequence[str]) -> None:
    """Refuse an involvement of an unknown muscle, or of one named twice: a set would count twice for it."""
    for number, muscle_id in enumerate(muscle_ids):
        where = f"/sets/{place}/involvement/{number}/muscle_id"
        if muscle_id not in load_catalogue().muscles:
            fault = FieldFault(
                where, "unknown_muscle", f"no muscle `{muscle_id}`", "an id of GET /v1/muscles"
            )
            raise UnknownReference(faults=[fault], muscle_id=muscle_id)
        if muscle_id in muscle_ids[:number]:
            raise NotPossible(faults=[FieldFault(where, "muscle_twice", muscle_id, "each muscle once")])


def _done(asked: VolumeQuestion, lifts: Sequence[_Lift]) -> list[DoneSet]:
    """Return the sets as they are counted, warm-ups inferred as in a log and loads read against the best set."""
    for place, (said, lift) in enumerate(zip(asked.sets, lifts, strict=True)):
        _require_work(place, said, lift)
    loads = _loads(asked, lifts)
    warm_ups, most = _warm_ups(asked.sets, loads), _most(asked.sets, lifts, loads)
    return [
        DoneSet(
            said.reps, said.hold_s, said.distance_m, said.reps_in_reserve, bool(said.to_failure), said.purpose,
            warm_ups.get(place, 0.0), said.share_of_one_rep_max or _share(said, load, most),
            work="repetitions" if lift.known is None else lift.known.work,
        )
        for place, (said, lift, load) in enumerate(zip(asked.sets, lifts, loads, strict=True))
    ]  # fmt: skip


def _require_work(place: int, said: CountedSetSaid, lift: _Lift) -> None:
    """Refuse a set that tells no work, or of a lift of the list none that it is counted in, as the log does."""
    measured = {"hold_s": said.hold_s, "distance_m": said.distance_m}
    told = {"reps"} if said.reps is not None else set()
    told |= {name for name, value in measured.items() if value}
    known = lift.known
    if (known is None or known.work == "repetitions") and not told:
        expected = "`reps`" if known is not None else "`reps`, `hold_s` or `distance_m`"
        fault = FieldFault(f"/sets/{place}", "nothing_done", "no work is told", expected)
        raise NotPossible(faults=[fault])
    if known is not None and told.isdisjoint(_MEASURES[known.work]):
        wanted = _MEASURES[known.work][0]
        counted = f"{known.name} is counted in {known.work}"
        fault = FieldFault(f"/sets/{place}/{wanted}", "work_required", counted, f"`{wanted}`")
        raise NotPossible(faults=[fault])


def _warm_ups(sets: Sequence[CountedSetSaid], loads: Sequence[Kilograms | None]) -> dict[int, Share]:
    """Return the chance that each set was a warm-up; of sets that name no session nobody knows what came after."""
    series: dict[Hashable, list[int]] = defaultdict(list)
    for place, said in enumerate(sets):
        if said.session is not None and loads[place]:
            series[said.exercise_id, said.side, said.session].append(place)
    found: dict[int, Share] = {}
    for places in series.values():
        line = [sets[place] for place in places]
        known = [shows_work(one.purpose, bool(one.to_failure), one.reps_in_reserve) for one in line]
        chances = infer_warm_ups(
            [loads[place] or 0.0 for place in places], [one.reps or 0 for one in line], known
        )
        found |= dict(zip(places, chances, strict=True))
    return found


def _loads(asked: VolumeQuestion, lifts: Sequence[_Lift]) -> list[Kilograms | None]:
    """Return what was lifted in each set, None where what was told is not the whole of it. [kg]"""
    told = asked.body_mass
    body = None if told is None else BodyMass(mass_to_kg(told.value, told.unit), 0.0, known=True)
    return [_load(said, lift.known, body) for said, lift in zip(asked.sets, lifts, strict=True)]


def _load(said: CountedSetSaid, exercise: Exercise | None, body: BodyMass | None) -> Kilograms | None:
    external = None if said.load is None else mass_to_kg(said.load.value, said.load.unit)
    if exercise is None:
        return external
    if body_is_load(exercise.load_basis):
        # A belt or an assistance is no share of anything without the body that it hangs on or lifts.
        if body is None:
            return None
        return effective_of_external(external or 0.0, exercise.load_basis, exercise, body)
    return external if exercise.load_basis != "level" else None


def _most(
    sets: Sequence[CountedSetSaid], lifts: Sequence[_Lift], loads: Sequence[Kilograms | None]
) -> dict[Hashable, Kilograms]:
    """Return by lift and side the largest 1RM that a set of the body points to on its class's curve. [kg]"""
    most: dict[Hashable, Kilograms] = {}
    for said, lift, load in zip(sets, lifts, loads, strict=True):
        if load and said.reps:
            reps = min(said.reps + (said.reps_in_reserve or 0.0), _MOST_REPETITIONS)
            pointed = load * exp(log_ratio_at(reps, lift.curve.mean_ln_k, lift.curve.b))
            key = said.exercise_id, said.side
            most[key] = max(most.get(key, 0.0), pointed)
    return most


def _share(said: CountedSetSaid, load: Kilograms | None, most: Mapping[Hashable, Kilograms]) -> Share | None:
    best = most.get((said.exercise_id, said.side))
    return load / best if load and best else None


def _contribution(
    place: int, said: CountedSetSaid, lift: _Lift, done: DoneSet, asked: VolumeQuestion
) -> SetContribution:
    # As in the log: a two-sided lift without a side is both limbs'; a side that was told holds.
    untold: SetSide = "unspecified" if lift.one_sided else "both"
    side: SetSide = untold if said.side == "unspecified" else said.side
    counted = count_set(done, asked.training)
    return SetContribution(
        set_id=str(place),
        session_id=said.session or "one",
        day=0.0,
        exercise_id=said.exercise_id,
        side=side,
        hard_set=drop_set(counted, said.drops),
        involvement=lift.involvement,
        for_strength=drop_set(counted, said.drops, "strength").value,
        p_warm_up=done.p_warm_up,
        missed=done.is_missed,
        drops=tuple(map(str, range(1, said.drops + 1))),
    )


def _item(muscle: str, side: str, dose: MuscleDose, teller: Teller) -> Document:
    return {
        "muscle_id": muscle,
        "side": side,
        "hard_sets": estimate_document(dose.value),
        "direct": round(dose.direct, 4),
        "indirect": round(dose.indirect, 4),
        "for_strength": round(dose.for_strength, 4),
        "session_count": dose.session_count,
        "per_session_max": round(dose.per_session_max, 4),
        "sessions": [{"session": one.session_id, "dose": round(one.dose, 4)} for one in dose.sessions],
        "assumed_effort_share": round(dose.assumed_share, 4),
        "unspecified_side_share": round(dose.unspecified_share, 4),
        "basis": basis_document(Basis(len(dose.counted), None, dose.assumed_share)),
        "sets": [
            {
                "index": int(one.set_id),
                "dose": round(one.dose, 4),
                "reason": _said(one.reason, teller),
                **_stages(one, teller),
            }
            for one in dose.counted
        ],
        "sources": list(DOSE_SOURCES),
    }


def _stages(counted: CountedSet, teller: Teller) -> Document:
    """Return what the first load and each drop gave, where there are drops."""
    stages = [
        {"stage": place, "dose": round(one.dose, 4), "reason": _said(one.reason, teller)}
        for place, one in enumerate(counted.stages)
    ]
    return {"stages": stages} if stages else {}


def _said(reason: Reason, teller: Teller) -> Document:
    told: Document = documents(teller.reasons([reason]))[0]
    return told
