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
                        "value": 95.296,
                        "unit": "kg",
                        "sd": 4.4862,
                        "interval": {"lower": 89.7256, "upper": 101.2123, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                    "load_basis": "total",
                    "extrapolated": False,
                },
                {
                    "reps": 8,
                    "load": {
                        "value": 87.522,
                        "unit": "kg",
                        "sd": 2.6024,
                        "interval": {"lower": 84.2517, "upper": 90.9192, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                    "load_basis": "total",
                    "extrapolated": False,
                },
            ],
            "trained_repetitions": 8.0,
            "basis": {"observation_count": 18, "prior_share": 0.0437, "newest_at": "2026-11-24T18:20:00Z"},
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
    "position": "21",
    "model_version": "capability/5",
    "as_of": "2026-11-27T18:20:00Z",
    "valid_until": "2026-11-27T19:00:00Z",
}
LOAD_PROGRESSION: Document = {
    "items": [
        {
            "action": {"code": "repeat", "text": "Bench press: 3 x 8 with 80 kg, leaving 1 to 3 in reserve."},
            "exercise_id": "bench-press",
            "exercise_name": "Bench press",
            "side": "both",
            "decision": "do",
            "load_basis": "total",
            "load": {"value": 80.0, "unit": "kg", "made_of": ["Bar 20 kg", "20 kg", "10 kg"]},
            "sets": 3,
            "reps": 8,
            "reps_low": 6,
            "reps_high": 10,
            "reserve_low": 1.0,
            "reserve_high": 3.0,
            "expected_reserve": 3.34,
            "p_wanted": 0.5559,
            "p_too_hard": 0.0883,
            "expected_reps": {
                "value": 11.34,
                "unit": "{reps}",
                "sd": 1.8,
                "interval": {"lower": 9.1289, "upper": 13.8688, "mass": 0.8, "kind": "prediction"},
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
                    "reps": 9,
                    "expected_reserve": 3.57,
                    "p_wanted": 0.5222,
                    "p_too_hard": 0.0675,
                },
                {
                    "load": {
                        "value": 82.5,
                        "unit": "kg",
                        "made_of": ["Bar 20 kg", "20 kg", "10 kg", "1.25 kg"],
                    },
                    "reps": 6,
                    "expected_reserve": 4.18,
                    "p_wanted": 0.4126,
                    "p_too_hard": 0.0461,
                },
            ],
            "fitting_load": {
                "value": 82.8989,
                "unit": "kg",
                "sd": 3.7537,
                "interval": {"lower": 78.2323, "upper": 87.8439, "mass": 0.8, "kind": "prediction"},
                "statistic": "median",
            },
            "basis": {"observation_count": 18, "prior_share": 0.0437, "newest_at": "2026-11-24T18:20:00Z"},
            "reasons": [
                {
                    "code": "progression_repeat",
                    "text": "Stay at this load with 8 repetitions again: more of either is not yet "
                    "likely to leave enough in reserve.",
                    "params": {"reps": 8},
                },
                {
                    "code": "progression_chance_of_wanted_effort",
                    "text": "The chance that this feels as wanted is 56 %, that it is too hard 9 %.",
                    "params": {"p_wanted_percent": 55.5895, "p_too_hard_percent": 8.8261},
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
    "position": "21",
    "model_version": "load-progression/5",
    "as_of": "2026-11-27T18:20:00Z",
    "site_id": "01937b5c-7a00-7000-8000-0000000000b2",
    "inventory_etag": '"1"',
    "valid_until": "2026-11-27T19:00:00Z",
}
