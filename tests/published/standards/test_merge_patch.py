"""JSON merge patch against all fifteen test cases of the standard.

``merge_patch_vectors.json``: [Hoffman2014]_, appendix A, as copied in a public library's manual. Exact.
"""

import copy
import json
from pathlib import Path

import pytest

from service.usecases.merge_patch import apply

pytestmark = pytest.mark.quick

VECTORS = json.loads((Path(__file__).parent / "merge_patch_vectors.json").read_text())["vectors"]


def test_all_fifteen_cases_of_the_standard_are_here():
    assert len(VECTORS) == 15


@pytest.mark.parametrize(
    "vector", VECTORS, ids=lambda v: f"{json.dumps(v['target'])} + {json.dumps(v['patch'])}"
)
def test_a_patch_gives_what_the_standard_prints(vector):
    assert json.dumps(apply(vector["target"], vector["patch"])) == json.dumps(vector["result"])


@pytest.mark.parametrize(
    "vector", VECTORS, ids=lambda v: f"{json.dumps(v['target'])} + {json.dumps(v['patch'])}"
)
def test_a_patch_alters_neither_the_document_nor_itself(vector):
    before = copy.deepcopy(vector)
    apply(vector["target"], vector["patch"])
    assert vector == before


@pytest.mark.parametrize(
    "vector", VECTORS, ids=lambda v: f"{json.dumps(v['target'])} + {json.dumps(v['patch'])}"
)
def test_the_same_patch_twice_changes_nothing_more(vector):
    once = apply(vector["target"], vector["patch"])
    assert apply(once, vector["patch"]) == once
