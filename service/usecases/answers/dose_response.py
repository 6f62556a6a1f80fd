"""What weekly volume does to each of an athlete's muscles, and where it meets a stated criterion."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from itertools import pairwise
from statistics import NormalDist
from typing import Final
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from service.catalogue.texts import Texts
from service.core.capability import Line
from service.core.capability.parameters import NOVICE, TRAINED
from service.core.estimates import DEFAULT_MASS, Basis, Caution, Estimate, Interval, Reason
from service.core.units import Days, HardSets, Share
from service.core.volume.hard_sets import TrainingAge
from service.core.volume.readings import stretches_of, without_belief
from service.core.volume.response import (
    GrowthEvidence,
    GrowthSeries,
    Response,
    evidence_of,
    respond,
    slope_prior_from,
)
from service.core.volume.thresholds import (
    DETECTABLE_GAIN,
    LARGEST_STUDIED,
    MODEL_VERSION,
    SMALL_NEXT_GAIN,
    Wanted,
    growth_at,
    peak_of,
    thresholds_of,
)
from service.core.volume.weekly_dose import DIRECT_SHARE
from service.usecases.answers.history import ExerciseHistory, read_histories
from service.usecases.answers.situation import Situation, day_of_date, read_situation
from service.usecases.answers.telling import Teller, basis_document, documents, estimate_document
from service.usecases.answers.trend_lines import TrendLog
from service.usecases.answers.volume import THRESHOLD_SOURCES, weekly_doses
from service.usecases.answers.weeks import TrainingWeek, calendar_of
from service.usecases.documents import Document, without_nulls
from service.usecases.errors import FieldFault, UnknownReference
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork
from service.usecases.records.people import ConsentPurpose

Array = NDArray[np.float64]
#: Weeks that are looked back on: the window of the log.
WEEKS: Final = 25
#: Weeks between two readings of strength, and the least of the last stretch (judgement). [d]
STRETCH: Final[Days] = 28.0
LEAST_STRETCH: Final[Days] = 14.0
#: Weeks whose mean dose is taken for what builds.
BUILDING_WEEKS: Final = 12
#: Doses at which the curve is told. [hard sets]
_CURVE: Final = (0.0, 1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 30.0, 40.0, LARGEST_STUDIED)
#: Works behind the curve and what is learned of it.
SOURCES: Final = ("Pelland2025", "Schoenfeld2017", "Hubal2005", "Erskine2014", "Ahtiainen2016", "Bickel2011")
_CAUTIONS = (Caution("guidance_not_diagnosis"),)
_DAYS_A_WEEK = 7.0


@dataclass(frozen=True, slots=True)
class DoseResponseQuestion:
    """What is asked: the muscles (None = all that were trained), what one more set and a gain must be worth, as of when."""

    muscle_id: str | None = None
    worth: Share = SMALL_NEXT_GAIN
    gain: Share = DETECTABLE_GAIN
    as_of: datetime | None = None
    mass: Share = DEFAULT_MASS
    min_position: int | None = None


def answer_dose_response(
    work: UnitOfWork,
    book: ExerciseBook,
    texts: Texts,
    athlete_id: UUID,
    question: DoseResponseQuestion,
    purposes: Sequence[ConsentPurpose] = ("process_health",),
) -> Document:
    """Return the curve and the thresholds of each muscle, the population's where the log tells nothing.

    Raises what ``read_situation`` raises, and ``UnknownReference`` for a muscle that does not exist.
    """
    asked = question.muscle_id
    if asked is not None and not book.knows_muscle(asked):
        fault = FieldFault(
            "?muscle_id", "unknown_reference", "there is no such muscle", "an id of GET /v1/muscles"
        )
        raise UnknownReference(faults=[fault])
    # Without a book no state is read: looking back begins with the window's first set, however long the log is.
    situation = read_situation(
        work, athlete_id, as_of=question.as_of, purposes=purposes, min_position=question.min_position
    )
    growing = _Growing(situation, book)
    muscles = growing.trained_muscles if asked is None else tuple(book.catalogue.parts(asked))
    telling = _Telling(Teller(texts), question, situation, growing)
    return {
        "position": str(situation.position),
        "model_version": MODEL_VERSION,
        "as_of": situation.as_of,
        "items": [telling.item(muscle) for muscle in muscles],
        "cautions": documents(telling.teller.cautions(_CAUTIONS)),
    }


@dataclass(frozen=True)
class _Growing:
    """How strength changed over stretches of the window, and the sets done in them."""

    situation: Situation
    book: ExerciseBook

    @cached_property
    def log(self) -> TrendLog:
        """The window's log as lines."""
        histories = read_histories(self.situation, self.book)
        return TrendLog(self.situation, histories, self.situation.now_day - _DAYS_A_WEEK * WEEKS)

    @cached_property
    def weeks(self) -> list[TrainingWeek]:
        """The weeks of the window, oldest first, the present one last."""
        calendar = calendar_of(self.situation.athlete)
        today = calendar.day_of(self.situation.as_of)
        return list(calendar.weeks_until(today, WEEKS))

    @cached_property
    def doses(self) -> Mapping[str, Array]:
        """Hard sets of each muscle in each of the weeks, the mean of both sides."""
        found = weekly_doses(self.situation, self.book, calendar_of(self.situation.athlete), self.weeks)
        doses: dict[str, Array] = {}
        for place, week in enumerate(self.weeks):
            for (muscle, side), dose in found[week].doses.items():
                if side == "both":
                    doses.setdefault(muscle, np.zeros(len(self.weeks)))[place] = dose.value.value
        return doses

    @cached_property
    def trained_muscles(self) -> tuple[str, ...]:
        """The muscles that got any dose in the window."""
        return tuple(sorted(muscle for muscle, weekly in self.doses.items() if weekly.any()))

    def building_dose(self, muscle: str) -> tuple[HardSets | None, float]:
        """Return the mean weekly dose of the last whole weeks since the log began, and how many these are."""
        weekly = self.doses.get(muscle)
        if weekly is None:
            return None, 0.0
        whole = weekly[:-1][-BUILDING_WEEKS:]
        begun = np.flatnonzero(whole)
        if not begun.size:
            return None, 0.0
        since = whole[begun[0] :]
        return float(since.mean()), float(len(since))

    def newest_day(self, muscle: str) -> Days | None:
        """Return the newest session that speaks of a muscle's growth, None where nothing does. [d]"""
        days = [
            line.days[at[-1]]
            for history, line, at in self._lines.values()
            if _share(history, muscle) >= DIRECT_SHARE
        ]
        return max(days, default=None)

    @cached_property
    def _lines(self) -> dict[str, tuple[ExerciseHistory, Line, tuple[int, ...]]]:
        found = {}
        for exercise_id, history in sorted(self.log.histories.by_exercise.items()):
            trend = self.log.trend_of(history, "both")
            if trend.line is None or not set(trend.stretch.days) <= set(trend.line.days):
                continue
            places = stretches_of(tuple(trend.stretch.days), STRETCH, LEAST_STRETCH)
            if len(places) > 1:
                at = [trend.line.days.index(trend.stretch.days[place]) for place in places]
                found[exercise_id] = (history, trend.line, tuple(at))
        return found

    def _series(self, muscle: str, line: Line, at: tuple[int, ...]) -> GrowthSeries:
        days = [line.days[place] for place in at]
        mean, covariance = _changes(line, at)
        believed, spread = _believed(np.diff(days) / _DAYS_A_WEEK, line.novice)
        read = without_belief(mean, covariance, believed, spread)
        shares = np.array([self._overlap(start, end) for start, end in pairwise(days)])
        weekly = self.doses.get(muscle, np.zeros(len(self.weeks)))
        return GrowthSeries(
            "strength", read.changes, read.covariance, np.diff(days) / _DAYS_A_WEEK,
            shares @ np.sqrt(weekly), shares @ weekly,
        )  # fmt: skip

    def _overlap(self, start: Days, end: Days) -> Array:
        """Return the share of each week that lies between two days."""
        begins = np.array([day_of_date(week.first_day) for week in self.weeks])
        inside = np.minimum(begins + _DAYS_A_WEEK, end) - np.maximum(begins, start)
        clipped: Array = np.clip(inside / _DAYS_A_WEEK, 0.0, 1.0)
        return clipped

    def evidence(self, muscle: str) -> GrowthEvidence:
        """Return what the lifts that train a muscle directly say of its growth."""
        return evidence_of(
            self._series(muscle, line, at)
            for history, line, at in self._lines.values()
            if _share(history, muscle) >= DIRECT_SHARE
        )

    def elsewhere(self, muscle: str) -> GrowthEvidence:
        """Return what the lifts that do not train a muscle directly say, each by the muscle that it trains most."""
        return evidence_of(
            self._series(_prime(history), line, at)
            for history, line, at in self._lines.values()
            if _share(history, muscle) < DIRECT_SHARE
        )


def _share(history: ExerciseHistory, muscle: str) -> Share:
    return max((part.share for part in history.exercise.involvement if part.muscle_id == muscle), default=0.0)


def _prime(history: ExerciseHistory) -> str:
    return max(history.exercise.involvement, key=lambda part: (part.share, part.muscle_id)).muscle_id


def _changes(line: Line, at: tuple[int, ...]) -> tuple[Array, Array]:
    """Return mean and covariance of the changes between some sessions of a line, over the hypotheses."""
    steps = np.diff(np.eye(line.means.shape[1])[list(at)], axis=0)
    means = line.means @ steps.T
    mean = line.weights @ means
    off = means - mean
    within = np.einsum("h,hij->ij", line.weights, line.covariances)
    covariance = steps @ within @ steps.T + np.einsum("h,hi,hj->ij", line.weights, off, off)
    return mean, covariance


def _believed(weeks: Array, novice: Share) -> tuple[Array, Array]:
    """Return what the filter believes of such changes before any set: a trend that fades, and a walk."""
    mean, spread = np.zeros(len(weeks)), np.zeros((len(weeks), len(weeks)))
    ends = np.concatenate([[0.0], np.cumsum(weeks)])
    for share, c in ((1.0 - novice, TRAINED), (novice, NOVICE)):
        grown = np.diff((1.0 - np.exp(-c.fading * ends)) / c.fading)
        mean = mean + share * c.trend * grown
        walk = c.strength_walk**2 * np.diag(weeks)
        spread = spread + share * (walk + (c.trend_sd**2 + c.drift_sd**2) * np.outer(grown, grown))
    return mean, spread


@dataclass(frozen=True)
class _Telling:
    """Turns a muscle's answer to volume into a document."""

    teller: Teller
    question: DoseResponseQuestion
    situation: Situation
    growing: _Growing

    def item(self, muscle: str) -> Document:
        training = self.situation.training
        evidence = self.growing.evidence(muscle)
        response = respond(evidence, training, slope_prior_from(self.growing.elsewhere(muscle), training))
        dose, weeks = self.growing.building_dose(muscle)
        wanted = Wanted(
            self.situation.age_years, dose, weeks, self.question.gain, self.question.worth, self.question.mass
        )
        item: Document = {
            "muscle_id": muscle,
            **response_document(response, training, wanted, self.teller, self.growing.newest_day(muscle)),
            "recent_weekly_hard_sets": None if dose is None else round(dose, 3),
            "lift_count": evidence.series,
            "weeks_seen": round(evidence.weeks, 1),
        }
        told: Document = without_nulls(item)
        return told


def response_document(
    response: Response, training: TrainingAge, wanted: Wanted, teller: Teller, newest_day: Days | None = None
) -> Document:
    """Return an answer to volume as it is told."""
    found = thresholds_of(response, training, wanted)
    peak = peak_of(response, wanted.mass)
    return {
        "thresholds": [
            {
                "criterion": one.criterion,
                "weekly_hard_sets": estimate_document(one.weekly_hard_sets),
                "prior_share": round(one.prior_share, 4),
                "reasons": documents(teller.reasons(one.reasons)),
                "sources": list(THRESHOLD_SOURCES[one.criterion]),
            }
            for one in found
        ],
        "curve": list(curve_of(response, wanted.mass)),
        "slope": estimate_document(slope_of(response, wanted.mass)),
        "peak": None if peak is None else estimate_document(peak),
        "p_downturn": round(response.p_downturn, 4),
        "basis": basis_document(Basis(response.series, newest_day, found[1].prior_share)),
        "reasons": documents(teller.reasons(_reasons(response, peak))),
        "sources": list(SOURCES),
    }


def _reasons(response: Response, peak: Estimate | None) -> Iterator[Reason]:
    if response.series:
        yield Reason("dose_response.moved_by_lifts", {"lifts": response.series, "weeks": response.weeks})
    else:
        yield Reason("dose_response.population_only")
    chance = {"percent": 100.0 * response.p_downturn}
    if peak is None:
        yield Reason("dose_response.downturn_not_shown", chance)
    else:
        yield Reason("dose_response.downturn_shown", chance)


def curve_of(response: Response, mass: Share) -> Iterator[Document]:
    """Yield the growth over 12 weeks, in per cent of size, at some weekly numbers of hard sets."""
    for sets in _CURVE:
        mean, sd = growth_at(sets, response)
        reach = _reach(mass) * sd
        growth = Estimate(
            100.0 * mean,
            "%",
            100.0 * sd,
            Interval(100.0 * (mean - reach), 100.0 * (mean + reach), mass),
            "mean",
        )
        yield {"weekly_hard_sets": sets, "growth": estimate_document(growth)}


def slope_of(response: Response, mass: Share) -> Estimate:
    """Return the slope in per cent of size over 12 weeks for each root of the weekly sets."""
    mean, sd = (1200.0 * one for one in response.slope)
    reach = _reach(mass) * sd
    return Estimate(mean, "%", sd, Interval(mean - reach, mean + reach, mass), "mean")


def _reach(mass: Share) -> float:
    return NormalDist().inv_cdf(0.5 + 0.5 * mass)
