"""Computing from a body alone: formulas, and loads that can be made."""

from collections.abc import Iterator, Sequence

from service.core import loadable, one_rep_max
from service.core.errors import NothingLoadable, OutsideValidity
from service.core.estimates import Caution, Param, Reason
from service.core.loadable import Nearest, Option
from service.core.one_rep_max import Comparison, FormulaRefusal
from service.core.tolerance.flags import decide_flags
from service.core.tolerance.screening import Clearance, Screening, open_gate
from service.core.units import Kilograms, MassUnit, mass_from_kg, mass_to_kg
from service.usecases.answers.site_loads import core_mass, core_stack, dumbbell_masses, shown_load
from service.usecases.answers.telling import Teller, documents
from service.usecases.documents import Document, to_document
from service.usecases.errors import (
    ClearanceRequired,
    FieldFault,
    NothingToComputeOn,
    NotPossible,
    OutsideValidRange,
)
from service.usecases.records.base import Mass
from service.usecases.records.computations import (
    LoadableQuestion,
    OneRepMaxQuestion,
    Question,
)
from service.usecases.records.places import (
    BarImplement,
    DumbbellsImplement,
    LevelsImplement,
    PlatePairsImplement,
    StackImplement,
)

ONE_REP_MAX_VERSION = "one-rep-max/0"
LOADABLE_VERSION = "loadable/0"
#: At most so many loads of a span are told.
MOST_LOADS = 500
#: A load above a target is first looked for up to this share of it, plus this much: most sites have one there.
_SEARCH_SHARE, _SEARCH_MORE_KG = 1.1, 60.0
_DECIMALS = 3
_GUIDANCE = Caution("guidance_not_diagnosis")


def require_fit_to_train(asked: Question, teller: Teller) -> tuple[Caution, ...]:
    """Return what this person must heed; raises ``ClearanceRequired`` with the cautions where training is closed."""
    flags = decide_flags(asked.symptoms)
    # The body carries the outcome alone, so `cleared` is the caller's word that a clinician has opened training.
    clearance = Clearance(0.0, "clinician") if asked.screening == "cleared" else None
    gate = open_gate(Screening(asked.screening, clearance), 0.0)
    cautions = (*flags.cautions, *gate.cautions)
    if flags.stops_all_training or not gate.open:
        raise ClearanceRequired(
            reasons=documents(teller.reasons((*flags.reasons, *gate.closing_reasons))),
            cautions=documents(teller.cautions(cautions)),
        )
    return cautions


def computed_answer(
    version: str,
    teller: Teller,
    reasons: Sequence[Reason],
    cautions: Sequence[Caution],
    sources: Sequence[str],
) -> Document:
    """Return what every computation says beside its result."""
    return {
        "model_version": version,
        "reasons": documents(teller.reasons(reasons)),
        "cautions": documents(teller.cautions((*cautions, _GUIDANCE))),
        "sources": sorted(set(sources)),
    }


def mass_document(kilograms: Kilograms, unit: MassUnit) -> Document:
    """Return a mass in a unit."""
    return {"value": round(mass_from_kg(kilograms, unit), _DECIMALS), "unit": unit}


def compute_one_rep_max(asked: OneRepMaxQuestion, teller: Teller) -> Document:
    """Return the one-repetition maximum by every asked formula that holds, and the refused ones with their reasons.

    Raises ``ClearanceRequired``, and ``OutsideValidRange`` where no asked formula holds.
    """
    heed = require_fit_to_train(asked, teller)
    compared = one_rep_max.compare(
        mass_to_kg(asked.load.value, asked.load.unit),
        asked.reps,
        tuple(asked.formulas or one_rep_max.FORMULAS),
    )
    refused = [_refused(refusal, teller) for refusal in compared.refused]
    if compared.spread is None:
        faults = [FieldFault("/reps", one["reason"]["code"], one["reason"]["text"]) for one in refused]
        raise OutsideValidRange(faults=faults)
    formulas = [one_rep_max.FORMULAS[result.formula_id] for result in compared.results]
    keys = [key for formula in formulas for key in (formula.source, formula.range_source)]
    maximal = (Caution("spotter_or_bars"),)
    cautions = (*heed, *compared.cautions, *maximal)
    answer = computed_answer(ONE_REP_MAX_VERSION, teller, compared.reasons, cautions, keys)
    return {**_maxima(compared, asked.unit or asked.load.unit), "refused": refused, **answer}


def _maxima(compared: Comparison, unit: MassUnit) -> Document:
    results = []
    for result in compared.results:
        formula = one_rep_max.FORMULAS[result.formula_id]
        told = {
            "formula": formula.id, "name": formula.name, "expression": formula.expression,
            "one_rep_max": mass_document(result.one_rep_max_kg, unit),
            "valid_from": formula.valid_from, "valid_to": formula.valid_to, "source": formula.source,
        }  # fmt: skip
        results.append(told)
    spread = compared.spread
    if spread is None:
        return {"results": results}
    ends = {"lowest": spread.lowest_kg, "median": spread.median_kg, "highest": spread.highest_kg}
    return {
        "results": results,
        "spread": {name: mass_document(kilograms, unit) for name, kilograms in ends.items()},
    }


def _refused(refusal: FormulaRefusal, teller: Teller) -> Document:
    formula = one_rep_max.FORMULAS[refusal.formula_id]
    reason = to_document(teller.reason(refusal.reason))
    return {
        "formula": formula.id, "name": formula.name, "valid_from": formula.valid_from, "valid_to": formula.valid_to,
        "reason": reason,
    }  # fmt: skip


def compute_loadable(asked: LoadableQuestion, teller: Teller) -> Document:
    """Return the loads near a target or within a span, how each is made, and the neighbours of the target.

    Raises ``ClearanceRequired``; ``NotPossible`` where it is unclear what is wanted; ``NothingToComputeOn`` where nothing
    can be made; ``OutsideValidRange`` where the implements are too many or too finely divided to add up.
    """
    heed = require_fit_to_train(asked, teller)
    _require_one_wish(asked)
    try:
        body, reason = _loads(asked, tuple(_implements(asked)))
    except NothingLoadable:
        raise NothingToComputeOn("Nothing among these implements makes such a load on this basis.") from None
    except OutsideValidity as invalid:
        raise OutsideValidRange(_why_invalid(invalid)) from None
    return {**body, **computed_answer(LOADABLE_VERSION, teller, reason, heed, ())}


def _require_one_wish(asked: LoadableQuestion) -> None:
    span = asked.lightest is not None or asked.heaviest is not None
    if asked.load_basis in {"level", "none"}:
        if asked.target is not None or span:
            raise NotPossible(
                "On this basis there are no masses: name neither a target nor a span.",
                faults=[
                    FieldFault("/load_basis", "target_without_mass", asked.load_basis, "a basis with masses")
                ],
            )
    elif (asked.target is not None) == span:
        raise NotPossible(
            "Name a target or a span, and not both.",
            faults=[
                FieldFault(
                    "/target", "target_or_span", "both or neither", "`target`, or `lightest` to `heaviest`"
                )
            ],
        )


def _why_invalid(invalid: OutsideValidity) -> str:
    if "stations" in invalid.facts:
        return "Levels belong to one station: name the `station` that is meant."
    if "labels" in invalid.facts:
        return "Each label of a station stands once."
    return "These implements are too many, or their masses too finely divided, to add up."


def _implements(asked: LoadableQuestion) -> Iterator[loadable.Implement]:
    """Return the implements that stand at the asked station, or all where none is asked for."""
    for item in asked.items:
        station = getattr(item, "station", None)
        if asked.station is not None and station is not None and station != asked.station:
            continue
        if isinstance(item, BarImplement):
            yield loadable.Bar(item.name, core_mass(item.mass))
        elif isinstance(item, PlatePairsImplement):
            yield loadable.PlatePair(core_mass(item.mass), item.pairs)
        elif isinstance(item, DumbbellsImplement):
            yield loadable.DumbbellRack(tuple(dumbbell_masses(item)), item.name)
        elif isinstance(item, StackImplement):
            yield core_stack(item, assists=asked.load_basis == "assistance")
        elif isinstance(item, LevelsImplement) and asked.load_basis == "level":
            yield loadable.Levels(item.station, tuple(item.labels))
    if asked.load_basis == "added":
        yield loadable.Belt()


def _kg(mass: Mass) -> Kilograms:
    return mass_to_kg(mass.value, mass.unit)


def _loads(
    asked: LoadableQuestion, implements: tuple[loadable.Implement, ...]
) -> tuple[Document, tuple[Reason, ...]]:
    if asked.target is not None:
        return _near(asked, implements, _kg(asked.target))
    lowest = _kg(asked.lightest) if asked.lightest is not None else 0.0
    highest = _kg(asked.heaviest) if asked.heaviest is not None else None
    made = _options(asked, implements, highest)
    within = [option for option in made if asked.load_basis == "level" or option.load_kg >= lowest - 1e-6]
    if not within:
        raise NothingLoadable(lightest=lowest)
    shown = [_load(option, _unit(asked)) for option in within[:MOST_LOADS]]
    return {"loads": shown, "left_out": len(within) - len(shown)}, ()


def _options(
    asked: LoadableQuestion, implements: tuple[loadable.Implement, ...], highest: Kilograms | None
) -> tuple[Option, ...]:
    return loadable.options(
        implements, asked.load_basis, dumbbells_held=asked.dumbbells_held, highest_kg=highest
    )


def _near(
    asked: LoadableQuestion, implements: tuple[loadable.Implement, ...], target: Kilograms
) -> tuple[Document, tuple[Reason, ...]]:
    made, around = _around(asked, implements, target)
    unit = _unit(asked)
    near = loadable.loads_near(made, target, count=asked.count)
    body: Document = {"loads": [_load(option, unit) for option in near], "left_out": 0}
    for name, option in (("below", around.below), ("at", around.at), ("above", around.above)):
        if option is not None:
            body[name] = _load(option, unit)
    return body, (_explained(around, target, unit),)


def _unit(asked: LoadableQuestion) -> MassUnit:
    """Return the unit of the answer: the asked one, else that of the target or span, else kilograms."""
    named = next((mass for mass in (asked.target, asked.lightest, asked.heaviest) if mass is not None), None)
    return asked.unit or (named.unit if named is not None else "kg")


def _explained(around: Nearest, target: Kilograms, unit: MassUnit) -> Reason:
    """Return the core's reason in the answer's unit."""
    reason = loadable.explain(around, target)
    masses: dict[str, Param] = {
        name: round(mass_from_kg(option_kg, unit), _DECIMALS)
        for name, option_kg in (
            ("target", target),
            ("below", around.below.load_kg if around.below else None),
            ("above", around.above.load_kg if around.above else None),
        )
        if option_kg is not None
    }
    return Reason(reason.code.replace("loadable.", "compute.loadable_"), {**masses, "unit": unit})


def _around(
    asked: LoadableQuestion, implements: tuple[loadable.Implement, ...], target: Kilograms
) -> tuple[tuple[Option, ...], Nearest]:
    """Look a little above the target first: the whole of a large site's loads is seldom needed."""
    try:
        made = _options(asked, implements, _SEARCH_SHARE * target + _SEARCH_MORE_KG)
        around = loadable.nearest(made, target)
        if around.above is not None:
            return made, around
    except NothingLoadable:
        pass
    made = _options(asked, implements, None)
    return made, loadable.nearest(made, target)


def _load(option: Option, unit: MassUnit) -> Document:
    level: Document = {"value": option.value, "unit": option.unit}
    told = level if option.unit == "{level}" else to_document(shown_load(option, unit))
    if option.label is not None:
        told["label"] = option.label
    return {**told, "made_of": list(option.made_of)}
