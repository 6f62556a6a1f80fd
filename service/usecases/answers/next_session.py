"""The whole next session as a plan: exercises in order, loads that the site can make, reserve, reasons and cautions."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID, uuid5

from service.catalogue.texts import Texts
from service.core import progression
from service.core.errors import Infeasible
from service.core.estimates import Caution, Reason
from service.core.planning import MODEL_VERSION, SOURCE_KEYS, PlannedExercise, SessionPlan, plan_session
from service.core.tolerance.cautions import cautions_of_plan, limits_of_person
from service.core.units import MassUnit
from service.usecases.answers.due_checks import due_checks
from service.usecases.answers.history import read_histories
from service.usecases.answers.plan_asking import ask_of
from service.usecases.answers.plan_choices import SideChooser
from service.usecases.answers.plan_limits import unknown_regions
from service.usecases.answers.plan_reasons import told_reasons
from service.usecases.answers.plan_request import SessionCase, plan_request, read_case
from service.usecases.answers.plan_sets import MadeSets, SetMaker
from service.usecases.answers.site_loads import read_stock
from service.usecases.answers.situation import read_situation
from service.usecases.answers.telling import Teller
from service.usecases.documents import Document, to_document
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork
from service.usecases.records.plans import Plan, PlanItem, PlannedSet

#: Reasons told for one exercise, and for the whole session; the rest stays behind them.
MOST_ITEM_REASONS = 5
MOST_REASONS = 6
#: Soreness of 0-10 that a plan names, and how many muscles it names. (judgement)
_SORE_FROM = 5.0
_MOST_SORE = 3
_SOURCES = (*SOURCE_KEYS, "Korak2015", "Remmert2025", "Singer2024")


@dataclass(frozen=True, slots=True)
class SessionQuestion:
    """Whose next session, where, in how many minutes, as of when (None = now), in what unit."""

    athlete_id: UUID
    site_id: UUID | None = None
    minutes: float | None = None
    as_of: datetime | None = None
    unit: MassUnit | None = None
    min_position: int | None = None


def preview_session(
    work: UnitOfWork, book: ExerciseBook, texts: Texts, question: SessionQuestion
) -> Document:
    """Return the next session as a plan that can be issued as it is; nothing is stored.

    Where a constraint leaves nothing, the plan has no items and says which one binds. Raises what ``read_situation``
    raises, ``ClearanceRequired`` while training is closed, ``SiteRequired`` without a site.
    """
    situation = read_situation(
        work,
        question.athlete_id,
        book=book,
        as_of=question.as_of,
        unit=question.unit,
        min_position=question.min_position,
    )
    teller = Teller(texts, situation.unit)
    situation.require_open(teller)
    stock = read_stock(work, situation, question.site_id)
    case = read_case(work, book, situation, read_histories(situation, book), stock)
    record = _Planner(case, teller).plan(question.minutes)
    return {
        **to_document(record),
        "as_of": situation.as_of,
        "position": str(situation.position),
        "due_checks": due_checks(situation, case.histories, teller, lacks=case.lacks),
    }


class _Planner:
    """Turns the core's plan of one case into the plan that is told."""

    def __init__(self, case: SessionCase, teller: Teller) -> None:
        self.case = case
        self.teller = teller

    def plan(self, minutes: float | None) -> Plan:
        chooser = SideChooser(self.case)
        request = plan_request(
            self.case, minutes, too_heavy=chooser.too_heavy(), without_extra=chooser.without_extra()
        )
        try:
            found = plan_session(request)
        except Infeasible as nothing:
            return self._empty(str(nothing.facts["constraint"]))
        maker = SetMaker(self.case, chooser)
        made = [(item, maker.sets_of(item)) for item in found.items]
        items = [self._item(place, item, sets) for place, (item, sets) in enumerate(made)]
        return self._whole(
            items,
            minutes=found.minutes,
            action=self._action(items),
            reasons=self._reasons(found),
            item_sources=[sets.source_keys for _, sets in made],
        )

    def _empty(self, constraint: str) -> Plan:
        reason = Reason(f"planning.{constraint}")
        told = self.teller.reason(reason)
        return self._whole([], minutes=0.0, action=told.text, reasons=(reason,), item_sources=[])

    def _whole(
        self,
        items: list[PlanItem],
        *,
        minutes: float,
        action: str,
        reasons: Sequence[Reason],
        item_sources: Iterable[tuple[str, ...]],
    ) -> Plan:
        situation, stock = self.case.situation, self.case.stock
        ask = ask_of(self.case, [item.exercise_id for item in items])
        person = limits_of_person(self.case.person)
        unknown = unknown_regions(situation)
        cautions = cautions_of_plan((*situation.flags.cautions, *situation.gate.cautions, *person.cautions))
        return Plan(
            items=items,
            minutes=round(minutes, 1),
            as_of=situation.as_of,
            model_version=MODEL_VERSION,
            action=action,
            site_id=stock.site_id if stock is not None else None,
            inventory_etag=stock.etag if stock is not None else None,
            reasons=self.teller.reasons(
                (*reasons[:1], *unknown, *reasons[1:], *situation.gate.reasons), MOST_REASONS
            ),
            cautions=self.teller.cautions(cautions),
            sources=sorted({*_SOURCES, *(key for keys in item_sources for key in keys)}),
            ask=self.teller.reason(ask) if ask is not None else None,
        )

    def _item(self, place: int, item: PlannedExercise, made: MadeSets) -> PlanItem:
        exercise = self.case.exercises[item.exercise_id]
        situation = self.case.situation
        key = (
            f"{situation.local_date}|{self.case.stock and self.case.stock.site_id}|{place}|{item.exercise_id}"
        )
        planned = [self._named(_of_sides(reason, match=made.sides_match)) for reason in item.reasons]
        return PlanItem(
            item_id=uuid5(situation.athlete_id, key),
            exercise_id=item.exercise_id,
            exercise_name=exercise.name,
            role=item.role,
            sets=made.sets,
            minutes=round(item.minutes, 1),
            muscles=list(item.muscles),
            policy=made.policy,
            reasons=told_reasons(made.reasons, planned, self.teller, MOST_ITEM_REASONS),
            cautions=self.teller.cautions(_without(made.cautions, situation.gate.cautions)),
            sources=sorted({*progression.SOURCE_KEYS, *made.source_keys}),
        )

    def _named(self, reason: Reason) -> Reason:
        """Return a reason with muscles by name."""
        told = reason.params.get("muscles")
        if not isinstance(told, str):
            return reason
        muscles = self.case.book.catalogue.muscles
        names = [muscles[one].name.lower() if one in muscles else one for one in told.split(", ")]
        return replace(reason, params={**reason.params, "muscles": ", ".join(names)})

    def _reasons(self, found: SessionPlan) -> tuple[Reason, ...]:
        wants = self.case.wants
        aimed = any(aim.kind != "hold" for aim in self.case.situation.aims)
        reasons = [*found.reasons, Reason("planning.towards_aims" if aimed else "planning.whole_body")]
        if wants.undecided_gap:
            reasons.append(Reason("planning.gap_not_decided"))
        share = self.case.sets_share(self.case.recent.gap_days)
        if share < 1.0:
            params = {"days": self.case.recent.gap_days, "percent": 100.0 * share}
            reasons.insert(1, Reason("planning.fewer_sets_after_break", params))
        sore = self._sore()
        if sore:
            reasons.insert(1, self._named(Reason("planning.sore", {"muscles": ", ".join(sore)})))
        return tuple(reasons)

    def _sore(self) -> list[str]:
        """Return the wanted muscles that were told to be sore enough to be named, the sorest first."""
        told: dict[str, float] = {}
        for (muscle, side), soreness in self.case.recent.recovery.soreness.items():
            if soreness >= _SORE_FROM and (muscle, side) in self.case.wants.weights:
                told[muscle] = max(told.get(muscle, 0.0), soreness)
        return sorted(told, key=lambda muscle: -told[muscle])[:_MOST_SORE]

    def _action(self, items: Sequence[PlanItem]) -> str:
        first = items[0]
        working = [one for one in first.sets if not one.ramp]
        params = {
            "exercise": first.exercise_name,
            "sets": _counted(sum(one.side == working[0].side for one in working), "set"),
            "work": _work_text(working[0]),
            "rest": _counted(len(items) - 1, "more exercise"),
        }
        code = "planning.action" if len(items) > 1 else "planning.action_only"
        return self.teller.texts.render(code, params)


def _of_sides(reason: Reason, *, match: bool) -> Reason:
    """Say of the side that goes first that the other one matches it only where it does."""
    if match or reason.code != "planning.lagging_side_first":
        return reason
    return replace(reason, code="planning.lagging_side_goes_first")


def _without(cautions: Iterable[Caution], told: Iterable[Caution]) -> list[Caution]:
    """Leave out what the whole plan says already."""
    codes = {caution.code for caution in told} | {"guidance_not_diagnosis"}
    return [caution for caution in cautions if caution.code not in codes]


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _work_text(planned: PlannedSet) -> str:
    """Return what one set asks for in words."""
    parts = []
    if planned.reps_low is not None and planned.reps_high is not None:
        span = (
            f"{planned.reps_low} to {planned.reps_high}"
            if planned.reps_low < planned.reps_high
            else f"{planned.reps_low}"
        )
        parts.append(f"of {span} repetitions")
    elif planned.hold_s is not None:
        parts.append(f"of {planned.hold_s:.0f} s")
    elif planned.distance_m is not None:
        parts.append(f"of {planned.distance_m:.0f} m")
    if planned.load is not None and planned.load.value > 0.0:
        parts.append(f"at {planned.load.value:g} {planned.load.unit}")
    elif planned.level is not None:
        parts.append(f"at level {planned.level}")
    if planned.reps_in_reserve:
        parts.append(f"with {planned.reps_in_reserve:.0f} left in reserve")
    return " ".join(parts)
