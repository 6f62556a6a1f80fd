"""Rows in the order of replay, cut into sessions: what the engine is told of each set."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from service.core.capability import Purpose, SessionEvidence, SetEvidence, Side
from service.core.units import Days, Seconds
from service.usecases.backtest.lifts import BodyMassLine, Lift, LiftBook
from service.usecases.backtest.log_rows import LogRow

SECONDS_PER_DAY: Seconds = 86_400.0
#: A longer pause begins another session even under the same name, such as "push day" every week (judgement).
LONGEST_PAUSE: Seconds = 8 * 3600.0
#: More repetitions than this say nothing of strength: no published curve reaches so far (judgement).
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

    A row that tells no load where one is needed is left out: nothing can be said of it.
    """
    body = BodyMassLine(
        (row.at / SECONDS_PER_DAY, row.body_mass) for row in rows if row.body_mass is not None
    )
    sided = one_sided_series(rows, book)
    again = _written_again(rows)
    for together in _cut(rows):
        placed = [
            (silenced(told) if row.index in again else told, row)
            for row in together
            if (told := _evidence(row, book.find(row.exercise), body, sided)) is not None
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


def _evidence(row: LogRow, lift: Lift, body: BodyMassLine, sided: frozenset[str]) -> SetEvidence | None:
    mass = body.on(row.at / SECONDS_PER_DAY) if lift.moves_the_body else _NO_BODY
    lifted = lift.effective(row.load, mass)
    if lifted is None:
        return None
    told = row.reps is not None and row.reps <= MOST_REPETITIONS
    return SetEvidence(
        series=lift.series,
        load_kg=lifted[0],
        reps=(row.reps or 0) if told else 0,
        reps_in_reserve=row.reps_in_reserve if told else None,
        to_failure=row.to_failure and told,
        side=_side(row, lift, sided),
        purpose=_purpose(row),
        setup=row.setup,
        stage=row.stage,
        rest_s=row.rest_s,
        ln_load_sd=lifted[1],
        pain=row.pain,
    )


def _side(row: LogRow, lift: Lift, sided: frozenset[str]) -> Side:
    return row.side or ("unspecified" if lift.series in sided else "both")


def _purpose(row: LogRow) -> Purpose:
    if row.purpose in _BOUNDS:
        return "bound"
    if row.purpose in {"warm_up", "work", "test"}:
        return row.purpose
    return "unknown"
