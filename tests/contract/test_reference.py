"""The document and its page are served by the service itself, without a key, and cached by their ETag."""

import re
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

pytestmark = pytest.mark.quick


@pytest.fixture(scope="module")
def client(bare_app: FastAPI) -> Iterator[TestClient]:
    with TestClient(bare_app) as made:
        yield made


class _References(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.inline = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.found += [value for name in ("src", "href") if (value := given.get(name))]
        self.inline |= (tag == "script" and "src" not in given) or any(
            name.startswith("on") for name in given
        )


def test_the_document_is_served_without_a_key(client: TestClient) -> None:
    answer = client.get("/openapi.json")
    assert answer.status_code == 200
    assert answer.json() == client.app.openapi()  # type: ignore[attr-defined]


def test_a_client_that_has_the_document_is_told_so(client: TestClient) -> None:
    first = client.get("/openapi.json")
    again = client.get("/openapi.json", headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["ETag"] == first.headers["ETag"]


def test_the_page_and_everything_it_names_come_from_here(client: TestClient) -> None:
    page = client.get("/reference")
    assert page.headers["content-type"].startswith("text/html")
    read = _References()
    read.feed(page.text)
    local = [reference for reference in read.found if not reference.startswith("data:")]
    assert len(local) >= 4
    assert all(reference.startswith("/") and not reference.startswith("//") for reference in local)
    assert {client.get(reference).status_code for reference in local} == {200}
    assert not read.inline


def test_the_page_may_run_and_ask_only_what_comes_from_here(client: TestClient) -> None:
    policy = client.get("/reference").headers["Content-Security-Policy"]
    directives = dict(part.strip().split(" ", 1) for part in policy.split(";"))
    assert directives["default-src"] == "'none'"
    assert directives["script-src"] == directives["connect-src"] == "'self'"
    assert directives["frame-ancestors"] == "'none'"
    assert not re.search(r"https?:|\*", policy)


@pytest.mark.parametrize("name", ["LICENSE", "..%2Freference.py", "reference.html", "%2e%2e%2fstrict.py", ""])
def test_no_other_file_is_served(client: TestClient, name: str) -> None:
    assert client.get(f"/reference/{name}").status_code == 404
