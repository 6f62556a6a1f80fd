"""Trends as the service computed them for invented athletes; a test computes them again."""

from typing import Any

LEG_PRESS: dict[str, Any] = {
    "position": "42",
    "model_version": "trend/3",
    "as_of": "2026-11-27T18:20:00Z",
    "weeks": 8,
    "items": [
        {
            "scope": "exercise",
            "exercise_id": "leg-press",
            "exercise_name": "Leg press",
            "side": "both",
            "repetitions": 10.0,
            "points": [
                {
                    "at": "2026-10-30T18:20:00Z",
                    "change": {
                        "value": 0.0,
                        "unit": "%",
                        "sd": 0.0,
                        "interval": {"lower": -0.0001, "upper": 0.0001, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                },
                {
                    "at": "2026-11-03T18:20:00Z",
                    "change": {
                        "value": 1.8296,
                        "unit": "%",
                        "sd": 2.7304,
                        "interval": {"lower": -1.6107, "upper": 5.389, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                },
                {
                    "at": "2026-11-06T18:20:00Z",
                    "change": {
                        "value": 3.1933,
                        "unit": "%",
                        "sd": 3.0171,
                        "interval": {"lower": -0.604, "upper": 7.1309, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                },
                {
                    "at": "2026-11-10T18:20:00Z",
                    "change": {
                        "value": 4.9393,
                        "unit": "%",
                        "sd": 3.4947,
                        "interval": {"lower": 0.548, "upper": 9.5079, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                },
                {
                    "at": "2026-11-13T18:20:00Z",
                    "change": {
                        "value": 6.1856,
                        "unit": "%",
                        "sd": 3.8972,
                        "interval": {"lower": 1.2951, "upper": 11.2878, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                },
                {
                    "at": "2026-11-17T18:20:00Z",
                    "change": {
                        "value": 7.8036,
                        "unit": "%",
                        "sd": 4.4703,
                        "interval": {"lower": 2.2054, "upper": 13.669, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                },
                {
                    "at": "2026-11-20T18:20:00Z",
                    "change": {
                        "value": 8.9822,
                        "unit": "%",
                        "sd": 4.9201,
                        "interval": {"lower": 2.8314, "upper": 15.4496, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                },
                {
                    "at": "2026-11-24T18:20:00Z",
                    "change": {
                        "value": 10.5001,
                        "unit": "%",
                        "sd": 5.5411,
                        "interval": {"lower": 3.5907, "upper": 17.803, "mass": 0.8, "kind": "credible"},
                        "statistic": "median",
                    },
                },
            ],
            "state": "progress",
            "change": {
                "value": 10.5001,
                "unit": "%",
                "sd": 5.5411,
                "interval": {"lower": 3.5907, "upper": 17.803, "mass": 0.8, "kind": "credible"},
                "statistic": "median",
            },
            "weekly_change": {
                "value": 2.8351,
                "unit": "%",
                "sd": 1.5515,
                "interval": {"lower": 0.9927, "upper": 4.6945, "mass": 0.8, "kind": "credible"},
                "statistic": "median",
            },
            "p_progress": 0.9432,
            "p_regression": 0.0088,
            "p_stall": 0.048,
            "smallest_worthwhile": 2.0201,
            "sessions": 8,
            "from": "2026-10-30T18:20:00Z",
            "to": "2026-11-24T18:20:00Z",
            "basis": {
                "observation_count": 8,
                "prior_share": 0.7089,
                "newest_at": "2026-11-24T18:20:00+00:00",
            },
            "reasons": [
                {
                    "code": "trend_progress",
                    "text": "The load you can lift for these repetitions rose by 10.5 % over 3.6 weeks "
                    "(between 3.6 and 17.8 %); the chance that it rose by more than 2.0 % is 94 "
                    "%.",
                    "params": {
                        "percent": 10.5001,
                        "lower": 3.5907,
                        "upper": 17.803,
                        "weeks": 3.5714,
                        "chance": 94.3198,
                        "smallest": 2.0201,
                    },
                },
                {
                    "code": "trend_mostly_learning",
                    "text": "Fast gains at the start are mostly learning the lift, and they fade.",
                    "params": {},
                },
            ],
            "cautions": [],
            "sources": ["Rauch1965", "Littell1996"],
        }
    ],
    "reasons": [],
    "easier_week": {
        "suggestion": "no_need",
        "p_tired": 0.055,
        "in_weeks": {
            "value": 2.6,
            "unit": "wk",
            "sd": 2.3,
            "interval": {"lower": 0.0, "upper": 5.5476, "mass": 0.8, "kind": "credible"},
            "statistic": "median",
        },
        "lasts": {
            "value": 6.4,
            "unit": "d",
            "sd": 1.7,
            "interval": {"lower": 4.2214, "upper": 8.5786, "mass": 0.8, "kind": "credible"},
            "statistic": "median",
        },
        "sets_share": {
            "value": 0.5,
            "unit": "1",
            "sd": 0.117,
            "interval": {"lower": 0.35, "upper": 0.65, "mass": 0.8, "kind": "credible"},
            "statistic": "median",
        },
        "least_reserve": 3.0,
        "weeks_in_a_row": 3,
        "reasons": [
            {
                "code": "trend_easier_week_no_need",
                "text": "Nothing in the log speaks for a week of fewer sets now.",
                "params": {},
            },
            {
                "code": "trend_weeks_in_a_row",
                "text": "Weeks of work in a row without an easier one: 3. Coaches take one "
                "about every 5.6 weeks, give or take 2.3 (from memory).",
                "params": {"weeks": 3, "usual": 5.6, "spread": 2.3},
            },
        ],
        "sources": ["Bell2023", "Coleman2024", "ReducedWeeks2026", "Spiering2021"],
    },
    "due_checks": [],
    "cautions": [
        {
            "code": "guidance_not_diagnosis",
            "urgency": "heed",
            "text": "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
            "params": {},
        }
    ],
    "valid_until": "2026-11-27T19:00:00Z",
}

AFTER_A_BREAK: dict[str, Any] = {
    "position": "42",
    "model_version": "trend/3",
    "as_of": "2026-11-27T18:20:00Z",
    "weeks": 8,
    "items": [
        {
            "scope": "exercise",
            "exercise_id": "bench-press",
            "exercise_name": "Bench press",
            "side": "both",
            "repetitions": 8.0,
            "state": "not_decided",
            "smallest_worthwhile": 2.0201,
            "sessions": 1,
            "from": "2026-11-26T18:20:00Z",
            "to": "2026-11-26T18:20:00Z",
            "basis": {"observation_count": 1, "prior_share": 1.0, "newest_at": "2026-11-26T18:20:00+00:00"},
            "reasons": [
                {
                    "code": "trend_break",
                    "text": "There was a break of 20 days. Only sessions after it are compared: what a "
                    "break takes is no regression, and what comes back after it comes back "
                    "fast.",
                    "params": {"days": 20.0},
                },
                {
                    "code": "trend_too_few",
                    "text": "Too few sessions to compare: 1. Three are needed.",
                    "params": {"sessions": 1},
                },
            ],
            "cautions": [],
            "sources": ["Rauch1965", "Littell1996"],
        }
    ],
    "reasons": [],
    "easier_week": {
        "suggestion": "not_decided",
        "lasts": {
            "value": 6.4,
            "unit": "d",
            "sd": 1.7,
            "interval": {"lower": 4.2214, "upper": 8.5786, "mass": 0.8, "kind": "credible"},
            "statistic": "median",
        },
        "sets_share": {
            "value": 0.5,
            "unit": "1",
            "sd": 0.117,
            "interval": {"lower": 0.35, "upper": 0.65, "mass": 0.8, "kind": "credible"},
            "statistic": "median",
        },
        "least_reserve": 3.0,
        "weeks_in_a_row": 0,
        "reasons": [
            {
                "code": "trend_easier_week_not_decided",
                "text": "Too little is known to say whether a week of fewer sets would pay.",
                "params": {},
            }
        ],
        "sources": ["Bell2023", "Coleman2024", "ReducedWeeks2026", "Spiering2021"],
    },
    "due_checks": [],
    "cautions": [
        {
            "code": "guidance_not_diagnosis",
            "urgency": "heed",
            "text": "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
            "params": {},
        }
    ],
    "valid_until": "2026-11-27T19:00:00Z",
}
