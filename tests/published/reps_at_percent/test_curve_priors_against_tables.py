"""Curve priors against published repetitions to failure at a share of the 1RM.

Rows: repetitions_at_percent.csv beside this file, each with its source; all were read in abstracts, one in a
paper that cites it. Rows recalled from memory are left out.
"""

import csv
from math import exp, log, sqrt
from pathlib import Path
from statistics import fmean, median
from typing import NamedTuple, cast

import pytest

from service.core.capability.likelihood import ln_ratio
from service.core.capability.likelihood import repetitions as engine_repetitions
from service.core.curve import CURVE_PRIORS, CurveClass, CurvePrior, repetitions_at
from service.core.sources import SOURCES

pytestmark = pytest.mark.quick

#: Log sd of a tested 1RM between visits, CV 4.2 % (median of a review of test-retest studies, read in its
#: abstract).
TESTED_MAXIMUM_SD = 0.042


class Row(NamedTuple):
    prior_class: CurveClass
    log_ratio: float
    mean: float
    sd: float
    source: str

    @property
    def prior(self) -> CurvePrior:
        return CURVE_PRIORS[self.prior_class]

    @property
    def implied_ln_k(self) -> float:
        at_prior = repetitions_at(self.log_ratio, self.prior.mean_ln_k, self.prior.b) - 1.0
        return self.prior.mean_ln_k + log((self.mean - 1.0) / at_prior)

    @property
    def predicted_sd(self) -> float:
        """Between-person sd of repetitions, first order: curve, bend and the error of the tested 1RM."""
        prior = self.prior
        by_k = (repetitions_at(self.log_ratio, prior.mean_ln_k, prior.b) - 1.0) * prior.sd_ln_k
        by_bend = prior.sd_b * (
            (
                repetitions_at(self.log_ratio, prior.mean_ln_k, prior.b + 0.05)
                - repetitions_at(self.log_ratio, prior.mean_ln_k, prior.b - 0.05)
            )
            / 0.1
        )
        by_maximum = TESTED_MAXIMUM_SD * exp(prior.mean_ln_k + prior.b * self.log_ratio)
        return sqrt(by_k**2 + by_bend**2 + by_maximum**2)


def rows() -> list[Row]:
    with (Path(__file__).parent / "repetitions_at_percent.csv").open() as table:
        return [
            Row(
                cast(CurveClass, row["curve_class"]),
                log(100.0 / float(row["percent_of_1rm"])),
                float(row["mean_repetitions"]),
                float(row["sd"]),
                row["source"],
            )
            for row in csv.DictReader(table)
        ]


@pytest.mark.parametrize("prior_class", ["bench", "lower_compound", "leg_press", "single_joint"])
def test_the_class_mean_lies_within_one_prior_sd_of_the_rows_mean(prior_class: str) -> None:
    implied = fmean(row.implied_ln_k for row in rows() if row.prior_class == prior_class)
    prior = CURVE_PRIORS[cast(CurveClass, prior_class)]
    assert abs(implied - prior.mean_ln_k) < prior.sd_ln_k


def test_every_population_lies_within_two_and_a_half_prior_sds_of_its_class() -> None:
    for row in rows():
        assert abs(row.implied_ln_k - row.prior.mean_ln_k) < 2.5 * row.prior.sd_ln_k, row


def test_the_predicted_spread_between_people_is_that_of_the_rows() -> None:
    ratios = [row.sd / row.predicted_sd for row in rows()]
    assert 0.75 < median(ratios) < 4.0 / 3.0
    assert all(1.0 / 3.0 < ratio < 3.5 for ratio in ratios)


def test_leg_press_allows_more_repetitions_than_squat_and_squat_more_than_bench() -> None:
    # Order of the exercises: leg press above squat above bench at the same share of the 1RM, as in the rows.
    implied = {
        name: fmean(row.implied_ln_k for row in rows() if row.prior_class == name)
        for name in ("leg_press", "lower_compound", "bench")
    }
    assert implied["leg_press"] > implied["lower_compound"] > implied["bench"]
    means = [CURVE_PRIORS[cast(CurveClass, name)].mean_ln_k for name in implied]
    assert means == sorted(means, reverse=True)


def test_every_row_cites_a_registered_work() -> None:
    assert all(row.source in SOURCES for row in rows())


def of_population(word: str) -> list[Row]:
    with (Path(__file__).parent / "repetitions_at_percent.csv").open() as table:
        places = [number for number, row in enumerate(csv.DictReader(table)) if word in row["population"]]
    found = rows()
    return [found[number] for number in places]


def test_a_leg_press_at_four_fifths_allows_half_as_many_again_as_a_bench_press() -> None:
    at = log(100.0 / 80.0)
    bench, legs = (
        repetitions_at(at, CURVE_PRIORS[name].mean_ln_k, CURVE_PRIORS[name].b)
        for name in ("bench", "leg_press")
    )
    seen = {
        name: [row.mean for row in rows() if row.log_ratio == at and row.prior_class == name]
        for name in ("bench", "leg_press")
    }
    assert legs > 1.5 * bench
    assert min(seen["leg_press"]) > 1.5 * max(seen["bench"])


@pytest.mark.parametrize("prior_class", ["bench", "lower_compound"])
def test_women_lie_within_one_and_a_half_prior_sds_of_their_class(prior_class: str) -> None:
    women = [row.implied_ln_k for row in of_population("women with") if row.prior_class == prior_class]
    prior = CURVE_PRIORS[cast(CurveClass, prior_class)]
    assert women
    assert abs(fmean(women) - prior.mean_ln_k) < 1.5 * prior.sd_ln_k


def test_endurance_runners_lie_above_their_class_and_weightlifters_below_as_one_prior_allows() -> None:
    runners, lifters = (
        fmean((row.implied_ln_k - row.prior.mean_ln_k) / row.prior.sd_ln_k for row in of_population(word))
        for word in ("runners", "weightlifters")
    )
    assert lifters < 0.0 < runners
    assert max(-lifters, runners) < 2.5


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row.prior_class}-{row.mean}")
def test_the_engines_curve_is_the_curve_of_the_priors(row: Row) -> None:
    prior = row.prior
    own = engine_repetitions(row.log_ratio, exp(prior.mean_ln_k), prior.b)
    assert own == pytest.approx(repetitions_at(row.log_ratio, prior.mean_ln_k, prior.b), rel=1e-12)
    assert ln_ratio(own, exp(prior.mean_ln_k), prior.b) == pytest.approx(row.log_ratio, rel=1e-12)
