"""What pain or a warning sign does to a chosen load, and what one side copies of the other: the same for every answer."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from service.catalogue.records import Exercise
from service.core.estimates import Reason
from service.core.progression import Choice, LoadForecast, LoadOption
from service.core.progression.case import SAME_LOAD
from service.core.progression.chances import Wanted, candidate
from service.core.progression.choosing import chance_of
from service.core.progression.situation import Policy
from service.core.progression.timed import TimedChoice
from service.core.tolerance.pain import PainDecision
from service.core.units import Kilograms, Share
from service.usecases.answers.plan_limits import sides_differ
from service.usecases.answers.progression_past import Past, done_sets, top_sets
from service.usecases.answers.situation import Situation
from service.usecases.loads import body_is_load, effective_of_external
from service.usecases.records.base import Side

#: What takes a load down beside pain, and stays said under it: a break, a lift that did not go up, too little light.
_LOWERS = frozenset(
    f"progression.{code}"
    for code in (
        "return_after_break", "return_after_illness", "still_returning", "lighter_still", "missed",
        "forecast_below_range", "chance_above_cap", "range_out_of_reach", "too_uncertain",
    )
)  # fmt: skip
_LOWERING: frozenset[Policy] = frozenset({"return_after_break", "reduce_load"})
#: What takes a load down for its own side alone: the other side was neither away nor missed it.
_OWN_SIDE = frozenset(
    f"progression.{code}"
    for code in (
        "return_after_break",
        "return_after_illness",
        "still_returning",
        "missed",
        "pain_reduces_load",
    )
)


def held_at(
    pain: PainDecision | None, last_kg: Kilograms | None, situation: Situation, past: Past
) -> Kilograms | None:
    """Return the heaviest load that pain or a warning sign allows, None where neither holds it. [kg]

    What the body itself has gained since is no load that rises.
    """
    if pain is not None and not pain.increase_allowed:
        held = pain.heaviest_kg(last_kg)
    else:
        held = last_kg if situation.flags.stops_region else None
    return None if held is None else held * _grown_with_the_body(past, situation)


def _grown_with_the_body(past: Past, situation: Situation) -> float:
    """Return how many times as heavy the last load is by what the body weighs now, at least 1. [1]"""
    sets = past.today or past.last
    last = next((seen for seen in top_sets(done_sets(sets) or sets) if seen.load is not None), None)
    if last is None or last.load is None or not body_is_load(last.load.basis) or last.load.kilograms <= 0.0:
        return 1.0
    body = situation.body_mass.on(situation.now_day)
    now = effective_of_external(last.load.external, last.load.basis, last.exercise, body)
    return max(now / last.load.kilograms, 1.0)


def strictest(pains: Iterable[PainDecision], last_kg: Kilograms | None) -> PainDecision | None:
    """Return the decision that leaves the least load, None where none holds it."""
    capped = [(cap, pain) for pain in pains if (cap := pain.heaviest_kg(last_kg)) is not None]
    return min(capped, key=lambda one: one[0])[1] if capped else None


def sets_instead(pain: PainDecision, past: Past) -> Share:
    """Return the share of the usual sets that is left where the load cannot be lowered. [1]

    It is counted from the sets usual when it hurt: what came off since does not come off again.
    """
    if pain.instead_set_factor is None:
        return 1.0
    return min(pain.instead_set_factor * _sets_when_it_hurt(pain, past) / max(past.usual_sets, 1), 1.0)


def _sets_when_it_hurt(pain: PainDecision, past: Past) -> int:
    then = [sets for sets in past.sessions if pain.told_day is None or sets[0].day <= pain.told_day]
    return replace(past, sessions=then).usual_sets if then else past.usual_sets


def loads_under(
    options: Sequence[LoadOption],
    pain: PainDecision | None,
    held: Kilograms | None,
    past: Past,
) -> Sequence[LoadOption]:
    """Return the loads that may be named while pain or a warning sign allows no more than ``held`` [kg]; all where nothing
    holds them.

    Where none is that light the lightest stays only if sets come off in its place, and never above the load at which it
    hurt. Else there is none: a load that pain rules out is not named.
    """
    if held is None:
        return options
    light = [one for one in options if one.load_kg <= held * (1.0 + SAME_LOAD)]
    if light or pain is None or pain.action != "reduce":
        return light
    if _sets(past, sets_instead(pain, past)) >= _sets_when_it_hurt(pain, past):
        return ()
    hurt_at = held / pain.load_factor
    return [one for one in options[:1] if one.load_kg <= hurt_at * (1.0 + SAME_LOAD)]


def eased(
    choice: Choice, pain: PainDecision | None, held: Kilograms, past: Past, last_kg: Kilograms | None
) -> tuple[Choice, tuple[Reason, ...]]:
    """Return a choice with what pain or a warning sign did to it, and why beside the pain itself.

    Where the load cannot fall the sets do; that load is reduced is said only where one of them is. A break or a miss
    that took the load further down keeps its reason.
    """
    why = tuple(reason for reason in choice.reasons[:-1] if reason.code in _LOWERS)
    chance = choice.reasons[-1:]
    lower = last_kg is None or choice.load_kg < last_kg * (1.0 - SAME_LOAD)
    if pain is None or pain.action != "reduce":
        policy: Policy = choice.policy if lower and choice.policy in _LOWERING else "hold_load"
        return replace(choice, policy=policy), (*why, *chance)
    share = choice.sets_share
    if choice.load_kg > held * (1.0 + SAME_LOAD):
        share = min(share, sets_instead(pain, past))
        fewer = _sets(past, share) < _sets(past, choice.sets_share)
        why = (_in_place_of_load(1.0 - share, fewer=fewer), *why)
        lower = lower or fewer
    return replace(choice, policy="reduce_load" if lower else "hold_load", sets_share=share), (*why, *chance)


def no_more_repetitions(
    choice: Choice, forecast: LoadForecast, last_kg: Kilograms | None, last_reps: int | None
) -> Choice:
    """Return the choice of a load that pain or a warning sign holds without repetitions added to it; a lighter one may have
    more of them."""
    lighter = last_kg is None or choice.load_kg < last_kg * (1.0 - SAME_LOAD)
    if lighter or last_reps is None or choice.reps <= last_reps:
        return choice
    wanted = Wanted(choice.reserve_low, choice.reserve_high, choice.p_too_hard)
    option = LoadOption(choice.load_kg, choice.load_index)
    fewer = candidate(forecast, wanted.trial(option, last_reps, forecast.repetitions_at(option.load_kg)))
    return replace(
        choice, reps=last_reps, reps_low=min(choice.reps_low, last_reps), reserve=fewer.reserve, p_wanted=fewer.p_wanted,
        p_too_hard=fewer.p_too_hard, expected_reps=fewer.expected_reps,
        reasons=(*choice.reasons[:-1], chance_of(fewer, choice.reasons[-1].code)),
    )  # fmt: skip


def eased_hold(
    choice: TimedChoice, pain: PainDecision | None, held: Kilograms | None, past: Past
) -> tuple[TimedChoice, tuple[Reason, ...]]:
    """Return the choice of a hold or a carry with what pain does to it, and why: where the load cannot fall the sets do."""
    if pain is None or held is None or choice.option.load_kg <= held * (1.0 + SAME_LOAD):
        return choice, ()
    share = min(choice.sets_share, sets_instead(pain, past))
    fewer = _sets(past, share) < _sets(past, choice.sets_share)
    why = (_in_place_of_load(1.0 - share, fewer=fewer),)
    if not fewer:
        choice = replace(choice, policy="hold_load", code="hold_load")
    return replace(choice, sets_share=share), why


def nothing_light(pain: PainDecision | None) -> tuple[Reason, ...]:
    """Say why no load is named where a site has none that is light enough for what pain or a warning sign leaves."""
    hurts = pain.reasons if pain is not None and not pain.increase_allowed else ()
    return (*hurts[:1], Reason("load_progression.nothing_light_enough_now"), *hurts[1:])


def _sets(past: Past, share: Share) -> int:
    return max(round(past.usual_sets * share), 1)


def _in_place_of_load(off: Share, *, fewer: bool) -> Reason:
    if fewer:
        return Reason("load_progression.sets_instead_of_load", {"sets_percent": 100.0 * off})
    return Reason("load_progression.sets_are_off_already")


def is_lowered(choice: Choice) -> bool:
    """Whether a break, its careful weeks, a miss or a doubt takes the load down, or keeps it down."""
    return choice.policy in _LOWERING or stands_apart(choice)


def stands_apart(choice: Choice) -> bool:
    """Whether a load is low for what happened to its own side alone: a break, its careful weeks, a miss, pain."""
    return any(reason.code in _OWN_SIDE for reason in choice.reasons)


#: A side whose last sessions fell, or did not show what a heavier load needs, takes none from the other.
_FELL = frozenset(
    f"progression.{code}" for code in ("sessions_fell", "shown_too_little", "shown_less_than_expected")
)


def stands_at_shown(choice: Choice) -> bool:
    """Whether the last sessions held a load, by what they showed: less than is believed."""
    return any(reason.code in _FELL for reason in choice.reasons)


def _may_copy(mine: Choice, lead: Choice) -> bool:
    """Whether one side may do what the other does: what holds a side is its ceiling, and lowers no side but its own."""
    apart = stands_apart(mine)
    if stands_apart(lead) and not (apart and mine.policy == lead.policy):
        return False
    held = apart or stands_at_shown(mine)
    if not held or lead.load_kg < mine.load_kg * (1.0 - SAME_LOAD):
        return True
    return lead.load_kg <= mine.load_kg * (1.0 + SAME_LOAD) and lead.reps <= mine.reps


def matched(
    mine: Choice, lead: Choice, lead_side: Side, forecast: LoadForecast, too_hard: Share
) -> tuple[Choice, tuple[Reason, ...]] | None:
    """Return the load and repetitions of the leading side with one's own chances, sets and cautions.

    None where they are too hard, or where what happened to one side alone stands against it. That stays said.
    """
    if not _may_copy(mine, lead):
        return None
    wanted = Wanted(mine.reserve_low, mine.reserve_high, too_hard)
    option = LoadOption(lead.load_kg, lead.load_index)
    trial = wanted.trial(option, lead.reps, forecast.repetitions_at(option.load_kg))
    if trial.p_too_hard > max(too_hard, mine.p_too_hard):
        return None
    copied = candidate(forecast, trial)
    choice = replace(
        lead, reserve_low=mine.reserve_low, reserve_high=mine.reserve_high, reserve=copied.reserve,
        p_wanted=copied.p_wanted, p_too_hard=copied.p_too_hard, expected_reps=copied.expected_reps,
        sets_share=mine.sets_share, alternatives=(), cautions=mine.cautions,
        policy=mine.policy if stands_apart(mine) else lead.policy,
    )  # fmt: skip
    why = tuple(reason for reason in mine.reasons if reason.code in _OWN_SIDE)
    follows = Reason("load_progression.matches_other_side", {"side": lead_side})
    return choice, (*why, follows, chance_of(copied, mine.reasons[-1].code))


def is_apart(exercise: Exercise, situation: Situation) -> bool:
    """Whether neither side of a lift copies the other: limits bind them differently, or an aim is to raise one of them."""
    return sides_differ(situation, exercise) or any(
        aim.exercise_id == exercise.exercise_id and aim.side in {"left", "right"} and aim.kind == "raise_lift"
        for aim in situation.aims
    )
