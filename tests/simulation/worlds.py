"""A whole simulated world: athletes, their logs as practice degrades them, and the truth behind each row."""

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from tests.simulation.athletes import Athlete, draw_athlete
from tests.simulation.constants import constants_named
from tests.simulation.degrading import degrade, held_out, scored, shuffled
from tests.simulation.families import log_ratio
from tests.simulation.oracle import COLUMNS, distributions, true_repetitions
from tests.simulation.rows import SetRow
from tests.simulation.training import endurance, strength, train

LOAD_TARGETS = (5, 8, 10, 12, 15, 20)


@dataclass(frozen=True, slots=True)
class World:
    athletes: list[Athlete]
    rows: list[SetRow]
    """in the log's order"""


def simulate(
    athletes: int,
    seed: int,
    constants: str = "base",
    weeks: int | None = None,
    family: str | None = None,
    gap: float | None = None,
    without: Collection[str] = (),
) -> World:
    """Draw athletes and let them train; the same arguments give the same world.

    ``gap`` fixes |t| of every one-sided lift, the stronger side drawn; ``without`` leaves out some of DIFFICULTIES.
    """
    c = constants_named(constants)
    if "slips" in without:
        c = replace(c, gross_errors=0.0, repeated_rows=0.0)
    people, rows = [], []
    for i in range(athletes):
        rng = Random(f"{seed}/{constants}/{i}")
        athlete = draw_athlete(rng, c, f"a{i + 1:03d}", weeks)
        athlete.family = family or athlete.family
        if gap is not None:
            _fix_gaps(athlete, gap, rng)
        for difficulty in without:
            DIFFICULTIES[difficulty](athlete)
        people.append(athlete)
        rows.extend(shuffled(degrade(train(athlete, c, rng), athlete.habit, c, rng), rng))
    return World(people, rows)


def _plain_log(athlete: Athlete) -> None:
    athlete.habit.copies = athlete.habit.remembered_step_kg = 0.0


def _flagged_warm_ups(athlete: Athlete) -> None:
    athlete.habit.warm_ups = "flagged" if athlete.habit.warm_ups == "unflagged" else athlete.habit.warm_ups


def _no_episodes(athlete: Athlete) -> None:
    athlete.episodes = []


def _no_drops(athlete: Athlete) -> None:
    athlete.habit.drops = False


def _no_breaks(athlete: Athlete) -> None:
    athlete.breaks = []


def _every_reserve(athlete: Athlete) -> None:
    athlete.habit.reserve, athlete.habit.second_side_unstated = "every", False


DIFFICULTIES: dict[str, Callable[[Athlete], None]] = {
    "slips": lambda _: None,
    "copies": _plain_log,
    "unflagged": _flagged_warm_ups,
    "episodes": _no_episodes,
    "drops": _no_drops,
    "breaks": _no_breaks,
    "missing_reserve": _every_reserve,
}


def _fix_gaps(athlete: Athlete, gap: float, rng: Random) -> None:
    for truth in athlete.lifts:
        if truth.lift.sided:
            truth.half_gap = 0.5 * gap * rng.choice((-1, 1)) if gap else 0.0


def maxima(world: World) -> list[dict[str, str | float]]:
    """True rested maximum and loads [kg] at the end of each athlete's log, over all days' effects."""
    found: list[dict[str, str | float]] = []
    last = {(row.athlete, row.exercise, row.side): row.u_sd for row in world.rows}
    for athlete in world.athletes:
        for truth in athlete.lifts:
            for side in ("left", "right") if truth.lift.sided else ("both",):
                u, kappa = strength(athlete, truth, side), endurance(truth, side)
                loads = {f"load_{n}": np.exp(u - log_ratio(athlete.family, n, kappa)) for n in LOAD_TARGETS}
                found.append(
                    {
                        "athlete": athlete.name,
                        "exercise": truth.lift.name,
                        "side": side,
                        "sessions": truth.sessions,
                    }
                    | {"family": athlete.family, "kind": athlete.kind, "condition": athlete.habit.reserve}
                    | {
                        "endurance": kappa,
                        "u_sd": last.get((athlete.name, truth.lift.name, side), float("nan")),
                    }
                    | {"one_rm": float(np.exp(u))}
                    | {name: float(load) for name, load in loads.items()}
                )
    return found


def sides(world: World) -> list[dict[str, str | float]]:
    """True t = ln(right / left) of strength, and of endurance, at the end."""
    return [
        {
            "athlete": athlete.name,
            "exercise": truth.lift.name,
            "t": 2 * truth.half_gap,
            "t_endurance": 2 * truth.half_endurance_gap,
            "sessions": truth.sessions,
            "family": athlete.family,
            "kind": athlete.kind,
            "condition": athlete.habit.reserve,
            "matches_sides": str(athlete.habit.matches_sides),
        }
        for athlete in world.athletes
        for truth in athlete.lifts
        if truth.lift.sided
    ]


def truth_columns(world: World) -> dict[str, list[object]]:
    """One entry a row: flags, true N, and both oracles' distributions."""
    rows = world.rows
    columns: dict[str, list[object]] = {"row": list(range(len(rows)))}
    for name in ("athlete", "kind", "family", "condition", "exercise", "side", "stage", "role", "session"):
        columns[name] = [getattr(row, name) for row in rows]
    for name in ("sessions_before", "exercise_position", "set_position", "side_position"):
        columns[name] = [getattr(row, name) for row in rows]
    for name in ("endurance", "remembered", "copied", "duplicate", "entry_error", "range", "pain"):
        columns[name] = [getattr(row, name) for row in rows]
    columns["held_out"] = list(held_out(rows))
    columns["scored"] = [scored(row) for row in rows]
    columns["n"] = list(true_repetitions(rows))
    for prefix, which in (("before", "before"), ("within", "within")):
        table = distributions(rows, which)
        for j, name in enumerate(COLUMNS):
            columns[f"{prefix}_{name}"] = list(table[:, j])
    return columns
