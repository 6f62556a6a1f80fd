"""How a muscle answers to weekly volume, from a body alone: nothing is stored."""

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from service.core.estimates import Param, Reason
from service.core.tolerance.cautions import cautions_of_age
from service.core.volume.growth_series import GrowthSeries, evidence_of
from service.core.volume.plausible import set_aside
from service.core.volume.response import (
    population_slope,
    respond,
)
from service.core.volume.thresholds import BUILDING_DOSE, MODEL_VERSION, Wanted
from service.usecases.answers.compute import computed_answer, require_fit_to_train
from service.usecases.answers.dose_response import (
    SOURCES,
    ToldWitness,
    moved_by,
    of_stretches,
    response_document,
)
from service.usecases.answers.telling import Teller, documents
from service.usecases.documents import Document
from service.usecases.errors import FieldFault, NotPossible
from service.usecases.records.computations import DoseResponseQuestion, GrowthSaid

#: Whole weeks that a told recent dose is taken for. [week]
_RECENT_WEEKS: Final = 12.0


def compute_dose_response(asked: DoseResponseQuestion, teller: Teller) -> Document:
    """Return curve and thresholds of one muscle with such a past.

    Raises ``ClearanceRequired``; ``NotPossible`` where a series' lists differ in length.
    """
    heed = require_fit_to_train(asked, teller)
    series = set_aside([_series(place, one) for place, one in enumerate(asked.series)], asked.training)
    response = respond(evidence_of(series), asked.training)
    wanted = Wanted(
        asked.age_years, asked.recent_weekly_hard_sets, _RECENT_WEEKS, asked.gain, asked.worth, asked.mass
    )
    told = response_document(response, asked.training, wanted, teller)
    seen = "moved_by_series" if response.series else "population_only"
    basis = Reason(f"dose_response.{seen}", {"series": response.series, "weeks": response.weeks})
    named = [
        ToldWitness(
            {"series": place},
            f"series {place + 1}",
            one,
            one.weeks_heard,
            tuple(of_stretches(one, len(one.changes))),
        )
        for place, one in enumerate(series)
    ]
    sets = asked.recent_weekly_hard_sets or BUILDING_DOSE
    told["moved_by"] = list(moved_by(named, asked.training, population_slope(asked.training), sets, teller))
    told["reasons"] = [*documents(teller.reasons([basis, *_of_set_aside(series)])), *told["reasons"]]
    cautions = (*heed, *cautions_of_age(asked.age_years))
    answer = computed_answer(MODEL_VERSION, teller, (), cautions, SOURCES)
    return {**answer, **told}


def _of_set_aside(series: Sequence[GrowthSeries]) -> Iterator[Reason]:
    """Yield which series have changes that were set aside, and how many, if any."""
    left = {place: int((~one.counts).sum()) for place, one in enumerate(series, start=1)}
    named = [str(place) for place, count in left.items() if count]
    if named:
        stretches = sum(len(one.changes) for one in series)
        params: dict[str, Param] = {
            "count": sum(left.values()), "stretches": stretches, "series": ", ".join(named),
        }  # fmt: skip
        yield Reason("dose_response.series_set_aside", params)


def _series(place: int, said: GrowthSaid) -> GrowthSeries:
    count = len(said.changes_percent)
    for name, told in (("weeks", said.weeks), ("weekly_hard_sets", said.weekly_hard_sets)):
        if len(told) != count:
            fault = FieldFault(
                f"/series/{place}/{name}", "unequal_lengths", f"{len(told)} numbers for {count} changes",
                "one number for each change",
            )  # fmt: skip
            raise NotPossible(faults=[fault])
    weeks, sets = np.array(said.weeks), np.array(said.weekly_hard_sets)
    steps = np.diff(np.eye(count + 1), axis=0)
    return GrowthSeries(
        said.kind, np.log1p(np.array(said.changes_percent) / 100.0), (said.error_percent / 100.0) ** 2 * steps @ steps.T,
        weeks, weeks * np.sqrt(sets), weeks * sets,
    )  # fmt: skip
