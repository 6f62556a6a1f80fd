"""The texts behind the codes: read without contradiction, filled without gaps."""

import re
from pathlib import Path

import pytest

from service.catalogue.texts import BrokenTexts, MissingParam, UnknownCode, load_texts, read_texts

pytestmark = pytest.mark.quick


def written(folder: Path, **files: str) -> list[Path]:
    for name, content in files.items():
        (folder / f"{name}.json").write_text(content, "utf-8")
    return [folder / f"{name}.json" for name in files]


def test_a_text_is_filled_with_the_numbers_of_its_reason(tmp_path: Path) -> None:
    texts = read_texts(
        "en", written(tmp_path, area='{"load_held": "Stay at {load:.1f} kg for {count} sets."}')
    )
    assert (
        texts.render("load_held", {"load": 62.44, "count": 3, "unused": None})
        == "Stay at 62.4 kg for 3 sets."
    )
    assert texts.params_of("load_held") == {"load", "count"}
    assert "load_held" in texts


@pytest.mark.parametrize(
    ("value", "told"), [(-0.04, "0.0"), (-0.0, "0.0"), (-0.06, "-0.1"), (0.04, "0.0"), (-10.0, "-10.0")]
)
def test_what_rounds_to_nothing_has_no_sign(tmp_path: Path, value: float, told: str) -> None:
    texts = read_texts("en", written(tmp_path, area='{"change": "Changed by {percent:.1f} %."}'))
    assert texts.render("change", {"percent": value}) == f"Changed by {told} %."


def test_words_keep_their_hyphens_and_whole_numbers_their_sign(tmp_path: Path) -> None:
    texts = read_texts("en", written(tmp_path, area='{"change": "{name} {steps} {share:.0f}"}'))
    assert texts.render("change", {"name": "-0", "steps": -2, "share": -0.3}) == "-0 -2 0"


@pytest.mark.parametrize(
    ("percent", "told"),
    [
        (99.7, "over 99"),
        (100.0, "over 99"),
        (99.4, "99"),
        (53.2, "53"),
        (0.6, "1"),
        (0.4, "under 1"),
        (0, "under 1"),
    ],
)
def test_no_chance_is_told_as_certain(tmp_path: Path, percent: float, told: str) -> None:
    texts = read_texts("en", written(tmp_path, area='{"chance": "The chance is {p:chance} %."}'))
    assert texts.render("chance", {"p": percent}) == f"The chance is {told} %."


def test_every_chance_is_told_by_the_one_rule() -> None:
    names = re.compile(r"\{(p_[a-z_]*percent|chance|probability|beyond):(?!chance)")
    templates = load_texts().templates.items()
    assert not {code for code, text in templates if names.search(text)} - {"drops.heaviest_that_reach"}
    said = {code for code, text in templates if re.search(r"[Cc]hance [^{]*\{[a-z_]+:\.0f\} %", text)}
    # A bound that is set is no chance that was worked out.
    assert said == {"closing.stop", "drops.heaviest_that_reach"}


def test_an_unknown_code_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UnknownCode, match="nothing_like_it"):
        read_texts("en", written(tmp_path, area="{}")).render("nothing_like_it", {})


def test_a_missing_param_is_named(tmp_path: Path) -> None:
    texts = read_texts("en", written(tmp_path, area='{"load_held": "Stay at {load} {unit}."}'))
    with pytest.raises(MissingParam, match="load_held needs unit"):
        texts.render("load_held", {"load": 60})


def test_a_code_in_two_files_is_refused(tmp_path: Path) -> None:
    files = written(tmp_path, a='{"rest": "Rest."}', b='{"rest": "Wait."}')
    with pytest.raises(BrokenTexts, match="rest stands twice"):
        read_texts("en", files)


def test_a_code_twice_in_one_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BrokenTexts, match="stands twice"):
        read_texts("en", written(tmp_path, a='{"rest": "Rest.", "rest": "Wait."}'))


@pytest.mark.parametrize("text", ['""', "3", '"An {open brace"', '"{}"', '"{load.__class__}"', '"{0}"'])
def test_a_text_that_is_no_template_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(BrokenTexts):
        read_texts("en", written(tmp_path, a=f'{{"rest": {text}}}'))


def test_the_texts_that_ship_are_sound_and_read_once() -> None:
    texts = load_texts()
    assert texts.language == "en"
    assert load_texts() is texts
    assert all(texts.templates[code].strip() == texts.templates[code] for code in texts.templates)


@pytest.mark.parametrize(("pain", "said"), [(5.1, "5.1"), (2.1, "2.1"), (3.0, "3"), (10, "10")])
def test_a_pain_is_told_as_it_was_said_and_never_contradicts_its_zone(pain: float, said: str) -> None:
    texts = load_texts()
    params = {"pain": pain, "rise": pain, "soreness": pain}
    others = {
        "on": "1 May",
        "sessions": 2,
        "load_percent": 20.0,
        "region": "knee",
        "sets": 1.0,
        "hours": 48.0,
    }
    about = [code for code in texts.templates if texts.params_of(code) & params.keys()]
    assert {"tolerance.pain_above_five", "progression.pain_reduces_load", "due.next_morning_pain"} <= set(
        about
    )
    for code in about:
        words = texts.render(code, {**others, **params}).replace(":", " ").split()
        assert said in words, code
