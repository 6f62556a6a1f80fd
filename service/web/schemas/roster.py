"""The columns of a roster's CSV, answer by answer. They are stable: new ones are added at the end."""

from collections.abc import Mapping

from service.core.symmetry.index_catalogue import INDICES
from service.usecases.answers.roster import RosterAnswer
from service.web.streaming import Column, estimate_columns

_WHO = (
    Column("athlete_id", ("athlete_id",), "The athlete."),
    Column("external_ref", ("external_ref",), "Your own reference of the athlete.", text=True),
    Column("display_name", ("display_name",), "The athlete's name, as you keep it.", text=True),
    Column("status", ("status",), "`ok`, or the code of the problem for which there is no answer."),
)
_TOLD = (
    Column("observation_count", ("item", "basis", "observation_count"), "Own observations that it rests on."),
    Column("newest_at", ("item", "basis", "newest_at"), "When the newest of them was made."),
    Column("prior_share", ("item", "basis", "prior_share"), "Share owed to other people's data or assumptions."),
    Column("reasons", ("reasons",), "Codes of the reasons, separated by spaces."),
    Column("caution", ("caution",), "What to heed, in words; why there is no answer, where there is none.", text=True),
    Column("model_version", ("model_version",), "The model that made it."),
    Column("as_of", ("as_of",), "The instant up to which the log was used."),
    Column("position", ("position",), "Position of the change feed that was read."),
)  # fmt: skip


def _of_item(name: str, description: str, *, text: bool = False) -> Column:
    return Column(name, ("item", name), description, text=text)


_VOLUME = (
    Column("week_first_day", ("item", "week", "first_day"), "Local date on which the week begins."),
    Column("week_start", ("item", "week", "start"), "Its first instant."),
    Column("week_end", ("item", "week", "end"), "The first instant after it."),
    Column("time_zone", ("item", "week", "time_zone"), "The athlete's time zone."),
    _of_item("muscle_id", "The muscle."),
    _of_item("side", "`left`, `right`, or `both` for the mean of the two."),
    *estimate_columns("hard_sets", "Hard sets.", "item", "hard_sets"),
    _of_item("direct", "The part from lifts that train the muscle directly."),
    _of_item("indirect", "The part from lifts in which it only helps."),
    _of_item("session_count", "Sessions that trained it."),
    _of_item("per_session_max", "The most hard sets in one session."),
    _of_item("assumed_effort_share", "Share whose effort had to be assumed."),
    _of_item("unspecified_side_share", "Share from one-sided lifts without a side."),
)
_IMBALANCE = (
    _of_item("kind", "`strength`, `endurance`, `size` or `joint_motion`."),
    _of_item("scope", "`exercise`, `muscle`, `site` or `test`."),
    _of_item("exercise_id", "The lift."),
    _of_item("muscle_id", "The muscle whose lifts are pooled."),
    _of_item("site", "Where the tape lay."),
    _of_item("corrected", "Whether skin and fat are taken off the girth."),
    _of_item("test", "The joint-motion test."),
    _of_item("state", "What can be said."),
    *estimate_columns("t", "ln(right / left).", "item", "t"),
    *estimate_columns("difference", "Of joint motion: right less left.", "item", "difference"),
    _of_item("p_right_ahead", "Probability that the right side is ahead."),
    _of_item("p_beyond", "Probability that the difference is larger than `smallest_worthwhile`."),
    _of_item("smallest_worthwhile", "|t| below which a difference is not worth acting on."),
    _of_item("minimal_detectable_change", "Change of t that error alone exceeds once in twenty."),
    *estimate_columns("visits_needed", "Further visits that would decide it.", "item", "visits_needed"),
    *estimate_columns(
        "expected_next_reading", "What another visit should read.", "item", "expected_next_reading"
    ),
    *(
        Column(f"index_{index_id}", ("indices", index_id), f"{index.title}. [{index.unit}]")
        for index_id, index in INDICES.items()
    ),
)
_CAPABILITY = (
    _of_item("exercise_id", "The exercise."),
    _of_item("exercise_name", "What it is called.", text=True),
    _of_item("side", "The side."),
    Column("reps", ("part", "reps"), "Repetitions to failure; one record each."),
    Column("length", ("part", "length", "value"), "Length of a hold or a carry to failure; one record each."),
    Column("length_unit", ("part", "length", "unit"), "Unit of the length: s or m."),
    *estimate_columns("load", "The external load for them.", "part", "load"),
    Column("load_unit", ("part", "load", "unit"), "Unit of the load."),
    Column("load_basis", ("part", "load_basis"), "How the load is counted."),
    Column("extrapolated", ("part", "extrapolated"), "Whether that is far from what is trained."),
    _of_item("trained_repetitions", "Repetitions that are usually trained."),
)
_PROGRESSION = (
    _of_item("exercise_id", "The exercise."),
    _of_item("exercise_name", "What it is called.", text=True),
    _of_item("side", "The side."),
    _of_item("decision", "`do`, or why there is no load."),
    Column("action_code", ("item", "action", "code"), "What changes against the last time."),
    Column("action", ("item", "action", "text"), "What to do, in words.", text=True),
    Column("load", ("item", "load", "value"), "A load that the site can make."),
    Column("load_unit", ("item", "load", "unit"), "Unit of the load."),
    Column("load_label", ("item", "load", "label"), "What to set, where that is not the load.", text=True),
    _of_item("load_basis", "How the load is counted."),
    _of_item("sets", "Working sets."),
    _of_item("reps", "Repetitions of the next set."),
    _of_item("hold_s", "How long the next hold is. [s]"),
    _of_item("distance_m", "How far the next carry goes. [m]"),
    _of_item("reps_low", "Where the range of repetitions begins."),
    _of_item("reps_high", "Where it ends."),
    _of_item("reserve_low", "The fewest repetitions to leave undone."),
    _of_item("reserve_high", "The most."),
    _of_item("expected_reserve", "Repetitions likely left undone."),
    _of_item("p_wanted", "Probability of the wanted reserve."),
    _of_item("p_too_hard", "Probability that none is left."),
    *estimate_columns("expected_reps", "Repetitions to failure at this load.", "item", "expected_reps"),
    *estimate_columns(
        "expected_length", "Length of a hold or a carry to failure at this load.", "item", "expected_length"
    ),
    _of_item("policy", "The rule by which the load was chosen."),
    Column("site_id", ("site_id",), "The site whose loads these are."),
)


def _of_set(name: str, description: str, *, text: bool = False) -> Column:
    return Column(name, ("part", name), description, text=text)


_SESSION = (
    Column("site_id", ("site_id",), "Where."),
    Column("session_minutes", ("minutes",), "How long the whole session takes. [min]"),
    _of_item("exercise_id", "The exercise."),
    _of_item("exercise_name", "What it is called.", text=True),
    _of_item("role", "Why it stands where it stands."),
    _of_item("minutes", "How long the exercise takes. [min]"),
    Column("set_number", ("part_number",), "Place of the set within the exercise, from 1; one record each."),
    _of_set("side", "The side that works."),
    _of_set("ramp", "Whether it is a warm-up set."),
    Column("load", ("part", "load", "value"), "The external load."),
    Column("load_unit", ("part", "load", "unit"), "Unit of the load."),
    _of_set("level", "The station's label, where it has no masses.", text=True),
    _of_set("reps_low", "The fewest repetitions wanted."),
    _of_set("reps_high", "The most wanted."),
    _of_set("hold_s", "For a hold: how long. [s]"),
    _of_set("distance_m", "For a carry: how far. [m]"),
    _of_set("reps_in_reserve", "Repetitions to leave undone."),
    _of_set("expected_reps", "Repetitions to failure at this load."),
    _of_set("expected_reps_lower", "Lower end of their interval."),
    _of_set("expected_reps_upper", "Upper end of their interval."),
    Column("expected_reps_mass", ("part", "interval_mass"), "Probability that the interval holds."),
    _of_set("p_wanted", "Probability of the wanted reserve."),
    _of_set("p_too_hard", "Probability of failure or too few repetitions."),
    _of_set("rest_after_s", "Rest before the next set. [s]"),
    _of_item("policy", "The rule by which the load was chosen."),
)
_TRENDS = (
    _of_item("weeks", "Weeks that are looked back over."),
    _of_item("lift_count", "Lifts that were trained in them."),
    *(
        Column(f"{state}_count", ("item", "lifts", state), f"Lifts of which that can be said: {told}.")
        for state, told in (
            ("progress", "strength rose"),
            ("stall", "it stood"),
            ("regression", "it fell"),
            ("not_decided", "nothing yet"),
        )
    ),
    Column("stall_exercise_ids", ("stall_exercise_ids",), "The lifts that stood, separated by spaces."),
    Column(
        "regression_exercise_ids", ("regression_exercise_ids",), "The lifts that fell, separated by spaces."
    ),
    _of_item("easier_week", "Whether a week of fewer sets may pay."),
    _of_item("due_check_count", "Checks that are due within a week."),
    Column("due_checks", ("due_checks",), "What is due, separated by spaces; each kind once."),
    _of_item("next_due_on", "When the first of them is due."),
)
COLUMNS: Mapping[RosterAnswer, tuple[Column, ...]] = {
    "capability": (*_WHO, *_CAPABILITY, *_TOLD),
    "load-progression": (*_WHO, *_PROGRESSION, *_TOLD),
    "volume": (*_WHO, *_VOLUME, *_TOLD),
    "imbalance-indices": (*_WHO, *_IMBALANCE, *_TOLD),
    "next-session": (*_WHO, *_SESSION, *_TOLD),
    "trends": (*_WHO, *_TRENDS, *_TOLD),
}
#: The member of an item that a table spreads over several records.
PARTS: Mapping[RosterAnswer, str] = {"capability": "loads", "next-session": "sets"}


def described(columns: tuple[Column, ...]) -> str:
    """Return the columns as a list for the reader of the contract."""
    return ", ".join(f"`{column.name}`" for column in columns)
