"""An answer as the service gave it for an invented athlete."""

from service.usecases.documents import Document

NEXT_SET: Document = {
    "items": [
        {
            "action": {
                "code": "fewer_repetitions",
                "text": "Bench press: 2 x 7 with 80 kg, leaving 1 to 3 in reserve.",
            },
            "exercise_id": "bench-press",
            "exercise_name": "Bench press",
            "side": "both",
            "decision": "do",
            "load_basis": "total",
            "load": {"value": 80.0, "unit": "kg", "made_of": ["Bar 20 kg", "20 kg", "10 kg"]},
            "sets": 2,
            "reps": 7,
            "reps_low": 6,
            "reps_high": 10,
            "reserve_low": 1.0,
            "reserve_high": 3.0,
            "expected_reserve": 3.47,
            "p_wanted": 0.6495,
            "p_too_hard": 0.0294,
            "expected_reps": {
                "value": 10.47,
                "unit": "{reps}",
                "sd": 1.18,
                "interval": {"lower": 8.923, "upper": 12.0154, "mass": 0.8, "kind": "prediction"},
                "statistic": "median",
            },
            "policy": "add_repetitions_then_load",
            "warm_up": [],
            "alternatives": [
                {
                    "load": {
                        "value": 77.5,
                        "unit": "kg",
                        "made_of": ["Bar 20 kg", "20 kg", "5 kg", "2.5 kg", "1.25 kg"],
                    },
                    "reps": 9,
                    "expected_reserve": 2.67,
                    "p_wanted": 0.7674,
                    "p_too_hard": 0.0732,
                },
                {
                    "load": {
                        "value": 82.5,
                        "unit": "kg",
                        "made_of": ["Bar 20 kg", "20 kg", "10 kg", "1.25 kg"],
                    },
                    "reps": 6,
                    "expected_reserve": 3.32,
                    "p_wanted": 0.6721,
                    "p_too_hard": 0.0535,
                },
            ],
            "fitting_load": {
                "value": 84.6106,
                "unit": "kg",
                "sd": 2.7262,
                "interval": {"lower": 81.1906, "upper": 88.1746, "mass": 0.8, "kind": "prediction"},
                "statistic": "median",
            },
            "basis": {"observation_count": 19, "prior_share": 0.0427, "newest_at": "2026-11-27T17:22:24Z"},
            "reasons": [
                {
                    "code": "progression_fewer_repetitions",
                    "text": "Stay at this load with 7 repetitions: more would be too likely to leave "
                    "less in reserve than wanted.",
                    "params": {"reps": 7},
                },
                {
                    "code": "load_progression_sets_done",
                    "text": "1 of 3 working sets are done today.",
                    "params": {"done": 1, "planned": 3},
                },
                {
                    "code": "progression_chance_of_wanted_effort",
                    "text": "The chance that this feels as wanted is 65 %, that it is too hard 3 %.",
                    "params": {"p_wanted_percent": 64.9514, "p_too_hard_percent": 2.9427},
                },
            ],
            "cautions": [
                {
                    "code": "spotter_or_bars",
                    "urgency": "heed",
                    "text": "Use a spotter or safety bars for this set.",
                    "params": {},
                },
                {
                    "code": "guidance_not_diagnosis",
                    "urgency": "heed",
                    "text": "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
                    "params": {},
                },
                {
                    "code": "ramp_up",
                    "urgency": "heed",
                    "text": "Warm up on the first lift: half the load for 6, 70 % for 4 and 85 % for "
                    "2 repetitions.",
                    "params": {},
                },
            ],
            "sources": [
                "Acsm2009",
                "BaechleEarle2008",
                "Halperin2022",
                "Lopes2014",
                "Senna2011",
                "WomenPowerLifts2024",
            ],
            "sets_done": 1,
        }
    ],
    "position": "23",
    "model_version": "load-progression/5",
    "as_of": "2026-11-27T18:20:00Z",
    "session_id": "01937b5c-7a00-7000-8000-0000000000c3",
    "site_id": "01937b5c-7a00-7000-8000-0000000000b2",
    "valid_until": "2026-11-27T19:00:00Z",
}
