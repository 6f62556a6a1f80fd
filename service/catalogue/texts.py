"""The sentences behind the codes of reasons and cautions, one folder per language."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from string import Formatter
from types import MappingProxyType
from typing import Any, Literal

from service.core.estimates import Param

Language = Literal["en"]
_TEXTS = resources.files("service.catalogue") / "data" / "texts"


class BrokenTexts(ValueError):
    """The text files contradict each other or are not of the expected form."""


class UnknownCode(LookupError):
    """No text stands for this code."""


class MissingParam(ValueError):
    """The text names a parameter that was not given."""


#: How a chance in per cent is asked for in a text.
_CHANCE = "chance"


def spoken_chance(percent: float) -> str:
    """Return a chance in whole per cent, as words where the number would call it certain or impossible."""
    told = f"{percent:.0f}"
    return {"100": "over 99", "0": "under 1", "-0": "under 1"}.get(told, told)


class _Sentences(Formatter):
    """Puts numbers into sentences: what rounds to nothing has no sign, and no chance is told as certain."""

    def format_field(self, value: Any, format_spec: str) -> str:
        """Return a value as its field asks for it."""
        if format_spec == _CHANCE:
            return spoken_chance(float(value))
        told: str = super().format_field(value, format_spec)
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        return told.removeprefix("-") if is_number and not told.strip("-0.") else told


_SENTENCES = _Sentences()


@dataclass(frozen=True, slots=True)
class Texts:
    """Templates by code in one language; a template is filled with the parameters of its reason."""

    language: Language
    templates: Mapping[str, str]

    def __contains__(self, code: object) -> bool:
        return code in self.templates

    def params_of(self, code: str) -> frozenset[str]:
        """Return the names of the parameters that a text needs; ``UnknownCode`` if there is no text."""
        names = (name for _, name, _, _ in Formatter().parse(self._template(code)) if name)
        return frozenset(names)

    def render(self, code: str, params: Mapping[str, Param]) -> str:
        """Return the sentence for a code; ``UnknownCode`` or ``MissingParam`` where it cannot be said."""
        template = self._template(code)
        missing = self.params_of(code) - params.keys()
        if missing:
            raise MissingParam(f"{code} needs {', '.join(sorted(missing))}")
        return _SENTENCES.vformat(template, (), params)

    def _template(self, code: str) -> str:
        try:
            return self.templates[code]
        except KeyError:
            raise UnknownCode(code) from None


def read_texts(language: Language, files: Iterable[Traversable]) -> Texts:
    """Return the texts of these files; ``BrokenTexts`` if a code stands twice or a text is no template."""
    templates: dict[str, str] = {}
    for file in sorted(files, key=lambda file: file.name):
        for code, template in json.loads(file.read_text("utf-8"), object_pairs_hook=_pairs).items():
            if code in templates:
                raise BrokenTexts(f"the code {code} stands twice, the second time in {file.name}")
            templates[code] = _template(code, template)
    return Texts(language, MappingProxyType(templates))


def _pairs(pairs: list[tuple[str, object]]) -> dict[str, object]:
    if len(dict(pairs)) < len(pairs):
        raise BrokenTexts(f"a code stands twice among {sorted(code for code, _ in pairs)}")
    return dict(pairs)


def _template(code: str, template: object) -> str:
    if not isinstance(template, str) or not template:
        raise BrokenTexts(f"the text of {code} is no sentence")
    try:
        fields = [name for _, name, _, _ in Formatter().parse(template) if name is not None]
    except ValueError as error:
        raise BrokenTexts(f"the text of {code} is no template: {error}") from error
    if not all(name.isidentifier() for name in fields):
        raise BrokenTexts(f"the text of {code} has a field without a plain name")
    return template


@cache
def load_texts(language: Language = "en") -> Texts:
    """Return the texts that ship with the service in a language; read once, then the same object."""
    folder = _TEXTS / language
    files = folder.iterdir() if folder.is_dir() else ()
    return read_texts(language, (file for file in files if file.name.endswith(".json")))
