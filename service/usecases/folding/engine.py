"""The filter as the fold calls it, so that a test may fold with a simpler one."""

import logging
from collections.abc import Sequence
from typing import Any, Protocol

from service.core import capability
from service.core.capability import (
    LAYOUT_VERSION,
    MODEL_VERSION,
    AthleteModel,
    AthleteState,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    Training,
    UnreadableState,
)
from service.core.curve import CURVE_PRIORS
from service.usecases.fold_rows import Packing

LOG = logging.getLogger("steelyard.folding")


class Unreadable(Exception):
    """Packed bytes that cannot be decoded: torn, or made by another model or layout."""


class Engine(Protocol):
    """Folds whole sessions into a state that packs into bytes; equal logs give equal bytes."""

    @property
    def packing(self) -> Packing: ...
    def begin(self, training: Training) -> Any: ...
    def fold(self, state: Any, sessions: Sequence[SessionEvidence], model: AthleteModel) -> Any: ...
    def pack(self, state: Any) -> bytes: ...
    def unpack(self, packed: bytes) -> Any: ...
    def series(self, state: Any) -> tuple[str, ...]: ...


class CapabilityEngine:
    """The filter itself."""

    packing = Packing(MODEL_VERSION, LAYOUT_VERSION)

    def begin(self, training: Training) -> AthleteState:
        """Return what is believed of someone without a log."""
        return capability.begin(training)

    def fold(
        self, state: AthleteState, sessions: Sequence[SessionEvidence], model: AthleteModel
    ) -> AthleteState:
        """Return the state after further sessions."""
        return capability.fold(state, sessions, model) if sessions else state

    def pack(self, state: AthleteState) -> bytes:
        """Return the state's canonical bytes."""
        return state.pack()

    def unpack(self, packed: bytes) -> AthleteState:
        """Return the state that bytes hold; raises ``Unreadable``."""
        try:
            return AthleteState.unpack(packed)
        except UnreadableState as torn:
            raise Unreadable(str(torn)) from torn

    def series(self, state: AthleteState) -> tuple[str, ...]:
        """Return every series that the state holds."""
        return state.names


ENGINE: Engine = CapabilityEngine()


def warm_up() -> None:
    """Fold one invented session, so that whatever is compiled on its first call is compiled before the first request."""
    model = AthleteModel(lambda _: SeriesPrior(CURVE_PRIORS["bench"]), lambda _, __: 0.0)
    session = SessionEvidence(0.0, (SetEvidence("invented", 50.0, 8, reps_in_reserve=2.0),))
    ENGINE.fold(ENGINE.begin("unknown"), [session], model)
