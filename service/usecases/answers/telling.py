"""Answers as documents: estimates, what they rest on, and reasons and cautions with their sentences."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from service.catalogue.texts import Texts
from service.core.estimates import Basis, Caution, Estimate, Interval, Param, Reason
from service.core.tolerance.flags import in_order
from service.core.units import Days, MassUnit, mass_from_kg
from service.usecases.documents import Document, to_document
from service.usecases.records.plans import CautionText, ReasonText

_S_PER_DAY = 86_400.0
#: Three decimals of a kilogram are a gram: finer digits say nothing.
_DECIMALS = 4


@dataclass(frozen=True, slots=True)
class Teller:
    """Turns what the core says into documents, in one language and one unit of mass."""

    texts: Texts
    unit: MassUnit = "kg"

    def reason(self, reason: Reason) -> ReasonText:
        """Return a reason with its sentence."""
        params = dict(reason.params)
        return ReasonText(
            code=_plain(reason.code), text=self.texts.render(reason.code, params), params=_rounded(params)
        )

    def caution(self, caution: Caution) -> CautionText:
        """Return a caution with its sentence."""
        params = dict(caution.params)
        text = self.texts.render(caution.code, params)
        return CautionText(
            code=_plain(caution.code), urgency=caution.urgency, text=text, params=_rounded(params)
        )

    def reasons(self, reasons: Iterable[Reason], most: int | None = None) -> list[ReasonText]:
        """Return reasons in their order, each code once."""
        told: dict[str, ReasonText] = {}
        for reason in reasons:
            told.setdefault(reason.code, self.reason(reason))
        return list(told.values())[:most]

    def cautions(self, cautions: Iterable[Caution]) -> list[CautionText]:
        """Return cautions, the most urgent first, each code once."""
        return [self.caution(caution) for caution in in_order(_one_of_each_meaning(cautions))]

    def mass(self, estimate: Estimate) -> Document:
        """Return an estimate of a mass in the answer's unit."""
        factor = mass_from_kg(1.0, self.unit)
        return estimate_document(scaled(estimate, factor, self.unit))


#: Two parts of the core may say the same in their own words; one of each is enough.
_SAME_MEANING = {
    "progression.first_time": "first_time",
    "progression.after_break": "after_break",
    "progression.watch_next_morning": "watch_next_morning",
}


def _one_of_each_meaning(cautions: Iterable[Caution]) -> list[Caution]:
    kept: dict[str, Caution] = {}
    for caution in cautions:
        kept.setdefault(_SAME_MEANING.get(caution.code, caution.code), caution)
    return list(kept.values())


def _plain(code: str) -> str:
    """Return a code as it stands on the wire: words with underscores."""
    return code.replace(".", "_").replace("-", "_")


def _rounded(params: dict[str, Param]) -> dict[str, Param]:
    return {name: _plain_number(value) for name, value in params.items()}


def _plain_number(value: Param) -> Param:
    """Return a parameter as it is told; adding nothing takes the sign off a zero."""
    return round(value, _DECIMALS) + 0.0 if isinstance(value, float) else value


def scaled(estimate: Estimate, factor: float, unit: str) -> Estimate:
    """Return an estimate in another unit."""
    interval = estimate.interval
    return Estimate(
        estimate.value * factor,
        unit,
        estimate.sd * factor,
        Interval(interval.lower * factor, interval.upper * factor, interval.mass, interval.kind),
        estimate.statistic,
    )


def estimate_document(estimate: Estimate) -> Document:
    """Return an estimate as it is told."""
    return {
        "value": round(estimate.value, _DECIMALS),
        "unit": estimate.unit,
        "sd": round(estimate.sd, _DECIMALS),
        "interval": interval_document(estimate.interval),
        "statistic": estimate.statistic,
    }


def interval_document(interval: Interval) -> Document:
    """Return an interval as it is told."""
    return {
        "lower": round(interval.lower, _DECIMALS),
        "upper": round(interval.upper, _DECIMALS),
        "mass": interval.mass,
        "kind": interval.kind,
    }


def basis_document(basis: Basis) -> Document:
    """Return what an answer rests on, its newest observation as an instant."""
    document: Document = {
        "observation_count": basis.observation_count,
        "prior_share": round(min(max(basis.prior_share, 0.0), 1.0), _DECIMALS),
    }
    if basis.newest_day is not None:
        document["newest_at"] = instant_of_day(basis.newest_day).isoformat()
    return document


def instant_of_day(day: Days) -> datetime:
    """Return the instant of a day on the axis of elapsed days since 1970, UTC."""
    return datetime.fromtimestamp(day * _S_PER_DAY, UTC)


def documents(texts: Sequence[ReasonText | CautionText]) -> list[Any]:
    """Return reasons or cautions as documents."""
    return [to_document(text) for text in texts]
