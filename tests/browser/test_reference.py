"""The reference page in a real browser: it opens, shows operations, complains of nothing and asks nobody else."""

import json
import re
import shutil
import socket
import subprocess
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
import uvicorn

from service.app import create_app
from service.settings import Settings

_NOWHERE = "postgresql+psycopg://nobody@127.0.0.1:1/nothing"
_CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
_FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
    "--enable-logging=stderr", "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
)  # fmt: skip
pytestmark = pytest.mark.skipif(
    _CHROMIUM is None, reason="NOT TESTED: there is no Chromium here, so the reference page was not opened"
)


@dataclass(frozen=True)
class Visit:
    """What a browser made of a page: its document, its complaints, and every address that it asked."""

    dom: str
    complaints: list[str]
    asked: list[str]


@pytest.fixture(scope="module")
def base_url() -> Iterator[str]:
    """The service on a free port, without a database: neither the page nor the document needs one."""
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    config = uvicorn.Config(create_app(Settings(_NOWHERE, _NOWHERE)), log_level="error", lifespan="off")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    server.should_exit = True
    thread.join(10)


@pytest.fixture(scope="module")
def reference(base_url: str, tmp_path_factory: pytest.TempPathFactory) -> Visit:
    return _visit(f"{base_url}/reference", tmp_path_factory.mktemp("browser"))


def _visit(url: str, folder: Path) -> Visit:
    net_log = folder / "net.json"
    done = subprocess.run(
        [
            str(_CHROMIUM), *_FLAGS, f"--user-data-dir={folder / 'profile'}", f"--log-net-log={net_log}",
            "--virtual-time-budget=20000", "--dump-dom", url,
        ],
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip
    complaints = [line for line in done.stderr.splitlines() if ":CONSOLE" in line]
    return Visit(done.stdout, complaints, _asked(net_log))


def _asked(net_log: Path) -> list[str]:
    """Return every address that the page asked; what the browser asks of its own accord has no page as initiator."""
    log: dict[str, Any] = json.loads(net_log.read_text())
    start = log["constants"]["logEventTypes"]["URL_REQUEST_START_JOB"]
    started = [event.get("params", {}) for event in log["events"] if event["type"] == start]
    return [one["url"] for one in started if one.get("initiator", "").startswith("http")]


def test_it_shows_the_operations(reference: Visit) -> None:
    shown = re.findall(r'id="operations-[^"]*-(\w+)"', reference.dom)
    assert {"putSet", "getHealth", "listChanges"} <= set(shown)
    assert "Put a set under an id" in reference.dom


def test_it_complains_of_nothing(reference: Visit) -> None:
    assert reference.complaints == []


def test_it_asks_nobody_but_the_service(reference: Visit, base_url: str) -> None:
    assert f"{base_url}/openapi.json" in reference.asked
    assert [url for url in reference.asked if not url.startswith(base_url)] == []


def test_a_page_that_complains_and_asks_elsewhere_is_found_out(tmp_path: Path) -> None:
    """The checks above can fail."""
    page = b"<img src='http://elsewhere.invalid/x.png'><script>throw new Error('heard')</script>"

    class OnePage(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(page)

        def log_message(self, *_: Any) -> None:
            pass

    with ThreadingHTTPServer(("127.0.0.1", 0), OnePage) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        found = _visit(f"http://127.0.0.1:{server.server_port}/", tmp_path)
        server.shutdown()
    assert any("heard" in line for line in found.complaints)
    assert "http://elsewhere.invalid/x.png" in found.asked
