"""Examples of recovery for two invented athletes; hours ahead are reckoned from the numbers beside them."""

from typing import Any

from service.usecases.answers.recovery import HOURS_AHEAD


def _estimate(value: float, unit: str, sd: float, lower: float, upper: float) -> dict[str, Any]:
    interval = {"lower": lower, "upper": upper, "mass": 0.8, "kind": "credible"}
    return {"value": value, "unit": unit, "sd": sd, "interval": interval, "statistic": "median"}


def _ahead(*chances: float) -> list[dict[str, float]]:
    return [{"hours": hours, "p_ready": chance} for hours, chance in zip(HOURS_AHEAD, chances, strict=True)]


def _answer(position: str, item: dict[str, Any]) -> dict[str, Any]:
    """Both sides did the same, so both read the same."""
    return {
        "at": "2026-11-27T18:20:00+00:00",
        "items": [item, {**item, "side": "right"}],
        "cautions": [
            {
                "code": "guidance_not_diagnosis",
                "urgency": "heed",
                "text": "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
                "params": {},
            }
        ],
        "position": position,
        "model_version": "recovery/4",
        "as_of": "2026-11-27T18:20:00Z",
        "valid_until": "2026-11-27T19:00:00Z",
    }


_SOURCES = ("Korak2015", "MoranNavarro2017", "Bartolomei2017", "Helland2020", "Clarke2013")
LEARNED = _answer(
    "238",
    {
        "kind": "muscle",
        "muscle_id": "pectoralis-major-sternal",
        "side": "left",
        "p_ready": 0.5572,
        "ready_ahead": _ahead(0.5572, 0.8362, 0.9526, 0.9871, 0.9964, 0.9997, 1.0),
        "hours_until_ready": _estimate(0.0, "h", 11.2315, 0.0, 28.7874),
        "residual_fatigue": _estimate(0.9176, "{reps}", 0.5912, 0.3964, 1.9117),
        "decay_time": _estimate(23.4403, "h", 8.4956, 15.2905, 35.934),
        "sets_ready_by_next": {
            "hard_sets": 3.75,
            "interval": {"lower": 1.75, "upper": 8.75, "mass": 0.8, "kind": "credible"},
            "p_ready": 0.8,
            "hours_to_next": 48.0,
            "reason": {
                "code": "recovery_sets_ready",
                "text": "After up to 3.7 hard sets you are back within one repetition 48 hours later, with a chance of 80 %.",
                "params": {"sets": 3.7471, "hours": 48.0, "percent": 80.0},
            },
        },
        "basis": {"observation_count": 50, "prior_share": 0.4683, "newest_at": "2026-11-25T18:20:00+00:00"},
        "reasons": [
            {
                "code": "recovery_chance",
                "text": "The chance of being within one repetition of your usual is 56 %.",
                "params": {"percent": 55.7195},
            },
            {
                "code": "recovery_last_session",
                "text": "The last session was 48 hours ago, with 7.0 hard sets.",
                "params": {"hours": 48.0, "sets": 7.0},
            },
            {
                "code": "recovery_learned",
                "text": "Learned from 43 of your own next sessions: 53 % of it is yours, the rest is people in general.",
                "params": {"sessions": 43, "percent": 53.1665},
            },
            {
                "code": "recovery_slower_after_failure",
                "text": "Sets to failure take longer to recover from.",
                "params": {},
            },
        ],
        "sources": list(_SOURCES),
    },
)
NEW_ATHLETE = _answer(
    "9",
    {
        "kind": "muscle",
        "muscle_id": "pectoralis-major-sternal",
        "side": "left",
        "p_ready": 0.1935,
        "ready_ahead": _ahead(0.1935, 0.4402, 0.6424, 0.7783, 0.8632, 0.9467, 0.9781),
        "hours_until_ready": _estimate(15.1643, "h", 21.796, 0.0, 55.8654),
        "residual_fatigue": _estimate(1.728, "{reps}", 1.1275, 0.7499, 3.6397),
        "decay_time": _estimate(28.0, "h", 16.9092, 14.7527, 53.1427),
        "sets_not_known": {
            "code": "recovery_no_second_session",
            "text": "Not known yet: it takes two sessions with hard sets to tell how long there is until the next.",
            "params": {},
        },
        "basis": {"observation_count": 1, "prior_share": 1.0, "newest_at": "2026-11-27T00:20:00+00:00"},
        "reasons": [
            {
                "code": "recovery_chance",
                "text": "The chance of being within one repetition of your usual is 19 %.",
                "params": {"percent": 19.3487},
            },
            {
                "code": "recovery_last_session",
                "text": "The last session was 18 hours ago, with 5.0 hard sets.",
                "params": {"hours": 18.0, "sets": 5.0},
            },
        ],
        "sources": list(_SOURCES),
    },
)
