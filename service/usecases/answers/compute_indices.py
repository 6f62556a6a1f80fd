"""Computing from a body alone: what the trials of two sides say of their difference, in every published index."""

from dataclasses import dataclass
from math import inf, sqrt
from typing import Final, cast

from service.core.errors import MixedInputs, OutsideValidity
from service.core.estimates import Caution, Reason
from service.core.symmetry.deficit import (
    BILATERAL_INDICES,
    HowMeasured,
    RenderedDeficit,
    bilateral_error,
    refuse_mixed,
    render_deficit,
)
from service.core.symmetry.index_catalogue import INDICES
from service.core.symmetry.indices import (
    RenderedIndex,
    TrialDefinition,
    minimal_detectable_change,
    render_all,
    render_from_limbs,
)
from service.core.symmetry.posterior import SidePrior
from service.core.symmetry.trials import (
    Belief,
    SideTrials,
    StudentBelief,
    TrialComparison,
    TrialFault,
    central,
    compare_trials,
    p_beyond,
    size_interval,
    spread_of,
    summarised,
    visits_needed,
    with_prior,
)
from service.core.units import CM_PER_IN, KG_PER_LB
from service.usecases.answers.compute import computed_answer, require_fit_to_train
from service.usecases.answers.telling import Teller, estimate_document, interval_document
from service.usecases.documents import Document, to_document
from service.usecases.errors import FieldFault, NotPossible
from service.usecases.records.computations import IndicesQuestion, TrialsSaid

INDICES_VERSION: Final = "imbalance-indices/1"
#: Units of one quantity, in its first unit; the pound-force is the pound times standard gravity, exact by definition.
_CONVERTIBLE: Final[tuple[dict[str, float], ...]] = (
    {"kg": 1.0, "lb": KG_PER_LB},
    {"cm": 1.0, "in": CM_PER_IN, "mm": 0.1, "m": 100.0},
    {"N": 1.0, "[lbf_av]": KG_PER_LB * 9.80665},
)
_MIXED_TEXTS: Final = {
    "mixed_units": ("unit", "one unit, or units of one quantity"),
    "mixed_exercises": ("exercise", "the same exercise everywhere"),
    "mixed_modes": ("mode", "the same mode everywhere"),
    "mixed_repetitions": ("reps", "the same repetitions everywhere"),
}
FAULT_TEXTS: Final = {
    "trial_of_nothing": "a trial of nothing has no ratio",
    "trial_far_off": "this trial is far from the others of its side; the decimal may have slipped",
    "trial_without_pair": "this trial has no partner on the other side",
    "unequal_trials": "the best of more trials is better by chance alone",
    "one_error_given": "the measurement error is given for one side only",
}
_DIGITS = 6


def compute_imbalance_indices(asked: IndicesQuestion, teller: Teller) -> Document:
    """Return every published index of a difference between sides, with its reference limb, sign, formula and interval.

    Raises ``ClearanceRequired``, and ``NotPossible`` where the body leaves the ratio open, where a trial cannot be used (its
    pointer says which) and where values were not measured alike. An index that is not defined here has no value but the
    reason.
    """
    heed = require_fit_to_train(asked, teller)
    _require_one_ratio(asked)
    said = _Comparison(asked, *_compared(asked))
    rendered = said.indices()
    deficits = said.deficits()
    body: Document = {"indices": [_index(index, teller) for index in rendered]}
    body |= said.told()
    if deficits:
        body["bilateral"] = [_deficit(one) for one in deficits]
    keys = [INDICES[index.index_id].source for index in rendered]
    keys += [BILATERAL_INDICES[one.index_id].source for one in deficits]
    keys += ["Weir2005"] if said.found.variance is not None else []
    cautions = (*heed, Caution("imbalance_is_measurement_not_risk"))
    return {**body, **computed_answer(INDICES_VERSION, teller, said.reasons(), cautions, keys)}


@dataclass(frozen=True, slots=True)
class _Comparison:
    """One difference between sides and how it is told."""

    asked: IndicesQuestion
    found: TrialComparison
    definition: TrialDefinition

    @property
    def prior(self) -> SidePrior | None:
        said = self.asked.prior
        return None if said is None else SidePrior(said.mean, said.sd)

    def indices(self) -> tuple[RenderedIndex, ...]:
        sides, found, mass = (self.asked.dominant_side, self.asked.involved_side), self.found, self.asked.mass
        if found.t is None:
            return render_from_limbs(found.left, found.right, *sides, definition=self.definition)
        if found.belief is None:
            return render_all(found.t, *sides, definition=self.definition)
        held, sizes = central(found.belief, mass), size_interval(found.belief, mass)
        return render_all(found.t, *sides, interval=held, size_interval=sizes, definition=self.definition)

    def told(self) -> Document:
        found, asked = self.found, self.asked
        if found.t is None:
            return {}
        ratio: Document = {"value": round(found.t, _DIGITS), "definition": self.definition}
        if found.belief is None or found.variance is None:
            return {"log_ratio": ratio}
        ratio |= {"sd": round(sqrt(found.variance), _DIGITS), **self._chances(found.belief)}
        if found.degrees_of_freedom < inf:
            ratio["degrees_of_freedom"] = found.degrees_of_freedom
        if found.pair_covariance is not None:
            ratio["pair_covariance"] = round(found.pair_covariance, 2 * _DIGITS)
        told: Document = {
            "log_ratio": ratio,
            "smallest_worthwhile": asked.smallest_worthwhile,
            "minimal_detectable_change": round(minimal_detectable_change(sqrt(found.variance)), _DIGITS),
        }
        needed = visits_needed(found, asked.smallest_worthwhile, self.prior, asked.mass)
        if needed is not None:
            told["visits_needed"] = estimate_document(needed)
        if self.prior is not None:
            posterior = with_prior(found, self.prior)
            told["posterior"] = {
                "value": round(posterior.mean(), _DIGITS), "sd": round(posterior.sd(), _DIGITS),
                **self._chances(posterior),
            }  # fmt: skip
        return told

    def _chances(self, belief: Belief) -> Document:
        return {
            "interval": interval_document(central(belief, self.asked.mass)),
            "p_right_ahead": round(belief.above(0.0), _DIGITS),
            "p_beyond": round(p_beyond(belief, self.asked.smallest_worthwhile), _DIGITS),
        }

    def reasons(self) -> tuple[Reason, ...]:
        asked, found = self.asked, self.found
        if found.variance is None:
            return (Reason("compute.no_error_given"),)
        told = []
        if asked.left is not None and not asked.visit_sd:
            told.append(Reason("compute.one_visit_only"))
        if asked.paired and asked.summary == "best_of_trials":
            told.append(Reason("compute.best_ignores_pairs"))
        elif asked.paired and found.degrees_of_freedom == inf and asked.trial_covariance is None:
            told.append(Reason("compute.pairs_taken_as_independent"))
        if asked.both is not None:
            told.append(Reason("compute.bilateral_repeats_poorly"))
        return tuple(told)

    def deficits(self) -> tuple[RenderedDeficit, ...]:
        """Return the bilateral index where both limbs were also measured together."""
        left, right, both = self.asked.left, self.asked.right, self.asked.both
        if left is None or right is None or both is None:
            return ()
        if self.found.left + self.found.right <= 0.0:
            raise _not_possible(
                [FieldFault("/left/trials", "trial_of_nothing", "both sides measured nothing", "above 0")]
            )
        together = summarised(_trials(both, left.unit), self.asked.summary)
        groups = [SideTrials(_trials(one, left.unit), one.trial_sd) for one in (both, left, right)]
        spread = spread_of(groups, self.asked.summary)
        variance, freedom = None, inf
        if spread is not None and self.found.t is not None:
            shared = (self.found.pair_covariance or 0.0) / len(left.trials)
            variance = bilateral_error(self.found.left, self.found.right, spread.variances, shared)
            freedom = spread.degrees_of_freedom
        return render_deficit(
            together, self.found.left, self.found.right,
            variance=variance, degrees_of_freedom=freedom, mass=self.asked.mass,
        )  # fmt: skip


def _require_one_ratio(asked: IndicesQuestion) -> None:
    given = (asked.left is not None) + (asked.right is not None)
    if given == 1 or (given == 2) == (asked.log_ratio is not None):
        fault = FieldFault(
            "/log_ratio", "values_or_ratio", "both or neither", "`left` and `right`, or `log_ratio`"
        )
        raise NotPossible("Name the trials of both sides, or the log ratio.", faults=[fault])
    of_trials = {"both": asked.both, "trial_covariance": asked.trial_covariance, "visit_sd": asked.visit_sd}
    if given == 0 and (lone := [name for name, value in of_trials.items() if value is not None]):
        raise _not_possible(
            [FieldFault(f"/{lone[0]}", "needs_trials", "it belongs to trials", "`left` and `right`")]
        )
    if given == 2 and asked.log_ratio_sd is not None:
        fault = FieldFault(
            "/log_ratio_sd", "needs_log_ratio", "trials tell their own error", "`trial_sd` of each side"
        )
        raise _not_possible([fault])


def _compared(asked: IndicesQuestion) -> tuple[TrialComparison, TrialDefinition]:
    if asked.left is None or asked.right is None:
        t, sd = asked.log_ratio or 0.0, asked.log_ratio_sd
        belief = None if sd is None else StudentBelief(t, sd, inf)
        variance = None if sd is None else sd * sd
        given = TrialComparison(
            1.0, 1.0, t, "log_ratio_given", variance, inf, 0.0, variance or 0.0, None, belief
        )
        return given, "log_ratio_given"
    _refuse_mixed(asked)
    sides = [SideTrials(_trials(one, asked.left.unit), one.trial_sd) for one in (asked.left, asked.right)]
    try:
        found = compare_trials(
            *sides, summary=asked.summary, paired=asked.paired, trial_covariance=asked.trial_covariance,
            visit_sd=asked.visit_sd or 0.0,
        )  # fmt: skip
    except OutsideValidity as invalid:
        raise _not_possible(_field_faults(invalid)) from None
    return found, found.definition


def _field_faults(invalid: OutsideValidity) -> list[FieldFault]:
    if "faults" not in invalid.facts:
        most = invalid.facts["at_most"]
        expected = f"at most {most:g} either way, the product of the two sds"
        return [
            FieldFault(
                "/trial_covariance", "covariance_too_large", "no two trials vary together so", expected
            )
        ]
    return [_field_fault(fault) for fault in cast(tuple[TrialFault, ...], invalid.facts["faults"])]


def _field_fault(fault: TrialFault) -> FieldFault:
    member = "trial_sd" if fault.code == "one_error_given" else "trials"
    place = "" if fault.trial is None else f"/{fault.trial}"
    return FieldFault(f"/{fault.side}/{member}{place}", fault.code, FAULT_TEXTS[fault.code], fault.expected)


def _not_possible(faults: list[FieldFault]) -> NotPossible:
    return NotPossible("These values cannot be compared.", faults=faults)


def _refuse_mixed(asked: IndicesQuestion) -> None:
    named = {name: one for name in ("left", "right", "both") if (one := getattr(asked, name)) is not None}
    base = next(iter(named.values())).unit
    measured = {
        name: HowMeasured(base if unit_factor(one.unit, base) else one.unit, one.exercise, one.mode, one.reps)
        for name, one in named.items()
    }
    try:
        refuse_mixed(*measured.values())
    except MixedInputs as differing:
        codes = cast(tuple[str, ...], differing.facts["mixed"])
        raise _not_possible([_mixed_fault(code, measured) for code in codes]) from None


def _mixed_fault(code: str, measured: dict[str, HowMeasured]) -> FieldFault:
    """Return the fault of the first that differs from the left side."""
    member, expected = _MIXED_TEXTS[code]
    attribute = {"reps": "repetitions"}.get(member, member)
    first = getattr(measured["left"], attribute)
    name = next(name for name, one in measured.items() if getattr(one, attribute) != first)
    return FieldFault(f"/{name}/{member}", code, f"it differs from that of /left/{member}", expected)


def unit_factor(unit: str, base: str) -> float | None:
    """Return what a unit is worth in another of its quantity, None where they cannot be converted."""
    if unit == base:
        return 1.0
    return next(
        (units[unit] / units[base] for units in _CONVERTIBLE if unit in units and base in units), None
    )


def in_unit(values: list[float], unit: str, base: str) -> tuple[float, ...]:
    """Return values in another unit of their quantity, untouched where it is the same."""
    factor = unit_factor(unit, base) or 1.0
    return tuple(values) if factor == 1.0 else tuple(value * factor for value in values)


def _trials(said: TrialsSaid, unit: str) -> tuple[float, ...]:
    return in_unit(said.trials, said.unit, unit)


def _index(rendered: RenderedIndex, teller: Teller) -> Document:
    index = INDICES[rendered.index_id]
    told: Document = {
        "id": index.id, "title": index.title, "formula": index.expression, "reference_limb": index.reference_limb,
        "sign": index.sign_convention, "definition": rendered.definition,
        "value": None if rendered.value is None else round(rendered.value, 4),
        "unit": rendered.unit, "source": index.source, "form_seen": index.form_seen,
    }  # fmt: skip
    if rendered.interval is not None:
        told["interval"] = interval_document(rendered.interval)
    if rendered.reason is not None:
        told["reason"] = to_document(teller.reason(rendered.reason))
    return told


def _deficit(rendered: RenderedDeficit) -> Document:
    index = BILATERAL_INDICES[rendered.index_id]
    told: Document = {
        "id": index.id, "title": index.title, "formula": index.expression, "reference_limb": index.reference_limb,
        "sign": index.sign_convention, "value": round(rendered.value, 4), "unit": index.unit,
        "source": index.source, "form_seen": index.form_seen,
    }  # fmt: skip
    if rendered.interval is not None:
        told["interval"] = interval_document(rendered.interval)
    return told
