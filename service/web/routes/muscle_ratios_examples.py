"""The example of the ratios: what an invented athlete of the contract tests gets."""

from typing import Any

_ALIKE: dict[str, Any] = {
    "code": "ratios_device_alike",
    "text": (
        "Both lifts were done on the same device (cable) and are compared at 10 repetitions; lever arms still"
        " differ, so compare it with your own earlier ratios only."
    ),
    "params": {"device": "cable", "repetitions": 10.0},
}
_NO_CUT: dict[str, Any] = {
    "code": "ratios_no_cut",
    "urgency": "heed",
    "text": (
        "A ratio changes with the device, the mode and the speed more than people differ; no number of it is "
        "good or bad, and it does not say that you will get hurt."
    ),
    "params": {},
}
MUSCLE_RATIOS: dict[str, Any] = {
    "items": [
        {
            "pair": "elbow_flexion_extension",
            "joint": "elbow",
            "side": "left",
            "reps": 10,
            "device": {"name": "cable", "site_id": "0192e4a0-0000-7000-8000-000000000001"},
            "mode": "repetitions, one_sided, load as total",
            "over": {
                "action": "elbow_flexion",
                "exercise_id": "one-arm-cable-curl",
                "exercise_name": "One-arm cable curl",
                "load": {
                    "value": 15.6717,
                    "unit": "kg",
                    "sd": 0.4936,
                    "interval": {"lower": 15.0522, "upper": 16.3167, "mass": 0.8, "kind": "credible"},
                    "statistic": "median",
                },
                "trained_repetitions": 10.0,
                "basis": {"observation_count": 8, "prior_share": 0.0533, "newest_at": "2026-11-24T18:20:00Z"},
            },
            "under": {
                "action": "elbow_extension",
                "exercise_id": "one-arm-cable-pressdown",
                "exercise_name": "One-arm cable pressdown",
                "load": {
                    "value": 20.896,
                    "unit": "kg",
                    "sd": 0.6578,
                    "interval": {"lower": 20.0704, "upper": 21.7555, "mass": 0.8, "kind": "credible"},
                    "statistic": "median",
                },
                "trained_repetitions": 10.0,
                "basis": {"observation_count": 8, "prior_share": 0.0536, "newest_at": "2026-11-24T18:20:00Z"},
            },
            "ratio": {
                "value": 0.75,
                "unit": "1",
                "sd": 0.0334,
                "interval": {"lower": 0.7084, "upper": 0.794, "mass": 0.8, "kind": "credible"},
                "statistic": "median",
            },
            "reasons": [_ALIKE],
            "cautions": [_NO_CUT],
            "sources": ["Coombs2002", "Day2023", "Halperin2022", "Lopes2014", "Rosene2001", "Senna2011"],
        },
        {
            "pair": "elbow_flexion_extension",
            "joint": "elbow",
            "side": "right",
            "reps": 10,
            "device": {"name": "cable", "site_id": "0192e4a0-0000-7000-8000-000000000001"},
            "mode": "repetitions, one_sided, load as total",
            "over": {
                "action": "elbow_flexion",
                "exercise_id": "one-arm-cable-curl",
                "exercise_name": "One-arm cable curl",
                "load": {
                    "value": 15.7268,
                    "unit": "kg",
                    "sd": 0.4915,
                    "interval": {"lower": 15.1097, "upper": 16.369, "mass": 0.8, "kind": "credible"},
                    "statistic": "median",
                },
                "trained_repetitions": 10.0,
                "basis": {"observation_count": 8, "prior_share": 0.0533, "newest_at": "2026-11-24T18:20:00Z"},
            },
            "under": {
                "action": "elbow_extension",
                "exercise_id": "one-arm-cable-pressdown",
                "exercise_name": "One-arm cable pressdown",
                "load": {
                    "value": 20.9704,
                    "unit": "kg",
                    "sd": 0.6547,
                    "interval": {"lower": 20.1485, "upper": 21.8258, "mass": 0.8, "kind": "credible"},
                    "statistic": "median",
                },
                "trained_repetitions": 10.0,
                "basis": {"observation_count": 8, "prior_share": 0.0536, "newest_at": "2026-11-24T18:20:00Z"},
            },
            "ratio": {
                "value": 0.75,
                "unit": "1",
                "sd": 0.0332,
                "interval": {"lower": 0.7087, "upper": 0.7936, "mass": 0.8, "kind": "credible"},
                "statistic": "median",
            },
            "reasons": [_ALIKE],
            "cautions": [_NO_CUT],
            "sources": ["Coombs2002", "Day2023", "Halperin2022", "Lopes2014", "Rosene2001", "Senna2011"],
        },
    ],
    "position": "16",
    "model_version": "muscle-ratios/1",
    "as_of": "2026-11-27T18:20:00Z",
    "not_computed": [],
    "cautions": [_NO_CUT],
    "valid_until": "2026-11-27T19:00:00Z",
}
