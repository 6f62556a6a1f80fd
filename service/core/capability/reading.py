"""From sessions to the table of numbers that the kernel reads: warm-ups inferred, copies and matched sides marked."""

from collections.abc import Mapping, Sequence
from math import log, nan

import numpy as np
from numpy.typing import NDArray

from service.core.capability.layout import (
    COLUMN_COUNT,
    MATCHED_AND_TOLD,
    MATCHED_SILENTLY,
    NOT_MATCHED,
    SETUP_SLOTS,
)
from service.core.capability.parameters import (
    RAMP_PROBABILITY,
    RAMP_REPETITIONS,
    RAMP_SHARE,
    WARM_UP_PROBABILITY,
    WARM_UP_SHARE,
)
from service.core.capability.sets import SessionEvidence, SetEvidence, Side
from service.core.units import Kilograms, Repetitions, Share

Array = NDArray[np.float64]
_SIDES: Mapping[Side, float] = {"left": -1.0, "right": 1.0, "both": 0.0, "unspecified": 2.0}
_OTHER: Mapping[Side, Side] = {"left": "right", "right": "left"}
#: A reported reserve up to this shows a set of work, however light. (judgement) [repetitions]
_WORK_RESERVE = 5.0
#: Loads in pounds and in kilograms read alike. [1]
_ROUNDING = 1.0 + 1e-9
#: A second side follows the first within so many sets. (judgement)
_MATCH_WITHIN = 4
#: More set-ups of one lift than there are places for share the last place.
NO_SETUP = 0


def infer_warm_ups(
    loads_kg: Sequence[Kilograms], reps: Sequence[Repetitions], known: Sequence[bool]
) -> tuple[Share, ...]:
    """Return, for the sets of one exercise in the order done, the probability that each was a warm-up. [1]

    Early and light sets are, and short ones that are a little lighter than what follows: the last step of a ramp.
    One that is ``known`` gets 0: what was told of it holds, see `shows_work`. Of later sets only the loads are looked at, never
    what came of them. Judgement, see `WARM_UP_SHARE` and `RAMP_SHARE`.
    """
    probabilities: list[float] = []
    top = 0.0
    for load, done, stated in zip(reversed(loads_kg), reversed(reps), reversed(known), strict=True):
        light = load <= WARM_UP_SHARE * top * _ROUNDING
        step = load <= RAMP_SHARE * top * _ROUNDING and done <= RAMP_REPETITIONS
        chance = WARM_UP_PROBABILITY if light else RAMP_PROBABILITY if step else 0.0
        probabilities.append(0.0 if stated else chance)
        top = max(top, load)
    return tuple(reversed(probabilities))


def warm_ups_of(sets: Sequence[SetEvidence]) -> list[Share]:
    """Return the probability that each set of a session was a warm-up, told or inferred. [1]"""
    chances = [1.0 if item.purpose == "warm_up" else 0.0 for item in sets]
    known = [shows_work(item.purpose, item.to_failure, item.reps_in_reserve) for item in sets]
    if all(known):
        return chances
    lines: dict[tuple[str, Side], list[int]] = {}
    for number, item in enumerate(sets):
        if item.stage == 0:
            lines.setdefault((item.series, item.side), []).append(number)
    for numbers in lines.values():
        if len(numbers) > 1:
            inferred = infer_warm_ups(
                [sets[number].load_kg for number in numbers],
                [sets[number].reps for number in numbers],
                [known[number] for number in numbers],
            )
            for number, chance in zip(numbers, inferred, strict=True):
                chances[number] = max(chances[number], chance)
    return chances


def shows_work(purpose: str, to_failure: bool, reps_in_reserve: Repetitions | None) -> bool:
    """Whether what was told of a set rules a warm-up in or out: its purpose, or an effort that no warm-up takes."""
    near = reps_in_reserve is not None and reps_in_reserve <= _WORK_RESERVE
    return purpose != "unknown" or to_failure or near


def is_matched(number: int, sets: Sequence[SetEvidence]) -> bool:
    """Return whether a set copied the other side's repetitions short of failure."""
    item = sets[number]
    other = _OTHER.get(item.side)
    if other is None or item.to_failure:
        return False
    seen = 0
    for before in reversed(sets[:number]):
        if says_nothing(before):
            continue
        if seen == _MATCH_WITHIN:
            break
        seen += 1
        if before.series == item.series and before.side == other:
            return before.reps == item.reps and before.load_kg == item.load_kg
    return False


def says_nothing(item: SetEvidence) -> bool:
    """Return whether a set is only foretold: none of its repetitions are told."""
    return item.reps == 0 and not item.to_failure


def _matching(item: SetEvidence) -> float:
    return MATCHED_SILENTLY if item.reps_in_reserve is None else MATCHED_AND_TOLD


def _likeness(
    item: SetEvidence, told: dict[tuple[str, Side, Kilograms, float], set[tuple[float | None, bool]]]
) -> float:
    """Return 0 for a new set, 1 where load and repetitions repeat an earlier one's, 2 where the effort does too."""
    efforts = told.setdefault((item.series, item.side, item.load_kg, item.reps), set())
    effort = (item.reps_in_reserve, item.to_failure)
    likeness = 0.0 if not efforts else 2.0 if effort in efforts else 1.0
    efforts.add(effort)
    return likeness


def _alike(item: SetEvidence, newest: dict[tuple[str, Side, Kilograms], float]) -> float:
    """Return 1 where a set repeats the repetitions of the last one at its load, -1 where it does not, 0 for the first."""
    key = (item.series, item.side, item.load_kg)
    before = newest.get(key)
    newest[key] = item.reps
    return 0.0 if before is None else 1.0 if before == item.reps else -1.0


class Register:
    """Numbers for the names of series and set-ups, growing as new ones are seen; known ones keep theirs."""

    def __init__(self, series: Sequence[str], setups: Sequence[tuple[str, ...]]) -> None:
        self.series: dict[str, int] = {name: number for number, name in enumerate(series)}
        self.setups: list[list[str]] = [list(names) for names in setups]

    def number(self, series: str) -> int:
        """Return the number of a series."""
        known = self.series.get(series)
        if known is None:
            known = self.series[series] = len(self.series)
            self.setups.append([])
        return known

    def slot(self, series: int, setup: str) -> int:
        """Return the place of a set-up, counted from 1; 0 is the usual one."""
        if not setup:
            return NO_SETUP
        names = self.setups[series]
        if setup not in names:
            if len(names) == SETUP_SLOTS:
                return SETUP_SLOTS
            names.append(setup)
        return names.index(setup) + 1


def table_of(sessions: Sequence[SessionEvidence], register: Register, sided: Mapping[str, bool]) -> Array:
    """Return one row per set in `layout.COLUMNS`; a series that is not one-sided has its sides put together."""
    rows: list[tuple[float, ...]] = []
    for session_number, session in enumerate(sessions):
        sets = session.sets
        warm_ups = warm_ups_of(sets)
        told: dict[tuple[str, Side, Kilograms, float], set[tuple[float | None, bool]]] = {}
        newest: dict[tuple[str, Side, Kilograms], float] = {}
        for number, item in enumerate(sets):
            bound = item.purpose == "bound"
            quiet = bound or warm_ups[number] >= 0.5 or item.stage > 0 or says_nothing(item)
            matched = NOT_MATCHED if quiet or not is_matched(number, sets) else _matching(item)
            silent = matched == MATCHED_SILENTLY
            likeness = 0.0 if quiet or silent else _likeness(item, told)
            free = quiet or matched != NOT_MATCHED or item.to_failure or item.timed
            alike = 0.0 if free else _alike(item, newest)
            series = register.number(item.series)
            side = _SIDES[item.side] if sided[item.series] else 0.0
            rows.append(
                (
                    float(session_number), session.day, float(series), side, log(item.load_kg), float(item.reps),
                    nan if item.reps_in_reserve is None else item.reps_in_reserve, float(item.to_failure),
                    float(bound), warm_ups[number], nan if item.rest_s is None else item.rest_s, item.ln_load_sd,
                    likeness, matched, float(register.slot(series, item.setup)), float(item.stage),
                    0.0 if item.pain is None else item.pain, alike, float(item.timed),
                )
            )  # fmt: skip
    return np.array(rows, dtype=np.float64).reshape(len(rows), COLUMN_COUNT)
