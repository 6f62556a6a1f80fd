"""How strength and girths changed over stretches of the log's window, and the sets done in them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from service.core.capability import Line
from service.core.units import Days, HardSets, Share
from service.core.volume.building import weeks_that_built
from service.core.volume.growth_series import GrowthEvidence, GrowthSeries, evidence_of
from service.core.volume.plausible import set_aside
from service.core.volume.readings import (
    Readings,
    mixed,
    regain_after,
    stretches_between_breaks,
    without_belief,
)
from service.core.volume.response import (
    SlopePrior,
    population_slope,
)
from service.core.volume.weekly_dose import DIRECT_SHARE, DoseSide
from service.usecases.answers.growth_girths import MeasuredPlace, measured_places, place_of
from service.usecases.answers.history import ExerciseHistory, SeenSet, read_histories
from service.usecases.answers.situation import Situation, day_of_date
from service.usecases.answers.strength_then import strengths_known
from service.usecases.answers.trend_lines import TrendLog
from service.usecases.answers.volume import ends_of, weekly_doses
from service.usecases.answers.weeks import TrainingWeek, calendar_of
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork

Array = NDArray[np.float64]
#: Weeks that are looked back on: the window of the log.
WEEKS: Final = 25
#: Weeks between two readings of strength, and the least of the last stretch (judgement). [d]
STRETCH: Final[Days] = 28.0
LEAST_STRETCH: Final[Days] = 14.0
_DAYS_A_WEEK = 7.0
_LIMBS: Final[tuple[DoseSide, ...]] = ("left", "right")


@dataclass(frozen=True, slots=True)
class Witness:
    """A lift or a girth that speaks of a muscle's growth: what it is, its name, how long [week] and when last it was seen.

    Of a girth ``left_out`` stretches told more of body mass; ``corrected`` says that skin and fat were taken off. Of a lift
    ``pause`` is the longest before any of its sessions, 0 without one [d]. ``stretches`` are those that lie in no break.
    """

    kind: Literal["lift", "girth"]
    told_as: str
    name: str
    series: GrowthSeries
    weeks: float
    newest_day: Days
    left_out: int = 0
    corrected: bool = False
    pause: Days = 0.0
    stretches: int = 0


@dataclass(frozen=True)
class GrowthSeen:
    """How strength changed over stretches of the window, and the sets done in them."""

    situation: Situation
    book: ExerciseBook
    work: UnitOfWork

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
    def doses(self) -> Mapping[tuple[str, DoseSide], Array]:
        """Hard sets of each muscle and side in each of the weeks, counted as `volume` counts them: by the whole log."""
        ends = ends_of(self.weeks, self.situation)
        strengths = strengths_known(self.work, self.book, self.situation, ends.values())
        found = weekly_doses(self.situation, self.book, self.weeks, strengths)
        doses: dict[tuple[str, DoseSide], Array] = {}
        for place, week in enumerate(self.weeks):
            for key, dose in found[week].doses.items():
                doses.setdefault(key, np.zeros(len(self.weeks)))[place] = dose.value.value
        return doses

    @cached_property
    def trained_muscles(self) -> tuple[str, ...]:
        """The muscles that got any dose in the window."""
        return tuple(sorted({muscle for (muscle, _), weekly in self.doses.items() if weekly.any()}))

    def building_dose(self, muscle: str) -> tuple[HardSets | None, float]:
        """Return the mean weekly dose of the last whole weeks that built, and how many these are.

        Of a muscle that was trained on one side alone it is that side's.
        """
        got = [side for side in _LIMBS if self._weekly(muscle, side).any()]
        built = weeks_that_built(self._weekly(muscle, got[0] if len(got) == 1 else "both")[:-1])
        return (float(built.mean()), float(len(built))) if built.size else (None, 0.0)

    def _weekly(self, muscle: str, side: DoseSide) -> Array:
        return self.doses.get((muscle, side), np.zeros(len(self.weeks)))

    @cached_property
    def _lifts(self) -> tuple["_LiftSeen", ...]:
        """What each lift's line reads, muscles apart."""
        found = []
        for _, history in sorted(self.log.histories.by_exercise.items()):
            side = self._side(history)
            line = None if self._in_levels(history) else self.log.back.line(self.log.series_of(history), side)
            if line is None:
                continue
            runs, pause = self._runs(history, side)
            known = [tuple(day for day in run if day in line.days) for run in runs]
            days, heard = stretches_between_breaks(known, STRETCH, LEAST_STRETCH)
            if days:
                read = readings_of(line, [line.days.index(day) for day in days])
                found.append(_LiftSeen(history, side, days, np.array(heard, dtype=bool), read, pause))
        return tuple(found)

    def _runs(self, history: ExerciseHistory, side: DoseSide) -> tuple[list[list[Days]], Days]:
        """Return the days of the window from one pause to the next in which no strength comes back, and the longest pause
        that left any out, 0 without one. [d]"""
        runs, longest = [], 0.0
        for run in self.log.runs_of(self.log.series_of(history), side):
            since = run.days[0] + regain_after(run.pause)
            if run.pause and since > self.log.since:
                longest = max(longest, run.pause)
            runs.append([day for day in run.days if day >= max(since, self.log.since)])
        return runs, longest

    def longest_pause(self, muscle: str) -> Days:
        """Return the longest pause that left out sessions of a lift which trains a muscle directly, 0 without one. [d]"""
        pauses = [
            self._runs(history, self._side(history))[1]
            for history in self.log.histories.by_exercise.values()
            if _share(history, muscle) >= DIRECT_SHARE and not self._in_levels(history)
        ]
        return max(pauses, default=0.0)

    def _in_levels(self, history: ExerciseHistory) -> bool:
        """Whether a lift's load is a level: an order without a mass, of which no ratio tells strength."""
        return any(seen.load is not None and seen.load.basis == "level" for seen in self._followed(history))

    def lifts_in_levels(self, muscle: str) -> int:
        """Return how many lifts that train a muscle directly say nothing, because their loads are levels."""
        return sum(
            _share(history, muscle) >= DIRECT_SHARE and self._in_levels(history)
            for history in self.log.histories.by_exercise.values()
        )

    def _side(self, history: ExerciseHistory) -> DoseSide:
        """Return the side whose sets a lift's strength answers to: the one it was done on, where it was done on one alone."""
        sides = {seen.side for seen in self._followed(history)}
        for limb in _LIMBS:
            if sides == {limb}:
                return limb
        return "both"

    def _followed(self, history: ExerciseHistory) -> list[SeenSet]:
        """Return the sets of the series that a lift's line follows."""
        series = self.log.series_of(history)
        return [seen for seen in history.sets if seen.series == series and seen.day >= self.log.since]

    def _series(self, muscle: str, lift: "_LiftSeen") -> GrowthSeries:
        roots, doses = self.doses_between(muscle, lift.days, lift.side)
        weeks, start = np.diff(lift.days) / _DAYS_A_WEEK, lift.days[0] / _DAYS_A_WEEK
        return GrowthSeries(
            "strength", lift.read.changes, lift.read.covariance, weeks, roots, doses, start, heard=lift.heard
        )

    def doses_between(
        self, muscle: str, days: Sequence[Days], side: DoseSide = "both"
    ) -> tuple[Array, Array]:
        """Return sums of the roots of a muscle's weekly hard sets, and of the sets, over the stretches between days."""
        shares, weekly = self._overlaps(np.array(days)), self._weekly(muscle, side)
        return shares @ np.sqrt(weekly), shares @ weekly

    @cached_property
    def _begins(self) -> Array:
        return np.array([day_of_date(week.first_day) for week in self.weeks])

    def _overlaps(self, days: Array) -> Array:
        """Return the share of each week (columns) that lies in each stretch between two days (rows)."""
        ends = np.minimum(self._begins + _DAYS_A_WEEK, days[1:, None])
        inside = ends - np.maximum(self._begins, days[:-1, None])
        clipped: Array = np.clip(inside / _DAYS_A_WEEK, 0.0, 1.0)
        return clipped

    @cached_property
    def places(self) -> tuple[MeasuredPlace, ...]:
        """The places of the tape under which muscles are known, from the window's visits."""
        return measured_places(self.situation, day_of_date(self.weeks[0].first_day))

    def place_over(self, muscle: str) -> MeasuredPlace | None:
        """Return the place that tells most of a muscle."""
        return place_of(muscle, self.places)

    def lifts(self, muscle: str) -> list[Witness]:
        """Return what the lifts that train a muscle directly say of its growth."""
        found = []
        for lift in self._lifts:
            if _share(lift.history, muscle) >= DIRECT_SHARE:
                series, exercise = self._series(muscle, lift), lift.history.exercise
                found.append(
                    Witness(
                        "lift", exercise.exercise_id, exercise.name, series, series.weeks_heard, lift.days[-1],
                        pause=lift.pause,
                    )
                )  # fmt: skip
        return found

    def girth(self, muscle: str, believed: SlopePrior) -> Witness | None:
        """Return what the tape says of a muscle's growth, None where visits are too few or body mass changed throughout."""
        place = self.place_over(muscle)
        if place is None or not place.visits.spans_enough:
            return None
        population = population_slope(self.situation.training)
        read = place.reading(muscle, self.doses_between, believed, population)
        if read.weeks == 0.0:
            return None
        name = place.told.replace("-", " ")
        return Witness(
            "girth",
            place.told,
            name,
            read.series,
            read.weeks,
            place.visits.days[-1],
            read.left_out,
            place.visits.corrected,
        )

    def elsewhere(self, muscle: str) -> GrowthEvidence:
        """Return what the lifts that do not train a muscle directly say, each by the muscle that it trains most."""
        others = [
            self._series(_prime(lift.history), lift)
            for lift in self._lifts
            if _share(lift.history, muscle) < DIRECT_SHARE
        ]
        return evidence_of(set_aside(others, self.situation.training))


@dataclass(frozen=True, slots=True)
class _LiftSeen:
    """A lift, the side whose sets it answers to, the sessions between which its changes are read, and what these read.

    ``heard`` says which changes may answer to sets; ``pause`` is the longest of the lift's window. [d]
    """

    history: ExerciseHistory
    side: DoseSide
    days: tuple[Days, ...]
    heard: NDArray[np.bool_]
    read: Readings
    pause: Days


def _share(history: ExerciseHistory, muscle: str) -> Share:
    return max((part.share for part in history.exercise.involvement if part.muscle_id == muscle), default=0.0)


def _prime(history: ExerciseHistory) -> str:
    return max(history.exercise.involvement, key=lambda part: (part.share, part.muscle_id)).muscle_id


def readings_of(line: Line, at: Sequence[int]) -> Readings:
    """Return what the sets say of the changes between some sessions of a line.

    Each hypothesis takes out what it believed itself: another's belief, narrower than what is left of the doubt, would turn a
    small change into a great one.
    """
    steps = np.diff(np.eye(line.means.shape[1])[list(at)], axis=0)
    told = [
        without_belief(steps @ mean, steps @ covariance @ steps.T, steps @ expected, steps @ spread @ steps.T)
        for mean, covariance, expected, spread in zip(
            line.means, line.covariances, line.expected, line.expected_covariances, strict=True
        )
    ]
    return mixed(line.weights, told)
