"""An athlete's sessions, set by set: what is prescribed, what happens, what an ideal observer would expect."""

import math
from collections.abc import Callable
from random import Random

from tests.simulation.athletes import POUND, Athlete, Episode, LiftTruth
from tests.simulation.constants import Constants
from tests.simulation.day import Day
from tests.simulation.exercises import kinship
from tests.simulation.families import log_ratio, repetitions
from tests.simulation.rows import SetRow


def train(
    athlete: Athlete, c: Constants, rng: Random, watch: Callable[[float], None] = lambda _: None
) -> list[SetRow]:
    """Every set of the athlete's log, in the order done; ``watch`` hears the day before each session is done."""
    rows: list[SetRow] = []
    last: float | None = None
    for number, day in enumerate(_days(athlete, rng)):
        _pass_time(athlete, c, rng, 0.0 if last is None else (day - last) / 7.0)
        last = day
        watch(day)
        rows.extend(_Session(athlete, c, rng, day, number).run())
    return rows


def _days(athlete: Athlete, rng: Random) -> list[float]:
    gap = 7.0 / athlete.days_a_week
    days, at = [], 0.0
    while at < athlete.weeks * 7:
        week = at / 7.0
        away = any(start <= week < end for start, end in athlete.breaks)
        if not away and rng.random() > 0.06:
            days.append(float(round(at)) + 0.75)
        at += gap
    return sorted(set(days))


def _pass_time(athlete: Athlete, c: Constants, rng: Random, weeks: float) -> None:
    """Walks, gains, the loss of a break and its regain; ``weeks`` since the session before."""
    root = math.sqrt(weeks)
    athlete.walk += athlete.drift * weeks + rng.gauss(0, c.walk_person) * root
    away = max(0.0, weeks - 1.2)
    athlete.loss = (
        athlete.loss * math.exp(-min(weeks, 1.2) / athlete.regain_weeks) + athlete.break_loss * away
    )
    athlete.trained_weeks += min(weeks, 1.2)
    for truth in athlete.lifts:
        truth.walk += rng.gauss(0, c.walk_exercise) * root
        truth.ln_endurance += rng.gauss(0, c.endurance_walk) * root
        if truth.half_gap:
            truth.half_gap += rng.gauss(0, c.half_gap_walk) * root


def strength(athlete: Athlete, truth: LiftTruth, side: str) -> float:
    """ln of the true maximum [kg] now, rested, over all days' effects."""
    gained: float = truth.gain * (1.0 - 2.0 ** (-athlete.trained_weeks / athlete.half_life))
    if athlete.kind == "returner":
        gained -= truth.gain
    return truth.base + gained + athlete.walk + truth.walk - athlete.loss + _sign(side) * truth.half_gap


def endurance(truth: LiftTruth, side: str) -> float:
    return math.exp(truth.ln_endurance + _sign(side) * truth.half_endurance_gap)


def _sign(side: str) -> int:
    return {"right": 1, "left": -1}.get(side, 0)


class _Session:
    def __init__(self, athlete: Athlete, c: Constants, rng: Random, day: float, number: int) -> None:
        self.athlete, self.c, self.rng, self.day = athlete, c, rng, day
        self.name = f"{athlete.name}-s{number + 1}"
        self.effect = Day(c, rng)
        self.shared: list[tuple[LiftTruth, float]] = []
        self.rows: list[SetRow] = []
        lifts = athlete.lifts
        self.lifts = lifts if len(lifts) <= 5 else lifts[number % 2 :: 2]

    def run(self) -> list[SetRow]:
        for position, truth in enumerate(self.lifts):
            if self.rng.random() < 0.07:
                continue
            self.effect.next_exercise()
            _Exercise(self, truth, position).run()
            truth.sessions += 1
        return self.rows

    def episode(self, lift: str) -> Episode | None:
        week = self.day / 7.0
        return next((e for e in self.athlete.episodes if e.lift == lift and e.start <= week < e.end), None)


class _Exercise:
    """One lift in one session."""

    def __init__(self, session: _Session, truth: LiftTruth, position: int) -> None:
        self.session, self.truth, self.position = session, truth, position
        self.athlete, self.rng, self.c = session.athlete, session.rng, session.c
        self.habit = self.athlete.habit
        self.episode = session.episode(truth.lift.name)
        self.shift = self.episode.shift if self.episode else 0.0
        self.own = {"left": 0.0, "right": 0.0, "both": 0.0}
        self.lasting = dict(self.own)
        self.seen: list[float] = []
        if truth.sessions % 14 == 13:
            truth.target = self.rng.choice((5, 6, 8, 8, 10, 10, 12, 12, 15, 20))

    def run(self) -> None:
        sets = self.rng.choice((2, 3, 3, 3, 4, 4))
        wanted = {"planned": 1.0, "reserve": self.rng.choice((1, 2, 2, 3)), "failure": 0.0}[self.habit.stop]
        load = self._load(wanted)
        self._warm_ups(load)
        for number in range(sets):
            if number and self.rng.random() < 0.06:
                load = self._on_grid(load * 0.92)
            self._set(load, number, number == sets - 1, wanted)
            load = self._adjusted(load, wanted)
        if self.seen:
            best = sum(self.seen[:2]) / len(self.seen[:2])
            self.truth.guess += 0.6 * (best - self.truth.guess)

    def _adjusted(self, load: float, wanted: float) -> float:
        """Next set's load, changed when the last one was far too light or broke the plan."""
        row = self.session.rows[-1]
        felt = self._felt(row.n - row.reps - 0.4)
        if felt > wanted + 3.0 and self.rng.random() < 0.6:
            return max(self._on_grid(load * 1.04), self._on_grid(load))
        if self.habit.stop == "planned" and row.reps < self.truth.target - 2 and self.rng.random() < 0.5:
            return self._on_grid(load * 0.93)
        return load

    def _load(self, wanted: float) -> float:
        guess = self.truth.guess + 0.8 * self.shift + self.rng.gauss(0, 0.012)
        return self._on_grid(math.exp(guess) / (1.0 + (self.truth.target + wanted) / 30.0))

    def _on_grid(self, load_kg: float) -> float:
        step = self.truth.lift.step_kg
        if self.habit.pounds:
            step = {1: 2.5, 1.25: 2.5, 2: 5, 2.5: 5, 5: 10, 10: 20}[step] * POUND
        return max(step, round(load_kg / step) * step)

    def _warm_ups(self, load: float) -> None:
        if self.habit.warm_ups == "none" or (self.position and self.rng.random() < 0.5):
            return
        side = self.habit.first_side if self.truth.lift.sided else "both"
        for share, reps in ((0.45, 10), (0.65, 6), (0.8, 3))[self.rng.choice((0, 1)) :]:
            row = self._row(self._on_grid(load * share), side, "warm_up", 0)
            row.reps = row.logged_reps = min(reps, max(1, int(row.n)))
            row.purpose = "warm_up" if self.habit.warm_ups == "flagged" else ""
            self.session.rows.append(row)

    def _set(self, load: float, number: int, last: bool, wanted: float) -> None:
        if not self.truth.lift.sided:
            row = self._one(load, "both", number, last, wanted, None)
            if last and self.habit.drops and self.rng.random() < 0.35:
                self._drops(row)
            return
        first = self.habit.first_side
        one = self._one(load, first, number, last, wanted, None)
        matched = one.reps if self.habit.matches_sides and self.rng.random() < 0.9 else None
        self._one(load, "left" if first == "right" else "right", number, last, wanted, matched)

    def _one(
        self, load: float, side: str, number: int, last: bool, wanted: float, matched: int | None
    ) -> SetRow:
        row = self._row(load, side, "work", number)
        most = int(row.n)
        row.reps = row.logged_reps = self._stop(row, most, number, wanted, matched)
        self._say(row, most, last, wanted, matched)
        self._tire(side, row.n - row.reps)
        if matched is None:
            felt = max(0.0, self._felt(row.n - row.reps - 0.4))
            self.seen.append(math.log(load) + math.log(1.0 + (row.reps + felt) / 30.0) - 0.8 * self.shift)
        self.session.rows.append(row)
        return row

    def _felt(self, reserve: float) -> float:
        reserve = max(0.0, reserve)
        noise = self.c.report.noise + self.c.report.noise_per_repetition * reserve
        offset = self.habit.report_offset
        if self.c.report.saturating:
            offset *= 1.0 - math.exp(-0.5 * reserve)
        return (1.0 - self.habit.report_share) * reserve - offset + self.rng.gauss(0, noise)

    def _stop(self, row: SetRow, most: int, number: int, wanted: float, matched: int | None) -> int:
        """Repetitions done, never more than can be."""
        if matched is not None:
            return min(matched, most)
        hurts = self.rng.choice((0, 1, 2, 3)) if row.pain else 0
        if self.habit.stop == "failure":
            return max(min(most, 1), most - hurts)
        if self.habit.stop == "planned":
            plan = self.truth.target - (2 if number >= 3 else 0)
            return min(most, max(1, plan - hurts))
        left = (wanted + self.habit.report_offset) / max(0.4, 1.0 - self.habit.report_share)
        left += self.rng.gauss(0, self.c.report.noise + self.c.report.noise_per_repetition * left)
        return min(most, max(1, int(row.n - max(0.0, left)) - hurts))

    def _say(self, row: SetRow, most: int, last: bool, wanted: float, matched: int | None) -> None:
        """Reserve and failure as stated, or not stated."""
        failed = (
            row.reps == most and (self.habit.stop == "failure" or row.n - row.reps < 1) and matched is None
        )
        failed = failed and self.rng.random() < 0.85
        if failed and self.rng.random() < self.habit.says_failure:
            row.to_failure = True
        states = {"every": True, "half": self.rng.random() < 0.5, "last": last, "never": False}[
            self.habit.reserve
        ]
        if not states or (matched is not None and self.habit.second_side_unstated):
            return
        if failed:
            row.reserve = 0.0
            return
        felt = self._felt(row.n - row.reps - 0.4)
        if self.habit.stop == "reserve" and matched is None and self.rng.random() < 0.5:
            felt = wanted
        step = 0.5 if self.habit.halves else 1.0
        row.reserve = min(float(self.habit.reserve_cap), max(0.0, round(felt / step) * step))

    def _tire(self, side: str, reserve: float) -> None:
        hard = math.exp(-max(0.0, reserve) / 6.0)
        other = self.c.fatigue.other_side_share
        for one in self.own:
            share = 1.0 if one == side else other
            self.own[one] += share * hard * self.athlete.fatigue_quick
            self.lasting[one] += share * hard * self.athlete.fatigue_lasting
        self.session.shared.append(
            (self.truth, hard * self.athlete.fatigue_lasting * self.c.fatigue.shared_share * 2)
        )

    def _fatigue(self, side: str) -> float:
        others = sum(
            lost * kinship(self.truth.lift, one.lift)
            for one, lost in self.session.shared
            if one is not self.truth
        )
        return self.own[side] + self.lasting[side] + others

    def _row(self, load: float, side: str, role: str, number: int) -> SetRow:
        rest = max(30.0, self.rng.gauss(self.habit.rest_s, 15))
        fading = math.exp(-rest / self.c.fatigue.quick_fades_s)
        for one in self.own:
            self.own[one] *= fading
        known = strength(self.athlete, self.truth, side) + self.shift - self._fatigue(side)
        day = self.session.effect
        within_mean, within_sd = day.expected(side)
        effect = day.draw(side, seen=role != "warm_up")
        kappa = endurance(self.truth, side)
        remembered = self.habit.remembered_step_kg > 0
        row = SetRow(
            athlete=self.athlete.name,
            kind=self.athlete.kind,
            family=self.athlete.family,
            condition=self.habit.reserve,
            day=self.session.day,
            session=self.session.name,
            ordinal=len(self.session.rows) + 1,
            exercise=self.truth.lift.name,
            side=side,
            stage=0,
            role=role,
            load_kg=load,
            load=round(load / POUND, 2) if self.habit.pounds else round(load, 3),
            unit="lb" if self.habit.pounds else "kg",
            reps=0,
            logged_reps=0,
            n=repetitions(self.athlete.family, known + effect - math.log(load), kappa),
            endurance=kappa,
            u_mean=known,
            u_sd=day.prior_sd(side),
            within_mean=known + within_mean,
            within_sd=within_sd,
            drop_extra=0.0,
            drop_ln_mean=0.0,
            drop_ln_sd=0.0,
            sessions_before=self.truth.sessions,
            exercise_position=self.position,
            set_position=number,
            side_position=int(self.truth.lift.sided and side != self.habit.first_side),
            remembered=remembered,
            range=self.episode.range if self.episode else "",
            pain=self.episode.pain if self.episode and self.episode.pain else None,
            rest_s=round(rest / 5) * 5 if self.habit.logs_rest and number else None,
        )
        if remembered:
            step = self.habit.remembered_step_kg
            row.load, row.unit = max(step, round(load / step) * step), "kg"
        return row

    def _drops(self, last: SetRow) -> None:
        """One or two stages with less load, seconds after the set."""
        before, n_before = last, last.n
        if last.reps < int(last.n):
            return
        for stage in (1, 2)[: self.rng.choice((1, 2, 2))]:
            load = self._on_grid(before.load_kg * self.rng.choice((0.85, 0.8, 0.8, 0.7)))
            if load >= before.load_kg:
                return
            row = self._row(load, "both", "drop", last.set_position)
            u = math.log(last.load_kg) + _z_of(last)
            extra = repetitions(self.athlete.family, u - math.log(load), row.endurance) - n_before
            row.stage, row.rest_s, row.drop_extra = stage, None, extra
            row.drop_ln_mean, row.drop_ln_sd = math.log(self.athlete.drop_share), self.c.drop_noise
            row.n = extra * self.athlete.drop_share * math.exp(self.rng.gauss(0, self.c.drop_noise))
            row.reps = row.logged_reps = max(1, int(row.n))
            row.reserve, row.to_failure = None, True if self.rng.random() < self.habit.says_failure else None
            self.session.rows.append(row)
            before, n_before = row, n_before + extra


def _z_of(row: SetRow) -> float:
    return log_ratio(row.family, row.n, row.endurance)
