"""Rows in the order of replay, cut into sessions: what the engine is told of each set."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from service.core.capability import Purpose, SessionEvidence, SetEvidence, Side
from service.core.units import Days, Kilograms, Seconds
from service.usecases.backtest.lifts import ASSUMED_LN_SD, BodyMassLine, Lift, LiftBook, ln_spread
from service.usecases.backtest.log_rows import LogRow

SECONDS_PER_DAY: Seconds = 86_400.0
#: A longer pause begins another session even under the same name, such as "push day" every week (judgement).
LONGEST_PAUSE: Seconds = 8 * 3600.0
#: More repetitions than this say only that so many were possible: no published curve reaches so far (judgement).
MOST_REPETITIONS = 60
#: Where the body is not the load its mass does not matter; the bounds say that at least so much was possible.
_NO_BODY = BodyMassLine([]).on(0.0)
_BOUNDS = frozenset({"reduced", "technique", "rehab"})


@dataclass(frozen=True, slots=True)
class PlacedSession:
    """A session as evidence, with the row of each of its sets."""

    evidence: SessionEvidence
    rows: tuple[LogRow, ...]


def by_athlete(rows: Iterable[LogRow]) -> dict[str, list[LogRow]]:
    """Return each athlete's rows in the order of replay: by instant, session and ordinal; ties keep file order."""
    grouped: dict[str, list[LogRow]] = {}
    for row in rows:
        grouped.setdefault(row.athlete, []).append(row)
    for own in grouped.values():
        own.sort(key=lambda row: (row.at, row.replayed_as, row.index))
    return grouped


def sessions_of(rows: Sequence[LogRow], book: LiftBook) -> Iterator[PlacedSession]:
    """Return one athlete's sessions; ``rows`` are in the order of replay.

    A row that tells no load where one is needed is left out: nothing can be said of it. Where the body is lifted, and its
    help or the load is not told, a set is foretold with what was told last, and says nothing itself.
    """
    body = BodyMassLine(
        (row.at / SECONDS_PER_DAY, row.body_mass) for row in rows if row.body_mass is not None
    )
    sided = one_sided_series(rows, book)
    again = _written_again(rows)
    unloaded, newest = unloaded_series(rows, book), dict[str, Kilograms]()
    for together in _cut(rows):
        placed = [
            (silenced(told) if row.index in again else told, row)
            for row in together
            if (told := _evidence(row, book.find(row.exercise), body, sided, unloaded, newest)) is not None
        ]
        if placed:
            day: Days = together[0].at / SECONDS_PER_DAY
            yield PlacedSession(
                SessionEvidence(day, tuple(told for told, _ in placed)), tuple(row for _, row in placed)
            )


def silenced(told: SetEvidence) -> SetEvidence:
    """Return a set that is foretold and says nothing itself."""
    return replace(told, reps=0, reps_in_reserve=None, to_failure=False)


def _written_again(rows: Iterable[LogRow]) -> frozenset[int]:
    """Return the rows that repeat an earlier one to the letter, ordinal included: one set that was written twice."""
    seen: set[tuple[object, ...]] = set()
    again = set()
    for row in rows:
        if row.ordinal:
            key = (
                row.at, row.session, row.ordinal, row.exercise, row.side, row.stage, row.load, row.reps,
                row.reps_in_reserve, row.to_failure, row.setup,
            )  # fmt: skip
            if key in seen:
                again.add(row.index)
            seen.add(key)
    return frozenset(again)


def one_sided_series(rows: Iterable[LogRow], book: LiftBook) -> frozenset[str]:
    """Return the series that are followed side by side: one-sided lifts, and those whose rows name a side."""
    return frozenset(
        lift.series
        for row in rows
        if (lift := book.find(row.exercise)).one_sided or row.side in {"left", "right"}
    )


def unloaded_series(rows: Iterable[LogRow], book: LiftBook) -> frozenset[str]:
    """Return the series that nobody knows and no row loads: whatever is lifted, it is always the same."""
    loaded = {book.find(row.exercise).series for row in rows if row.load is not None or row.load_unread}
    unknown = {lift.series for row in rows if (lift := book.find(row.exercise)).exercise is None}
    return frozenset(unknown - loaded)


def _cut(rows: Sequence[LogRow]) -> Iterator[list[LogRow]]:
    together: list[LogRow] = []
    for row in rows:
        if together and not _goes_on(together[-1], row):
            yield together
            together = []
        together.append(row)
    if together:
        yield together


def _goes_on(before: LogRow, row: LogRow) -> bool:
    if before.session != row.session:
        return False
    if not row.session:
        return before.local_day == row.local_day
    return row.at - before.at <= LONGEST_PAUSE


def _evidence(
    row: LogRow,
    lift: Lift,
    body: BodyMassLine,
    sided: frozenset[str],
    unloaded: frozenset[str],
    newest: dict[str, Kilograms],
) -> SetEvidence | None:
    """Return a row as evidence; ``newest`` has the load told last of each exercise whose load is the body."""
    mass = body.on(row.at / SECONDS_PER_DAY) if lift.moves_the_body else _NO_BODY
    name = lift.exercise.exercise_id if lift.exercise is not None else lift.series
    external = lift.told(row.load, unread=row.load_unread)
    known = external is not None
    if external is None:
        external = lift.assumed(newest.get(name), mass)
    else:
        newest[name] = external
    lifted = lift.effective(external, mass)
    if lift.series in unloaded:
        known, lifted = True, (_NO_BODY.kilograms, 0.0)
    if lifted is None:
        return None
    beyond = row.reps is not None and row.reps > MOST_REPETITIONS
    told = SetEvidence(
        series=lift.series,
        load_kg=lifted[0],
        reps=min(row.reps or 0, MOST_REPETITIONS),
        reps_in_reserve=None if row.reps is None or beyond else row.reps_in_reserve,
        to_failure=row.to_failure and row.reps is not None and not beyond,
        side=_side(row, lift, sided),
        purpose="bound" if beyond else _purpose(row),
        setup=row.setup,
        stage=row.stage,
        rest_s=row.rest_s,
        ln_load_sd=lifted[1] if known else ln_spread(lifted[1], ASSUMED_LN_SD),
        pain=row.pain,
    )
    return told if known else silenced(told)


def _side(row: LogRow, lift: Lift, sided: frozenset[str]) -> Side:
    return row.side or ("unspecified" if lift.series in sided else "both")


def _purpose(row: LogRow) -> Purpose:
    if row.purpose in _BOUNDS:
        return "bound"
    if row.purpose in {"warm_up", "work", "test"}:
        return row.purpose
    return "unknown"
