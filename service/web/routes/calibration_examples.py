"""An answer as the service gave it for an invented athlete; what it says of plans is of another invented one."""

from service.usecases.documents import Document

CALIBRATION: Document = {
    "action": {
        "code": "read_narrower",
        "text": "Your sets are foretold better than the intervals say: read them as a little narrower.",
    },
    "items": [
        {
            "by": "all",
            "count": 17,
            "held_80": {
                "value": 1.0,
                "interval": {"lower": 0.9119, "upper": 1.0, "mass": 0.8, "kind": "credible"},
            },
            "bias": {
                "value": 0.595,
                "unit": "{reps}",
                "sd": 0.173,
                "interval": {"lower": 0.3731, "upper": 0.8163, "mass": 0.8, "kind": "credible"},
                "statistic": "mean",
            },
            "mean_error": 0.64,
            "mean_width_80": 4.01,
            "reasons": [
                {
                    "code": "calibration_too_wide",
                    "text": "Of 17 sets that told their effort, 100 % fell inside their 80 % "
                    "interval: the intervals are wider than they need be here.",
                    "params": {"sets": 17, "fewest": 10, "held_percent": 100.0},
                }
            ],
        },
        {
            "by": "effort",
            "count": 0,
            "told": "to_failure",
            "reasons": [
                {
                    "code": "calibration_too_few",
                    "text": "Only 0 such sets told their effort; at least 10 are needed to judge.",
                    "params": {"sets": 0, "fewest": 10},
                }
            ],
        },
        {
            "by": "effort",
            "count": 17,
            "told": "reported_reserve",
            "held_80": {
                "value": 1.0,
                "interval": {"lower": 0.9119, "upper": 1.0, "mass": 0.8, "kind": "credible"},
            },
            "bias": {
                "value": 0.595,
                "unit": "{reps}",
                "sd": 0.173,
                "interval": {"lower": 0.3731, "upper": 0.8163, "mass": 0.8, "kind": "credible"},
                "statistic": "mean",
            },
            "mean_error": 0.64,
            "mean_width_80": 4.01,
            "reasons": [
                {
                    "code": "calibration_too_wide",
                    "text": "Of 17 sets that told their effort, 100 % fell inside their 80 % "
                    "interval: the intervals are wider than they need be here.",
                    "params": {"sets": 17, "fewest": 10, "held_percent": 100.0},
                }
            ],
        },
        {
            "by": "exercise",
            "count": 17,
            "exercise_id": "bench-press",
            "exercise_name": "Bench press",
            "held_80": {
                "value": 1.0,
                "interval": {"lower": 0.9119, "upper": 1.0, "mass": 0.8, "kind": "credible"},
            },
            "bias": {
                "value": 0.595,
                "unit": "{reps}",
                "sd": 0.173,
                "interval": {"lower": 0.3731, "upper": 0.8163, "mass": 0.8, "kind": "credible"},
                "statistic": "mean",
            },
            "mean_error": 0.64,
            "mean_width_80": 4.01,
            "reasons": [
                {
                    "code": "calibration_too_wide",
                    "text": "Of 17 sets that told their effort, 100 % fell inside their 80 % "
                    "interval: the intervals are wider than they need be here.",
                    "params": {"sets": 17, "fewest": 10, "held_percent": 100.0},
                }
            ],
        },
        {
            "by": "repetitions",
            "count": 0,
            "reps_from": 0,
            "reps_below": 6,
            "reasons": [
                {
                    "code": "calibration_too_few",
                    "text": "Only 0 such sets told their effort; at least 10 are needed to judge.",
                    "params": {"sets": 0, "fewest": 10},
                }
            ],
        },
        {
            "by": "repetitions",
            "count": 0,
            "reps_from": 6,
            "reps_below": 9,
            "reasons": [
                {
                    "code": "calibration_too_few",
                    "text": "Only 0 such sets told their effort; at least 10 are needed to judge.",
                    "params": {"sets": 0, "fewest": 10},
                }
            ],
        },
        {
            "by": "repetitions",
            "count": 17,
            "reps_from": 9,
            "reps_below": 13,
            "held_80": {
                "value": 1.0,
                "interval": {"lower": 0.9119, "upper": 1.0, "mass": 0.8, "kind": "credible"},
            },
            "bias": {
                "value": 0.595,
                "unit": "{reps}",
                "sd": 0.173,
                "interval": {"lower": 0.3731, "upper": 0.8163, "mass": 0.8, "kind": "credible"},
                "statistic": "mean",
            },
            "mean_error": 0.64,
            "mean_width_80": 4.01,
            "reasons": [
                {
                    "code": "calibration_too_wide",
                    "text": "Of 17 sets that told their effort, 100 % fell inside their 80 % "
                    "interval: the intervals are wider than they need be here.",
                    "params": {"sets": 17, "fewest": 10, "held_percent": 100.0},
                }
            ],
        },
        {
            "by": "repetitions",
            "count": 0,
            "reps_from": 13,
            "reps_below": 17,
            "reasons": [
                {
                    "code": "calibration_too_few",
                    "text": "Only 0 such sets told their effort; at least 10 are needed to judge.",
                    "params": {"sets": 0, "fewest": 10},
                }
            ],
        },
        {
            "by": "repetitions",
            "count": 0,
            "reps_from": 17,
            "reps_below": 26,
            "reasons": [
                {
                    "code": "calibration_too_few",
                    "text": "Only 0 such sets told their effort; at least 10 are needed to judge.",
                    "params": {"sets": 0, "fewest": 10},
                }
            ],
        },
        {
            "by": "repetitions",
            "count": 0,
            "reps_from": 26,
            "reasons": [
                {
                    "code": "calibration_too_few",
                    "text": "Only 0 such sets told their effort; at least 10 are needed to judge.",
                    "params": {"sets": 0, "fewest": 10},
                }
            ],
        },
    ],
    "plans": {
        "planned": 14,
        "changed": 1,
        "effort_untold": 1,
        "intervals": {
            "stated": 0.8,
            "seen": {
                "value": 0.8333,
                "interval": {"lower": 0.6578, "upper": 0.9286, "mass": 0.8, "kind": "credible"},
            },
            "count": 12,
        },
        "too_hard": {
            "stated": 0.1,
            "seen": {
                "value": 0.0833,
                "interval": {"lower": 0.0253, "upper": 0.2417, "mass": 0.8, "kind": "credible"},
            },
            "count": 12,
        },
        "reasons": [
            {
                "code": "calibration_plans_hold",
                "text": "Of 12 planned sets 8 % were too hard, where the plans had said 10 %: as often as was said.",
                "params": {"sets": 12, "fewest": 10, "stated_percent": 10.0, "seen_percent": 8.3333},
            }
        ],
    },
    "weeks": 26,
    "position": "21",
    "model_version": "capability/5",
    "as_of": "2026-11-27T18:20:00Z",
    "valid_until": "2026-11-27T19:00:00Z",
}
