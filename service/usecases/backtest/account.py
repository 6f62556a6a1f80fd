"""What a replay amounts to: the scores, the athlete's own record, and what was left out, ready to be told."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from service.core.capability import MODEL_VERSION
from service.usecases.backtest.lifts import LiftBook
from service.usecases.backtest.log_reading import ReadLog
from service.usecases.backtest.log_rows import RowFault
from service.usecases.backtest.replaying import Replay
from service.usecases.backtest.scoring import Outcome, Scores, outcomes_of, score_all
from service.usecases.backtest.uncomputed import Uncomputed

#: Athletes whose own record is shown, and their newest scored sets.
MOST_RECORDS: Final = 3
NEWEST_SETS: Final = 24
#: Fewer scored sets than this say little of coverage: 80 % of 30 has a standard error of 7 points.
FEW_SETS: Final = 30
_NOTHING_SCORED: Final = (
    "Nothing could be scored: no predicted set was taken to failure or told its reserve. Tell the reserve, or take a "
    "set to failure on a safe machine now and then, and there is something to say."
)
NO_REPETITIONS: Final = (
    "The log has no column reps: without repetitions nothing can be learnt, and no set is predicted."
)
_BY_REPORTS: Final = (
    "Most of this rests on told reserves. People tell about a repetition too few, so that an engine that is right "
    "seems to expect too many."
)


@dataclass(frozen=True, slots=True)
class BacktestAccount:
    """Everything that is told of a replay.

    ``unknown_names`` counts the rows of each name that no exercise answers to; ``records`` has the newest scored sets of
    the athletes with most of them, oldest first.
    """

    model_version: str
    log_name: str
    row_count: int
    set_count: int
    predicted_count: int
    scores: Scores
    records: Mapping[str, Sequence[Outcome]]
    unknown_names: Mapping[str, int]
    ignored_columns: tuple[str, ...]
    faults: tuple[RowFault, ...]
    uncomputed: tuple[Uncomputed, ...] = ()
    tells_reps: bool = True
    seconds: float | None = None


def account_for(
    read: ReadLog, replayed: Replay, book: LiftBook, log_name: str, uncomputed: Sequence[Uncomputed] = ()
) -> BacktestAccount:
    """Return the account of a replayed log; ``uncomputed`` is what failed after the replay."""
    outcomes = outcomes_of(read.rows, replayed.predictions)
    unknown = set(book.unknown_names)
    names = Counter(row.exercise for row in read.rows if row.exercise in unknown)
    scores = score_all(outcomes, book)
    return BacktestAccount(
        model_version=MODEL_VERSION,
        log_name=log_name,
        row_count=read.row_count,
        set_count=len(replayed.predictions),
        predicted_count=sum(told is not None for told in replayed.predictions.values()),
        scores=scores,
        records=_records(outcomes, tuple(scores.by_athlete)[:MOST_RECORDS]),
        unknown_names=dict(names.most_common()),
        ignored_columns=read.ignored,
        faults=read.faults,
        uncomputed=(*replayed.uncomputed, *uncomputed),
        tells_reps=read.tells_reps,
    )


def _records(outcomes: Sequence[Outcome], athletes: Sequence[str]) -> dict[str, list[Outcome]]:
    own: dict[str, list[Outcome]] = {athlete: [] for athlete in athletes}
    for outcome in outcomes:
        name = athlete_name(outcome)
        if name in own:
            own[name].append(outcome)
    for record in own.values():
        record.sort(key=lambda one: (one.row.at, one.row.replayed_as, one.row.index))
    return {athlete: record[-NEWEST_SETS:] for athlete, record in own.items()}


def athlete_name(outcome: Outcome) -> str:
    """Return the athlete as a table names them."""
    return outcome.row.athlete or "(not named)"


def in_plain_words(scores: Scores) -> tuple[str, ...]:
    """Return what the scores mean, in sentences.

    The verdict rests on sets to failure where there are enough of them: they tell repetitions best.
    """
    failed = scores.by_told.get("to failure")
    enough = failed is not None and failed.count >= FEW_SETS
    judged = failed if enough else scores.overall
    if judged is None:
        return (_NOTHING_SCORED,)
    which = "taken to failure" if enough else "that told how near failure they came"
    said = [
        (
            f"Of {judged.count} sets {which}, {judged.covered_80:.0%} lay inside their 80 % interval and "
            f"{judged.covered_95:.0%} inside their 95 % interval."
        ),
        _of_coverage(judged.covered_80),
        f"The middle of the prediction was {judged.error:.1f} repetitions away from what was told, on average.",
        _of_bias(judged.bias),
    ]
    said.extend(_of_reports(scores, enough=enough))
    if judged.count < FEW_SETS:
        said.append(f"With fewer than {FEW_SETS} sets these figures are rough.")
    return tuple(said)


def _of_reports(scores: Scores, *, enough: bool) -> tuple[str, ...]:
    """Say what told reserves do to the figures; sets to failure and told ones together show how they are told."""
    told, failed = scores.by_told.get("reported reserve"), scores.by_told.get("to failure")
    if told is None or told.count < FEW_SETS:
        return ()
    if not enough or failed is None:
        return (_BY_REPORTS,)
    short = told.bias - failed.bias
    way = "fewer" if short > 0.0 else "more"
    return (
        (
            f"Against the sets to failure, reserves in this log were told as about {abs(short):.1f} repetitions {way} than "
            "were left: that habit, not the prediction, moves the row of reported reserves."
        ),
    )


def _of_coverage(covered: float) -> str:
    if covered < 0.77:
        return "That is fewer than should be: the intervals were too narrow for this log."
    if covered > 0.83:
        return "That is more than should be: the intervals were wider than this log needed."
    return "That is as it should be, within three points."


def _of_bias(bias: float) -> str:
    if abs(bias) < 0.15:
        return "It leaned neither way."
    return f"It expected {abs(bias):.1f} repetitions too {'many' if bias > 0.0 else 'few'}."
