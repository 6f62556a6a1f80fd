"""The log as lines to look back on: one for each lift and side, of one range and one station, tested maxima among them."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from service.core.capability import Line, Retrospect, SessionEvidence, SetEvidence, Side
from service.core.estimates import Reason
from service.core.trend import Change, Stretch, Visited, change_between, comparable_stretch, settled
from service.core.units import Days, mass_to_kg
from service.usecases.answers.history import (
    ExerciseHistory,
    Histories,
    SeenSet,
    seen_evidence,
    tells_strength,
)
from service.usecases.answers.places_of_sets import site_of_set
from service.usecases.answers.situation import Situation, day_of
from service.usecases.folding.evidence import LEAST_LOAD_KG
from service.usecases.loads import effective_of_external
from service.usecases.records.log import LoggedSet, TestedMaximum

#: Ends of a told range that differ by less are one range (judgement: a joint angle read by eye is off by so much).
_SAME_RANGE_DEG = 15.0
_PARTIAL = frozenset({"bottom_half", "top_half"})
_DAYS_A_WEEK = 7.0


def range_of(record: LoggedSet) -> str:
    """Return the name of the range that a set was done in; what was not told is the full one."""
    if record.range in _PARTIAL:
        return str(record.range)
    if record.range_deg is None:
        return "full"
    ends = (record.range_deg.from_deg, record.range_deg.to_deg)
    low, high = (round(end / _SAME_RANGE_DEG) for end in ends)
    return f"{low}-{high}"


def station_of(seen: SeenSet, situation: Situation) -> str:
    """Return the station that a set was done at where the lift is bound to one, else one name for all."""
    if seen.exercise.station is None:
        return "any"
    told = seen.record.set_up.station if seen.record.set_up is not None else None
    return f"{told or seen.exercise.station}@{site_of_set(seen.record, situation) or ''}"


@dataclass(frozen=True, slots=True)
class Done:
    """One set or test as evidence, with its session and place in it; range and station are None where untold."""

    exercise_id: str
    session: str
    place: tuple[int, float]
    day: Days
    evidence: SetEvidence
    range: str | None
    station: str | None


@dataclass(frozen=True)
class LiftTrend:
    """The comparable sessions of one lift and side, its line, and the change along it, None where it cannot be told."""

    history: ExerciseHistory
    side: Side
    stretch: Stretch
    line: Line | None
    change: Change | None
    set_count: int
    log_age: Days

    @property
    def weeks(self) -> float:
        """How far the first and the last comparable session lie apart. [wk]"""
        days = self.stretch.days
        return (days[-1] - days[0]) / _DAYS_A_WEEK if days else 0.0


@dataclass(frozen=True)
class TrendLog:
    """The window's sets, cut into what is before ``since`` and what is looked back on."""

    situation: Situation
    histories: Histories
    since: Days

    @cached_property
    def done(self) -> list[Done]:
        """Every set and test that tells strength, in the order of sessions."""
        found = [*self._sets(), *self._tests()]
        return sorted(found, key=lambda one: (one.day, one.session, one.place))

    def _sets(self) -> Iterator[Done]:
        for history in self.histories.by_exercise.values():
            for seen in history.sets:
                if tells_strength(seen):
                    yield Done(
                        seen.exercise.exercise_id, f"{seen.session:06d}",
                        (seen.record.ordinal, day_of(seen.record.performed_at)), seen.day, seen_evidence(seen),
                        range_of(seen.record), station_of(seen, self.situation),
                    )  # fmt: skip

    def _tests(self) -> Iterator[Done]:
        for stored in self.situation.measurements:
            test = stored.record
            if not isinstance(test, TestedMaximum):
                continue
            history = self.histories.of(test.exercise_id)
            if history is None or history.exercise.load_basis == "level":
                continue
            exercise, external = history.exercise, mass_to_kg(test.load.value, test.load.unit)
            body = self.situation.body_mass.on(day_of(test.at))
            load = effective_of_external(external, exercise.load_basis, exercise, body)
            if load >= LEAST_LOAD_KG:
                side: Side = test.side if exercise.laterality == "one_sided" else "both"
                told = SetEvidence(
                    exercise.exercise_id, load, test.reps, to_failure=True, side=side, purpose="test"
                )
                day = day_of(test.at)
                yield Done(exercise.exercise_id, f"test {stored.id}", (0, day), day, told, None, None)

    @cached_property
    def athlete_days(self) -> list[Days]:
        """The days of all sessions and tests of the window, whatever was done in them. [d]"""
        days = {seen.day for history in self.histories.by_exercise.values() for seen in history.sets}
        return sorted(days | {one.day for one in self.done})

    @cached_property
    def _visits(self) -> Mapping[str, list[Visited]]:
        by_series: dict[str, dict[Days, list[Done]]] = defaultdict(lambda: defaultdict(list))
        for one in self.done:
            by_series[one.evidence.series][one.day].append(one)
        return {
            series: [_visited(day, told) for day, told in sorted(days.items())]
            for series, days in by_series.items()
        }

    def series_of(self, history: ExerciseHistory) -> str:
        """Return the series of a lift's newest set: a stack's levels at one station are a series of their own."""
        return self._newest.get(history.exercise.exercise_id, history.series)

    @cached_property
    def _newest(self) -> dict[str, str]:
        return {one.exercise_id: one.evidence.series for one in self.done if one.range is not None}

    def stretch_of(self, series: str, since: Days | None = None) -> Stretch:
        """Return the sessions of a series that may be compared, from ``since`` on, no earlier than the log's own."""
        after = self.since if since is None else max(since, self.since)
        visits = self._visits.get(series, [])
        return comparable_stretch(visits, self.athlete_days, after, self.situation.now_day)

    def _with_other_stations(self, stretch: Stretch, history: ExerciseHistory) -> Stretch:
        """Return a stretch that tells of sessions on another station's levels: each has a series of its own."""
        elsewhere = {
            one.day
            for one in self.done
            if one.exercise_id == history.exercise.exercise_id
            and one.evidence.series != self.series_of(history)
            and one.day >= self.since
        }
        if not elsewhere:
            return stretch
        told = Reason("trend.new_station", {"sessions": len(elsewhere)})
        return replace(stretch, reasons=(told, *stretch.reasons))

    @cached_property
    def sessions(self) -> list[SessionEvidence]:
        """All sessions as evidence, without sets under another range or at another station than a lift's newest ones."""
        newest: dict[str, Done] = {}
        for one in self.done:
            if one.range is not None:
                newest[one.evidence.series] = one
        by_session: dict[str, list[Done]] = defaultdict(list)
        for one in self.done:
            last = newest.get(one.evidence.series, one)
            if one.range in {None, last.range} and one.station in {None, last.station}:
                by_session[one.session].append(one)
        told = [
            SessionEvidence(sets[0].day, tuple(one.evidence for one in sets)) for sets in by_session.values()
        ]
        return sorted(told, key=lambda session: session.day)

    @cached_property
    def back(self) -> Retrospect:
        """The states to look back on."""
        earlier = [session for session in self.sessions if session.day < self.since]
        return Retrospect(earlier, self.sessions[len(earlier) :], self.histories.strength.model)

    def trend_of(self, history: ExerciseHistory, side: Side, since: Days | None = None) -> LiftTrend:
        """Return the comparable sessions of a lift and side and the change along them."""
        key = (history.exercise.exercise_id, side, since)
        if key not in self._found:
            self._found[key] = self._trend(history, side, since)
        return self._found[key]

    @cached_property
    def _found(self) -> dict[tuple[str, Side, Days | None], LiftTrend]:
        return {}

    def _trend(self, history: ExerciseHistory, side: Side, since: Days | None) -> LiftTrend:
        series = self.series_of(history)
        stretch = self._with_other_stations(self.stretch_of(series, since), history)
        line = self.back.line(series, side) if stretch.days else None
        count = sum(
            one.evidence.series == series
            and one.day in stretch.days
            and (side == "both" or one.evidence.side in {side, "unspecified"})
            for one in self.done
        )
        age = stretch.days[0] - self._visits[series][0].day if stretch.days else 0.0
        return LiftTrend(history, side, stretch, line, _change(stretch, line, age), count, age)

    def trends(self, exercise_ids: Sequence[str], side: Side | None = None) -> Iterator[LiftTrend]:
        """Yield the trend of each lift and side, or of one side."""
        for exercise_id in exercise_ids:
            history = self.histories.of(exercise_id)
            if history is not None:
                for one in history.sides():
                    if side is None or one == side:
                        yield self.trend_of(history, one)


def _visited(day: Days, told: Sequence[Done]) -> Visited:
    return Visited(
        day,
        frozenset(one.range for one in told if one.range is not None),
        frozenset(one.station for one in told if one.station is not None),
    )


def _change(stretch: Stretch, line: Line | None, log_age: Days) -> Change | None:
    if not stretch.enough or line is None or not set(stretch.days) <= set(line.days):
        return None
    first, last = line.days.index(stretch.days[0]), line.days.index(stretch.days[-1])
    return settled(change_between(line, first, last), log_age)
