"""Examples of tolerance: what the service answered for two invented athletes."""

from typing import Any

PAINFUL_ARC: dict[str, Any] = {
    "action": {"code": "reduce", "text": "Take load or sets off where it hurts, and watch the next morning."},
    "items": [
        {
            "region": "shoulder",
            "side": "right",
            "exercise_id": "one-arm-lateral-raise",
            "zone": "reduce_and_watch",
            "action": "reduce",
            "during": 4.0,
            "sessions": [
                {
                    "at": "2026-11-25T18:20:00+00:00",
                    "worst": 4.0,
                    "during": 4.0,
                    "zone": "reduce_and_watch",
                }
            ],
            "bands": [{"from_deg": 70.0, "to_deg": 110.0, "phase": "lifting", "worst": 4.0}],
            "load_factor": 0.75,
            "hurt_at": {"value": 12.0, "unit": "kg", "load_basis": "per_hand"},
            "load_left": {"value": 9.0, "unit": "kg", "load_basis": "per_hand"},
            "set_factor": 1.0,
            "range_end_deg": 60.0,
            "increase_allowed": False,
            "basis": {"observation_count": 1, "prior_share": 0.0, "newest_at": "2026-11-25T18:20:00+00:00"},
            "reasons": [
                {
                    "code": "tolerance_pain_middle_zone",
                    "text": "Pain of 4 out of 10: take 25 % off the load at which it hurt and watch the next morning.",
                    "params": {"pain": 4.0, "load_percent": 25.0},
                },
                {
                    "code": "tolerance_pain_hurt_at",
                    "text": "It hurt at 12 kg (per hand).",
                    "params": {"load": "12 kg (per hand)"},
                },
                {
                    "code": "tolerance_pain_range_ends_before_arc",
                    "text": "Turn back at 60 degrees, before the painful part of the range.",
                    "params": {"end_deg": 60.0},
                },
                {
                    "code": "tolerance_pain_in_phase",
                    "text": "It was told for one phase of the repetition (lifting): go slowly there and watch that phase.",
                    "params": {"phase": "lifting"},
                },
            ],
            "cautions": [
                {
                    "code": "watch_next_morning",
                    "urgency": "heed",
                    "text": "Note how it feels tomorrow morning: that decides what comes next.",
                    "params": {},
                },
                {
                    "code": "guidance_not_diagnosis",
                    "urgency": "heed",
                    "text": "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
                    "params": {},
                },
            ],
            "sources": ["Silbernagel2007", "Thomee1997", "Salaffi2004"],
        }
    ],
    "stops_all_training": False,
    "stops_region": False,
    "reasons": [],
    "cautions": [
        {
            "code": "guidance_not_diagnosis",
            "urgency": "heed",
            "text": "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
            "params": {},
        }
    ],
    "due_checks": [],
    "joint_tests": [],
    "zones": {
        "go_up_to": 2.0,
        "watch_up_to": 5.0,
        "reason": {
            "code": "tolerance_zones",
            "text": "Pain 0-2 is go, 3-5 reduce and watch, above 5 stop; some versions of this model end the first zone at 3.",
            "params": {},
        },
    },
    "weeks": [
        {
            "first_day": "2026-11-23",
            "load": 0.0,
            "sd_convention": "population",
            "reasons": [
                {
                    "code": "tolerance_load_incomplete",
                    "text": "Sessions of the week without their RPE or minutes: 1. So this is a part of the load.",
                    "params": {"sessions": 1},
                }
            ],
        }
    ],
    "sources": [
        "Silbernagel2007",
        "Thomee1997",
        "Salaffi2004",
        "Foster1998",
        "Foster2001",
        "Lolli2019",
        "Williams2017",
    ],
    "position": "9",
    "model_version": "tolerance/4",
    "as_of": "2026-11-27T18:20:00Z",
    "valid_until": "2026-11-27T19:00:00Z",
}
LOCKING: dict[str, Any] = {
    "action": {
        "code": "rest_region",
        "text": "Rest the part that the warning sign is about, and have it looked at.",
    },
    "items": [
        {
            "region": "knee",
            "side": "left",
            "zone": "reduce_and_watch",
            "action": "rest_region",
            "during": 3.0,
            "sessions": [
                {"at": "2026-11-27T15:56:00+00:00", "worst": 3.0, "during": 3.0, "zone": "reduce_and_watch"}
            ],
            "bands": [],
            "load_factor": 0.0,
            "set_factor": 0.0,
            "increase_allowed": False,
            "basis": {"observation_count": 1, "prior_share": 0.0, "newest_at": "2026-11-27T15:56:00+00:00"},
            "reasons": [
                {
                    "code": "tolerance_rests_for_sign",
                    "text": "This rests because of the warning sign that you reported.",
                    "params": {},
                },
                {
                    "code": "tolerance_pain_middle_zone",
                    "text": "Pain of 3 out of 10: take 20 % off the load at which it hurt and watch the next morning.",
                    "params": {"pain": 3.0, "load_percent": 20.0},
                },
            ],
            "cautions": [
                {
                    "code": "watch_next_morning",
                    "urgency": "heed",
                    "text": "Note how it feels tomorrow morning: that decides what comes next.",
                    "params": {},
                },
                {
                    "code": "guidance_not_diagnosis",
                    "urgency": "heed",
                    "text": "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
                    "params": {},
                },
            ],
            "sources": ["Silbernagel2007", "Thomee1997", "Salaffi2004"],
        }
    ],
    "stops_all_training": False,
    "stops_region": True,
    "reasons": [
        {
            "code": "tolerance_flag_reported",
            "text": "You reported a warning sign (locking).",
            "params": {"flag": "locking"},
        }
    ],
    "cautions": [
        {
            "code": "flag_locking",
            "urgency": "soon",
            "text": "Stop this movement and see a clinician soon: a joint that locks.",
            "params": {},
        },
        {
            "code": "guidance_not_diagnosis",
            "urgency": "heed",
            "text": "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
            "params": {},
        },
    ],
    "due_checks": [
        {
            "kind": "next_morning_pain",
            "region": "knee",
            "side": "left",
            "due_from": "2026-11-27T21:56:00+00:00",
            "due_until": "2026-11-29T09:56:00+00:00",
            "reason": {
                "code": "tolerance_ask_next_morning",
                "text": "How was the knee the morning after? Until that is told, nothing rises.",
                "params": {"region": "knee"},
            },
        }
    ],
    "joint_tests": [],
    "zones": {
        "go_up_to": 2.0,
        "watch_up_to": 5.0,
        "reason": {
            "code": "tolerance_zones",
            "text": "Pain 0-2 is go, 3-5 reduce and watch, above 5 stop; some versions of this model end the first zone at 3.",
            "params": {},
        },
    },
    "weeks": [
        {
            "first_day": "2026-11-23",
            "load": 0.0,
            "sd_convention": "population",
            "reasons": [
                {
                    "code": "tolerance_load_week_not_over",
                    "text": "The week is not over, so how evenly it was spread is not told yet.",
                    "params": {},
                }
            ],
        }
    ],
    "sources": [
        "Silbernagel2007",
        "Thomee1997",
        "Salaffi2004",
        "Foster1998",
        "Foster2001",
        "Lolli2019",
        "Williams2017",
    ],
    "position": "4",
    "model_version": "tolerance/4",
    "as_of": "2026-11-27T18:20:00Z",
    "valid_until": "2026-11-27T19:00:00Z",
}
