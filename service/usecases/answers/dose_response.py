"""What weekly volume does to each of an athlete's muscles, and where it meets a stated criterion."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final
from uuid import UUID

from service.catalogue.texts import Texts
from service.core.estimates import DEFAULT_MASS, Basis, Estimate, Interval, Param, Reason
from service.core.units import Days, HardSets, Share
from service.core.volume.girths import MOST_MASS_CHANGE
from service.core.volume.growth import (
    HORIZON_WEEKS,
    growth_at,
    growth_interval,
    slope_interval,
)
from service.core.volume.growth_series import GrowthSeries, evidence_of
from service.core.volume.hard_sets import TrainingAge
from service.core.volume.plausible import set_aside
from service.core.volume.readings import regain_after
from service.core.volume.response import (
    Response,
    SlopePrior,
    population_slope,
    respond,
    slope_prior_from,
)
from service.core.volume.thresholds import (
    BUILDING_DOSE,
    DETECTABLE_GAIN,
    LARGEST_STUDIED,
    MODEL_VERSION,
    SMALL_NEXT_GAIN,
    Wanted,
    downturn_of,
    effect_is_open,
    peak_of,
    thresholds_of,
)
from service.core.volume.witnesses import WORTH_TELLING, sways_of
from service.usecases.answers.growth_seen import WEEKS, GrowthSeen, Witness
from service.usecases.answers.situation import Situation, read_situation
from service.usecases.answers.telling import Teller, basis_document, documents, estimate_document
from service.usecases.answers.volume import THRESHOLD_SOURCES
from service.usecases.documents import Document, without_nulls
from service.usecases.errors import FieldFault, UnknownReference
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork
from service.usecases.records.people import ConsentPurpose

#: Doses at which the curve is told. [hard sets]
_CURVE: Final = (0.0, 1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 30.0, 40.0, LARGEST_STUDIED)
#: Works behind the curve and what is learned of it.
SOURCES: Final = ("Pelland2025", "Schoenfeld2017", "Hubal2005", "Erskine2014", "Ahtiainen2016", "Bickel2011")
#: Doubt about the slope that other muscles' lifts must take off to be named (judgement). [1]
_LEAST_MOVE: Final = 0.001
_NOTHING: Final = Reason("dose_response.nothing_trained", {"weeks": WEEKS})
#: Works behind what a girth says.
_GIRTH_SOURCES: Final = ("Hurley1991", "Heymsfield1979")


@dataclass(frozen=True, slots=True)
class DoseResponseQuestion:
    """What is asked: the muscles (None = all that were trained), what one more set and a gain must be worth, as of when."""

    muscle_id: str | None = None
    worth: Share = SMALL_NEXT_GAIN
    gain: Share = DETECTABLE_GAIN
    as_of: datetime | None = None
    mass: Share = DEFAULT_MASS
    min_position: int | None = None


def answer_dose_response(
    work: UnitOfWork,
    book: ExerciseBook,
    texts: Texts,
    athlete_id: UUID,
    question: DoseResponseQuestion,
    purposes: Sequence[ConsentPurpose] = ("process_health",),
) -> Document:
    """Return the curve and the thresholds of each muscle, the population's where the log tells nothing.

    Raises what ``read_situation`` raises, and ``UnknownReference`` for a muscle that does not exist.
    """
    asked = question.muscle_id
    if asked is not None and not book.knows_muscle(asked):
        fault = FieldFault(
            "?muscle_id", "unknown_reference", "there is no such muscle", "an id of GET /v1/muscles"
        )
        raise UnknownReference(faults=[fault])
    # Without a book no state is read: looking back at lines begins with the window's first set, however long the log is.
    situation = read_situation(
        work, athlete_id, as_of=question.as_of, purposes=purposes, min_position=question.min_position
    )
    growing = GrowthSeen(situation, book, work)
    muscles = growing.trained_muscles if asked is None else tuple(book.catalogue.parts(asked))
    telling = _Telling(Teller(texts), question, situation, growing)
    return {
        "position": str(situation.position),
        "model_version": MODEL_VERSION,
        "as_of": situation.as_of,
        "items": [telling.item(muscle) for muscle in muscles],
        "reasons": [] if muscles else documents(telling.teller.reasons([_NOTHING])),
        "cautions": documents(telling.teller.cautions(situation.cautions)),
    }


@dataclass(frozen=True, slots=True)
class ToldWitness:
    """A series with how it is placed and named in the answer, the weeks it was seen, and what else to say of it."""

    place: Document
    name: str
    series: GrowthSeries
    weeks: float
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class _Telling:
    """Turns a muscle's answer to volume into a document."""

    teller: Teller
    question: DoseResponseQuestion
    situation: Situation
    growing: GrowthSeen

    def item(self, muscle: str) -> Document:
        training = self.situation.training
        elsewhere = self.growing.elsewhere(muscle)
        prior = slope_prior_from(elsewhere, training)
        lifts, girth = self.growing.lifts(muscle), self.growing.girth(muscle, prior)
        witnesses = heard_of(lifts if girth is None else [*lifts, girth], training)
        heard = [one for one in witnesses if one.series.counts.any()]
        response = respond(evidence_of(one.series for one in witnesses), training, prior)
        dose, weeks = self.growing.building_dose(muscle)
        wanted = Wanted(
            self.situation.age_years, dose, weeks, self.question.gain, self.question.worth, self.question.mass
        )
        newest = max((one.newest_day for one in witnesses), default=None)
        told = response_document(response, training, wanted, self.teller, newest)
        moved_from_elsewhere = elsewhere.series if _moved(prior, population_slope(training)) else 0
        seen = self.teller.reasons(_seen(heard, girth, moved_from_elsewhere, self.growing, muscle))
        item: Document = {
            "muscle_id": muscle,
            **told,
            "reasons": [*documents(seen), *told["reasons"]],
            "sources": [*told["sources"], *(_GIRTH_SOURCES if girth else ())],
            "moved_by": list(
                moved_by(
                    [told_witness(one) for one in witnesses],
                    training,
                    prior,
                    dose or BUILDING_DOSE,
                    self.teller,
                )
            ),
            "recent_weekly_hard_sets": None if dose is None else round(dose, 3),
            "lift_count": sum(one.kind == "lift" for one in heard),
            "weeks_seen": round(sum(one.weeks for one in witnesses), 1),
        }
        kept: Document = without_nulls(item)
        return kept


def heard_of(witnesses: Sequence[Witness], training: TrainingAge) -> list[Witness]:
    """Return lifts and girths with what is no answer to sets set aside, and their weeks without it."""
    series = set_aside([one.series for one in witnesses], training)
    # A witness' weeks are without breaks, and without what body mass left out of a girth, already.
    return [
        replace(
            one,
            series=told,
            weeks=one.weeks - float(told.weeks[one.series.counts & ~told.counts].sum()),
            stretches=int(one.series.counts.sum()),
        )
        for one, told in zip(witnesses, series, strict=True)
    ]


def of_stretches(series: GrowthSeries, stretches: int) -> Iterator[Reason]:
    """Yield how many of the stretches of a lift or a girth that lie in no break were set aside, if any."""
    left = stretches - int(series.counts.sum())
    if left:
        yield Reason("dose_response.set_aside", {"count": left, "stretches": stretches})


def _of_pause(pause: Days) -> Iterator[Reason]:
    if pause:
        yield Reason("dose_response.break_left_out", {"days": pause, "back": regain_after(pause)})


def told_witness(witness: Witness) -> ToldWitness:
    """Return a lift or a girth of the log as it is named in the answer."""
    place = "exercise_id" if witness.kind == "lift" else "site"
    reasons = (
        *of_stretches(witness.series, witness.stretches),
        *_of_pause(witness.pause),
        *_of_tape(witness),
    )
    return ToldWitness(
        {"kind": witness.kind, place: witness.told_as}, witness.name, witness.series, witness.weeks, reasons
    )


def moved_by(
    witnesses: Sequence[ToldWitness], training: TrainingAge, prior: SlopePrior, sets: HardSets, teller: Teller
) -> Iterator[Document]:
    """Yield what each lift and girth changed of the growth expected at some weekly sets, one at a time."""
    sways = sways_of([one.series for one in witnesses], training, prior, sets)
    for one, sway in zip(witnesses, sways, strict=True):
        direction = _direction(sway)
        code = f"dose_response.{'girth' if one.series.kind == 'girth' else 'lift'}_{direction}"
        params: dict[str, Param] = {
            "name": one.name, "weeks": one.weeks, "points": 100.0 * abs(sway), "sets": sets,
        }  # fmt: skip
        yield {
            **one.place,
            "weeks": round(one.weeks, 1),
            "direction": direction,
            "growth_change": round(100.0 * sway, 4),
            "at_weekly_hard_sets": round(sets, 3),
            "reasons": documents(teller.reasons((Reason(code, params), *one.reasons))),
        }


def _direction(sway: Share) -> str:
    if abs(sway) < WORTH_TELLING:
        return "left"
    return "raised" if sway > 0.0 else "lowered"


def _of_tape(witness: Witness) -> Iterator[Reason]:
    """Yield what body mass and fat did to a girth's word."""
    if witness.kind != "girth":
        return
    if witness.left_out:
        yield Reason(
            "dose_response.girth_body_mass", {"count": witness.left_out, "percent": 100.0 * MOST_MASS_CHANGE}
        )
    yield Reason("dose_response.girth_corrected" if witness.corrected else "dose_response.girth_plain")


def _moved(prior: SlopePrior, usual: SlopePrior) -> bool:
    """Whether other muscles' lifts moved what is believed of one before its own are heard."""
    return prior.spread < (1.0 - _LEAST_MOVE) * usual.spread


def _seen(
    heard: Sequence[Witness], girth: Witness | None, elsewhere: int, growing: GrowthSeen, muscle: str
) -> Iterator[Reason]:
    """Yield what the numbers rest on; ``girth`` is there where the tape tells of the muscle, heard or not."""
    lifts = [one for one in heard if one.kind == "lift"]
    if lifts:
        weeks = sum(one.weeks for one in lifts)
        yield Reason("dose_response.moved_by_lifts", {"lifts": len(lifts), "weeks": weeks})
    yield from _of_pause(growing.longest_pause(muscle))
    for one in heard:
        if one.kind == "girth":
            yield Reason("dose_response.moved_by_girth", {"site": one.name, "weeks": one.weeks})
    if girth is None and (place := growing.place_over(muscle)) is not None:
        silent = "girth_all_left_out" if place.visits.spans_enough else "girth_too_short"
        yield Reason(f"dose_response.{silent}", {"site": place.told.replace("-", " ")})
    if elsewhere:
        yield Reason("dose_response.moved_by_other_muscles", {"lifts": elsewhere})
    elif not heard:
        yield Reason("dose_response.population_only")
    if in_levels := growing.lifts_in_levels(muscle):
        yield Reason("dose_response.levels_left_out", {"lifts": in_levels})


def response_document(
    response: Response, training: TrainingAge, wanted: Wanted, teller: Teller, newest_day: Days | None = None
) -> Document:
    """Return an answer to volume as it is told."""
    found = thresholds_of(response, training, wanted)
    peak = peak_of(response, wanted.mass)
    return {
        "thresholds": [
            {
                "criterion": one.criterion,
                "weekly_hard_sets": estimate_document(one.weekly_hard_sets),
                "reached": one.reached,
                "prior_share": round(one.prior_share, 4),
                "reasons": documents(teller.reasons(one.reasons)),
                "sources": list(THRESHOLD_SOURCES[one.criterion]),
            }
            for one in found
        ],
        "curve": list(curve_of(response, wanted.mass)),
        "slope": estimate_document(slope_of(response, wanted.mass)),
        "peak": None if peak is None else estimate_document(peak),
        "p_downturn": round(response.p_downturn, 4),
        "basis": basis_document(Basis(response.series, newest_day, found[1].prior_share)),
        "reasons": documents(teller.reasons(_of_effect(response, wanted.mass))),
        "sources": list(SOURCES),
    }


def _of_effect(response: Response, mass: Share) -> Iterator[Reason]:
    """Yield whether sets are seen to do anything, where something was seen, and what is said of a downturn."""
    if effect_is_open(response, mass):
        yield Reason("dose_response.effect_not_told")
    yield _downturn(response)


def _downturn(response: Response) -> Reason:
    said = downturn_of(response)
    code = said if said in {"fell_with_sets", "fell_steadily"} else f"downturn_{said}"
    return Reason(f"dose_response.{code}", {"percent": 100.0 * response.p_downturn})


def curve_of(response: Response, mass: Share) -> Iterator[Document]:
    """Yield the growth over 12 weeks, in per cent of size, at some weekly numbers of hard sets."""
    for sets in _CURVE:
        mean, sd = growth_at(sets, response)
        growth = _in_percent(mean, sd, growth_interval(sets, response, mass))
        yield {"weekly_hard_sets": sets, "growth": estimate_document(growth)}


def slope_of(response: Response, mass: Share) -> Estimate:
    """Return the slope in per cent of size over 12 weeks for each root of the weekly sets."""
    mean, sd = response.slope
    told = slope_interval(response, mass)
    over_weeks = Interval(HORIZON_WEEKS * told.lower, HORIZON_WEEKS * told.upper, mass)
    return _in_percent(HORIZON_WEEKS * mean, HORIZON_WEEKS * sd, over_weeks)


def _in_percent(mean: Share, sd: Share, told: Interval) -> Estimate:
    interval = Interval(100.0 * told.lower, 100.0 * told.upper, told.mass)
    return Estimate(100.0 * mean, "%", 100.0 * sd, interval, "mean")
