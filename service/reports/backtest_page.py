"""The page about a replayed log: how good the predictions would have been, for whom, and what that means."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from service.reports.drawing import IntervalBar, interval_bars, share_bars
from service.reports.page import bullet_list, figure, heading, page, paragraph, table
from service.usecases.backtest.account import NO_REPETITIONS, BacktestAccount, in_plain_words
from service.usecases.backtest.scoring import Outcome, Score, Scores

_COLUMNS: Final = (
    "", "sets", "inside 80 %", "inside 95 %", "CRPS", "leaning", "off by", "width of 80 %",
)  # fmt: skip
_MOST_ROWS, _MOST_FAULTS = 60, 40
_CAUTIONS: Final = (
    (
        "This page is training guidance, not medicine: it says how well repetitions were foreseen, never whether a body "
        "should train. Stop on sharp, rising or unfamiliar pain. A clinician's word, local rules and the supervision at the "
        "site come first."
    ),
    (
        "Do not take sets to failure for the sake of this page: one reserve told honestly is worth as much on most days. "
        "Never test alone under a bar without safety bars or a spotter."
    ),
)
_HOW_SCORED: Final = (
    (
        "Each session was predicted set by set before it was seen: from the sets before it alone, never from its own "
        "repetitions."
    ),
    (
        "A set of r repetitions to failure says that the continuous number lay between r and r + 1. A set of r with q in "
        "reserve says r + q to the nearest whole one, and people's sense of what is left is off by about a repetition, mostly "
        "too low: those rows mix the engine's error with that of the report. Sets that tell neither are predicted but not scored."
    ),
    (
        "Inside: the share of what was told that lies in the interval; 80 and 95 are right, not 100. CRPS: a distance in "
        "repetitions that rewards narrow intervals as long as they hold; smaller is better. Leaning: mean of expected minus "
        "told. Off by: mean distance of the middle. All in repetitions."
    ),
)


def render_backtest(account: BacktestAccount) -> str:
    """Return the page as HTML; it needs nothing but itself."""
    return page(f"Backtest of {account.log_name}", _parts(account))


def _parts(account: BacktestAccount) -> Iterator[str]:
    scores = account.scores
    yield heading(f"How good would it have been? {account.log_name}", 1)
    yield paragraph(
        f"{account.row_count} rows, {account.set_count} sets replayed in time order, {account.predicted_count} of them "
        f"predicted before they were seen. Model {account.model_version}.",
        "soft",
    )
    yield heading("In plain words")
    if not account.tells_reps:
        yield paragraph(NO_REPETITIONS)
    for said in in_plain_words(scores):
        yield paragraph(said)
    yield from (paragraph(caution, "caution") for caution in _CAUTIONS)
    if scores.overall is not None:
        yield heading("What was told, and how")
        yield _score_table(
            "Repetitions to failure, by what the set told",
            _failure_first(scores),
        )
        judged = scores.by_told["to failure"] if scores.groups_of == "sets to failure" else scores.overall
        yield from _calibration(judged, scores.groups_of, account.log_name)
        yield heading("By repetitions expected")
        yield _score_table(
            f"Bands of the predicted median, in repetitions: {scores.groups_of}", scores.by_band
        )
        yield heading("By exercise")
        yield _score_table(f"Exercises: {scores.groups_of}, most first", scores.by_exercise)
        yield heading("Each athlete's own record")
        yield _score_table(f"Athletes: {scores.groups_of}, most first", scores.by_athlete)
        for athlete, record in account.records.items():
            yield _record(athlete, record, account.log_name)
    yield heading("How it was scored")
    yield from (paragraph(said) for said in _HOW_SCORED)
    yield from _left_out(account)


def _failure_first(scores: Scores) -> dict[str, Score]:
    found = dict(sorted(scores.by_told.items(), reverse=True))
    return found if scores.overall is None else {**found, "both": scores.overall}


def _score_table(caption: str, scores: Mapping[str, Score]) -> str:
    shown = list(scores.items())[:_MOST_ROWS]
    if len(scores) > len(shown):
        caption += f"; the {len(shown)} largest of {len(scores)}"
    return table(caption, _COLUMNS, [(name, *_cells(score)) for name, score in shown])


def _cells(score: Score) -> tuple[str, ...]:
    return (
        f"{score.count}",
        f"{score.covered_80:.1%}",
        f"{score.covered_95:.1%}",
        f"{score.crps:.2f}",
        f"{score.bias:+.2f}",
        f"{score.error:.2f}",
        f"{score.width_80:.1f}",
    )


def _calibration(judged: Score, groups_of: str, log_name: str) -> Iterator[str]:
    yield heading("Calibration")
    count = len(judged.pit)
    labels = [f"{100 * n // count}-{100 * (n + 1) // count} %" for n in range(count)]
    yield table(
        f"Where what was told fell in its prediction ({groups_of}): each tenth should hold 10 %",
        ("tenth of the prediction", "share of sets"),
        [(label, f"{share:.1%}") for label, share in zip(labels, judged.pit, strict=True)],
    )
    title = "Share of sets by tenth of the prediction"
    yield figure(
        share_bars(judged.pit, 1.0 / count, title, labels),
        f"{title}, lowest tenth left; the dashed line is the 10 % expected of each. Source: {log_name}.",
    )


def _record(athlete: str, record: Sequence[Outcome], log_name: str) -> str:
    bars = [_bar(outcome) for outcome in record]
    title = f"Newest scored sets of {athlete}"
    return figure(
        interval_bars(bars, title, "repetitions to failure"),
        f"{title}, repetitions to failure: bar = 80 % interval before the set, notch = its median, frame = what the set "
        f"then told. Source: {log_name}.",
    )


def _bar(outcome: Outcome) -> IntervalBar:
    row, told = outcome.row, outcome.prediction
    side = f", {row.side}" if row.side in {"left", "right"} else ""
    return IntervalBar(
        f"{row.local_day} {row.exercise[:24]}{side}", told.q10, told.q50, told.q90, outcome.low, outcome.high
    )


def _left_out(account: BacktestAccount) -> Iterator[str]:
    if account.uncomputed:
        yield heading("What could not be computed")
        yield paragraph("These numbers broke and their cells are blank; everybody else's are as ever.")
        yield bullet_list(str(one) for one in account.uncomputed[:_MOST_FAULTS])
    if not (account.unknown_names or account.faults or account.ignored_columns):
        return
    yield heading("What could not be read or named")
    if account.unknown_names:
        yield paragraph(
            "No exercise of the catalogue answers to these names. They were followed as lifts of their own, with a "
            "generic curve and wide intervals."
        )
        yield table(
            "Unknown names", ("name", "rows"), [(n, str(c)) for n, c in account.unknown_names.items()]
        )
    if account.ignored_columns:
        yield paragraph(f"Columns that a log does not have: {', '.join(account.ignored_columns)}.")
    if account.faults:
        yield paragraph(f"{len(account.faults)} cells could not be read and count as blank, or as is said:")
        yield bullet_list(str(fault) for fault in account.faults[:_MOST_FAULTS])
