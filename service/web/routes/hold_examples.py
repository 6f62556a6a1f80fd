"""Answers on a carry, as the service gave them for an invented athlete; lists are shortened."""

from service.usecases.documents import Document

CAPABILITY_OF_CARRY: Document = {
    "items": [
        {
            "exercise_id": "farmer-carry",
            "exercise_name": "Farmer carry",
            "side": "both",
            "loads": [],
            "loads_by_length": [
                {
                    "length": {"value": 30.0, "unit": "m"},
                    "load": {
                        "value": 33.4846,
                        "unit": "kg",
                        "sd": 3.9838,
                        "interval": {"lower": 28.7947, "upper": 38.9383, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                    "load_basis": "per_hand",
                    "extrapolated": False,
                },
                {
                    "length": {"value": 45.0, "unit": "m"},
                    "load": {
                        "value": 27.4535,
                        "unit": "kg",
                        "sd": 2.5947,
                        "interval": {"lower": 24.3412, "upper": 30.9637, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                    "load_basis": "per_hand",
                    "extrapolated": False,
                },
            ],
            "trained_length": {"value": 42.7, "unit": "m"},
            "basis": {"observation_count": 6, "prior_share": 0.2112, "newest_at": "2026-11-24T18:20:00Z"},
            "reasons": [
                {
                    "code": "capability_length_extrapolated",
                    "text": "You train about 43 m; a load for much more or much less is an extrapolation, and "
                    "its interval is wider for it.",
                    "params": {"trained": 43, "unit": "m"},
                }
            ],
            "cautions": [
                {
                    "code": "guidance_not_diagnosis",
                    "urgency": "heed",
                    "text": "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
                    "params": {},
                }
            ],
            "sources": ["FreyLaw2012", "FreyLawAvin2010", "Halperin2022", "Senna2011"],
        }
    ],
    "position": "9",
    "model_version": "capability/5",
    "as_of": "2026-11-27T18:20:00Z",
    "valid_until": "2026-11-27T19:00:00Z",
}
NEXT_CARRY: Document = {
    "items": [
        {
            "action": {"code": "add_length", "text": "Farmer carry: 2 x 55 m with 24 kg in each hand."},
            "exercise_id": "farmer-carry",
            "exercise_name": "Farmer carry",
            "side": "both",
            "decision": "do",
            "load_basis": "per_hand",
            "load": {"value": 24.0, "unit": "kg", "made_of": ["Rack", "24 kg"]},
            "sets": 2,
            "distance_m": 55.0,
            "p_wanted": 0.6404,
            "p_too_hard": 0.3596,
            "expected_length": {
                "value": 59.1879,
                "unit": "m",
                "sd": 12.4758,
                "interval": {"lower": 45.5952, "upper": 78.1119, "mass": 0.8, "kind": "prediction"},
                "statistic": "median",
            },
            "policy": "add_repetitions_then_load",
            "basis": {"observation_count": 6, "prior_share": 0.2112, "newest_at": "2026-11-24T18:20:00Z"},
            "reasons": [
                {
                    "code": "timed_longer",
                    "text": "A little longer than last time: 55 m. At 60 m the load rises.",
                    "params": {"longest": 60.0, "length": 55.0, "unit": "m", "days": 3.0},
                },
                {
                    "code": "timed_chance_of_length",
                    "text": "The chance to reach it is 64 %.",
                    "params": {"p_percent": 64.0373},
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
            "sources": [
                "Acsm2009",
                "BaechleEarle2008",
                "FreyLaw2012",
                "FreyLawAvin2010",
                "Halperin2022",
                "Senna2011",
            ],
        }
    ],
    "position": "9",
    "model_version": "load-progression/5",
    "as_of": "2026-11-27T18:20:00Z",
    "site_id": "01937b5c-7a00-7000-8000-0000000000b2",
    "inventory_etag": '"1"',
    "valid_until": "2026-11-27T19:00:00Z",
}
