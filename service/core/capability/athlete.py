"""What is believed of one athlete after some sessions: arrays under names, packed to the same bytes every time."""

import json
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import sqrt
from struct import Struct
from typing import Final

import numpy as np
from numpy.typing import NDArray

from service.core.capability.layout import (
    ATHLETE_NOTE_COUNT,
    DROP,
    DROP_VARIANCE,
    FIRST_DAY,
    GLOBAL_COUNT,
    KNOWN,
    LOCAL_COUNT,
    MOST_TOLD_RUNNING,
    NOTE_COUNT,
    PLANNING,
    SESSION_DAY,
    USED,
    USUAL_GAP,
)
from service.core.capability.parameters import HYPOTHESES, WEIGHTS, Training, table_of
from service.core.capability.running import day_variance
from service.core.capability.stepping import begin_globals
from service.core.errors import CoreError
from service.core.units import Days, LogRatio, Share

MODEL_VERSION: Final = "capability/5"
LAYOUT_VERSION: Final = 6

Array = NDArray[np.float64]
CONSTANTS: Final = table_of(HYPOTHESES)
_MAGIC: Final = b"SYCA"
_HEAD: Final = Struct(
    "<4sHHIII"
)  # magic, layout, hypotheses, series, bytes of names, checksum of all that follows
_TRIANGLES: Final = tuple(np.tril_indices(n) for n in range(LOCAL_COUNT + 1))
_TRAININGS: Final[tuple[Training, ...]] = ("novice", "trained", "unknown")


class UnreadableState(CoreError):
    """The bytes are no state of this layout and model version, or they are damaged: fold the log anew."""


@dataclass(frozen=True, slots=True)
class AthleteState:
    """Posterior of one athlete, within the last session folded; arrays are never written to.

    Leading axes: hypotheses, then series in the order of their names. ``globals_mean`` (h, 6) and
    ``globals_covariance`` (h, 6, 6) follow `layout.GLOBALS`; ``offset`` (h, s, 14), ``slope`` (h, s, 14, 6) and
    ``spread`` (h, s, 14, 14) give each series' `layout.LOCALS` given the globals; ``notes`` (s, 30) and
    ``athlete`` (15,) follow the layout's names; ``hard`` (s, 3) counts the open session's hard sets.
    """

    training: Training
    names: tuple[str, ...]
    setups: tuple[tuple[str, ...], ...]
    weights: Array
    globals_mean: Array
    globals_covariance: Array
    offset: Array
    slope: Array
    spread: Array
    notes: Array
    athlete: Array
    hard: Array

    @property
    def drop_factor(self) -> tuple[LogRatio, LogRatio, Share]:
        """What this athlete's own drops say: mean and sd of ln(own factor / usual), and the share still owed to the prior."""
        shift, variance = float(self.athlete[DROP]), float(self.athlete[DROP_VARIANCE])
        return shift, sqrt(variance), min(variance / HYPOTHESES[0].drop_sd ** 2, 1.0)

    def series(self) -> tuple[str, ...]:
        """Return the names of the series that something is known of."""
        return tuple(name for name, notes in zip(self.names, self.notes, strict=True) if notes[KNOWN] > 0.0)

    @property
    def newest_day(self) -> Days | None:
        """When the newest folded session began, ``None`` without one. [d]"""
        return float(self.athlete[SESSION_DAY]) if np.isfinite(self.athlete[FIRST_DAY]) else None

    def pack(self) -> bytes:
        """Return the state as bytes: equal states give equal bytes."""
        named = [[name, *setups] for name, setups in zip(self.names, self.setups, strict=True)]
        names = json.dumps([self.training, MODEL_VERSION, named], separators=(",", ":")).encode()
        body = names + np.concatenate([part.ravel() for part in self._parts()]).astype("<f8").tobytes()
        counts = (LAYOUT_VERSION, len(self.weights), len(self.names), len(names))
        checksum = zlib.crc32(body, zlib.crc32(_HEAD.pack(_MAGIC, *counts, 0)))
        return _HEAD.pack(_MAGIC, *counts, checksum) + body

    def _parts(self) -> Iterator[Array]:
        yield from (self.weights, self.athlete, self.notes, self.hard)
        for hypothesis in np.flatnonzero(self.weights > 0.0):
            yield from (self.globals_mean[hypothesis], self.globals_covariance[hypothesis])
            for number in range(len(self.names)):
                n = int(self.notes[number, USED])
                yield self.offset[hypothesis, number, :n]
                yield self.slope[hypothesis, number, :n]
                yield self.spread[hypothesis, number][_TRIANGLES[n]]

    @classmethod
    def unpack(cls, packed: bytes) -> "AthleteState":
        """Return the state behind some bytes.

        Raises:
            UnreadableState: another layout or model version, or damaged bytes.
        """
        if len(packed) < _HEAD.size:
            raise UnreadableState(reason="too short")
        magic, *counts, checksum = _HEAD.unpack_from(packed)
        body = packed[_HEAD.size :]
        whole = zlib.crc32(body, zlib.crc32(_HEAD.pack(magic, *counts, 0)))
        layout, hypotheses, _, length = counts
        if magic != _MAGIC or layout != LAYOUT_VERSION or whole != checksum:
            raise UnreadableState(reason="another layout, or damaged")
        training, version, named = json.loads(body[:length])
        if version != MODEL_VERSION or training not in _TRAININGS:
            raise UnreadableState(reason="another model version", version=version)
        names, setups = tuple(parts[0] for parts in named), tuple(tuple(parts[1:]) for parts in named)
        state = _blank(_TRAININGS[_TRAININGS.index(training)], hypotheses, names, setups)
        state._fill(np.frombuffer(body, "<f8", offset=length))
        return state

    def _fill(self, numbers: Array) -> None:
        at = 0
        for part in (self.weights, self.athlete, self.notes, self.hard):
            part.ravel()[:] = numbers[at : at + part.size]
            at += part.size
        for hypothesis in np.flatnonzero(self.weights > 0.0):
            for part in (self.globals_mean[hypothesis], self.globals_covariance[hypothesis]):
                part.ravel()[:] = numbers[at : at + part.size]
                at += part.size
            for number in range(len(self.names)):
                at = self._fill_series(int(hypothesis), number, numbers, at)

    def _fill_series(self, hypothesis: int, number: int, numbers: Array, at: int) -> int:
        n = int(self.notes[number, USED])
        below = n * (n + 1) // 2
        self.offset[hypothesis, number, :n] = numbers[at : at + n]
        at += n
        self.slope[hypothesis, number, :n] = numbers[at : at + n * GLOBAL_COUNT].reshape(n, GLOBAL_COUNT)
        at += n * GLOBAL_COUNT
        spread, (rows, columns) = self.spread[hypothesis, number], _TRIANGLES[n]
        spread[rows, columns] = numbers[at : at + below]
        spread[columns, rows] = numbers[at : at + below]
        return at + below


def _blank(
    training: Training, hypotheses: int, names: tuple[str, ...], setups: tuple[tuple[str, ...], ...]
) -> AthleteState:
    arrays = (np.zeros(shape) for shape in _shapes(hypotheses, len(names)))
    return AthleteState(training, names, setups, *arrays)


def _shapes(hypotheses: int, series: int) -> tuple[tuple[int, ...], ...]:
    h, s, n, g = hypotheses, series, LOCAL_COUNT, GLOBAL_COUNT
    return (
        (h,), (h, g), (h, g, g), (h, s, n), (h, s, n, g), (h, s, n, n), (s, NOTE_COUNT), (ATHLETE_NOTE_COUNT,), (s, 3),
    )  # fmt: skip


def begin(
    training: Training = "unknown",
    table: NDArray[np.void] = CONSTANTS,
    weights: Sequence[Share] | None = None,
) -> AthleteState:
    """Return what is believed of an athlete before the first set, under the filter's hypotheses or those of a ``table``."""
    state = _blank(training, len(table), (), ())
    state.weights[:] = WEIGHTS[training] if weights is None else weights
    state.athlete[FIRST_DAY] = -np.inf
    state.athlete[DROP], state.athlete[DROP_VARIANCE] = 0.0, HYPOTHESES[0].drop_sd ** 2
    state.athlete[PLANNING], state.athlete[USUAL_GAP] = HYPOTHESES[0].planning, -1.0
    state.athlete[MOST_TOLD_RUNNING] = -1.0
    for number, constants in enumerate(table):
        variance = day_variance(constants, state.athlete)
        begin_globals(constants, state.globals_mean[number], state.globals_covariance[number], variance)
    return state
