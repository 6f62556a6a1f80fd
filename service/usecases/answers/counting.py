"""How far each logged set counts, by the one rule of `core.volume.counting`, with what is known of strength."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from math import exp
from typing import Final
from uuid import UUID

from service.core.capability import Side
from service.core.curve import log_ratio_at
from service.core.estimates import Reason
from service.core.progression import LoadForecast
from service.core.units import Days, Kilograms, Repetitions, Share
from service.core.volume.counting import DoneSet, count_set, why_not_counted
from service.core.volume.hard_sets import HardSet, drop_set
from service.core.volume.weekly_dose import Involvement, SetContribution
from service.usecases.answers.history import ExerciseHistory, Histories, SeenSet
from service.usecases.answers.situation import Situation, day_of
from service.usecases.answers.strength import Strength
from service.usecases.records.log import LoggedSet

#: Repetitions beyond which a set points to no 1RM (judgement).
_MOST_REPETITIONS: Repetitions = 40.0
#: Strength of today tells the effort of sets up to so many days old: later it has moved on. (judgement) [d]
STRENGTH_HOLDS: Final[Days] = 28.0
#: The least sd of a reserve that is worked out from strength. (judgement) [repetitions]
_LEAST_RESERVE_SD = 1.5


@dataclass(slots=True)
class Cluster:
    """A set and the drops that followed it; ``first`` is None where it is not in the log, or not yet."""

    first: SeenSet | None
    drops: list[SeenSet] = field(default_factory=list)

    @property
    def lead(self) -> SeenSet:
        """The set by whose day, side and session the cluster counts."""
        return self.first or self.drops[0]

    @property
    def in_order(self) -> list[SeenSet]:
        """The drops, one stage after the other."""
        return sorted(self.drops, key=lambda drop: drop.record.stage)


def clusters_of(sets: Iterable[SeenSet]) -> list[Cluster]:
    """Join drops to the set that they followed: the one named, or the last first load of that lift, side and session."""
    clusters: dict[object, Cluster] = {}
    newest: dict[object, UUID] = {}
    drops: list[tuple[SeenSet, object]] = []
    for seen in sets:
        series = (seen.exercise.exercise_id, seen.side, seen.session)
        if seen.record.stage == 0:
            clusters[seen.id] = Cluster(seen)
            newest[series] = seen.id
        else:
            drops.append((seen, seen.record.stage_of or newest.get(series, series)))
    for seen, follows in drops:
        clusters.setdefault(follows, Cluster(None)).drops.append(seen)
    return list(clusters.values())


def done_set(seen: SeenSet) -> DoneSet:
    """Return a logged set as it is counted, before anything is asked of strength."""
    record = seen.record
    return DoneSet(
        reps=record.reps,
        hold_s=record.hold_s,
        distance_m=record.distance_m,
        reps_in_reserve=record.reps_in_reserve,
        to_failure=bool(record.to_failure),
        purpose=record.purpose,
        p_warm_up=seen.warm_up,
        work=seen.exercise.work,
    )


@dataclass(slots=True)
class Counting:
    """Counts clusters, with what the athlete can lift read once per lift and side."""

    situation: Situation
    histories: Histories
    _most: dict[tuple[str, Side], Kilograms | None] = field(default_factory=dict)
    _forecasts: dict[tuple[str, Side], LoadForecast | None] = field(default_factory=dict)
    _able: dict[tuple[str, Side, Kilograms], tuple[float, float]] = field(default_factory=dict)

    def contribution(self, cluster: Cluster) -> SetContribution:
        """Return what a cluster gives to each muscle."""
        lead, drops = cluster.lead, len(cluster.drops)
        followed = [drop for drop in cluster.in_order if drop is not lead]
        first = self.hard_set(cluster.first) if cluster.first is not None else None
        return SetContribution(
            set_id=str(lead.id),
            session_id=lead.session_key,
            day=day_of(lead.record.performed_at),
            exercise_id=lead.exercise.exercise_id,
            side=lead.side,
            hard_set=drop_set(first, drops),
            involvement=involvement_of(lead),
            incomplete_stage=cluster.first is None,
            for_strength=drop_set(first, drops, "strength").value,
            p_warm_up=lead.warm_up,
            missed=cluster.first is not None and done_set(cluster.first).is_missed,
            drops=tuple(str(drop.id) for drop in followed),
        )

    def hard_set(self, seen: SeenSet) -> HardSet:
        """Return how much one set counts."""
        return count_set(self.told(seen), self.situation.training)

    def told(self, seen: SeenSet) -> DoneSet:
        """Return a set with its share of the 1RM, and the reserve that strength tells where nobody said."""
        done = done_set(seen)
        if done.is_timed or why_not_counted(done) is not None:
            return done
        return DoneSet(
            done.reps, None, None, done.reps_in_reserve, done.to_failure, done.purpose, done.p_warm_up,
            self._fraction(seen), self._expected_reserve(seen, done),
        )  # fmt: skip

    def _forecast(self, seen: SeenSet) -> LoadForecast | None:
        key = (seen.exercise.exercise_id, seen.side)
        if key not in self._forecasts:
            history = self.histories.by_exercise[key[0]]
            known = history.series in self.histories.strength.known
            self._forecasts[key] = history.forecast(self.situation.now_day, seen.side) if known else None
        return self._forecasts[key]

    def _expected_reserve(self, seen: SeenSet, done: DoneSet) -> tuple[float, float] | None:
        """Return mean and sd of the reserve of a set whose effort nobody told, None where strength does not tell it."""
        recent = self.situation.now_day - day_of(seen.record.performed_at) <= STRENGTH_HOLDS
        if done.effort_told or not done.reps or seen.load is None or not recent:
            return None
        if seen.series != self.histories.by_exercise[seen.exercise.exercise_id].series:
            return None
        forecast = self._forecast(seen)
        if forecast is None:
            return None
        key = (seen.series, seen.side, seen.load.kilograms)
        if key not in self._able:
            at_load = forecast.repetitions_at(seen.load.kilograms)
            half = 0.5 * (at_load.quantile(0.8413) - at_load.quantile(0.1587))
            self._able[key] = (at_load.median, max(half, _LEAST_RESERVE_SD))
        median, half = self._able[key]
        return max(median - done.reps, 0.0), half

    def _fraction(self, seen: SeenSet) -> Share | None:
        """Return the load over what can be lifted once, None where that is not known."""
        if seen.load is None or seen.load.basis == "level":
            return None
        key = (seen.exercise.exercise_id, seen.side)
        if key not in self._most:
            forecast = self._forecast(seen)
            self._most[key] = (
                forecast.load_for(1.0).value
                if forecast is not None
                else rough_one_rep_max(self.histories.by_exercise[key[0]])
            )
        most = self._most[key]
        return None if most is None else seen.load.kilograms / most


def counting_then(situation: Situation, histories: Histories, at: datetime, strength: Strength) -> Counting:
    """Return what counts sets as of an earlier instant, by what was known of strength then."""
    then = replace(situation, as_of=at, strength=strength)
    by_exercise = {
        name: replace(
            history, sets=[seen for seen in history.sets if seen.record.performed_at <= at], strength=strength
        )
        for name, history in histories.by_exercise.items()
    }
    return Counting(then, Histories(then, histories.book, strength, by_exercise))


def involvement_of(seen: SeenSet) -> list[Involvement]:
    """Return what a lift trains."""
    return [
        Involvement(part.muscle_id, part.share, part.sd)
        for part in seen.exercise.involvement
        if part.share > 0.0
    ]


def reason_not_counted(seen: SeenSet) -> Reason | None:
    """Return why a set counts nothing at all, None where it counts."""
    code = why_not_counted(done_set(seen))
    return Reason(code) if code is not None else None


def rough_one_rep_max(history: ExerciseHistory) -> Kilograms | None:
    """Return the largest 1RM that a set of the window points to on its class's curve, None where none does. [kg]

    It serves where nothing is known of strength, and only to tell very light loads. (judgement)
    """
    curve = history.prior.curve
    pointed = [
        seen.load.kilograms * exp(log_ratio_at(_reps_to_failure(seen.record), curve.mean_ln_k, curve.b))
        for seen in history.sets
        if seen.load is not None and seen.record.reps
    ]
    return max(pointed, default=None)


def _reps_to_failure(record: LoggedSet) -> Repetitions:
    return min((record.reps or 0) + (record.reps_in_reserve or 0.0), _MOST_REPETITIONS)
