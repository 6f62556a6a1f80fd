"""The backtest's page in a real browser, opened from the disk: it shows its figures, complains of nothing, asks nobody."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from service.demo.people import ILVA
from tests.demo_log import demo_log

_CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
_FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
    "--enable-logging=stderr", "--host-resolver-rules=MAP * ~NOTFOUND",
)  # fmt: skip
pytestmark = pytest.mark.skipif(
    _CHROMIUM is None, reason="NOT TESTED: there is no Chromium here, so the backtest's page was not opened"
)


def _opened(page: Path, folder: Path) -> tuple[str, list[str], list[str]]:
    """Return the document, what the console heard, and every address that was asked besides the page."""
    net_log = folder / "net.json"
    done = subprocess.run(
        [
            str(_CHROMIUM), *_FLAGS, f"--user-data-dir={folder / 'profile'}", f"--log-net-log={net_log}",
            "--virtual-time-budget=5000", "--dump-dom", page.as_uri(),
        ],
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip
    log = json.loads(net_log.read_text())
    start = log["constants"]["logEventTypes"]["URL_REQUEST_START_JOB"]
    asked = [
        event["params"]
        for event in log["events"]
        if event["type"] == start and "url" in event.get("params", {})
    ]
    complaints = [line for line in done.stderr.splitlines() if ":CONSOLE" in line]
    # What the browser asks of its own accord names no initiator.
    own = [one["url"] for one in asked if "initiator" in one and one["initiator"] != "not an origin"]
    return done.stdout, complaints, own


def test_the_page_opens_without_complaint_and_asks_nobody(tmp_path: Path) -> None:
    log, page = tmp_path / "log.csv", tmp_path / "report.html"
    log.write_text(demo_log([ILVA]), encoding="utf-8")
    command = [sys.executable, "-m", "service", "backtest", "--sets", str(log), "--report", str(page)]
    subprocess.run(command, check=True, capture_output=True, cwd=Path(__file__).parents[2], timeout=300)
    dom, complaints, asked = _opened(page, tmp_path)
    assert complaints == []
    assert [url for url in asked if url.startswith("http")] == []
    assert dom.count("<svg") >= 2
    assert "By repetitions expected" in dom


def test_a_page_that_complains_is_found_out(tmp_path: Path) -> None:
    """The check above can fail."""
    page = tmp_path / "bad.html"
    page.write_text("<script>throw new Error('heard')</script><img src='http://elsewhere.invalid/x.png'>")
    _, complaints, asked = _opened(page, tmp_path)
    assert any("heard" in line for line in complaints)
    assert any("elsewhere.invalid" in url for url in asked)
