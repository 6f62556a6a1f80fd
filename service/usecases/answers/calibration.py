"""How well this athlete's own sets were foretold: each set predicted from what came before it, then compared."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import sqrt
from statistics import NormalDist, mean, stdev
from typing import Literal
from uuid import UUID

import numpy as np

from service.catalogue.texts import Texts
from service.core.capability import MODEL_VERSION, AthleteState, SetEvidence, begin, foresee_all
from service.core.estimates import DEFAULT_MASS, Interval, Param, Reason
from service.core.units import Repetitions, Share
from service.usecases import resources
from service.usecases.answers.calibration_of_plans import MOST_RESERVE, plans_document, share_interval
from service.usecases.answers.telling import Teller, documents, interval_document
from service.usecases.changes import require_position
from service.usecases.consent import require_consent
from service.usecases.documents import Document
from service.usecases.errors import FieldFault, NotFound, UnknownReference
from service.usecases.exercises import ExerciseBook
from service.usecases.folding.advancing import Folder
from service.usecases.folding.engine import ENGINE
from service.usecases.folding.evidence import exercise_of
from service.usecases.folding.inputs import read_inputs
from service.usecases.ports import UnitOfWork

#: Weeks that are looked back on unless asked otherwise, and the most (judgement: cost is bounded by time).
USUAL_WEEKS, MOST_WEEKS = 26, 104
#: Probability of the intervals that are checked. [1]
CHECKED: Share = 0.8
#: Fewer sets than this decide nothing (judgement).
FEWEST_SETS = 10
#: Where bands of foretold repetitions begin.
BANDS = (0, 6, 9, 13, 17, 26)
Told = Literal["to_failure", "reported_reserve"]


@dataclass(frozen=True, slots=True)
class CalibrationQuestion:
    """Whose predictions, of which lift (None = all), over how many weeks, as of when (None = now)."""

    athlete_id: UUID
    exercise_id: str | None = None
    weeks: int = USUAL_WEEKS
    as_of: datetime | None = None
    mass: Share = DEFAULT_MASS
    min_position: int | None = None


@dataclass(frozen=True, slots=True)
class Foretold:
    """A set that told its effort: between which repetitions to failure it lay, and what was expected. [repetitions]"""

    exercise_id: str
    told: Told
    low: Repetitions
    high: Repetitions
    expected: Repetitions
    lower: Repetitions
    median: Repetitions
    upper: Repetitions

    @property
    def covered(self) -> Share:
        """The share of what it told that lies inside the interval. [1]"""
        inside = min(self.high, self.upper) - max(self.low, self.lower)
        return min(max(inside / (self.high - self.low), 0.0), 1.0)

    @property
    def seen(self) -> Repetitions:
        """The middle of what it told. [repetitions]"""
        return 0.5 * (self.low + self.high)


def answer_calibration(
    work: UnitOfWork, book: ExerciseBook, texts: Texts, question: CalibrationQuestion
) -> Document:
    """Return how often 80 % intervals held, and the bias, over all sets that told their effort, and by group.

    Raises ``NotFound``, ``Deleted``, ``ConsentRequired``, ``BehindPosition``, and ``UnknownReference`` for an exercise that
    does not exist.
    """
    resources.find_athlete(work, question.athlete_id)
    require_consent(work, question.athlete_id, "process_health")
    position = require_position(work, question.min_position)
    if question.exercise_id is not None and book.find(question.exercise_id) is None:
        fault = FieldFault(
            "?exercise_id", "unknown_exercise", f"no exercise `{question.exercise_id}`", "an exercise's id"
        )
        raise UnknownReference(faults=[fault], exercise_id=question.exercise_id)
    as_of = question.as_of or work.now
    foretold = [
        one
        for one in _foretold(work, book, question.athlete_id, as_of - timedelta(weeks=question.weeks), as_of)
        if question.exercise_id in {None, one.exercise_id}
    ]
    teller = Teller(texts)
    items = [_item(group, sets, question.mass, book, teller) for group, sets in _groups(foretold)]
    return {
        "action": _action(foretold, teller),
        "items": items,
        "plans": plans_document(
            work,
            book,
            teller,
            question.athlete_id,
            as_of - timedelta(weeks=question.weeks),
            as_of,
            question.exercise_id,
            question.mass,
        ),
        "weeks": question.weeks,
        "position": str(position),
        "model_version": MODEL_VERSION,
        "as_of": as_of,
    }


def _foretold(
    work: UnitOfWork, book: ExerciseBook, athlete_id: UUID, since: datetime, as_of: datetime
) -> Iterator[Foretold]:
    """Replay the sessions since an instant from a state that is kept from before it, and yield what sets told."""
    inputs = read_inputs(work, book, athlete_id, as_of.date())
    if inputs is None:
        raise NotFound
    folder = Folder(work, ENGINE, inputs, athlete_id)
    base = folder.newest(before=since, through=since)
    ahead = folder.ahead(base, until=as_of)
    if ahead is None:
        return
    state: AthleteState = base.state if base.session_count else begin(inputs.training)
    sessions = [
        (visit.key[0], evidence)
        for visit in ahead.visits
        if (evidence := ahead.reader.session(visit)) is not None
    ]
    _, rows = foresee_all(state, [evidence for _, evidence in sessions], inputs.model)
    sets = [(begun, one) for begun, evidence in sessions for one in evidence.sets]
    for (begun, one), row in zip(sets, rows.tolist(), strict=False):
        if begun >= since and not np.isnan(row[0]) and (found := _outcome(one, row)) is not None:
            yield found


def _outcome(one: SetEvidence, row: Sequence[float]) -> Foretold | None:
    """Return what a set told of its repetitions to failure, None where it told none."""
    if one.purpose in {"warm_up", "bound"} or one.stage or not one.reps:
        return None
    expected, _, _, lower, median, upper, _ = row
    exercise_id = exercise_of(one.series)
    if one.to_failure:
        # Done to failure: so many, and not one more.
        return Foretold(exercise_id, "to_failure", one.reps, one.reps + 1.0, expected, lower, median, upper)
    if one.reps_in_reserve is None or one.reps_in_reserve > MOST_RESERVE:
        return None
    told = one.reps + one.reps_in_reserve
    low = max(told - 0.5, float(one.reps))
    return Foretold(exercise_id, "reported_reserve", low, told + 0.5, expected, lower, median, upper)


@dataclass(frozen=True, slots=True)
class Group:
    """Which sets a line is about; a band holds its first number of repetitions and not its last."""

    by: Literal["all", "effort", "exercise", "repetitions"]
    told: Told | None = None
    exercise_id: str | None = None
    reps_from: int | None = None
    reps_below: int | None = None


def _groups(foretold: Sequence[Foretold]) -> Iterator[tuple[Group, list[Foretold]]]:
    """Yield all sets, then those by what they told, by exercise (the most frequent first), and by band."""
    if not foretold:
        return
    yield Group("all"), list(foretold)
    for told in ("to_failure", "reported_reserve"):
        yield Group("effort", told=told), [one for one in foretold if one.told == told]
    by_exercise: dict[str, list[Foretold]] = {}
    for one in foretold:
        by_exercise.setdefault(one.exercise_id, []).append(one)
    for exercise_id, sets in sorted(by_exercise.items(), key=lambda pair: (-len(pair[1]), pair[0])):
        yield Group("exercise", exercise_id=exercise_id), sets
    for low, high in zip(BANDS, (*BANDS[1:], None), strict=True):
        within = [one for one in foretold if low <= one.median and (high is None or one.median < high)]
        yield Group("repetitions", reps_from=low, reps_below=high), within


def _item(
    group: Group, sets: Sequence[Foretold], mass: Share, book: ExerciseBook, teller: Teller
) -> Document:
    item: Document = {"by": group.by, "count": len(sets)}
    exercise = book.find(group.exercise_id) if group.exercise_id is not None else None
    named = {
        "told": group.told,
        "exercise_id": group.exercise_id,
        "exercise_name": exercise.name if exercise is not None else None,
        "reps_from": group.reps_from,
        "reps_below": group.reps_below,
    }
    item |= {name: value for name, value in named.items() if value is not None}
    if sets:
        item |= _scores(sets, mass)
    return {**item, "reasons": documents(teller.reasons([_verdict(sets)]))}


def _scores(sets: Sequence[Foretold], mass: Share) -> Document:
    covered = mean(one.covered for one in sets)
    errors = [one.expected - one.seen for one in sets]
    return {
        "held_80": {
            "value": round(covered, 4),
            "interval": interval_document(share_interval(covered, len(sets), mass)),
        },
        "bias": _mean_document(errors, mass),
        "mean_error": round(mean(abs(one.median - one.seen) for one in sets), 2),
        "mean_width_80": round(mean(one.upper - one.lower for one in sets), 2),
    }


def _mean_document(errors: Sequence[float], mass: Share) -> Document:
    middle = mean(errors)
    sd = stdev(errors) / sqrt(len(errors)) if len(errors) > 1 else float(abs(middle))
    reach = NormalDist().inv_cdf(0.5 + 0.5 * mass) * sd
    return {
        "value": round(middle, 3),
        "unit": "{reps}",
        "sd": round(sd, 3),
        "interval": interval_document(Interval(middle - reach, middle + reach, mass)),
        "statistic": "mean",
    }


def _standing(sets: Sequence[Foretold]) -> str:
    """Return how the intervals stand: whether 80 % lies within a 95 % interval of the share that held."""
    if len(sets) < FEWEST_SETS:
        return "too_few"
    held = share_interval(mean(one.covered for one in sets), len(sets), 0.95)
    if held.upper < CHECKED:
        return "too_narrow"
    return "too_wide" if held.lower > CHECKED else "holds"


def _verdict(sets: Sequence[Foretold]) -> Reason:
    params: dict[str, Param] = {"sets": len(sets), "fewest": FEWEST_SETS}
    if sets:
        params["held_percent"] = 100.0 * mean(one.covered for one in sets)
    return Reason(f"calibration.{_standing(sets)}", params)


_ACTIONS = {
    "too_few": "tell_more_effort",
    "too_narrow": "read_wider",
    "too_wide": "read_narrower",
    "holds": "take_as_told",
}
#: What to do with the intervals.
ACTIONS = tuple(_ACTIONS.values())


def _action(foretold: Sequence[Foretold], teller: Teller) -> Document:
    code = _ACTIONS[_standing(foretold)]
    return {"code": code, "text": teller.texts.render(f"calibration.{code}", {"fewest": FEWEST_SETS})}
