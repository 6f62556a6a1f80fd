"""What a computation from a body alone is asked."""

from typing import Literal

from service.usecases.records.base import Mass, MassUnit, Record, Side
from service.usecases.records.log import LoadBasis, Purpose
from service.usecases.records.places import Implement

ScreeningSaid = Literal["none", "clear", "referred", "cleared"]
LimbSide = Literal["left", "right"]


class Question(Record, frozen=True, kw_only=True):
    """What every computation is told of the person."""

    screening: ScreeningSaid = "none"
    symptoms: list[str] = []


class OneRepMaxQuestion(Question, frozen=True, kw_only=True):
    """A set to failure, and which formulas to ask; None asks all."""

    load: Mass
    reps: float
    formulas: list[str] | None = None
    unit: MassUnit | None = None


class LoadableQuestion(Question, frozen=True, kw_only=True):
    """Implements, and a target or a span."""

    items: list[Implement]
    load_basis: LoadBasis = "total"
    station: str | None = None
    dumbbells_held: int = 1
    target: Mass | None = None
    lightest: Mass | None = None
    heaviest: Mass | None = None
    count: int = 5
    unit: MassUnit | None = None


TrialSummary = Literal["geometric_mean_of_trials", "mean_of_trials", "best_of_trials"]


class TrialsSaid(Record, frozen=True, kw_only=True):
    """The trials of one side, or of both limbs together, and how they were measured."""

    trials: list[float]
    unit: str = "1"
    trial_sd: float | None = None
    exercise: str | None = None
    mode: str | None = None
    reps: float | None = None


class PriorSaid(Record, frozen=True, kw_only=True):
    """What is believed of t = ln(right / left) before any trial."""

    sd: float
    mean: float = 0.0


class IndicesQuestion(Question, frozen=True, kw_only=True):
    """The trials of each side, or the log ratio t = ln(right / left)."""

    left: TrialsSaid | None = None
    right: TrialsSaid | None = None
    both: TrialsSaid | None = None
    summary: TrialSummary = "geometric_mean_of_trials"
    paired: bool = False
    trial_covariance: float | None = None
    visit_sd: float | None = None
    log_ratio: float | None = None
    log_ratio_sd: float | None = None
    prior: PriorSaid | None = None
    smallest_worthwhile: float = 0.05
    mass: float = 0.8
    dominant_side: LimbSide | None = None
    involved_side: LimbSide | None = None


TrainingSaid = Literal["novice", "trained", "unknown"]


class SetSaid(Record, frozen=True, kw_only=True):
    """A set of the lift, so many days ago."""

    days_ago: float
    reps: int
    load: Mass | None = None
    level: str | None = None
    side: Side = "unspecified"
    reps_in_reserve: float | None = None
    to_failure: bool | None = None
    purpose: Purpose = "unknown"
    pain: float | None = None


class LoadProgressionQuestion(Question, frozen=True, kw_only=True):
    """A lift's last sets, what is there to load it with, and what is wanted."""

    exercise_id: str
    sets: list[SetSaid]
    items: list[Implement]
    training: TrainingSaid = "unknown"
    reps_low: int | None = None
    reps_high: int | None = None
    reserve_low: float | None = None
    reserve_high: float | None = None
    body_mass: Mass | None = None
    safety_bars: bool | None = None
    supervised: bool | None = None
    mass: float = 0.8
    unit: MassUnit | None = None


class InvolvementSaid(Record, frozen=True, kw_only=True):
    """The share of a lift's hard set that a muscle receives."""

    muscle_id: str
    share: float


class CountedSetSaid(Record, frozen=True, kw_only=True):
    """A set to be counted, with the drops that followed it."""

    exercise_id: str
    involvement: list[InvolvementSaid] = []
    one_sided: bool = False
    load: Mass | None = None
    reps: int | None = None
    hold_s: float | None = None
    distance_m: float | None = None
    reps_in_reserve: float | None = None
    to_failure: bool | None = None
    share_of_one_rep_max: float | None = None
    side: Side = "unspecified"
    drops: int = 0
    purpose: Purpose = "unknown"
    session: str | None = None


class VolumeQuestion(Question, frozen=True, kw_only=True):
    """One week's sets."""

    sets: list[CountedSetSaid]
    training: TrainingSaid = "unknown"
    body_mass: Mass | None = None
    mass: float = 0.8


class GrowthSaid(Record, frozen=True, kw_only=True):
    """Changes of a lift or a girth over stretches of weeks, and the weekly hard sets in them."""

    kind: Literal["strength", "girth"]
    changes_percent: list[float]
    error_percent: float
    weeks: list[float]
    weekly_hard_sets: list[float]


class DoseResponseQuestion(Question, frozen=True, kw_only=True):
    """A muscle's past, and what is to count as worth it."""

    training: TrainingSaid = "unknown"
    age_years: float | None = None
    recent_weekly_hard_sets: float | None = None
    series: list[GrowthSaid] = []
    worth: float = 0.002
    gain: float = 0.004
    mass: float = 0.8


class StageSaid(Record, frozen=True, kw_only=True):
    """A drop that was done: its load and repetitions."""

    load: Mass
    reps: int


class DropSetSaid(Record, frozen=True, kw_only=True):
    """A drop set that was done: the opening set to failure, then the drops."""

    load: Mass
    reps: int
    drops: list[StageSaid]
    pause_s: float = 5.0


class DropSetQuestion(Question, frozen=True, kw_only=True):
    """The opening set to failure, what is there to drop to, and what is wanted of each drop."""

    exercise_id: str
    load: Mass
    reps: int
    items: list[Implement]
    drops: int = 2
    reps_wanted: int = 10
    chance: float = 0.6
    pause_s: float = 5.0
    training: TrainingSaid = "unknown"
    days_since_last: float | None = None
    body_mass: Mass | None = None
    done_before: list[DropSetSaid] = []
    unit: MassUnit | None = None


class MuscleSaid(Record, frozen=True, kw_only=True):
    """The trials of one of two opposing muscle groups, and how they were measured."""

    trials: list[float]
    device: str
    mode: str
    unit: str = "1"
    side: Side = "both"
    reps: float | None = None
    trial_sd: float | None = None


class RatioQuestion(Question, frozen=True, kw_only=True):
    """Two opposing muscle groups, measured alike."""

    over: MuscleSaid
    under: MuscleSaid
    summary: TrialSummary = "geometric_mean_of_trials"
    mass: float = 0.8
