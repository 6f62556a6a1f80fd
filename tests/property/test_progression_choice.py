"""What must hold of the next load whatever was lifted before."""

from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.capability import (
    AthleteModel,
    CapabilityForecast,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    Side,
    begin,
    fold,
    forecast,
)
from service.core.curve import CURVE_PRIORS
from service.core.progression import Caps, Choice, LoadOption, ProgressionContext, RepetitionTarget, choose
from service.core.units import KG_PER_LB

pytestmark = pytest.mark.quick
POUND_STEPS = [LoadOption(5.0 * step * KG_PER_LB, step) for step in range(1, 61)]
KILOGRAM_STEPS = [LoadOption(2.5 * step, step) for step in range(1, 81)]
STEPS = st.sampled_from((POUND_STEPS, KILOGRAM_STEPS))


ROW, PRESS = "row", "one-arm press"
PRIORS = {
    ROW: SeriesPrior(CURVE_PRIORS["row_pull"]),
    PRESS: SeriesPrior(CURVE_PRIORS["upper_press"], one_sided=True),
}


def unrelated(_one: str, _other: str) -> float:
    return 0.0


MODEL = AthleteModel(PRIORS.__getitem__, unrelated, "trained")


def known(load_kg: float, reps: int, reserve: float | None) -> CapabilityForecast:
    """A forecast after three weeks of one set each, the same all along."""
    visits = [SessionEvidence(7.0 * week, (SetEvidence(ROW, load_kg, reps, reserve),)) for week in range(3)]
    answer = forecast(fold(begin("trained"), visits, MODEL), ROW, 17.5, model=MODEL)
    assert answer is not None
    return answer


@st.composite
def contexts(draw: st.DrawFn, load_kg: float, reps: int) -> ProgressionContext:
    return ProgressionContext(
        last_load_kg=load_kg,
        last_reps=reps,
        days_since_last=draw(st.sampled_from((3.5, 14.0, 30.0))),
        effort_missing_count=draw(st.integers(0, 3)),
        sessions_above_range=draw(st.integers(0, 2)),
        upper_body=draw(st.booleans()),
        single_joint=draw(st.booleans()),
        recent_pain=draw(st.sampled_from((None, 1.0, 4.0))),
    )


@st.composite
def situations(
    draw: st.DrawFn,
) -> tuple[CapabilityForecast, Sequence[LoadOption], RepetitionTarget, ProgressionContext]:
    options = draw(STEPS)
    load = draw(st.sampled_from(options[5:40])).load_kg
    reps = draw(st.integers(4, 15))
    low = draw(st.integers(4, 12))
    target = RepetitionTarget(low, low + draw(st.integers(0, 5)), 1.0, 3.0)
    reserve = draw(st.one_of(st.none(), st.integers(0, 5).map(float)))
    return known(load, reps, reserve), options, target, draw(contexts(load, reps))


def chosen(
    forecast: CapabilityForecast,
    options: Sequence[LoadOption],
    target: RepetitionTarget,
    context: ProgressionContext,
    cap: float = 0.1,
) -> Choice:
    answer = choose(forecast, options, target, Caps(cap), context)
    assert isinstance(answer, Choice)
    return answer


@settings(max_examples=60, deadline=None)
@given(situations(), st.floats(0.02, 0.3), st.floats(0.02, 0.3))
def test_a_tighter_cap_never_raises_the_load(
    situation: tuple[CapabilityForecast, Sequence[LoadOption], RepetitionTarget, ProgressionContext],
    one: float,
    other: float,
) -> None:
    tight, loose = (chosen(*situation, cap=cap) for cap in sorted((one, other)))
    assert tight.load_kg <= loose.load_kg


@settings(max_examples=60, deadline=None)
@given(situations(), st.floats(0.01, 0.2))
def test_who_can_do_more_is_never_given_less(
    situation: tuple[CapabilityForecast, Sequence[LoadOption], RepetitionTarget, ProgressionContext],
    more: float,
) -> None:
    forecast, options, target, context = situation
    # The same athlete, stronger by a share: as if every load were lighter by it.
    lighter = [LoadOption(option.load_kg / (1.0 + more), option.index) for option in options]
    last = next(option for option in options if option.load_kg == context.last_load_kg)
    as_strong = chosen(forecast, options, target, context)
    same_load = replace(context, last_load_kg=last.load_kg / (1.0 + more))
    stronger = chosen(forecast, lighter, target, same_load)
    # A lighter load for more repetitions is no less.
    assert stronger.load_index >= as_strong.load_index or stronger.reps > as_strong.reps


@settings(max_examples=40, deadline=None)
@given(situations())
def test_another_unit_of_the_same_loads_leaves_the_choice(
    situation: tuple[CapabilityForecast, Sequence[LoadOption], RepetitionTarget, ProgressionContext],
) -> None:
    forecast, options, target, context = situation
    # Loads that went through the other unit and back differ by rounding only.
    converted = [
        LoadOption(round(option.load_kg / KG_PER_LB, 6) * KG_PER_LB, option.index) for option in options
    ]
    one, two = chosen(forecast, options, target, context), chosen(forecast, converted, target, context)
    assert (one.load_index, one.reps, one.policy) == (two.load_index, two.reps, two.policy)


@pytest.mark.parametrize("scale", [1.0, 1.0 + 1e-8, 1.0 - 1e-8])
def test_a_step_of_just_a_tenth_is_not_a_big_one_however_its_loads_were_rounded(scale: float) -> None:
    options = [LoadOption(25.0, 10), LoadOption(27.5 * scale, 11), LoadOption(30.0, 12)]
    answer = chosen(known(25.0, 12, 5.0), options, RepetitionTarget(6, 10), ProgressionContext(25.0, 12, 3.5))
    assert answer.load_index == 11


@settings(max_examples=40, deadline=None)
@given(situations())
def test_nothing_rises_while_pain_a_break_or_missing_effort_forbids_it(
    situation: tuple[CapabilityForecast, Sequence[LoadOption], RepetitionTarget, ProgressionContext],
) -> None:
    forecast, options, target, context = situation
    answer = chosen(forecast, options, target, context)
    pain = context.recent_pain is not None and context.recent_pain >= 3.0
    off = context.days_since_last is not None and context.days_since_last > 10.0
    assert context.last_load_kg is not None
    if pain or off or context.effort_missing_count >= 2:
        assert answer.load_kg <= context.last_load_kg * (1.0 + 1e-9)


@pytest.mark.parametrize("side", [("left", "right"), ("right", "left")])
def test_mirrored_sides_swap_what_is_forecast(side: tuple[Side, Side]) -> None:
    def told(weak: Side, strong: Side) -> list[Choice]:
        sets = (SetEvidence(PRESS, 30.0, 8, 1.0, side=weak), SetEvidence(PRESS, 30.0, 12, 1.0, side=strong))
        state = fold(begin("trained"), [SessionEvidence(7.0 * week, sets) for week in range(4)], MODEL)
        context = ProgressionContext(last_load_kg=30.0, last_reps=8, days_since_last=3.5)
        answers = [forecast(state, PRESS, 24.5, which, MODEL) for which in (weak, strong)]
        target = RepetitionTarget(8, 12)
        return [chosen(answer, KILOGRAM_STEPS, target, context) for answer in answers if answer is not None]

    one, two = told(*side), told(*reversed(side))
    assert [(choice.load_index, choice.reps) for choice in one] == [
        (choice.load_index, choice.reps) for choice in two
    ]
