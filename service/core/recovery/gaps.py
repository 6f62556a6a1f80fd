"""The gap between what a set was foretold and what it told: the evidence of what had not been recovered from."""

from collections.abc import Iterable, Mapping, Sequence
from math import isnan, sqrt

from service.core.capability import AthleteModel, SessionEvidence, SetEvidence, begin, foresee_all
from service.core.recovery.learning import NextSeen
from service.core.units import Repetitions, Share

#: Reported reserves above this say too little of what was possible. [repetitions] (judgement, as in calibration)
MOST_RESERVE: Repetitions = 4.0
#: Pain above this changes a set by more than fatigue does. [0-10] (judgement, as in the capability model)
MOST_PAIN = 2.0
#: Noise of a reported reserve, and of counting whole repetitions; the capability model's. (judgement)
REPORT_FLOOR_SD, REPORT_SD_SHARE, COUNT_SD = 0.5, 0.3, 0.29
#: A forecast wider than this knows nothing of the lift yet. [repetitions] (judgement)
WIDEST_SD: Repetitions = 8.0
#: More repetitions than this tell endurance rather than fatigue. [repetitions] (judgement)
MOST_REPETITIONS: Repetitions = 30.0


def gap_of(one: SetEvidence, foretold: Sequence[float]) -> tuple[Repetitions, Repetitions] | None:
    """Return seen minus foretold repetitions to failure and its sd; None where the set tells no effort.

    ``foretold`` holds mean and sd first, as `capability.foresee_all` gives them; NaN where nothing was known.
    """
    if one.purpose in {"warm_up", "bound"} or one.stage or not 0 < one.reps <= MOST_REPETITIONS:
        return None
    mean, sd = foretold[0], foretold[1]
    if isnan(mean) or sd > WIDEST_SD or (one.pain or 0.0) > MOST_PAIN:
        return None
    if one.to_failure:
        return one.reps + 0.5 - mean, sqrt(sd**2 + COUNT_SD**2)
    reserve = one.reps_in_reserve
    if reserve is None or reserve > MOST_RESERVE:
        return None
    report = REPORT_FLOOR_SD**2 + (REPORT_SD_SHARE * reserve) ** 2
    return one.reps + reserve + 0.5 - mean, sqrt(sd**2 + report)


def next_sessions(
    sessions: Sequence[SessionEvidence],
    model: AthleteModel,
    weights: Mapping[str, Mapping[str, Share]],
) -> list[NextSeen]:
    """Return, session by session, the gap of the first set of each lift and side that told its effort.

    The sessions are replayed from nothing, oldest first: each set is foretold from those before it. ``weights`` tells by
    which channels a series is limited; a series without them is left out.

    Raises
    ------
    OutsideValidity
        If the sessions are not in order.
    """
    _, table = foresee_all(begin(model.training), sessions, model)
    foretold = iter(table.tolist())
    return [
        found
        for session in sessions
        for found in _told(session, [next(foretold) for _ in session.sets], weights)
    ]


def _told(
    session: SessionEvidence, rows: Sequence[Sequence[float]], weights: Mapping[str, Mapping[str, Share]]
) -> Iterable[NextSeen]:
    told: set[tuple[str, str]] = set()
    for one, row in zip(session.sets, rows, strict=True):
        shares = weights.get(one.series)
        if not shares or (one.series, one.side) in told:
            continue
        gap = gap_of(one, row)
        if gap is None:
            continue
        told.add((one.series, one.side))
        side = "both" if one.side == "unspecified" else one.side
        yield NextSeen(session.day, one.series, gap[0], gap[1], shares, side)
