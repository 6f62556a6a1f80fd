"""Answers as the service gave them for an invented athlete."""

from service.usecases.documents import Document

CAPABILITY: Document = {
    "items": [
        {
            "exercise_id": "bench-press",
            "exercise_name": "Bench press",
            "side": "both",
            "loads": [
                {
                    "reps": 5,
                    "load": {
                        "value": 100.0411,
                        "unit": "kg",
                        "sd": 5.1838,
                        "interval": {"lower": 93.626, "upper": 106.8958, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                    "load_basis": "total",
                    "extrapolated": False,
                },
                {
                    "reps": 8,
                    "load": {
                        "value": 91.28,
                        "unit": "kg",
                        "sd": 3.1351,
                        "interval": {"lower": 87.3527, "upper": 95.3838, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                    "load_basis": "total",
                    "extrapolated": False,
                },
            ],
            "trained_repetitions": 8.0,
            "basis": {"observation_count": 9, "prior_share": 0.0712, "newest_at": "2026-11-20T18:08:00Z"},
            "reasons": [],
            "cautions": [
                {
                    "code": "guidance_not_diagnosis",
                    "urgency": "heed",
                    "text": "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
                    "params": {},
                }
            ],
            "sources": ["Halperin2022", "Lopes2014", "Senna2011", "WomenPowerLifts2024"],
        }
    ],
    "position": "12",
    "model_version": "capability/0",
    "as_of": "2026-11-23T18:00:00Z",
    "valid_until": "2026-11-23T19:00:00Z",
}
LOAD_PROGRESSION: Document = {
    "items": [
        {
            "action": {
                "code": "add_repetitions",
                "text": "Bench press: 3 x 9 with 80 kg, leaving 1 to 3 in reserve.",
            },
            "exercise_id": "bench-press",
            "exercise_name": "Bench press",
            "side": "both",
            "decision": "do",
            "load_basis": "total",
            "load": {"value": 80.0, "unit": "kg", "made_of": ["Bar 20 kg", "20 kg", "10 kg"]},
            "sets": 3,
            "reps": 9,
            "reps_low": 6,
            "reps_high": 10,
            "reserve_low": 1.0,
            "reserve_high": 3.0,
            "expected_reserve": 3.61,
            "p_wanted": 0.5246,
            "p_too_hard": 0.0624,
            "expected_reps": {
                "value": 12.61,
                "unit": "{reps}",
                "sd": 1.79,
                "interval": {"lower": 10.4457, "upper": 15.1506, "mass": 0.8, "kind": "prediction"},
                "statistic": "median",
            },
            "fitting_load": {
                "value": 83.1,
                "unit": "kg",
                "sd": 4.1,
                "interval": {"lower": 78.0, "upper": 88.5, "mass": 0.8, "kind": "prediction"},
                "statistic": "median",
            },
            "policy": "add_repetitions_then_load",
            "warm_up": [
                {"load": {"value": 40.0, "unit": "kg", "made_of": ["Bar 20 kg", "10 kg"]}, "reps": 6},
                {
                    "load": {
                        "value": 55.0,
                        "unit": "kg",
                        "made_of": ["Bar 20 kg", "10 kg", "5 kg", "2.5 kg"],
                    },
                    "reps": 4,
                },
                {
                    "load": {
                        "value": 67.5,
                        "unit": "kg",
                        "made_of": ["Bar 20 kg", "20 kg", "2.5 kg", "1.25 kg"],
                    },
                    "reps": 2,
                },
            ],
            "alternatives": [
                {
                    "load": {
                        "value": 77.5,
                        "unit": "kg",
                        "made_of": ["Bar 20 kg", "20 kg", "5 kg", "2.5 kg", "1.25 kg"],
                    },
                    "reps": 10,
                    "expected_reserve": 3.78,
                    "p_wanted": 0.4964,
                    "p_too_hard": 0.0515,
                },
                {
                    "load": {
                        "value": 82.5,
                        "unit": "kg",
                        "made_of": ["Bar 20 kg", "20 kg", "10 kg", "1.25 kg"],
                    },
                    "reps": 8,
                    "expected_reserve": 3.51,
                    "p_wanted": 0.5405,
                    "p_too_hard": 0.0745,
                },
            ],
            "basis": {"observation_count": 9, "prior_share": 0.0712, "newest_at": "2026-11-20T18:08:00Z"},
            "reasons": [
                {
                    "code": "progression_add_repetitions",
                    "text": "Stay at this load and add repetitions before load: about 9 this time.",
                    "params": {"reps": 9},
                },
                {
                    "code": "progression_chance_of_wanted_effort",
                    "text": "The chance that this feels as wanted is 52 %, that it is too hard 6 %.",
                    "params": {"p_wanted_percent": 52.4587, "p_too_hard_percent": 6.2397},
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
        }
    ],
    "position": "12",
    "model_version": "load-progression/1",
    "as_of": "2026-11-23T18:00:00Z",
    "site_id": "01937b5c-7a00-7000-8000-0000000000c1",
    "inventory_etag": '"1"',
    "valid_until": "2026-11-23T19:00:00Z",
}
