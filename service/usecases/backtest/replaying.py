"""The replay: each session is foreseen set by set before it is folded, athlete by athlete."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import isfinite, isnan

from service.core.capability import (
    AthleteModel,
    AthleteState,
    SeriesPrior,
    begin,
    foresee_all,
)
from service.core.units import Days
from service.usecases.backtest.first_guesses import FirstGuesses
from service.usecases.backtest.lifts import BodyMassLine, Lift, LiftBook
from service.usecases.backtest.log_reading import UnreadableLog
from service.usecases.backtest.log_rows import LogRow
from service.usecases.backtest.predictions import Prediction
from service.usecases.backtest.sessions import (
    SECONDS_PER_DAY,
    PlacedSession,
    by_athlete,
    one_sided_series,
    sessions_of,
    unloaded_series,
)
from service.usecases.backtest.uncomputed import CANNOT_BE_COMPUTED, NOT_FINITE, Uncomputed

#: Unknown names are followed as lifts of their own, each with a place in the state; more than this are no lifts.
MOST_UNKNOWN_NAMES = 400


@dataclass(frozen=True, slots=True)
class ReplayedAthlete:
    """What is known of an athlete after the whole log.

    ``spellings`` has each lift of the log under the first way in which it was written; ``both_trained`` counts, for
    the series with sets of either side, the days on which both were trained. ``unloaded`` are the series that were never
    loaded: no load can be answered for them.
    """

    athlete: str
    state: AthleteState
    model: AthleteModel
    day: Days
    body: BodyMassLine
    spellings: dict[str, Lift]
    sided: frozenset[str]
    both_trained: dict[str, int]
    unloaded: frozenset[str]


@dataclass(frozen=True, slots=True)
class Replay:
    """Predictions by row index, None where nothing was known, and the athletes as the log leaves them.

    ``uncomputed`` tells whose numbers broke: their rows have no prediction, and the others' are as ever.
    """

    predictions: dict[int, Prediction | None]
    athletes: tuple[ReplayedAthlete, ...]
    uncomputed: tuple[Uncomputed, ...] = ()


def replay(rows: Iterable[LogRow], book: LiftBook, told: Callable[[int], None] = lambda _: None) -> Replay:
    """Return what the engine would have said of each set before it was done.

    ``told`` hears after each athlete how many sets were replayed.

    Raises
    ------
    UnreadableLog
        If so many names are unknown that the column cannot be one of exercises.
    """
    rows = tuple(rows)
    _refuse_foreign_names(rows, book)
    predictions: dict[int, Prediction | None] = {}
    athletes, uncomputed = [], []
    for athlete, own in by_athlete(rows).items():
        try:
            known, foretold = _replay_athlete(athlete, own, book)
        except CANNOT_BE_COMPUTED as broken:
            uncomputed.append(Uncomputed(athlete, f"none of {len(own)} sets could be predicted", str(broken)))
            predictions |= dict.fromkeys(row.index for row in own)
        else:
            athletes.append(known)
            predictions |= foretold.predictions
            if foretold.broken:
                uncomputed.append(
                    Uncomputed(athlete, f"{foretold.broken} sets could not be predicted", NOT_FINITE)
                )
        told(len(predictions))
    return Replay(predictions, tuple(athletes), tuple(uncomputed))


def _refuse_foreign_names(rows: Iterable[LogRow], book: LiftBook) -> None:
    names = {row.exercise for row in rows}
    unknown = sorted(name for name in names if book.find(name).exercise is None)
    if len(unknown) > MOST_UNKNOWN_NAMES:
        shown = ", ".join(repr(name) for name in unknown[:3])
        raise UnreadableLog(
            f"The column exercise holds {len(unknown)} names that no exercise answers to, such as {shown}. "
            "Is it the right column?"
        )


def athlete_model(sided: frozenset[str], book: LiftBook) -> AthleteModel:
    """Return what does not change from session to session: priors of the lifts, and how they tire each other."""
    priors: dict[str, SeriesPrior] = {}

    def series_prior(series: str) -> SeriesPrior:
        if series not in priors:
            priors[series] = SeriesPrior(book.of_series(series).curve, one_sided=series in sided)
        return priors[series]

    return AthleteModel(series_prior, book.kinship)


@dataclass(slots=True)
class _Foretold:
    """One athlete's predictions by row index, and how many came out as no finite numbers."""

    predictions: dict[int, Prediction | None]
    broken: int = 0


def _replay_athlete(
    athlete: str, rows: Sequence[LogRow], book: LiftBook
) -> tuple[ReplayedAthlete, _Foretold]:
    sided = one_sided_series(rows, book)
    model = athlete_model(sided, book)
    sessions = tuple(sessions_of(rows, book))
    state, values = foresee_all(begin("unknown"), [session.evidence for session in sessions], model)
    known = ReplayedAthlete(
        athlete=athlete,
        state=state,
        model=model,
        day=rows[-1].at / SECONDS_PER_DAY,
        body=_body(rows),
        spellings=_spellings(rows, book),
        sided=sided,
        both_trained=_visits_of_both_sides(rows, book),
        unloaded=unloaded_series(rows, book),
    )
    return known, _foretold(sessions, values.tolist(), book)


def _foretold(sessions: Iterable[PlacedSession], values: Iterable[list[float]], book: LiftBook) -> _Foretold:
    done = [pair for session in sessions for pair in zip(session.rows, session.evidence.sets, strict=True)]
    guesses, begun, found = FirstGuesses(), set[str](), _Foretold({})
    for (row, evidence), told in zip(done, values, strict=True):
        if all(map(isfinite, told)):
            begun.add(evidence.series)
            found.predictions[row.index] = Prediction(*told)
        elif evidence.series in begun or not isnan(told[0]):
            found.predictions[row.index] = None
            found.broken += 1
        else:
            curve = book.of_series(evidence.series).curve
            found.predictions[row.index] = guesses.guess(evidence, curve)
            guesses.learn(evidence, curve)
    return found


def _body(rows: Sequence[LogRow]) -> BodyMassLine:
    return BodyMassLine(
        (row.at / SECONDS_PER_DAY, row.body_mass) for row in rows if row.body_mass is not None
    )


def _spellings(rows: Iterable[LogRow], book: LiftBook) -> dict[str, Lift]:
    """Return each lift under its first spelling, in order of appearance."""
    found: dict[str, Lift] = {}
    seen: set[Lift] = set()
    for name in dict.fromkeys(row.exercise for row in rows):
        lift = book.find(name)
        if lift not in seen:
            seen.add(lift)
            found[name] = lift
    return found


def _visits_of_both_sides(rows: Iterable[LogRow], book: LiftBook) -> dict[str, int]:
    """Return on how many days each series with sets of either side was trained on both."""
    sides: dict[str, dict[str, set[str]]] = {}
    for row in rows:
        if row.side in {"left", "right"} and row.reps:
            days = sides.setdefault(book.find(row.exercise).series, {})
            days.setdefault(row.local_day, set()).add(row.side)
    return {
        series: sum(len(both) == 2 for both in days.values())
        for series, days in sides.items()
        if len(set().union(*days.values())) == 2
    }
