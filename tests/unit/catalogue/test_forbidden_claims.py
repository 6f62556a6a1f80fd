"""No sentence that the service can say makes a claim that it must not: a danger, a diagnosis, a grade, a promise.

Every text of every area is walked, and every example of the document with its texts filled in.
"""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.quick

ROOT = Path(__file__).parents[3]
TEXTS = ROOT / "service/catalogue/data/texts"

FORBIDDEN = {
    "danger read off a number": [
        r"\brisk\w*\b",
        r"\binjur\w+\b",
        r"\b(prone|liable|susceptible|vulnerable) to\b",
        r"\b(likely|going|bound) to (hurt|get hurt|injure|tear|strain)\b",
        r"\b(danger\w*|hazard\w*) (zone|range|area|ratio)\b",
        r"\bovertrain\w*\b|\bovertrained\b|\boverload(ed)? syndrome\b",
        r"\b(acute|chronic)[ :/-]+(chronic|acute)\b",
    ],
    "diagnosis": [
        r"(?<!not a )\bdiagnos\w+",
        r"\byou (have|suffer from|show signs of) (a|an|torn|strained|sprained|chronic|acute)\b",
        r"\b(tendinitis|tendinopathy|tendinosis|impingement|tears?|torn|sprain\w*|strains?|strained|herniat\w+)\b",
        r"\b(arthritis|arthrosis|bursitis|rupture\w*|fracture\w*|rhabdomyolysis|syndrome|disease|disorder|pathology)\b",
        r"\bcaused by\b|\bthe cause (is|of your)\b",
    ],
    "grade": [
        r"\bgrades?\b|\bgraded\b|\bmarks?\b|\brank(ed|s|ing)?\b",
        r"\bscor(e|es|ed|ing)\b",
        r"\b(poor|bad|weak|good|excellent|elite|failing|below average|above average) (athlete|lifter|score|result|form)\b",
        r"\b(green|amber|yellow|orange|red) (zone|light|flag)s?\b",
        r"\b(normal|abnormal) (range|value|side|person|people)\b",
    ],
    "promise": [
        r"\bguarantee\w*\b|\bpromise\w*\b|\balways works\b|\bwithout fail\b",
        r"\bprevents?\b|\bprotects?\b|\bimmune\b",
        r"\b(heals?|cures?|treats?|treatment|therapy|rehabilitates?)\b",
        r"\b(completely|perfectly|totally|absolutely|entirely) safe\b|\bsafe for (you|everyone|anyone)\b|\bis safe\b",
        r"\byou will (grow|gain|get stronger|recover|be ready|improve)\b",
    ],
}
PATTERNS = [(kind, pattern) for kind, patterns in FORBIDDEN.items() for pattern in patterns]


def sentences() -> list[tuple[str, str, str]]:
    return [
        (path.relative_to(TEXTS).as_posix(), code, text)
        for path in sorted(TEXTS.rglob("*.json"))
        for code, text in json.loads(path.read_text("utf-8")).items()
    ]


def _texts_in(value: Any) -> Iterator[str]:
    """Yield every sentence of reasons, cautions and actions in an example."""
    if isinstance(value, dict):
        if isinstance(value.get("text"), str) and "code" in value:
            yield value["text"]
        for one in value.values():
            yield from _texts_in(one)
    elif isinstance(value, list):
        for one in value:
            yield from _texts_in(one)


def claims_in(text: str) -> list[str]:
    return [kind for kind, pattern in PATTERNS if re.search(pattern, text, re.IGNORECASE)]


def test_every_area_is_walked() -> None:
    files = {name for name, _, _ in sentences()}
    assert files == {path.relative_to(TEXTS).as_posix() for path in TEXTS.rglob("*") if path.is_file()}
    assert {
        "en/recovery.json",
        "en/tolerance.json",
        "en/cautions.json",
        "en/volume.json",
        "en/sides.json",
    } <= files
    assert len(sentences()) > 250


@pytest.mark.parametrize(("kind", "pattern"), PATTERNS)
def test_no_sentence_makes_a_forbidden_claim(kind: str, pattern: str) -> None:
    wrong = [
        f"{name}: {code}: {text}"
        for name, code, text in sentences()
        if re.search(pattern, text, re.IGNORECASE)
    ]
    assert wrong == [], kind


def test_no_example_of_the_document_makes_a_forbidden_claim() -> None:
    document = json.loads((ROOT / "openapi/openapi.json").read_text("utf-8"))
    told = set(_texts_in(document))
    assert len(told) > 40
    assert [(text, claims_in(text)) for text in told if claims_in(text)] == []


@pytest.mark.parametrize(
    ("kind", "claim"),
    [
        ("danger read off a number", "A gap of 12 % raises your risk of injury."),
        ("danger read off a number", "Your acute:chronic ratio is high."),
        ("danger read off a number", "You are overtrained."),
        ("danger read off a number", "Your knee is likely to get hurt."),
        ("diagnosis", "You have a torn muscle."),
        ("diagnosis", "It looks like tendinopathy."),
        ("diagnosis", "That is your diagnosis."),
        ("diagnosis", "The pain is caused by your desk."),
        ("grade", "Grade B today."),
        ("grade", "A body score of 87."),
        ("grade", "You are in the red zone."),
        ("grade", "Your left side is outside the normal range."),
        ("promise", "This prevents injuries."),
        ("promise", "Two weeks of this heals tendons."),
        ("promise", "This lift is completely safe."),
        ("promise", "With ten sets you will grow."),
    ],
)
def test_a_forbidden_claim_would_be_found(kind: str, claim: str) -> None:
    assert kind in claims_in(claim)


@pytest.mark.parametrize(
    "allowed",
    [
        "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
        "Stop this movement and see a clinician soon: a joint that locks.",
        "Use a spotter or safety bars for this set.",
    ],
)
def test_a_plain_caution_is_no_claim(allowed: str) -> None:
    assert claims_in(allowed) == []
