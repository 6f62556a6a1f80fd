"""Gaps between the sides as documents: indices with id, reference limb and sign, forecast, history and plan."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import exp
from typing import Any

from service.core.estimates import Estimate, Reason
from service.core.symmetry.closing import SOURCES as CLOSING_SOURCES
from service.core.symmetry.closing import ClosingPlan
from service.core.symmetry.closing_forecast import forecast_without_plan
from service.core.symmetry.decisions import SidePosterior
from service.core.symmetry.index_catalogue import INDICES
from service.core.symmetry.indices import RenderedIndex, render_all
from service.core.symmetry.posterior import SideKind
from service.core.units import Share
from service.usecases.answers.imbalance_history import Then
from service.usecases.answers.imbalance_sides import Sides
from service.usecases.answers.telling import (
    Teller,
    basis_document,
    documents,
    estimate_document,
    instant_of_day,
    interval_document,
)
from service.usecases.documents import Document, without_nulls

#: Works behind each kind's posterior; each index adds its own.
SOURCES: dict[SideKind, tuple[str, ...]] = {
    "strength": ("Baroni2016", "Weir2005", "Afonso2022", "Parkinson2021"),
    "endurance": ("Weir2005", "Afonso2022"),
    "size": ("SportRxivTape2026", "Jamaiyah2008", "Norton1996", "Weir2005", "Afonso2022", "Parkinson2021"),
    "joint_motion": ("Weir2005", "Afonso2022"),
}
_RECHECK = timedelta(weeks=6)


@dataclass(frozen=True, slots=True)
class ToldGap:
    """One gap with everything that is told of it."""

    kind: SideKind
    place: Document
    posterior: SidePosterior
    sides: Sides
    history: Sequence[Then] = ()
    plan: ClosingPlan | Reason | None = None
    more: Document | None = None


@dataclass(frozen=True, slots=True)
class Telling:
    """Turns gaps into documents; ``today`` is the athlete's own date."""

    teller: Teller
    today: date
    mass: Share
    full: bool
    least_reserve: float | None = None

    def item(self, gap: ToldGap) -> Document:
        """Return one gap as it is told."""
        found = gap.posterior
        measure = "difference" if gap.kind == "joint_motion" else "t"
        document: Document = {
            "kind": gap.kind,
            **gap.place,
            "state": found.state,
            measure: estimate_document(found.t),
            "p_right_ahead": round(found.p_right_ahead, 4),
            "p_left_ahead": round(found.p_left_ahead, 4),
            "p_beyond": round(found.p_beyond, 4),
            "smallest_worthwhile": found.smallest_worthwhile,
            "minimal_detectable_change": round(found.minimal_detectable_change, 4),
            "visits_needed": _told_estimate(found.visits_needed),
            "expected_next_reading": estimate_document(found.expected_next_reading),
            "between_exercises_sd": found.between_exercises_sd,
            "dominant_side": gap.sides.dominant,
            "involved_side": gap.sides.involved,
            "indices": self._indices(gap),
            "history": [_then(one) for one in gap.history],
            "forecast": self._forecast(gap),
            **self._closing(gap.plan),
            "basis": basis_document(found.basis),
            "reasons": documents(self.teller.reasons(found.reasons)),
            "cautions": documents(self.teller.cautions(found.cautions)),
            "sources": list(SOURCES[gap.kind]),
            **(gap.more or {}),
        }
        told: Document = without_nulls(document)
        return told

    def _indices(self, gap: ToldGap) -> list[Document]:
        """Return the published indices of a log ratio; a difference in degrees has none."""
        if gap.kind == "joint_motion":
            return []
        t = gap.posterior.t
        rendered = render_all(t.value, gap.sides.dominant, gap.sides.involved, interval=t.interval)
        return [self._index(one) for one in rendered]

    def _index(self, rendered: RenderedIndex) -> Document:
        known = INDICES[rendered.index_id]
        document: dict[str, Any] = {
            "id": rendered.index_id,
            "unit": rendered.unit,
            "reference_limb": known.reference_limb,
            "sign_convention": known.sign_convention,
            "definition": rendered.definition,
            "value": None if rendered.value is None else round(rendered.value, 3),
            "interval": None if rendered.interval is None else interval_document(rendered.interval),
            "reason": None
            if rendered.reason is None
            else documents([self.teller.reason(rendered.reason)])[0],
        }
        if self.full:
            document |= {"title": known.title, "expression": known.expression, "source": known.source}
            document["form_seen"] = known.form_seen
        return document

    def _forecast(self, gap: ToldGap) -> Document | None:
        """Return t six weeks on: with the plan where there is one, else with training as it is."""
        if gap.kind == "joint_motion" or gap.posterior.state == "undetermined":
            return None
        planned = isinstance(gap.plan, ClosingPlan)
        t = gap.plan.forecast if isinstance(gap.plan, ClosingPlan) else self._unchanged(gap)
        return {"on": (self.today + _RECHECK).isoformat(), "with_plan": planned, "t": estimate_document(t)}

    def _unchanged(self, gap: ToldGap) -> Estimate:
        return forecast_without_plan(gap.posterior, gap.kind, self.mass)

    def _closing(self, plan: ClosingPlan | Reason | None) -> Document:
        if plan is None:
            return {}
        if isinstance(plan, Reason):
            return {"no_closing_plan": documents([self.teller.reason(plan)])[0]}
        document = {
            "quality": plan.quality,
            "lagging_side": plan.lagging_side,
            "first_side": plan.lagging_side,
            "lifts": [
                {"exercise_id": one.exercise_id, "left_sets": one.left_sets, "right_sets": one.right_sets}
                for one in plan.lifts
            ],
            "extra_sets": plan.extra_sets,
            "recheck_on": (self.today + timedelta(days=plan.recheck_after)).isoformat(),
            "stop_on": (self.today + timedelta(days=plan.stop_after)).isoformat(),
            "stop_below": plan.done_below,
            "target_ratio": round(exp(plan.target), 4),
            "least_reserve": self.least_reserve,
            "reasons": documents(self.teller.reasons(plan.reasons)),
            "cautions": documents(self.teller.cautions(plan.cautions)),
            "sources": list(CLOSING_SOURCES),
        }
        return {"closing_plan": document}


def _told_estimate(estimate: Estimate | None) -> Document | None:
    return None if estimate is None else estimate_document(estimate)


def _then(one: Then) -> Document:
    return {"at": instant_of_day(one.day).isoformat(), "t": estimate_document(one.t)}
