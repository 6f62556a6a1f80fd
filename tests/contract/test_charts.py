"""Answers as charts over HTTP: the media type that was asked for, one document that stands alone, the answer's numbers."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from starlette.testclient import TestClient

from service.reports.charts import number
from service.web.charts import chart_if_asked
from tests.world import World

Json = dict[str, Any]
_SVG = "{http://www.w3.org/2000/svg}"
_TAKEN = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
_CONSENT = {"purpose": "process_health", "granted": True, "text_version": "invented-1"}


@pytest.fixture
def asked(shared_world: World, new_id: Callable[[], str]) -> Iterator[tuple[TestClient, str]]:
    """An invented athlete with girths of two sites, and where their sides are asked for."""
    shared_world.clock.instant = _TAKEN
    client = shared_world.signed_in()
    path = f"/v1/athletes/{new_id()}"
    assert client.put(path, json={"time_zone": "Europe/Riga"}).status_code == 201
    assert client.post(f"{path}/consents", json=_CONSENT).status_code == 201
    for site, left, right in (("mid-thigh", 55.0, 56.3), ("calf", 38.4, 37.5)):
        for side, cm in (("left", left), ("right", right)):
            body = {
                "kind": "girth", "at": (_TAKEN - timedelta(days=2)).isoformat(), "site": site, "side": side,
                "readings": [cm, cm + 0.1, cm - 0.1], "unit": "cm",
            }  # fmt: skip
            assert client.put(f"{path}/measurements/{new_id()}", json=body).status_code == 201
    yield client, f"{path}/imbalance-indices"
    shared_world.clock.instant = None


def _text_of(svg: str) -> str:
    return str(ET.fromstring(svg).findtext(f"{_SVG}desc"))  # noqa: S314


def test_the_chart_tells_the_numbers_of_the_answer(asked: tuple[TestClient, str]) -> None:
    client, path = asked
    answer = client.get(path).json()
    drawn = client.get(path, params={"format": "svg"})
    assert drawn.status_code == 200
    assert drawn.headers["content-type"] == "image/svg+xml"
    assert drawn.headers["content-security-policy"] == "default-src 'none'"
    told = _text_of(drawn.text)
    assert len(answer["items"]) == 2
    for item in answer["items"]:
        t, ends = item["t"]["value"], item["t"]["interval"]
        sentence = f"{number(t)} ({number(ends['lower'])} to {number(ends['upper'])})"
        assert (
            f"{item['site'].replace('-', ' ')}, size: {sentence}, {item['state'].replace('_', ' ')}." in told
        )
    assert answer["model_version"] in told


def test_whoever_has_nothing_to_compare_is_told_so(shared_world: World, new_id: Callable[[], str]) -> None:
    client = shared_world.signed_in()
    path = f"/v1/athletes/{new_id()}"
    client.put(path, json={"time_zone": "Europe/Riga"})
    client.post(f"{path}/consents", json=_CONSENT)
    drawn = client.get(f"{path}/imbalance-indices", params={"format": "svg"})
    assert "Nothing can be compared yet." in _text_of(drawn.text)


@pytest.mark.parametrize(
    ("parameters", "accept", "media"),
    [
        ({}, "image/svg+xml", "image/svg+xml"),
        ({}, "image/avif,image/webp,image/svg+xml,image/*,*/*;q=0.8", "image/svg+xml"),
        ({}, "application/json", "application/json"),
        ({}, "*/*", "application/json"),
        ({"format": "json"}, "image/svg+xml", "application/json"),
        ({"format": "svg"}, "application/json", "image/svg+xml"),
        ({"format": "svg"}, "text/html", "image/svg+xml"),
    ],
)
def test_the_format_beats_what_is_accepted(
    asked: tuple[TestClient, str], parameters: Json, accept: str, media: str
) -> None:
    client, path = asked
    answer = client.get(path, params=parameters, headers={"Accept": accept})
    assert answer.status_code == 200
    assert answer.headers["content-type"] == media
    assert "Accept" in answer.headers["vary"]


@pytest.mark.parametrize(
    ("parameters", "accept", "status"), [({}, "image/png", 406), ({"format": "pdf"}, "*/*", 422)]
)
def test_a_format_that_there_is_not_is_refused(
    asked: tuple[TestClient, str], parameters: Json, accept: str, status: int
) -> None:
    client, path = asked
    refused = client.get(path, params=parameters, headers={"Accept": accept})
    assert refused.status_code == status
    assert refused.headers["content-type"] == "application/problem+json"


def test_the_chart_has_a_tag_of_its_own_and_is_revalidated_by_it(asked: tuple[TestClient, str]) -> None:
    client, path = asked
    told, drawn = client.get(path), client.get(path, params={"format": "svg"})
    assert told.headers["etag"] != drawn.headers["etag"]
    held = {"If-None-Match": drawn.headers["etag"]}
    assert client.get(path, params={"format": "svg"}, headers=held).status_code == 304
    assert client.get(path, headers=held).status_code == 200


@pytest.mark.parametrize(
    ("accept", "wanted"),
    [
        (None, "json"), ("", "json"), ("*/*;q=0.1", "json"), ("image/*", "svg"), ("image/svg+xml;q=0", "json"),
        ("application/json;q=0.5, image/svg+xml", "svg"), ("application/json, image/svg+xml;q=0.9", "json"),
        ("image/svg+xml;q=nonsense, application/json;q=0.1", "json"),
    ],
)  # fmt: skip
def test_the_accept_header_is_weighed(accept: str | None, wanted: str) -> None:
    drawing = chart_if_asked(None, accept, lambda _: "")
    assert ("json" if drawing is None else "svg") == wanted
