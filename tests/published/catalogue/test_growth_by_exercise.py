"""Involvement against growth that was measured after training with one exercise or the other.

A share is a prior for one set's dose and not a gain in percent: where two exercises were compared in one trial, the
ratio of the shares must lie within the spread that the catalogue itself states.
"""

import csv
from pathlib import Path

import pytest

from service.catalogue import load_catalogue
from service.core.sources import SOURCES

pytestmark = pytest.mark.quick

HERE = Path(__file__).parent
Row = dict[str, str]


def table(name: str) -> list[Row]:
    with (HERE / name).open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def share(exercise_id: str, muscle_id: str) -> float:
    return load_catalogue().training_muscles(exercise_id).get(muscle_id, 0.0)


def stated_sd(exercise_id: str, muscle_id: str) -> float:
    rows = load_catalogue().exercise(exercise_id).involvement
    return next(row.sd for row in rows if row.muscle_id == muscle_id)


def compared(row: Row) -> str:
    return f"{row['source']}-{row['muscle']}-{row['other_exercise']}"


GREATER = table("growth_by_exercise.csv")
SIMILAR = table("similar_growth.csv")


@pytest.mark.parametrize("row", GREATER, ids=compared)
def test_the_exercise_that_grew_a_muscle_more_involves_it_more(row: Row) -> None:
    assert float(row["gain_percent"]) > float(row["other_gain_percent"])
    assert share(row["exercise"], row["muscle"]) > share(row["other_exercise"], row["muscle"])


@pytest.mark.parametrize("row", [*GREATER, *SIMILAR], ids=compared)
def test_the_ratio_of_shares_is_the_ratio_of_gains_within_the_stated_spread(row: Row) -> None:
    gains = float(row["other_gain_percent"]) / float(row["gain_percent"])
    shares = share(row["other_exercise"], row["muscle"]) / share(row["exercise"], row["muscle"])
    assert abs(shares - gains) <= stated_sd(row["other_exercise"], row["muscle"])


def test_a_row_trains_the_elbow_flexors_by_the_published_share_of_a_curl() -> None:
    # [Mannarino2021]_, abstract: 5.16 % against 11.06 %.
    assert share("one-arm-dumbbell-row", "biceps-brachii") == pytest.approx(5.16 / 11.06, abs=0.005)


@pytest.mark.parametrize("exercise_id", ["back-squat", "half-squat"])
@pytest.mark.parametrize("muscle_id", ["rectus-femoris", "biceps-femoris-long-head", "semitendinosus"])
def test_squats_hardly_train_the_muscles_that_did_not_grow_by_them(exercise_id: str, muscle_id: str) -> None:
    # [Kubo2019]_, abstract: no change of rectus femoris and the hamstrings under either squat.
    assert share(exercise_id, muscle_id) <= 0.1
    assert share(exercise_id, "vastus-lateralis") == 1.0


def test_the_leg_press_trains_the_quadriceps_by_the_published_share_of_a_knee_extension() -> None:
    # [KneeExtensionLegPress2026]_, abstract: whole quadriceps 4.9 % against 7.1 %; heads weighted by volume.
    catalogue = load_catalogue()
    volumes = {
        part: catalogue.muscle(part).volume_cm3 or 0.0 for part in catalogue.parts("quadriceps-femoris")
    }
    doses = [
        sum(share(lift, part) * cm3 for part, cm3 in volumes.items())
        for lift in ("leg-press", "knee-extension")
    ]
    assert doses[0] / doses[1] == pytest.approx(4.9 / 7.1, abs=0.15)


def test_the_leg_press_trains_glutes_and_adductors_and_the_knee_extension_does_not() -> None:
    # [KneeExtensionLegPress2026]_, abstract: gluteus maximus +15.4 %, adductor magnus +6.2 %, leg press only.
    for muscle_id in ("gluteus-maximus", "adductor-magnus"):
        assert share("leg-press", muscle_id) >= 0.5
        assert share("knee-extension", muscle_id) == 0.0


@pytest.mark.parametrize(
    "muscle_id", ["vastus-lateralis", "vastus-medialis", "adductor-magnus", "adductor-longus"]
)
def test_a_squat_trains_thigh_muscles_more_than_a_hip_thrust(muscle_id: str) -> None:
    # [Plotkin2023]_, abstract: quadriceps +3.6 cm2 (0.7 to 6.4), adductors +2.5 cm2 (1.2 to 3.9) for the squat.
    assert share("back-squat", muscle_id) > share("hip-thrust", muscle_id)


def test_a_squat_trains_glutes_no_more_than_a_hip_thrust() -> None:
    # [Plotkin2023]_, abstract: gluteus maximus lower -1.6 cm2 (-6.1 to 2.0) for the squat, not different.
    assert share("back-squat", "gluteus-maximus") <= share("hip-thrust", "gluteus-maximus")


@pytest.mark.parametrize("exercise_id", ["back-squat", "hip-thrust"])
def test_neither_squat_nor_hip_thrust_trains_the_hip_abductors_or_hamstrings_much(exercise_id: str) -> None:
    # [Plotkin2023]_, abstract: little to no growth of gluteus medius + minimus and of the hamstrings by either.
    for muscle_id in ("gluteus-medius", "gluteus-minimus", *load_catalogue().parts("hamstrings")):
        assert share(exercise_id, muscle_id) <= 0.1


@pytest.mark.parametrize("row", table("calf_foot_position.csv"), ids=lambda row: row["exercise"])
def test_the_feet_tilt_a_calf_raise_to_the_head_that_grew_more(row: Row) -> None:
    medial, lateral = (share(row["exercise"], f"gastrocnemius-{side}-head") for side in ("medial", "lateral"))
    assert (medial > lateral) == (float(row["medial_gain_percent"]) > float(row["lateral_gain_percent"]))


def test_a_bench_press_trains_muscles_in_the_order_in_which_they_grew() -> None:
    # [Lanza2024]_, abstract: pectoralis major above pectoralis minor and triceps; the middle deltoid below all.
    shares = load_catalogue().training_muscles("bench-press")
    triceps = [shares[head] for head in load_catalogue().parts("triceps-brachii")]
    assert shares["pectoralis-major-sternal"] > max(*triceps, shares["pectoralis-minor"])
    assert shares.get("deltoid-middle", 0.0) < min(
        *triceps, shares["pectoralis-minor"], shares["deltoid-anterior"]
    )


def test_a_triceps_extension_trains_every_head_more_than_a_bench_press() -> None:
    # [Brandao2020]_, abstract: triceps grew significantly with the triceps press and not with the bench press alone.
    for head in load_catalogue().parts("triceps-brachii"):
        assert share("lying-triceps-extension", head) > share("bench-press", head)
    assert share("bench-press", "triceps-lateral-head") > share("bench-press", "triceps-long-head")


def test_a_triceps_extension_leaves_the_chest_out() -> None:
    # [Brandao2020]_, abstract: less pectoral growth with the triceps press alone than with any plan with bench press.
    assert share("lying-triceps-extension", "pectoralis-major-sternal") < share(
        "bench-press", "pectoralis-major-sternal"
    )


def test_a_direct_set_counts_one_and_an_indirect_one_half_where_no_trial_says_better() -> None:
    # [Pelland2025]_, abstract: 1 for direct and 0.5 for indirect sets had the strongest relative evidence.
    rows = [
        row for exercise in load_catalogue() for row in exercise.involvement if row.basis == "Pelland2025"
    ]
    assert rows
    assert {row.share for row in rows} == {0.5, 1.0}


def test_every_source_of_these_tables_is_registered() -> None:
    rows = [*GREATER, *SIMILAR, *table("calf_foot_position.csv"), *table("model_volumes.csv")]
    assert {row["source"] for row in rows} <= SOURCES.keys()
