"""How people write the name of an exercise, brought to one spelling."""

import re

_WORDS = re.compile(r"[a-z0-9]+")
_SAME_WORD = {
    "1": "one",
    "single": "one",
    "db": "dumbbell",
    "dumbell": "dumbbell",
    "bb": "barbell",
    "kb": "kettlebell",
    "flye": "fly",
    "flies": "fly",
    "legged": "leg",
    "armed": "arm",
    "delts": "delt",
    "ups": "up",
}


def _one_word(word: str) -> str:
    word = _SAME_WORD.get(word, word)
    plural = len(word) > 3 and word.endswith("s") and not word.endswith("ss")
    singular = word[: -2 if word.endswith("sses") else -1] if plural else word
    return _SAME_WORD.get(singular, singular)


def comparable_name(name: str) -> str:
    """Return a spelling in which case, punctuation, spacing, plurals and shorthand no longer differ.

    Definition: two names mean the same exercise when their comparable spellings are equal.
    """
    words = _WORDS.findall(name.casefold().replace("'s", "").replace("’s", ""))
    return "".join(_one_word(word) for word in words)
