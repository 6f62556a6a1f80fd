"""Every chart of the contract in a real browser, as it is served: it shows, complains of nothing and asks nobody."""

import re
import shutil
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest

from service.app import create_app
from service.reports.charts import (
    BandPoint,
    Frame,
    IntervalColumn,
    IntervalRow,
    LineAxis,
    LinePoint,
    LineRow,
    Mark,
    SeenPoint,
    band,
    interval_columns,
    interval_rows,
    line_rows,
)
from service.settings import Settings
from service.web.charts import SVG
from service.web.contract import build, operations
from service.web.rendering import CHART_POLICY

_NOWHERE = "postgresql+psycopg://nobody@127.0.0.1:1/nothing"
_CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
_FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
    "--enable-logging=stderr", "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
)  # fmt: skip
_FRAME = Frame("What a chart is", "invented units", "an invented source")
_MARKS = [Mark(4.0, "a level")]
_SHAPES = {
    "rows": interval_rows(_FRAME, [IntervalRow("a", 5.0, 3.0, 6.0), IntervalRow("b", 2.0)], _MARKS),
    "columns": interval_columns(_FRAME, [IntervalColumn("a", 5.0, 3.0, 6.0)], _MARKS),
    "lines": line_rows(
        _FRAME,
        [LineRow("a", (LinePoint(0, "0", 5), LinePoint(1, "1", 3)))],
        LineAxis(((0, "0"),), 10),
        _MARKS,
    ),
    "band": band(_FRAME, [BandPoint(n, str(n), 5, 4, 6) for n in range(4)], [SeenPoint(1, "1", 5.5)], _MARKS),
}
pytestmark = pytest.mark.skipif(
    _CHROMIUM is None, reason="NOT TESTED: there is no Chromium here, so no chart was opened"
)


def _examples() -> dict[str, str]:
    """Return the example of every operation that answers with a chart."""
    document: Any = build(create_app(Settings(_NOWHERE, _NOWHERE)))
    return {
        operation["operationId"]: example["value"]
        for operation in operations(document)
        for example in operation["responses"]
        .get("200", {})
        .get("content", {})
        .get(SVG, {})
        .get("examples", {})
        .values()
    }


@contextmanager
def _served(svg: str) -> Iterator[str]:
    """Serve one chart with the headers that charts have."""

    class OneChart(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            found = self.path == "/chart.svg"
            self.send_response(200 if found else 204)
            self.send_header("Content-Type", SVG)
            self.send_header("Content-Security-Policy", CHART_POLICY)
            self.end_headers()
            if found:
                self.wfile.write(svg.encode())

        def log_message(self, *_: Any) -> None:
            pass

    with ThreadingHTTPServer(("127.0.0.1", 0), OneChart) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}/chart.svg"
        server.shutdown()


def _opened(svg: str, folder: Path) -> tuple[str, list[str]]:
    """Return the document that a browser made of a chart, and its complaints."""
    with _served(svg) as url:
        done = subprocess.run(
            [
                str(_CHROMIUM), *_FLAGS, f"--user-data-dir={folder / 'profile'}", "--virtual-time-budget=3000",
                "--dump-dom", url,
            ],
            capture_output=True, text=True, timeout=120, check=True,
        )  # fmt: skip
    return done.stdout, [line for line in done.stderr.splitlines() if ":CONSOLE" in line]


def test_every_chart_of_the_contract_opens_without_complaint(tmp_path: Path) -> None:
    charts = {**_examples(), **_SHAPES}
    assert "getImbalanceIndices" in charts
    for name, svg in charts.items():
        dom, complaints = _opened(svg, tmp_path / name)
        assert complaints == [], name
        assert "parsererror" not in dom, name
        title = re.search(r"<title>(.+?)</title>", svg)
        assert title is not None
        assert title[0] in dom, name
        assert dom.count("<rect") == svg.count("<rect"), name


def test_a_chart_that_complains_is_found_out(tmp_path: Path) -> None:
    """The check above can fail: a script is stopped by the policy, and broken XML is told."""
    _, complaints = _opened(
        '<svg xmlns="http://www.w3.org/2000/svg"><title>t</title><script>alert(1)</script></svg>',
        tmp_path / "script",
    )
    assert complaints
    dom, _ = _opened('<svg xmlns="http://www.w3.org/2000/svg"><title>t</svg>', tmp_path / "broken")
    assert "parsererror" in dom
