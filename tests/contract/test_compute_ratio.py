"""The ratio of two opposing muscle groups, computed from trials over HTTP."""

from math import exp, log, sqrt
from typing import Any

import numpy as np
import pytest
from scipy.stats import t as student
from starlette.testclient import TestClient

from tests.world import World

Json = dict[str, Any]


@pytest.fixture(scope="module")
def client(shared_world: World) -> TestClient:
    return shared_world.client(shared_world.key(shared_world.tenant(), ("compute",)))


def asks(client: TestClient, over: Json, under: Json, status: int = 200, **settings: Any) -> Json:
    how = {"device": "dynamometer", "mode": "isokinetic-60", "unit": "N"}
    body = {"screening": "clear", "over": {**how, **over}, "under": {**how, **under}, **settings}
    got = client.post("/v1/compute/muscle-ratio", json=body)
    assert got.status_code == status, got.text
    found: Json = got.json()
    return found


def test_the_ratio_has_the_interval_of_the_two_sample_t_of_the_logs(client: TestClient) -> None:
    over, under = [96.0, 99.0, 97.5], [171.0, 166.0]
    told = asks(client, {"trials": over}, {"trials": under}, mass=0.9)
    logs = np.log(over), np.log(under)
    pooled = sum(((one - one.mean()) ** 2).sum() for one in logs) / 3
    reach = student.ppf(0.95, 3) * sqrt(pooled * (1 / 3 + 1 / 2))
    middle = logs[0].mean() - logs[1].mean()
    assert told["ratio"]["value"] == pytest.approx(exp(middle), abs=1e-6)
    interval = told["ratio"]["interval"]
    assert (interval["lower"], interval["upper"]) == pytest.approx(
        (exp(middle - reach), exp(middle + reach)), abs=1e-4
    )
    assert told["ratio"]["degrees_of_freedom"] == 3


def test_turned_round_it_is_its_inverse(client: TestClient) -> None:
    one, other = (
        asks(client, {"trials": first, "trial_sd": 0.05}, {"trials": second, "trial_sd": 0.05})["ratio"]
        for first, second in (([60.0], [100.0]), ([100.0], [60.0]))
    )
    assert log(one["value"]) == pytest.approx(-log(other["value"]), abs=1e-5)
    assert one["interval"]["lower"] == pytest.approx(1 / other["interval"]["upper"], abs=1e-3)


def test_a_single_trial_each_has_no_interval_and_says_why(client: TestClient) -> None:
    told = asks(client, {"trials": [60]}, {"trials": [100]})
    assert told["ratio"] == {"value": 0.6, "definition": "one_trial"}
    assert told["reasons"][0]["code"] == "compute_no_error_given"
    assert "ratios_no_cut" in {one["code"] for one in told["cautions"]}


def test_pounds_of_force_are_converted(client: TestClient) -> None:
    told = asks(client, {"trials": [10], "unit": "[lbf_av]"}, {"trials": [44.482216152605]})
    assert told["ratio"]["value"] == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize(
    ("under", "pointer", "code"),
    [
        ({"device": "cable"}, "#/under/device", "mixed_devices"),
        ({"mode": "isokinetic-240"}, "#/under/mode", "mixed_modes"),
        ({"side": "left"}, "#/under/side", "mixed_sides"),
        ({"reps": 8}, "#/under/reps", "mixed_repetitions"),
        ({"unit": "kg"}, "#/under/unit", "mixed_units"),
        ({"trials": [100, 0, 99]}, "#/under/trials/1", "trial_of_nothing"),
        ({"trials": [100, 9.9, 99]}, "#/under/trials/1", "trial_far_off"),
        ({"trials": [0]}, "#/under/trials", "trial_of_nothing"),
    ],
)
def test_what_was_not_measured_alike_is_refused(
    client: TestClient, under: Json, pointer: str, code: str
) -> None:
    problem = asks(client, {"trials": [60]}, {"trials": [100], **under}, status=409)
    assert problem["code"] == "not_possible"
    assert [(one["pointer"], one["code"]) for one in problem["errors"]] == [(pointer, code)]


def test_the_device_and_the_mode_must_be_told(client: TestClient) -> None:
    body = {"over": {"trials": [60]}, "under": {"trials": [100]}}
    assert client.post("/v1/compute/muscle-ratio", json=body).status_code == 422
