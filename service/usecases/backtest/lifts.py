"""The lifts of a log: what a written name means, what is lifted with it, and which lifts tire each other."""

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import exp, log, sqrt

from service.catalogue.catalogue import Catalogue, UnknownExercise
from service.catalogue.naming import comparable_name
from service.catalogue.records import Exercise
from service.core.curve import BEND, CURVE_PRIORS, CurvePrior
from service.core.units import Days, Kilograms, LogRatio, Share
from service.usecases.loads import (
    BodyMass,
    BodyMassHistory,
    doubt_by_body,
    effective_of_external,
    external_of_effective,
)

#: Curve of a lift that nobody knows: the middle of the classes and a spread that covers all of them (judgement).
UNKNOWN_CURVE = CurvePrior(log(36.0), 0.35, BEND, basis=("judgement",))
#: How much a hard set of an unknown lift tires another, and is tired by it (judgement).
UNKNOWN_KINSHIP: Share = 0.2
#: Share of the moved body that help takes off where it was never told (judgement).
ASSUMED_HELP: Share = 0.3
#: Spread of the logarithm of a load that a row does not tell (judgement).
ASSUMED_LN_SD: LogRatio = 0.2
#: Spreads of a body mass above which it is taken to be no more (convention).
_CERTAIN_SDS = 2.0
_UNKNOWN = "unknown:"
_BODY_IS_LOAD = frozenset({"added", "assistance", "none"})


@dataclass(frozen=True, slots=True)
class Lift:
    """What a written name stands for: the series that its sets belong to, and its exercise where one is known."""

    series: str
    exercise: Exercise | None

    @property
    def one_sided(self) -> bool:
        """Whether the lift is done with one side at a time."""
        return self.exercise is not None and self.exercise.laterality == "one_sided"

    @property
    def curve(self) -> CurvePrior:
        """What is believed of its load and repetitions before the first set."""
        return UNKNOWN_CURVE if self.exercise is None else CURVE_PRIORS[self.exercise.curve_class]

    @property
    def moves_the_body(self) -> bool:
        """Whether the body is the load, so that no load need be written."""
        return self.exercise is not None and self.exercise.load_basis in _BODY_IS_LOAD

    @property
    def is_helped(self) -> bool:
        """Whether the external load takes off some of the body."""
        return self.exercise is not None and self.exercise.load_basis == "assistance"

    def told(self, written: Kilograms | None, *, unread: bool) -> Kilograms | None:
        """Return the external load that a row tells [kg], None where it tells none.

        A blank is the body alone where the body is lifted and nothing helps it; help that is not told is unknown, and so
        is a load that could not be read. Help is often written with a minus, on a machine for it too.
        """
        if written is not None:
            return abs(written) if self.is_helped else written
        return 0.0 if self.moves_the_body and not self.is_helped and not unread else None

    def effective(self, external: Kilograms | None, body: BodyMass) -> tuple[Kilograms, LogRatio] | None:
        """Return what is lifted [kg] with the spread of its logarithm, None where that cannot be told."""
        if external is None:
            return None
        if self.exercise is None or not self.moves_the_body:
            return (external, 0.0) if external > 0.0 else None
        kilograms = effective_of_external(external, self.exercise.load_basis, self.exercise, body)
        return kilograms, doubt_by_body(kilograms, external, self.exercise, body)

    def takes_off_all(self, written: Kilograms, body: BodyMass) -> bool:
        """Whether what a row tells is help of all that is moved or more, however uncertain the body: no such set is done."""
        if self.exercise is None or not self.moves_the_body:
            return False
        helped = abs(written) if self.is_helped else -written
        heaviest = self.exercise.body_share * body.kilograms * exp(_CERTAIN_SDS * body.ln_sd)
        return helped >= heaviest > 0.0

    def assumed(self, newest: Kilograms | None, body: BodyMass) -> Kilograms | None:
        """Return the external load to foretell a set with that tells none: the newest one [kg]; None where none fits.

        Where the body is lifted, help that was never told is taken for a part of it, and anything else for the body alone.
        """
        if newest is not None or not self.moves_the_body or self.exercise is None:
            return newest if self.moves_the_body else None
        return ASSUMED_HELP * self.exercise.body_share * body.kilograms if self.is_helped else 0.0

    def external(self, effective: Kilograms, body: BodyMass) -> Kilograms:
        """Return the load to hang or pin for an effective one; below 0 the body alone is already more. [kg]"""
        if self.exercise is None:
            return effective
        return external_of_effective(effective, self.exercise.load_basis, self.exercise, body)


class LiftBook:
    """Finds lifts by their written names, and keeps what is asked again and again."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._lifts: dict[str, Lift] = {}
        self._by_series: dict[str, Lift] = {}
        self._shares: dict[str, Mapping[str, Share]] = {}
        self.kinship = cache(self._kinship)

    def find(self, name: str) -> Lift:
        """Return the lift of a slug, name or alias; an unknown name is a lift of its own, of a generic class."""
        lift = self._lifts.get(name)
        if lift is None:
            lift = self._lifts[name] = self._looked_up(name)
            self._by_series.setdefault(lift.series, lift)
        return lift

    def of_series(self, series: str) -> Lift:
        """Return a lift that was found before by its series."""
        return self._by_series[series]

    @property
    def unknown_names(self) -> tuple[str, ...]:
        """The names that no exercise answers to, as they were written, in order of appearance."""
        return tuple(name for name, lift in self._lifts.items() if lift.exercise is None)

    def _looked_up(self, name: str) -> Lift:
        try:
            exercise = self._catalogue.resolve(name)
        except UnknownExercise:
            return Lift(f"{_UNKNOWN}{comparable_name(name) or name.casefold()}", None)
        return Lift(_series_of(exercise), exercise)

    def _kinship(self, done: str, tired: str) -> Share:
        """Return the share of a hard set of one series that another feels: by how much of its muscles' work they share.

        Definition: the sum over muscles of the lesser involvement, over the tired lift's whole involvement. [1]
        """
        if done == tired:
            return 1.0
        mine, theirs = self._involvement(done), self._involvement(tired)
        if not mine or not theirs:
            return UNKNOWN_KINSHIP
        shared = sum(min(share, mine.get(muscle, 0.0)) for muscle, share in theirs.items())
        return min(1.0, shared / sum(theirs.values()))

    def _involvement(self, series: str) -> Mapping[str, Share]:
        shares = self._shares.get(series)
        if shares is None:
            exercise = self._by_series[series].exercise
            shares = {} if exercise is None else self._catalogue.training_muscles(exercise.exercise_id)
            self._shares[series] = shares
        return shares


def _series_of(exercise: Exercise) -> str:
    """Return the series of an exercise: the assisted and the loaded form of one lift are one line of strength."""
    anchor = exercise.anchor
    if exercise.load_basis == "assistance" and anchor is not None and anchor.ratio == 1.0:
        return anchor.exercise_id
    return exercise.exercise_id


class BodyMassLine:
    """An athlete's body mass over time, quick to ask: repeated values are kept once."""

    def __init__(self, told: Iterable[tuple[Days, Kilograms]]) -> None:
        ordered = sorted(told)
        kept = ordered[:1] + [
            now for before, now in pairwise(ordered) if now[1] != before[1] or now[0] - before[0] > 1.0
        ]
        self._days = [day for day, _ in kept]
        self._told = kept

    def on(self, day: Days) -> BodyMass:
        """Return the newest body mass told up to a day, or the first one told after it."""
        place = bisect_right(self._days, day)
        return BodyMassHistory(self._told[max(place - 1, 0) : max(place, 1)]).on(day)


def ln_spread(*parts: LogRatio) -> LogRatio:
    """Return the spread of the logarithm that independent parts make together. [1]"""
    return sqrt(sum(part * part for part in parts))
