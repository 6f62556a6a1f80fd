"""What a lift's sessions tell of its strength: under which range and at which station, and which tell nothing of it."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from service.core.capability import SetEvidence
from service.core.capability.reading import is_matched, warm_ups_of
from service.core.trend import Visited
from service.core.units import Days
from service.usecases.answers.history import SeenSet
from service.usecases.answers.places_of_sets import site_of_set
from service.usecases.answers.situation import Situation
from service.usecases.records.log import LoggedSet

#: Ends of a told range that differ by less are one range (judgement: a joint angle read by eye is off by so much).
_SAME_RANGE_DEG = 15.0
_PARTIAL = frozenset({"bottom_half", "top_half"})


def range_of(record: LoggedSet) -> str:
    """Return the name of the range that a set was done in; what was not told is the full one."""
    if record.range in _PARTIAL:
        return str(record.range)
    if record.range_deg is None:
        return "full"
    ends = (record.range_deg.from_deg, record.range_deg.to_deg)
    low, high = (round(end / _SAME_RANGE_DEG) for end in ends)
    return f"{low}-{high}"


def station_of(seen: SeenSet, situation: Situation) -> str:
    """Return the station that a set was done at where the lift is bound to one, else one name for all."""
    if seen.exercise.station is None:
        return "any"
    told = seen.record.set_up.station if seen.record.set_up is not None else None
    return f"{told or seen.exercise.station}@{site_of_set(seen.record, situation) or ''}"


@dataclass(frozen=True, slots=True)
class Done:
    """One set or test as evidence, with its session and place in it; range and station are None where untold.

    ``in_rehab`` says that it was done to come back from something.
    """

    exercise_id: str
    session: str
    place: tuple[int, float]
    day: Days
    evidence: SetEvidence
    range: str | None
    station: str | None
    in_rehab: bool = False


def telling(done: Iterable[Done]) -> list[Done]:
    """Return the sets and tests, in the same order, from which a lift's strength can be read.

    Warm-ups, drops and what was kept easy on purpose say that at least so much was possible, and a second side that stopped
    with the first one says no more than that one: the filter begins no series with them alone.
    """
    alike: dict[tuple[str, str, str | None, str | None], list[Done]] = defaultdict(list)
    told = list(done)
    for one in told:
        alike[one.session, one.evidence.series, one.range, one.station].append(one)
    kept = {id(one) for sets in alike.values() for one in _telling(sets)}
    return [one for one in told if id(one) in kept]


def _telling(sets: Sequence[Done]) -> Iterator[Done]:
    evidence = [one.evidence for one in sets]
    warm_ups = warm_ups_of(evidence)
    works = [
        number
        for number, item in enumerate(evidence)
        if item.purpose != "bound" and item.stage == 0 and warm_ups[number] < 0.5
    ]
    copied = [
        number
        for number in works
        if evidence[number].reps_in_reserve is None and is_matched(number, evidence)
    ]
    if len(copied) < len(works):
        yield from (sets[number] for number in works)


def visited(day: Days, told: Sequence[Done]) -> Visited:
    """Return a session of a day by what was done in it."""
    return Visited(
        day,
        frozenset(one.range for one in told if one.range is not None),
        frozenset(one.station for one in told if one.station is not None),
    )
