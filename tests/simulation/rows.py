"""One set as it happened, as it was logged, and what an oracle would have said before it."""

from dataclasses import dataclass


@dataclass(slots=True)
class SetRow:
    athlete: str
    kind: str
    family: str
    condition: str
    day: float
    session: str
    ordinal: int
    exercise: str
    side: str
    stage: int
    role: str
    """work | warm_up | drop"""
    load_kg: float
    """what was lifted"""
    load: float
    """what the log says, in ``unit``"""
    unit: str
    reps: int
    """what was done"""
    logged_reps: int
    n: float
    """true continuous repetitions to failure at the load lifted"""
    endurance: float
    u_mean: float
    """ln strength before the set, day's effect and noise averaged out"""
    u_sd: float
    within_mean: float
    """the same when the session's earlier sets have been seen exactly"""
    within_sd: float
    drop_extra: float
    """repetitions a drop's stage would add were nothing lost; 0 for whole sets"""
    drop_ln_mean: float
    drop_ln_sd: float
    sessions_before: int
    exercise_position: int
    set_position: int
    side_position: int
    reserve: float | None = None
    to_failure: bool | None = None
    range: str = ""
    pain: int | None = None
    rest_s: int | None = None
    body_mass: float | None = None
    purpose: str = ""
    performed_at: str = ""
    entry_error: bool = False
    duplicate: bool = False
    copied: bool = False
    remembered: bool = False
