"""The page about a replayed log: whole, well-formed, self-contained, and honest about what it leaves out."""

from html.parser import HTMLParser
from xml.etree import ElementTree as ET

import pytest

from service.catalogue import load_catalogue
from service.reports.backtest_page import render_backtest
from service.usecases.backtest.account import BacktestAccount, in_plain_words
from service.usecases.backtest.lifts import LiftBook
from service.usecases.backtest.log_reading import read_log
from service.usecases.backtest.predictions import Prediction
from service.usecases.backtest.scoring import Scores, outcomes_of, score_all

pytestmark = pytest.mark.quick
_VOID = {"meta", "link"}


class _Nesting(HTMLParser):
    """Collects what is wrong with the nesting of tags, and every address that a page would fetch."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.faults: list[str] = []
        self.fetched: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.fetched += [value for name, value in attrs if name in {"src", "href"} and value]
        if tag == "script":
            self.faults.append("a script")
        if tag not in _VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        pass

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.faults.append(tag)


def _account(**changes: object) -> BacktestAccount:
    lines = ["athlete,performed_at,exercise,side,reps,reps_in_reserve,to_failure"]
    lines += [f"A & <B>,2026-03-{day:02d},bench press,,8,,true" for day in range(1, 8)]
    lines += [f"C,2026-03-{day:02d},one-arm dumbbell row,left,9,2," for day in range(1, 5)]
    read = read_log(line + "\n" for line in lines)
    expected = {row.index: Prediction(9.0, 2.0, 5.1, 6.4, 9.0, 11.6, 12.9) for row in read.rows}
    outcomes = outcomes_of(read.rows, expected)
    scores = score_all(outcomes, LiftBook(load_catalogue()))
    account = BacktestAccount(
        model_version="capability/5",
        log_name="log <1>.csv",
        row_count=read.row_count,
        set_count=len(read.rows),
        predicted_count=len(expected),
        scores=scores,
        records={"A & <B>": outcomes[:7]},
        unknown_names={"Moon <lift>": 3},
        ignored_columns=("mood",),
        faults=read.faults,
    )
    return BacktestAccount(**{name: changes.get(name, getattr(account, name)) for name in account.__slots__})  # type: ignore[arg-type]


def test_the_page_is_well_formed_and_fetches_nothing() -> None:
    html = render_backtest(_account())
    nesting = _Nesting()
    nesting.feed(html)
    assert (nesting.faults, nesting.open) == ([], [])
    assert nesting.fetched == ["data:,"]
    assert "<B>" not in html
    assert "A &amp; &lt;B&gt;" in html


def test_every_drawing_is_valid_xml_and_says_in_words_what_it_shows() -> None:
    html = render_backtest(_account())
    drawings = html.split("<svg")[1:]
    assert len(drawings) == 2
    for drawing in drawings:
        tree = ET.fromstring("<svg" + drawing.partition("</svg>")[0] + "</svg>")  # noqa: S314
        told = {child.tag.rpartition("}")[2]: child.text for child in tree}
        assert told["title"]
        assert len(told["desc"] or "") > 40


def test_what_could_not_be_named_or_read_is_on_the_page() -> None:
    html = render_backtest(_account())
    for said in ("Moon &lt;lift&gt;", "mood", "capability/5", "guidance, not medicine", "80 % interval"):
        assert said in html


def test_a_log_without_outcomes_says_what_would_help() -> None:
    html = render_backtest(_account(scores=Scores(None, {}, "all scored sets", {}, {}, {}), records={}))
    assert "Nothing could be scored" in html
    assert "<svg" not in html


def test_the_verdict_names_narrow_intervals_and_rough_figures() -> None:
    said = " ".join(in_plain_words(_account().scores))
    assert "11 sets that told how near failure they came" in said
    assert "With fewer than 30 sets these figures are rough" in said
