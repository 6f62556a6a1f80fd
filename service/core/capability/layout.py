"""Which number stands where in the filter's vectors: written down once, used by kernel and readers alike."""

from typing import Final

#: What an athlete's exercises share: the day's effect [1], how reports of reserve are off [repetitions], the
#: reserve usually left [repetitions], the person's ln k against the class [1], what a hard set costs as a
#: multiple of what is usual [1], and the person's gain at the start of the log [1/week].
GLOBALS: Final = ("day", "bias", "habit", "endurance", "tiring", "trend")
DAY, BIAS, HABIT, ENDURANCE, TIRING, TREND = range(6)
GLOBAL_COUNT: Final = 6

#: What belongs to one series: ln 1RM of a limb's mean [ln kg], kept as ln of the load for the repetitions to failure that
#: are usual while the series is not worked on (`pivoting.py`); its own change [1/week], ln k against class and
#: person [1], the bend [1], the session's effect on this exercise [1], how far from usual the session's sets
#: are stopped [repetitions], tiring against the person's [1]; for lifts done side by side also half of right
#: minus left in strength and in ln k, and the side's day [1]; then offsets of set-ups [1].
LOCALS: Final = ("strength", "drift", "ln_k", "bend", "own_day", "stop", "own_tiring", "half_gap", "half_ln_k",
                 "side_day", "setup_1", "setup_2", "setup_3", "setup_4")  # fmt: skip
STRENGTH, DRIFT, LN_K, BEND, OWN_DAY, STOP, OWN_TIRING, HALF_GAP, HALF_LN_K, SIDE_DAY, FIRST_SETUP = range(11)
LOCAL_COUNT: Final = 14
SETUP_SLOTS: Final = LOCAL_COUNT - FIRST_SETUP
#: Locals in use where both limbs move one load, and where each side is done by itself.
LOCALS_BOTH, LOCALS_SIDED = HALF_GAP, FIRST_SETUP
JOINT_COUNT: Final = LOCAL_COUNT + GLOBAL_COUNT

#: Numbers kept beside a series' Gaussian; ``pivot`` are the repetitions that its curve turns about, 0 where they are none.
#: From ``left_sum`` on stands what `shifting.py` keeps: loads of the open session by side (of both limbs under left), weighted
#: sums and their weights; of level and gap those of sessions that are off running, with and without the open one; the variances
#: that the next session begins with on top; and how surely strength was believed to have shifted before the open one.
NOTES: Final = ("known", "last_day", "open", "sets", "unreported", "trained", "to_failure", "rejected", "regain",
                "regain_weeks", "used", "prior_variance", "newest_day", "idle_seen", "pivot", "left_sum",
                "left_weight", "right_sum", "right_weight", "level_sum", "level_weight", "level_now_sum",
                "level_now_weight", "gap_sum", "gap_weight", "gap_now_sum", "gap_now_weight", "strength_more",
                "gap_more", "shifted")  # fmt: skip
(KNOWN, LAST_DAY, OPEN, SETS, UNREPORTED, TRAINED, TO_FAILURE, REJECTED, REGAIN, REGAIN_WEEKS, USED,
 PRIOR_VARIANCE, NEWEST_DAY, IDLE_SEEN, PIVOT, LEFT_SUM, LEFT_WEIGHT, RIGHT_SUM, RIGHT_WEIGHT, LEVEL_SUM, LEVEL_WEIGHT,
 LEVEL_NOW_SUM, LEVEL_NOW_WEIGHT, GAP_SUM, GAP_WEIGHT, GAP_NOW_SUM, GAP_NOW_WEIGHT, STRENGTH_MORE,
 GAP_MORE, SHIFTED) = range(30)  # fmt: skip
NOTE_COUNT: Final = 30

#: Numbers kept beside the athlete's globals: first day [d], day of the open session [d], ln of the drop factor
#: against what is usual with its variance, the running sums that learn the spread of days, idle weeks so far, and
#: the log odds that repetitions are planned beforehand rather than stopped by feel, and the highest reserve ever
#: told [repetitions] with how often it was told, how often the one below it,
#: the usual gap between sessions [week], -1 before the second, and in how many sessions running
#: the highest was told, counted downwards from -1 until a lower one is told.
ATHLETE_NOTES: Final = ("first_day", "session_day", "drop", "drop_variance", "day_weight", "day_sum", "own_weight",
                        "own_sum", "idle_weeks", "planning", "most_told", "most_told_count", "next_told_count",
                        "usual_gap", "most_told_running")  # fmt: skip
(FIRST_DAY, SESSION_DAY, DROP, DROP_VARIANCE, DAY_WEIGHT, DAY_SUM, OWN_WEIGHT, OWN_SUM, IDLE_WEEKS, PLANNING, MOST_TOLD,
 MOST_TOLD_COUNT, NEXT_TOLD_COUNT, USUAL_GAP, MOST_TOLD_RUNNING) = range(15)  # fmt: skip
ATHLETE_NOTE_COUNT: Final = 15

#: Columns of the table of sets that the kernel reads.
COLUMNS: Final = ("session", "day", "series", "side", "ln_load", "reps", "reserve", "to_failure", "bound_only",
                  "warm_up", "rest_s", "ln_load_sd", "likeness", "matched", "setup", "stage", "pain", "alike", "timed")  # fmt: skip
(C_SESSION, C_DAY, C_SERIES, C_SIDE, C_LN_LOAD, C_REPS, C_RESERVE, C_TO_FAILURE, C_BOUND_ONLY, C_WARM_UP, C_REST,
 C_LN_LOAD_SD, C_LIKENESS, C_MATCHED, C_SETUP, C_STAGE, C_PAIN, C_ALIKE, C_TIMED) = range(19)  # fmt: skip
COLUMN_COUNT: Final = 19

#: What stands in "matched": a second side that copies the first one's repetitions stops where the first one did.
NOT_MATCHED, MATCHED_AND_TOLD, MATCHED_SILENTLY = 0.0, 0.5, 1.0

#: Numbers told of a series before its first set.
PRIORS: Final = ("ln_k", "ln_k_sd", "bend", "bend_sd", "half_gap_sd", "sided", "strength", "strength_sd")
(P_LN_K, P_LN_K_SD, P_BEND, P_BEND_SD, P_HALF_GAP_SD, P_SIDED, P_STRENGTH, P_STRENGTH_SD) = range(8)
PRIOR_COUNT: Final = 8

#: What was expected of a set before it was seen.
FORESIGHTS: Final = ("mean", "sd", "q025", "q10", "q50", "q90", "q975")
FORESIGHT_COUNT: Final = 7
