"""Computing from a body alone, over HTTP: formulas and indices against published values, plate sums in both units.

Published values: ``tests/published/one_rep_max/bare_equations.csv`` and ``tests/published/symmetry/indices.csv``, each
row with its source. Plate sums: arithmetic on the exact pound [Astin1959]_.
"""

import csv
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.world import World

Json = dict[str, Any]
_PUBLISHED = Path(__file__).parents[1] / "published"
#: Repetitions up to which each formula is used: above, the bare equation has a value that is not served.
_LONGEST = {
    "epley": 10, "brzycki": 10, "lander": 10, "oconner": 10, "lombardi": 20, "mayhew": 20, "wathen": 20, "kemmler": 20,
}  # fmt: skip


def _rows(*path: str) -> list[dict[str, str]]:
    return list(csv.DictReader(_PUBLISHED.joinpath(*path).read_text().splitlines()))


@pytest.fixture(scope="module")
def client(shared_world: World) -> TestClient:
    return shared_world.signed_in()


def asks(client: TestClient, what: str, body: Json, status: int = 200) -> Json:
    got = client.post(f"/v1/compute/{what}", json={"screening": "clear", **body})
    assert got.status_code == status, got.text
    found: Json = got.json()
    return found


def codes(told: list[Json]) -> set[str]:
    return {one["code"] for one in told}


def _set(reps: float, *formulas: str, load: float = 100, unit: str = "kg") -> Json:
    body: Json = {"load": {"value": load, "unit": unit}, "reps": reps}
    return {**body, "formulas": list(formulas)} if formulas else body


def test_every_formula_gives_its_published_value_within_its_range(client: TestClient) -> None:
    checked = set()
    for row in _rows("one_rep_max", "bare_equations.csv"):
        reps, formula = float(row["repetitions"]), row["formula"]
        if row["form"] != "main" or not 1 < reps <= _LONGEST[formula] or (formula == "kemmler" and reps < 3):
            continue
        told = asks(client, "one-rep-max", _set(reps, formula, load=float(row["load_kg"])))
        maximum = told["results"][0]["one_rep_max"]
        assert maximum["value"] == pytest.approx(float(row["expected_kg"]), abs=0.006), row
        checked.add(formula)
    assert checked == set(_LONGEST)


def test_one_repetition_is_the_maximum_whichever_formula_is_asked(client: TestClient) -> None:
    told = asks(client, "one-rep-max", _set(1))
    assert [one["one_rep_max"] for one in told["results"]] == [{"value": 100, "unit": "kg"}] * 8
    assert told["refused"] == []


def test_a_formula_outside_its_range_is_refused_with_the_reason(client: TestClient) -> None:
    told = asks(client, "one-rep-max", _set(15))
    assert {one["formula"] for one in told["results"]} == {"lombardi", "mayhew", "wathen", "kemmler"}
    assert {one["formula"] for one in told["refused"]} == {"epley", "brzycki", "lander", "oconner"}
    assert all("15 repetitions" in one["reason"]["text"] for one in told["refused"])
    assert told["spread"]["lowest"]["value"] < told["spread"]["highest"]["value"]
    assert {"one_rep_max_computed_not_lifted", "spotter_or_bars", "guidance_not_diagnosis"} <= codes(
        told["cautions"]
    )


def test_where_no_asked_formula_holds_nothing_is_answered(client: TestClient) -> None:
    refused = asks(client, "one-rep-max", _set(12, "epley", "brzycki"), status=409)
    assert refused["code"] == "outside_valid_range"
    assert [fault["pointer"] for fault in refused["errors"]] == ["#/reps", "#/reps"]


def test_a_maximum_in_pounds_is_the_same_maximum(client: TestClient) -> None:
    pounds = asks(client, "one-rep-max", _set(5, "epley", load=225, unit="lb"))["results"][0]["one_rep_max"]
    assert pounds == {"value": 262.5, "unit": "lb"}
    kilograms = asks(client, "one-rep-max", {**_set(5, "epley", load=225, unit="lb"), "unit": "kg"})
    assert kilograms["results"][0]["one_rep_max"]["value"] == pytest.approx(262.5 * 0.45359237, abs=0.0005)


LB_GYM = [
    {"kind": "bar", "name": "Bar", "mass": {"value": 45, "unit": "lb"}},
    {"kind": "plate_pairs", "name": "45s", "mass": {"value": 45, "unit": "lb"}, "pairs": 2},
    {"kind": "plate_pairs", "name": "10s", "mass": {"value": 10, "unit": "lb"}, "pairs": 1},
    {"kind": "plate_pairs", "name": "2.5s", "mass": {"value": 2.5, "unit": "lb"}, "pairs": 1},
]


def test_plates_in_pounds_add_up_to_whole_pounds(client: TestClient) -> None:
    told = asks(client, "loadable", {"items": LB_GYM, "target": {"value": 160, "unit": "lb"}})
    assert told["at"]["value"] == 160
    assert told["at"]["made_of"] == ["Bar 45 lb", "45 lb", "10 lb", "2.5 lb"]
    assert (told["below"]["value"], told["above"]["value"]) == (155, 225)
    assert told["reasons"][0]["text"] == "160 lb can be made here."


def test_plates_of_both_units_are_added_exactly(client: TestClient) -> None:
    mixed = [*LB_GYM, {"kind": "plate_pairs", "name": "kg", "mass": {"value": 5, "unit": "kg"}, "pairs": 1}]
    told = asks(client, "loadable", {"items": mixed, "target": {"value": 50, "unit": "kg"}, "unit": "kg"})
    wanted = [45 * 0.45359237 + 2 * (10 * 0.45359237 + 5), 45 * 0.45359237 + 2 * (10 + 2.5) * 0.45359237 + 10]
    loads = [load["value"] for load in told["loads"]]
    assert all(any(load == pytest.approx(one, abs=0.0005) for load in loads) for one in wanted)
    assert told["below"]["value"] < 50 < told["above"]["value"]


def test_a_span_gives_every_load_within_it(client: TestClient) -> None:
    rack = {"kind": "dumbbells", "name": "Rack", "unit": "lb", "first": 5, "last": 50, "step": 5}
    span = {"lightest": {"value": 18, "unit": "lb"}, "heaviest": {"value": 35, "unit": "lb"}}
    told = asks(client, "loadable", {"items": [rack], "load_basis": "per_hand", **span})
    assert [load["value"] for load in told["loads"]] == [20, 25, 30, 35]
    assert told["left_out"] == 0


def test_a_pulley_halves_what_reaches_the_handle(client: TestClient) -> None:
    stack = {
        "kind": "stack", "name": "Cable", "station": "cable", "unit": "kg", "masses": [10, 20, 30], "add_ons": [2.5],
        "ratio": 0.5,
    }  # fmt: skip
    told = asks(client, "loadable", {"items": [stack], "target": {"value": 11, "unit": "kg"}})
    assert (told["below"]["value"], told["below"]["label"]) == (10, "20 kg")
    assert (told["above"]["value"], told["above"]["label"]) == (11.25, "20 kg + 2.5 kg")


def test_levels_come_as_labels_in_order(client: TestClient) -> None:
    station = {"kind": "levels", "name": "Row", "station": "old-row", "labels": ["light", "3", "heavy"]}
    told = asks(client, "loadable", {"items": [station], "load_basis": "level"})
    assert [(load["value"], load["unit"], load["label"]) for load in told["loads"]] == [
        (1, "{level}", "light"), (2, "{level}", "3"), (3, "{level}", "heavy"),
    ]  # fmt: skip


def test_what_cannot_be_made_is_said(client: TestClient) -> None:
    bench = [{"kind": "gear", "name": "Flat bench", "gear": "bench"}]
    refused = asks(client, "loadable", {"items": bench, "target": {"value": 20, "unit": "kg"}}, status=409)
    assert refused["code"] == "nothing_to_compute_on"
    told = asks(client, "loadable", {"items": LB_GYM, "target": {"value": 10, "unit": "lb"}})
    assert "below" not in told
    assert told["reasons"][0]["code"] == "compute_loadable_under_the_lightest"


def test_an_inventory_too_finely_divided_is_refused_in_words(client: TestClient) -> None:
    plates = [
        {"kind": "plate_pairs", "name": "p", "mass": {"value": 1 + n * 0.137, "unit": "kg"}, "pairs": 40}
        for n in range(12)
    ]
    span = {"heaviest": {"value": 2000, "unit": "kg"}}
    refused = asks(client, "loadable", {"items": [LB_GYM[0], *plates], **span}, status=409)
    assert (refused["code"], "too finely divided" in refused["detail"]) == ("outside_valid_range", True)


@pytest.mark.parametrize(
    "wish",
    [
        {}, {"target": {"value": 60, "unit": "lb"}, "lightest": {"value": 45, "unit": "lb"}},
        {"load_basis": "level", "target": {"value": 60, "unit": "lb"}},
    ],
)  # fmt: skip
def test_no_wish_or_two_for_a_load_are_not_possible(client: TestClient, wish: Json) -> None:
    assert asks(client, "loadable", {"items": LB_GYM, **wish}, status=409)["code"] == "not_possible"


@pytest.mark.parametrize(
    ("what", "body"),
    [
        ("one-rep-max", _set(5)),
        ("loadable", {"items": LB_GYM, "target": {"value": 160, "unit": "lb"}}),
        ("imbalance-indices", {"left": {"trials": [30]}, "right": {"trials": [33]}}),
    ],
)
@pytest.mark.parametrize(
    ("said", "urgency"),
    [
        ({"symptoms": ["chest_pain"]}, "emergency"),
        ({"symptoms": ["hot_joint"]}, "same_day"),
        ({"screening": "referred"}, "soon"),
    ],
)
def test_nothing_is_computed_for_someone_who_should_not_train(
    client: TestClient, what: str, body: Json, said: Json, urgency: str
) -> None:
    refused = asks(client, what, {**body, **said}, status=409)
    assert refused["code"] == "clearance_required"
    assert refused["cautions"][0]["urgency"] == urgency
    allowed = asks(client, what, {**body, "symptoms": ["night_pain"], "screening": "cleared"})
    assert {"flag_night_pain", "stay_inside_clearance", "guidance_not_diagnosis"} <= codes(
        allowed["cautions"]
    )


def test_computing_needs_its_scope(shared_world: World) -> None:
    outsider = shared_world.client(shared_world.key(shared_world.tenant(), ("answer:read",)))
    assert outsider.post("/v1/compute/one-rep-max", json=_set(5)).status_code == 403
