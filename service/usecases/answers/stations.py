"""Levels: labels of one station, which at another one say little, so that every station has a history of its own."""

from dataclasses import replace
from math import log, sqrt
from uuid import UUID

from service.catalogue.records import Exercise
from service.core.capability import Side
from service.core.units import LogRatio
from service.usecases.answers.history import ExerciseHistory, SeenSet
from service.usecases.answers.places_of_sets import site_of_set
from service.usecases.answers.situation import Situation

#: Spread of what one station calls a level against another one (judgement): a fifth of them differ by half and more.
STATION_LN_SD: LogRatio = 0.4
#: Where only masses are known, one repetition is taken for this share of a station's labels, with this spread
#: (judgement).
UNKNOWN_SHARE, UNKNOWN_LN_SD = 0.6, 0.6


def by_levels(exercise: Exercise) -> Exercise:
    """Return a lift as a station does it that has labels and no masses."""
    return replace(exercise, load_basis="level", implement="levels")


def at_station(
    history: ExerciseHistory, situation: Situation, site_id: UUID, label_count: int
) -> ExerciseHistory:
    """Return what is known of a lift at one site's station with levels.

    Without a set there the newest other station tells where to begin, widely; without that only the number of labels.
    """
    exercise = by_levels(history.exercise)
    in_levels = [
        replace(seen, exercise=exercise)
        for seen in history.sets
        if seen.load is not None and seen.load.basis == "level"
    ]
    here = [seen for seen in in_levels if site_of_set(seen.record, situation) == site_id]
    curve_only = replace(history.prior, ln_one_rep_max=None)
    if here:
        return ExerciseHistory(exercise, here, curve_only)
    elsewhere = ExerciseHistory(exercise, _newest_station(in_levels, situation), curve_only)
    told = _told_elsewhere(elsewhere, situation)
    begun = told or (log(max(UNKNOWN_SHARE * label_count, 1.0)), UNKNOWN_LN_SD)
    return ExerciseHistory(exercise, (), replace(curve_only, ln_one_rep_max=begun))


def _newest_station(in_levels: list[SeenSet], situation: Situation) -> list[SeenSet]:
    newest = site_of_set(in_levels[-1].record, situation) if in_levels else None
    return [seen for seen in in_levels if site_of_set(seen.record, situation) == newest]


def _told_elsewhere(elsewhere: ExerciseHistory, situation: Situation) -> tuple[float, float] | None:
    side: Side = "both"
    forecast = elsewhere.forecast(situation.now_day, side)
    if forecast is None:
        return None
    mean, sd = forecast.ln_load_for(1.0)
    return mean, sqrt(sd**2 + STATION_LN_SD**2)
