"""Pain as it was told with sets and in check-ins, session by session, in the shape that the rules read."""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta

from service.core.capability import Side
from service.core.tolerance.pain import PainPhase, PainReport
from service.usecases.answers.history import SeenSet
from service.usecases.answers.situation import Situation, day_of
from service.usecases.records.log import Pain

#: A check-in speaks of the morning after a session from so many to so many hours later (judgement).
MORNING_FROM, MORNING_TO = timedelta(hours=6), timedelta(hours=42)
#: Pain told longer ago no longer decides; a break of that length brings the load down anyway (judgement).
PAIN_WINDOW = timedelta(days=21)


def report_of(
    sets: Sequence[SeenSet],
    exercise_id: str,
    side: Side,
    situation: Situation,
    wanted: Callable[[Pain], bool] = lambda _: True,
) -> PainReport | None:
    """Return what was told of pain in one session of a lift and since, None where nothing was."""
    told = [pain for seen in sets for pain in seen.record.pain if concerns(pain, side) and wanted(pain)]
    done = max(seen.record.performed_at for seen in sets)
    since = [
        (checkin.at - done, pain)
        for checkin in situation.checkins
        for pain in checkin.pain
        if checkin.at > done and pain.exercise_id == exercise_id and concerns(pain, side) and wanted(pain)
    ]
    mornings = [pain.next_morning for pain in told if pain.next_morning is not None]
    mornings += [pain.worst or 0.0 for after, pain in since if MORNING_FROM <= after <= MORNING_TO]
    mornings += _mornings_of_region(told, done, side, situation)
    if not told and not since:
        return None
    # What a check-in says of the lift afterwards counts like what was said with its sets.
    return report_from([*told, *(pain for _, pain in since)], mornings, day_of(done))


def _mornings_of_region(
    told: Sequence[Pain], done: datetime, side: Side, situation: Situation
) -> list[float]:
    """Return the mornings that a check-in tells of a region that hurt in a lift, without naming the lift."""
    regions = {region_of(pain) for pain in told}
    return [
        pain.next_morning
        for checkin in situation.checkins
        if MORNING_FROM <= checkin.at - done <= MORNING_TO
        for pain in checkin.pain
        if pain.next_morning is not None and pain.exercise_id is None
        if region_of(pain) in regions and concerns(pain, side)
    ]


def region_of(pain: Pain) -> str:
    """Return a told region in one spelling."""
    return pain.region.strip().lower().replace(" ", "_").replace("-", "_")


def report_from(told: Sequence[Pain], mornings: Iterable[float], day: float) -> PainReport:
    """Return one report of what was told of pain around a day."""
    bands = [pain.angle_band for pain in told if pain.angle_band is not None]
    return PainReport(
        during=max((pain.during for pain in told if pain.during is not None), default=None),
        after=max((pain.after for pain in told if pain.after is not None), default=None),
        next_morning=max(mornings, default=None),
        painful_from_deg=min((band.from_deg for band in bands), default=None),
        painful_to_deg=max((band.to_deg for band in bands), default=None),
        phase=_phase(told),
        day=day,
    )


def _phase(told: Iterable[Pain]) -> PainPhase | None:
    """Return the one phase that all that was told names, `all` where it names several, None where it names none."""
    phases = {pain.phase for pain in told if pain.phase is not None}
    return phases.pop() if len(phases) == 1 else ("all" if phases else None)


def concerns(pain: Pain, side: Side) -> bool:
    """Whether pain was told of a side, or of none in particular."""
    return pain.side in {None, "both", side} or side == "both"
