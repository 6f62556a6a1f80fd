"""Folding sessions into an athlete's state, and telling beforehand what each set will show."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import nan

import numpy as np
from numpy.typing import NDArray

from service.core.capability.athlete import CONSTANTS, AthleteState
from service.core.capability.layout import (
    FIRST_SETUP,
    FORESIGHT_COUNT,
    KNOWN,
    LOCALS_BOTH,
    LOCALS_SIDED,
    SETUP_SLOTS,
    USED,
)
from service.core.capability.looping import run
from service.core.capability.parameters import TRAINED
from service.core.capability.reading import Register, table_of
from service.core.capability.sets import AthleteModel, SeriesPrior, SessionEvidence
from service.core.errors import OutsideValidity
from service.core.units import Repetitions

Array = NDArray[np.float64]
#: Set-ups that are a part of the range: easier by an amount that only this athlete's sets can tell.
PARTIAL_RANGES = frozenset({"bottom_half", "top_half"})


@dataclass(frozen=True, slots=True)
class Foresight:
    """What was expected of one set before it was seen: its repetitions to failure, continuous. [repetitions]"""

    mean: Repetitions
    sd: Repetitions
    q025: Repetitions
    q10: Repetitions
    q50: Repetitions
    q90: Repetitions
    q975: Repetitions


def fold(
    state: AthleteState,
    sessions: Iterable[SessionEvidence],
    model: AthleteModel,
    constants: NDArray[np.void] = CONSTANTS,
) -> AthleteState:
    """Return the state after whole sessions, given in the order in which they began.

    Other ``constants`` than the filter's own are for looking back; a state so made is for that alone.

    Raises:
        OutsideValidity: a session begins before one that is folded already.
    """
    return _run(state, tuple(sessions), model, want=False, constants=constants)[0]


def foresee(
    state: AthleteState, session: SessionEvidence, model: AthleteModel
) -> tuple[AthleteState, tuple[Foresight | None, ...]]:
    """Return the state after a session, and what was expected of each of its sets before that set was seen.

    ``None`` where nothing was known of the series yet. Raises as `fold` does.
    """
    after, foretold = foresee_all(state, (session,), model)
    return after, tuple(Foresight(*map(float, row)) if row[0] == row[0] else None for row in foretold)


def foresee_all(
    state: AthleteState, sessions: Sequence[SessionEvidence], model: AthleteModel
) -> tuple[AthleteState, Array]:
    """Return the state after many sessions and, per set in order, `layout.FORESIGHTS` as a row; NaN where unknown."""
    return _run(state, tuple(sessions), model, want=True)


def _run(
    state: AthleteState,
    sessions: tuple[SessionEvidence, ...],
    model: AthleteModel,
    *,
    want: bool,
    constants: NDArray[np.void] = CONSTANTS,
) -> tuple[AthleteState, Array]:
    _require_order(state, sessions)
    register = Register(state.names, state.setups)
    priors = {item.series: None for session in sessions for item in session.sets}
    known = {
        name: model.series_prior(name)
        for name in (*state.names, *(n for n in priors if n not in register.series))
    }
    table = table_of(sessions, register, {name: prior.one_sided for name, prior in known.items()})
    after = _grown(state, register, known)
    foretold = np.full((len(table) if want else 1, FORESIGHT_COUNT), nan)
    names = after.names
    kinship = np.array(
        [[0.0 if one == other else model.kinship(one, other) for other in names] for one in names]
    )
    if len(table):
        run(
            table, constants, np.array([prior_row(known[name]) for name in names]), _setup_priors(after),
            kinship.reshape(len(names), len(names)), foretold, want, *_arrays(after),
        )  # fmt: skip
    return after, foretold


def _require_order(state: AthleteState, sessions: Sequence[SessionEvidence]) -> None:
    newest = float(state.athlete[1]) if np.isfinite(state.athlete[0]) else -np.inf
    for session in sessions:
        if session.day < newest:
            raise OutsideValidity(day=session.day, after=newest)
        newest = session.day


def _arrays(state: AthleteState) -> tuple[Array, ...]:
    return (
        state.weights, state.globals_mean, state.globals_covariance, state.offset, state.slope, state.spread,
        state.notes, state.athlete, state.hard,
    )  # fmt: skip


def _grown(state: AthleteState, register: Register, priors: dict[str, SeriesPrior]) -> AthleteState:
    """Return a copy with room for every series and set-up of the register."""
    more = len(register.series) - len(state.names)
    wide = [(0, 0), (0, more)]
    after = replace(
        state,
        names=tuple(register.series),
        setups=tuple(tuple(names) for names in register.setups),
        weights=state.weights.copy(),
        globals_mean=state.globals_mean.copy(),
        globals_covariance=state.globals_covariance.copy(),
        offset=np.pad(state.offset, (*wide, (0, 0))),
        slope=np.pad(state.slope, (*wide, (0, 0), (0, 0))),
        spread=np.pad(state.spread, (*wide, (0, 0), (0, 0))),
        notes=np.pad(state.notes, ((0, more), (0, 0))),
        athlete=state.athlete.copy(),
        hard=np.pad(state.hard, ((0, more), (0, 0))),
    )
    for number, name in enumerate(after.names):
        _make_room(after, number, priors[name])
    return after


def _make_room(state: AthleteState, number: int, prior: SeriesPrior) -> None:
    count, used = len(state.setups[number]), int(state.notes[number, USED])
    needed = FIRST_SETUP + count if count else (LOCALS_SIDED if prior.one_sided else LOCALS_BOTH)
    if needed <= used:
        return
    state.notes[number, USED] = needed
    if state.notes[number, KNOWN] == 0.0:
        return
    for slot in range(max(used - FIRST_SETUP, 0), count):
        mean, sd = setup_prior(state.setups[number][slot])
        place = FIRST_SETUP + slot
        state.offset[:, number, place] = mean
        state.spread[:, number, place, place] = sd * sd


def setup_prior(setup: str) -> tuple[float, float]:
    """Return mean and sd of what a set-up adds to the log strength. [1]

    A part of the range usually carries more than the whole; by how much is for the athlete's sets to tell.
    """
    parts = setup.split(", ")
    if any(
        part in PARTIAL_RANGES or part.startswith("range:") or (part[:1].isdigit() and part.endswith(" deg"))
        for part in parts
    ):
        return TRAINED.partial_shift, TRAINED.partial_sd
    return 0.0, TRAINED.setup_sd


def _setup_priors(state: AthleteState) -> Array:
    table = np.zeros((len(state.names), SETUP_SLOTS, 2))
    for number, names in enumerate(state.setups):
        for slot, name in enumerate(names):
            table[number, slot] = setup_prior(name)
    return table


def prior_row(prior: SeriesPrior) -> tuple[float, ...]:
    """Return what is believed of a series as the kernel reads it, in `layout.PRIORS`."""
    curve, told = prior.curve, prior.ln_one_rep_max or (nan, nan)
    return (
        curve.mean_ln_k,
        curve.sd_ln_k,
        curve.b,
        curve.sd_b,
        prior.half_gap_sd,
        float(prior.one_sided),
        *told,
    )
