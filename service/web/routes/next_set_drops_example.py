"""A next set with drops after it, as the service gave it for an invented athlete."""

from service.usecases.documents import Document

NEXT_SET_WITH_DROPS: Document = {
    "items": [
        {
            "action": {
                "code": "fewer_repetitions",
                "text": "Dumbbell curl: 1 x 9 with 16 kg in each hand, leaving 1 to 3 in reserve.",
            },
            "exercise_id": "dumbbell-curl",
            "exercise_name": "Dumbbell curl",
            "side": "both",
            "decision": "do",
            "load_basis": "per_hand",
            "load": {"value": 16.0, "unit": "kg", "made_of": ["Rack", "16 kg"]},
            "sets": 1,
            "reps": 9,
            "reps_low": 8,
            "reps_high": 12,
            "reserve_low": 1.0,
            "reserve_high": 3.0,
            "expected_reserve": 3.09,
            "p_wanted": 0.6317,
            "p_too_hard": 0.0977,
            "expected_reps": {
                "value": 12.09,
                "unit": "{reps}",
                "sd": 1.54,
                "interval": {"lower": 10.0244, "upper": 14.0465, "mass": 0.8, "kind": "prediction"},
                "statistic": "median",
            },
            "policy": "add_repetitions_then_load",
            "warm_up": [],
            "alternatives": [
                {
                    "load": {"value": 14.0, "unit": "kg", "made_of": ["Rack", "14 kg"]},
                    "reps": 12,
                    "expected_reserve": 5.74,
                    "p_wanted": 0.1596,
                    "p_too_hard": 0.0011,
                },
                {
                    "load": {"value": 18.0, "unit": "kg", "made_of": ["Rack", "18 kg"]},
                    "reps": 8,
                    "expected_reserve": 0.0,
                    "p_wanted": 0.1744,
                    "p_too_hard": 0.8247,
                },
            ],
            "fitting_load": {
                "value": 17.0404,
                "unit": "kg",
                "sd": 0.6203,
                "interval": {"lower": 16.2645, "upper": 17.8534, "mass": 0.8, "kind": "prediction"},
                "statistic": "median",
            },
            "basis": {"observation_count": 14, "prior_share": 0.0751, "newest_at": "2026-11-27T17:29:36Z"},
            "reasons": [
                {
                    "code": "progression_fewer_repetitions",
                    "text": "Stay at this load with 9 repetitions: more would be too likely to leave less in "
                    "reserve than wanted.",
                    "params": {"reps": 9},
                },
                {
                    "code": "load_progression_sets_done",
                    "text": "2 of 3 working sets are done today.",
                    "params": {"done": 2, "planned": 3},
                },
                {
                    "code": "progression_chance_of_wanted_effort",
                    "text": "The chance that this feels as wanted is 63 %, that it is too hard 10 %.",
                    "params": {"p_wanted_percent": 63.1651, "p_too_hard_percent": 9.767},
                },
            ],
            "cautions": [
                {
                    "code": "guidance_not_diagnosis",
                    "urgency": "heed",
                    "text": "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
                    "params": {},
                },
                {
                    "code": "ramp_up",
                    "urgency": "heed",
                    "text": "Warm up on the first lift: half the load for 6, 70 % for 4 and 85 % for 2 "
                    "repetitions.",
                    "params": {},
                },
            ],
            "sources": ["Acsm2009", "BaechleEarle2008", "Day2023", "Halperin2022", "Lopes2014", "Senna2011"],
            "sets_done": 2,
            "drop_set": {
                "decision": "do",
                "text": "Dumbbell curl: after the set to failure drop at once to 10 kg then 6 kg, each "
                "until no further repetition would go: 10 or more.",
                "opening_reps": 12,
                "drops": [
                    {
                        "load": {"value": 10.0, "unit": "kg", "made_of": ["Rack", "10 kg"]},
                        "drop_percent": 37.5,
                        "expected_reps": {
                            "value": 17.6,
                            "unit": "{reps}",
                            "sd": 7.33,
                            "interval": {
                                "lower": 10.5583,
                                "upper": 29.337,
                                "mass": 0.8,
                                "kind": "prediction",
                            },
                            "statistic": "median",
                        },
                        "p_reached": 0.9219,
                        "curve_alone_reps": 24.3,
                    },
                    {
                        "load": {"value": 6.0, "unit": "kg", "made_of": ["Rack", "6 kg"]},
                        "drop_percent": 40.0,
                        "expected_reps": {
                            "value": 27.03,
                            "unit": "{reps}",
                            "sd": 11.25,
                            "interval": {
                                "lower": 16.2153,
                                "upper": 45.0554,
                                "mass": 0.8,
                                "kind": "prediction",
                            },
                            "statistic": "median",
                        },
                        "p_reached": 0.9937,
                        "curve_alone_reps": 36.0,
                    },
                ],
                "total_reps": {
                    "value": 56.63,
                    "unit": "{reps}",
                    "sd": 18.58,
                    "interval": {"lower": 38.7736, "upper": 86.3924, "mass": 0.8, "kind": "prediction"},
                    "statistic": "median",
                },
                "minutes": 1.78,
                "hard_sets": {"value": 2.0, "sd": 0.5},
                "own_factor": {"value": 1.0, "ln_sd": 0.35, "prior_share": 1.0},
                "reasons": [
                    {
                        "code": "drops_heaviest_that_reach",
                        "text": "Each drop goes to the heaviest load there that reaches 10 "
                        "repetitions with a chance of at least 92 %.",
                        "params": {"reps": 10, "p_percent": 92.1876},
                    },
                    {
                        "code": "drops_practice_expects_more",
                        "text": "Practice expects 10 or more after taking off 13 to 20 %; this model "
                        "expects 4 to 7 there, so the drops are larger.",
                        "params": {
                            "from_percent": 13.0,
                            "to_percent": 20.0,
                            "low": 4.2776,
                            "high": 6.6776,
                            "reps": 10,
                        },
                    },
                ],
                "cautions": [
                    {
                        "code": "drop_sets_on_machines",
                        "urgency": "heed",
                        "text": "Do drop sets on machines or with dumbbells before you try them with a bar.",
                        "params": {},
                    },
                    {
                        "code": "guidance_not_diagnosis",
                        "urgency": "heed",
                        "text": "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
                        "params": {},
                    },
                ],
            },
        }
    ],
    "position": "18",
    "model_version": "load-progression/5",
    "as_of": "2026-11-27T18:20:00Z",
    "session_id": "01937b5c-7a00-7000-8000-0000000000c3",
    "site_id": "01937b5c-7a00-7000-8000-0000000000b2",
    "valid_until": "2026-11-27T19:00:00Z",
}
