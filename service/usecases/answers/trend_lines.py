"""The log as lines to look back on: one for each lift and side, of one range and one station, tested maxima among them."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import hypot, inf
from statistics import median
from typing import Final

from service.core.capability import Retrospect, SessionEvidence, SetEvidence, Side
from service.core.estimates import Reason
from service.core.trend import (
    FEWEST_SESSIONS,
    Change,
    Measured,
    Run,
    Step,
    Stretch,
    Visited,
    age_of_log,
    comparable_runs,
    comparable_stretch,
    moved_between,
    of_one_side,
    on_levels,
    strangers,
    where_both_were,
)
from service.core.units import Days, mass_to_kg
from service.usecases.answers.history import (
    ExerciseHistory,
    Histories,
    SeenSet,
    seen_evidence,
    tells_strength,
)
from service.usecases.answers.situation import Situation, day_of
from service.usecases.answers.trend_of_lift import LiftTrend, change_along
from service.usecases.answers.trend_sessions import Done, range_of, station_of, telling, visited
from service.usecases.answers.trend_states import LookedBack, is_on_levels
from service.usecases.answers.trend_steps import steps_of
from service.usecases.folding.evidence import LEAST_LOAD_KG, ln_load_sd
from service.usecases.loads import (
    UNKNOWN_BODY_MASS_KG,
    UNKNOWN_BODY_MASS_LN_SD,
    body_part,
    effective_of_external,
    remembered_ln_sd,
)
from service.usecases.records.log import TestedMaximum

_DAYS_A_WEEK = 7.0
_LIMBS: Final[tuple[Side, ...]] = ("left", "right")
#: Whose sessions a set is one of: what both limbs did each of them did; a set without a side may be either's.
_SESSIONS_OF: Final[Mapping[Side, tuple[Side, ...]]] = {
    "left": ("both", "left"),
    "right": ("both", "right"),
    "both": ("both", "left", "right"),
    "unspecified": ("both", "unspecified"),
}


@dataclass(frozen=True)
class TrendLog:
    """The window's sets, cut into what is before ``since`` and what is looked back on."""

    situation: Situation
    histories: Histories
    since: Days

    @cached_property
    def done(self) -> list[Done]:
        """Every set and test that says anything of strength, in the order of sessions."""
        found = [*self._sets(), *self._tests()]
        return sorted(found, key=lambda one: (one.day, one.session, one.place))

    @cached_property
    def telling(self) -> list[Done]:
        """Those of them from which strength can be read."""
        return telling(self.done)

    def _sets(self) -> Iterator[Done]:
        for history in self.histories.by_exercise.values():
            for seen in history.sets:
                if tells_strength(seen):
                    yield Done(
                        seen.exercise.exercise_id, f"{seen.session:06d}",
                        (seen.record.ordinal, day_of(seen.record.performed_at)), seen.day, self._told_by(seen),
                        range_of(seen.record), station_of(seen, self.situation), seen.record.purpose == "rehab",
                    )  # fmt: skip

    def _told_by(self, seen: SeenSet) -> SetEvidence:
        """Return a set as evidence to look back on.

        A body mass that was never told is unknown on all days alike: what it puts wrong in a lift's usual load cancels in
        a change, so only what sets differ in it is a set's own doubt.
        """
        evidence, part = seen_evidence(seen), self._unknown_part(seen)
        if part is None:
            return evidence
        apart = UNKNOWN_BODY_MASS_LN_SD * (part - self._usual_parts[evidence.series])
        doubt = ln_load_sd(hypot(remembered_ln_sd(seen.record), apart), seen.exercise)
        return replace(evidence, ln_load_sd=doubt)

    def _unknown_part(self, seen: SeenSet) -> float | None:
        """Return how far a set's load hangs on a body mass that was never told, None where it does not."""
        body = self.situation.body_mass.on(day_of(seen.record.performed_at))
        if body.known or seen.load is None:
            return None
        return body_part(seen.load.kilograms, seen.load.basis, seen.exercise, body)

    @cached_property
    def _usual_parts(self) -> Mapping[str, float]:
        """The median of these parts over each series' sets."""
        parts: dict[str, list[float]] = defaultdict(list)
        for history in self.histories.by_exercise.values():
            for seen in history.sets:
                part = self._unknown_part(seen)
                if part is not None:
                    parts[seen.series].append(part)
        return {series: median(found) for series, found in parts.items()}

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

    def began(self, day: Days) -> Days:
        """Return when the session of a day began, by its first set where no session says so. [d]"""
        return self._first_sets.get(day, day)

    @cached_property
    def _first_sets(self) -> Mapping[Days, Days]:
        """When the first set was done on days that stand for a session which was never told: their midnights. [d]"""
        first: dict[Days, Days] = {}
        for history in self.histories.by_exercise.values():
            for seen in history.sets:
                if seen.record.session_id not in self.situation.sessions:
                    at = day_of(seen.record.performed_at)
                    first[seen.day] = min(first.get(seen.day, at), at)
        return first

    @cached_property
    def _visits(self) -> Mapping[tuple[str, Side], list[Visited]]:
        """The sessions that tell of each series, and of each of its sides: what a side did not do tells nothing of it."""
        return {
            key: [visited(day, told) for day, told in sorted(days.items())]
            for key, days in _by_day(self.telling).items()
        }

    @cached_property
    def _all_days(self) -> Mapping[tuple[str, Side], Collection[Days]]:
        """The days on which each series and side was done, whether it tells or not. [d]"""
        return _by_day(self.done)

    def was_done(self, history: ExerciseHistory) -> bool:
        """Whether a lift was done since the day that is looked back to, for whatever purpose."""
        days = self._all_days.get((self.series_of(history), "both"), ())
        return any(day >= self.since for day in days)

    def _days_of(self, series: str, side: Side, since: Days) -> set[Days]:
        return {one.day for one in self._visits.get((series, side), ()) if one.day >= since}

    def series_of(self, history: ExerciseHistory) -> str:
        """Return the series of a lift's newest set: a stack's levels at one station are a series of their own."""
        return self._newest.get(history.exercise.exercise_id, history.series)

    @cached_property
    def _newest(self) -> dict[str, str]:
        return {one.exercise_id: one.evidence.series for one in self._followed.values()}

    @cached_property
    def _followed(self) -> Mapping[str, Done]:
        """The newest set of each series, in the order done: one that tells, if any does, for its range is followed."""
        newest = {one.evidence.series: one for one in (*self.done, *self.telling) if one.range is not None}
        told = {one.evidence.series for one in self.telling}
        return dict(
            sorted(
                newest.items(),
                key=lambda item: (item[0] in told, item[1].day, item[1].session, item[1].place),
            )
        )

    def stretch_of(self, series: str, since: Days | None = None, side: Side = "both") -> Stretch:
        """Return the sessions of a series and side that may be compared, from ``since`` on, no earlier than the log's own.

        Of `both` these are the sessions of either side.
        """
        stretch, after = self._comparable(series, side, self._after(since)), self._after(since)
        told = self._days_of(series, side, after)
        easy = [day for day in self._all_days.get((series, side), ()) if day >= after and day not in told]
        if not easy:
            return stretch
        return replace(stretch, reasons=(Reason("trend.no_work", {"sessions": len(easy)}), *stretch.reasons))

    def _comparable(self, series: str, side: Side, after: Days) -> Stretch:
        visits, steps = self._visits.get((series, side), []), self._steps.get(series, ())
        now, like = self.situation.now_day, self._like(series)
        return comparable_stretch(visits, self.athlete_days, after, now, like, steps)

    def _like(self, series: str) -> Visited | None:
        followed = self._followed.get(series)
        return None if followed is None else visited(followed.day, [followed])

    def runs_of(self, series: str, side: Side = "both") -> tuple[Run, ...]:
        """Return the runs of sessions of a series and side that could be compared if no pause parted them."""
        visits, steps = self._visits.get((series, side), []), self._steps.get(series, ())
        return comparable_runs(visits, self.athlete_days, self.situation.now_day, self._like(series), steps)

    @cached_property
    def _steps(self) -> Mapping[str, tuple[Step, ...]]:
        """Where lifts that have a mass moved at once and stayed, of the range and at the station that are followed."""
        weighed = [
            one for one in self.telling if not is_on_levels(one.evidence.series) and self._is_followed(one)
        ]
        return steps_of(weighed, lambda series: self.histories.strength.model.series_prior(series).curve)

    def _is_followed(self, one: Done) -> bool:
        last = self._followed.get(one.evidence.series, one)
        return one.range in {None, last.range} and one.station in {None, last.station}

    @cached_property
    def _anew(self) -> Mapping[str, Days]:
        """When work in a series began anew after a pause and rehab. [d]

        What was lifted before says nothing of what can be lifted since, and a line that held on to it would take the way back
        for a loss. After other pauses it tells more than it misleads: on simulated athletes the error grew by half without.
        """
        rehab: dict[str, list[Days]] = defaultdict(list)
        for one in self.done:
            if one.in_rehab:
                rehab[one.evidence.series].append(one.day)
        begun = {}
        for series, days in rehab.items():
            kept = self._comparable(series, "both", -inf).days
            before = [one.day for one in self._visits.get((series, "both"), ()) if kept and one.day < kept[0]]
            if before and any(before[-1] < day < kept[0] for day in days):
                begun[series] = kept[0]
        return begun

    def _after(self, since: Days | None) -> Days:
        return self.since if since is None else max(since, self.since)

    def _of_side(self, series: str, since: Days | None, side: Side) -> tuple[Stretch, tuple[Reason, ...]]:
        """Return the sessions that tell of one side, or of both together, and what must be said of them."""
        stretch, after = self.stretch_of(series, since, side), self._after(since)
        if side != "both":
            own, either = (len(self._days_of(series, one, after)) for one in (side, "both"))
            return of_one_side(stretch, side, own, either), ()
        limbs = {limb: self._days_of(series, limb, after) for limb in _LIMBS}
        sideless = self._days_of(series, "unspecified", after)
        shared = min(map(len, limbs.values())) < FEWEST_SESSIONS <= len(sideless)
        told = where_both_were(stretch, {limb: days | sideless for limb, days in limbs.items()})
        return told, (Reason("trend.side_shared"),) if shared else ()

    def _with_other_stations(self, stretch: Stretch, history: ExerciseHistory) -> Stretch:
        """Return a stretch that tells of sessions on another station's levels: each has a series of its own."""
        elsewhere = {
            one.day
            for one in self.telling
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
        """All sessions as evidence, without sets that are not of one range, station and level with a lift's newest ones."""
        by_session: dict[str, list[Done]] = defaultdict(list)
        for one in self.done:
            if self._is_followed(one) and not self._before_a_step(one):
                by_session[one.session].append(one)
        told = [
            SessionEvidence(sets[0].day, tuple(one.evidence for one in sets)) for sets in by_session.values()
        ]
        return sorted(told, key=lambda session: session.day)

    def _before_a_step(self, one: Done) -> bool:
        newest = self._followed.get(one.evidence.series, one).day
        return moved_between(one.day, newest, self._steps.get(one.evidence.series, ())) != 0.0

    @property
    def back(self) -> Retrospect:
        """The states to look back on, of lifts whose loads have a mass."""
        return self._looked_back.weighed

    @cached_property
    def _looked_back(self) -> LookedBack:
        return LookedBack(self.sessions, self.since, self._anew, self.histories.strength.model)

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
        told, notes = self._of_side(series, since, side)
        if series in self._usual_parts:
            notes = (*notes, Reason("trend.body_mass_unknown", {"assumed": UNKNOWN_BODY_MASS_KG}))
        stretch = self._with_other_stations(told, history)
        line = self._looked_back.of(series).line(series, side) if stretch.days else None
        days = set(stretch.days)
        sets = tuple(
            one
            for one in self.telling
            if one.evidence.series == series and one.day in days and side in _SESSIONS_OF[one.evidence.side]
        )
        logged, age = self._ages(series, side, stretch)
        change = change_along(stretch, line, age)
        if change is not None and is_on_levels(series):
            change = on_levels(change)
        return LiftTrend(
            history, side, stretch, line, change, sets, logged, age, _measured(history, series), notes
        )

    def _ages(self, series: str, side: Side, stretch: Stretch) -> tuple[Days, Days]:
        """Return for how long a series and side was logged before a stretch, and how old its log counts as then. [d]"""
        if not stretch.days:
            return 0.0, 0.0
        first, days = stretch.days[0], [one.day for one in self._visits[series, side]]
        return first - days[0], age_of_log(days, self.athlete_days, first)

    def sides_of(self, history: ExerciseHistory) -> tuple[Side, ...]:
        """Return the sides that a lift's trends are told of: where sets named no side, also what both share."""
        sides = history.sides()
        sideless = self._days_of(self.series_of(history), "unspecified", self.since)
        return (*sides, "both") if "both" not in sides and len(sideless) >= FEWEST_SESSIONS else sides

    def trends(self, exercise_ids: Sequence[str], side: Side | None = None) -> Iterator[LiftTrend]:
        """Yield the trend of each lift and side, or of one side."""
        for exercise_id in exercise_ids:
            history = self.histories.of(exercise_id)
            if history is not None:
                for one in self.sides_of(history):
                    if side is None or one == side:
                        yield self.trend_of(history, one)

    def changes_since(self, day: Days) -> Sequence[Change]:
        """Return how lifts changed since a day, those with a load, and those on levels where there are no others."""
        found = [
            one for history in self.histories.by_exercise.values() for one in self._changed(history, day)
        ]
        weighed = [one for one in found if one.measured != "level"]
        changes = [one.change for one in weighed or found if one.change is not None]
        return changes if weighed else strangers(changes)

    def _changed(self, history: ExerciseHistory, since: Days) -> list[LiftTrend]:
        """Return a lift's trend on the whole, those of its sides where one of them alone was trained."""
        whole = self.trend_of(history, "both", since)
        if whole.change is not None:
            return [whole]
        singly = (self.trend_of(history, limb, since) for limb in _LIMBS if limb in history.sides())
        return [one for one in singly if one.change is not None]


def _by_day(done: Iterable[Done]) -> Mapping[tuple[str, Side], Mapping[Days, list[Done]]]:
    """Return what was done by series and side, and by day."""
    by_day: dict[tuple[str, Side], dict[Days, list[Done]]] = defaultdict(lambda: defaultdict(list))
    for one in done:
        for side in _SESSIONS_OF[one.evidence.side]:
            by_day[one.evidence.series, side][one.day].append(one)
    return by_day


def _measured(history: ExerciseHistory, series: str) -> Measured:
    weighed: Measured = "load" if history.exercise.work == "repetitions" else "length"
    return "level" if is_on_levels(series) else weighed
