"""What trends and due checks may not say: no risk, no diagnosis, no grade, no command to stop training."""

import json
import re
from importlib.resources import files

import pytest

pytestmark = pytest.mark.quick

_FORBIDDEN = re.compile(
    r"\b(injur\w*|risk\w*|danger\w*|diagnos\w*|disease|disorder|overtrain\w*|overreach\w*|must|never train|grade|bad|"
    r"poor|weak|lazy|fail(?:ed|ure to progress))\b",
    re.IGNORECASE,
)


def texts() -> dict[str, str]:
    path = files("service.catalogue") / "data" / "texts" / "en" / "trend.json"
    read: dict[str, str] = json.loads(path.read_text(encoding="utf-8"))
    return read


@pytest.mark.parametrize(("code", "sentence"), texts().items())
def test_no_sentence_claims_what_cannot_be_known(code: str, sentence: str) -> None:
    found = _FORBIDDEN.search(sentence)
    assert found is None, f"{code} says {found}"


def test_an_easier_week_is_offered_and_not_ordered() -> None:
    assert "suggestion" in texts()["trend.easier_week_consider_now"]
    assert all(len(sentence) <= 260 for sentence in texts().values())


def test_the_forbidden_words_are_found_where_they_stand() -> None:
    for sentence in ("You are at risk.", "An injury is likely.", "You must rest.", "This is overtraining."):
        assert _FORBIDDEN.search(sentence)
