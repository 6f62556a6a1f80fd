"""Simulate how an invented person trains: true strength, an honest or silent log, and a load raised when reps allow.

The simulation knows the truth (strength, curve, gap, days that are better or worse); the service sees the log alone.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from math import exp, log
from typing import Any
from zlib import crc32
from zoneinfo import ZoneInfo

import numpy as np

from service.core.curve import PIECE_S, repetitions_at
from service.demo.identities import invented_id
from service.demo.lifts import Lift
from service.demo.people import Person

Document = dict[str, Any]

_BEND = 0.7
#: Spread of ln(strength) from day to day, repetitions lost a set to tiredness, and how far a felt reserve is off.
_DAY_SD = 0.012
_LOST_PER_SET = 0.6
_FELT_SD = 0.8
_WANTED_RESERVE = 2.0
#: The same of ln(time) of a hold, and the share of it that a set costs the next one.
_HOLD_DAY_SD = 0.08
_HELD_LESS_A_SET = 0.06
#: Nobody feels more than this many left.
_MOST_FELT = 8
#: What a label of a station without masses stands for: so many invisible units more than its number.
_UNDER_THE_LABEL = 8.0
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_GAIN_DAYS = 70.0


@dataclass(slots=True)
class Log:
    """A simulated log, as bodies that the API takes; ids stand beside them."""

    sessions: list[tuple[str, Document]] = field(default_factory=list)
    sets: list[Document] = field(default_factory=list)


class Simulation:
    """One person's training up to and including ``last_day``."""

    def __init__(self, person: Person, last_day: date) -> None:
        self._person = person
        self._last_day = last_day
        self._rng = np.random.default_rng(crc32(person.key.encode()))
        self._zone = ZoneInfo("Europe/Riga")
        self._loads: dict[str, float] = {}
        self._log = Log()

    def run(self) -> Log:
        """Return the whole log; the same person and day give the same log."""
        for visit, day in enumerate(self._training_days()):
            self._visit(day, self._person.sessions[visit % len(self._person.sessions)])
        return self._log

    def _training_days(self) -> Iterator[date]:
        for ago in range(self._person.weeks * 7 - 1, -1, -1):
            day = self._last_day - timedelta(days=ago)
            away = any(first >= ago >= last for first, last in self._person.days_off)
            if _WEEKDAYS[day.weekday()] in self._person.days and not away:
                yield day

    def _visit(self, day: date, lifts: tuple[Lift, ...]) -> None:
        started = datetime.combine(day, time(17, 30), self._zone) + timedelta(
            minutes=int(self._rng.integers(0, 40))
        )
        session_id = invented_id(self._person.key, day, "session")
        clock = _Clock(started)
        for place, lift in enumerate(lifts):
            self._exercise(day, session_id, clock, lift, main=place == 0)
        session = {
            "started_at": _text(started),
            "ended_at": _text(clock.now),
            "site_id": self._person.site_id,
        }
        self._log.sessions.append((session_id, session))

    def _exercise(self, day: date, session_id: str, clock: "_Clock", lift: Lift, *, main: bool) -> None:
        if lift.how == "hold":
            self._hold(day, session_id, clock, lift)
            return
        load = self._loads.setdefault(lift.exercise_id, self._first_load(lift))
        good_day = float(self._rng.normal(0.0, _DAY_SD))
        if main and lift.how == "total":
            self._warm_up(day, session_id, clock, lift, load)
        done = [
            reps
            for number in range(lift.sets)
            for reps in self._sides(day, session_id, clock, lift, load, number, good_day)
        ]
        self._next_load(lift, load, min(done))

    def _hold(self, day: date, session_id: str, clock: "_Clock", lift: Lift) -> None:
        """Hold for a length that grows while something is left in the last set."""
        length = self._loads.setdefault(lift.exercise_id, lift.lowest)
        possible = self._able(day, lift, "both") * exp(float(self._rng.normal(0.0, _HOLD_DAY_SD)))
        left = 0.0
        for number in range(lift.sets):
            left = possible * (1.0 - _HELD_LESS_A_SET * number) - length
            done: Document = {
                "hold_s": float(round(length + min(left, 0.0))),
                "side": "both",
                "purpose": "work",
            }
            done |= self._said_of_effort(left / PIECE_S) if left > 0.0 else {"to_failure": True}
            self._keep(day, session_id, clock, lift, 0.0, done, rested=number > 0)
        self._loads[lift.exercise_id] = min(
            length + (lift.step if left > lift.step else 0.0), float(lift.reps[1])
        )

    def _warm_up(self, day: date, session_id: str, clock: "_Clock", lift: Lift, load: float) -> None:
        for share, reps in ((0.5, 6), (0.75, 4)):
            lighter = _on_grid(lift, load * share)
            flag = {"purpose": "warm_up"} if self._chance(self._person.flags_warm_ups) else {}
            for side in ("left", "right") if lift.one_sided else ("both",):
                if lighter < load:
                    self._keep(day, session_id, clock, lift, lighter, {"reps": reps, "side": side, **flag})

    def _sides(
        self,
        day: date,
        session_id: str,
        clock: "_Clock",
        lift: Lift,
        load: float,
        number: int,
        good_day: float,
    ) -> Iterator[int]:
        sides = ("both",) if not lift.one_sided else ("left", "right") if lift.gap >= 0 else ("right", "left")
        for side in sides:
            possible = (
                self._possible(lift, load, self._able(day, lift, side) * exp(good_day))
                - _LOST_PER_SET * number
            )
            wanted = _WANTED_RESERVE + float(self._rng.normal(0.0, 0.5))
            reps = int(max(1, min(lift.reps[1], round(possible - wanted))))
            done = {
                "reps": reps,
                "side": side,
                "purpose": "work",
                **self._said_of_effort(possible - reps),
                **self._pain(lift),
            }
            self._keep(day, session_id, clock, lift, load, done, rested=number > 0)
            yield reps

    def _possible(self, lift: Lift, load: float, able: float) -> float:
        """Return the repetitions to failure; none where the load is above the one-repetition maximum."""
        fall = log(able / self._effective(lift, load))
        return repetitions_at(fall, log(lift.repetitions_per_fall), _BEND) if fall > 0 else 1.0

    def _able(self, day: date, lift: Lift, side: str) -> float:
        """The true one-repetition maximum of a side on a day, all that is lifted included."""
        since = self._person.weeks * 7 - 1 - (self._last_day - day).days
        gained = lift.gain * (1 - exp(-since / _GAIN_DAYS)) / (1 - exp(-112 / _GAIN_DAYS))
        lean = {"left": -0.5, "right": 0.5}.get(side, 0.0) * lift.gap
        return lift.strength * exp(gained + lean)

    def _effective(self, lift: Lift, load: float) -> float:
        if lift.how == "level":
            return load + _UNDER_THE_LABEL
        return max(load + lift.body_share * self._person.body_mass_kg, 1.0)

    def _first_load(self, lift: Lift) -> float:
        """A careful first load: about the middle of the range with one repetition to spare more than wanted."""
        middle = sum(lift.reps) / 2 + _WANTED_RESERVE + 1
        fall = log(1 + _BEND * (middle - 1) / lift.repetitions_per_fall) / _BEND
        able = lift.strength * exp(-abs(lift.gap) / 2 - fall)
        beside = _UNDER_THE_LABEL if lift.how == "level" else lift.body_share * self._person.body_mass_kg
        return _on_grid(lift, able - beside)

    def _next_load(self, lift: Lift, load: float, fewest: int) -> None:
        if fewest >= lift.reps[1]:
            load += lift.step
        elif fewest < lift.reps[0] - 2 and load - lift.step >= lift.lowest:
            load -= lift.step
        self._loads[lift.exercise_id] = load

    def _said_of_effort(self, reserve: float) -> Document:
        if not self._chance(self._person.tells_effort):
            return {}
        return {
            "reps_in_reserve": float(
                min(_MOST_FELT, max(0, round(reserve + float(self._rng.normal(0.3, _FELT_SD)))))
            )
        }

    def _pain(self, lift: Lift) -> Document:
        if not lift.painful or not self._chance(0.6):
            return {}
        during = float(self._rng.integers(2, 5))
        where = {"region": "shoulder", "side": "right", "during": during, "phase": "lifting"}
        return {"pain": [{**where, "angle_band": {"from_deg": 70, "to_deg": 110}}]}

    def _keep(
        self,
        day: date,
        session_id: str,
        clock: "_Clock",
        lift: Lift,
        load: float,
        done: Document,
        *,
        rested: bool = False,
    ) -> None:
        performed_at, ordinal = clock.next_set(float(self._rng.normal(130, 20)))
        kept: Document = {
            "id": invented_id(self._person.key, day, "set", ordinal),
            "session_id": session_id,
            "ordinal": ordinal,
            "performed_at": _text(performed_at),
            **_loaded(lift, load),
            **done,
        }
        if rested and self._chance(0.1):
            kept["rest_same_exercise_s"] = float(round(self._rng.normal(125, 20)))
        self._log.sets.append(kept)

    def _chance(self, share: float) -> bool:
        return bool(self._rng.random() < share)


class _Clock:
    """Time within a session."""

    def __init__(self, started: datetime) -> None:
        self.now = started
        self._ordinal = -1

    def next_set(self, after_s: float) -> tuple[datetime, int]:
        self.now += timedelta(seconds=round(max(45.0, after_s)))
        self._ordinal += 1
        return self.now, self._ordinal


def _on_grid(lift: Lift, load: float) -> float:
    return lift.lowest + lift.step * max(0, int((load - lift.lowest) / lift.step))


def _loaded(lift: Lift, load: float) -> Document:
    if lift.how == "hold":
        return {"exercise_id": lift.exercise_id}
    if lift.how == "level":
        return {"exercise_id": lift.exercise_id, "level": f"{load:g}"}
    if lift.how == "added" and load < 0 and lift.assisted_as:
        return {"exercise_id": lift.assisted_as, "load": {"value": -load, "unit": lift.unit}}
    if lift.how == "added" and load <= 0:
        return {"exercise_id": lift.exercise_id}
    return {"exercise_id": lift.exercise_id, "load": {"value": load, "unit": lift.unit}}


def _text(instant: datetime) -> str:
    return instant.isoformat(timespec="seconds")
