"""What lies under a tape: the table agrees with what was published, and names only muscles that are trained."""

from dataclasses import replace

import pytest

from service.catalogue import load_catalogue
from service.catalogue.girth_sites import GirthSite, MuscleUnderTape, faults_of, girth_site, girth_sites

pytestmark = pytest.mark.quick


def group_shares(site: str) -> dict[str, float]:
    """Share of each group of muscles in the muscle area at a place."""
    found = girth_site(site)
    assert found is not None
    shares: dict[str, float] = {}
    for muscle, part in found.muscles.items():
        group = load_catalogue().muscle(muscle).group
        shares[group] = shares.get(group, 0.0) + part.share
    return shares


@pytest.mark.parametrize("site", girth_sites(), ids=lambda site: site.site)
def test_a_place_breaks_no_rule(site: GirthSite) -> None:
    assert faults_of(site) == []
    assert 0.75 <= sum(part.share for part in site.muscles.values()) <= 1.0


def test_a_place_with_a_divided_muscle_a_strange_basis_or_too_much_is_refused() -> None:
    site = girth_sites()[0]
    for muscles in (
        {"triceps-brachii": MuscleUnderTape(share=0.5, basis="anatomy")},
        {"brachialis": MuscleUnderTape(share=0.5, basis="hearsay")},
        {"brachialis": MuscleUnderTape(share=1.1, basis="anatomy")},
    ):
        assert len(faults_of(replace(site, muscles=muscles))) == 1


def test_the_quadriceps_is_half_of_the_muscle_of_the_thigh() -> None:
    """[JapanesePhysicalTherapy1994]: about 50 % between 20 and 80 % of the thigh; [Cotofana2010]: 50 % of the volume."""
    for site in ("thigh-mid", "thigh-proximal", "thigh-distal"):
        assert group_shares(site)["quadriceps"] == pytest.approx(0.50, abs=0.03)


def test_hamstrings_and_adductors_have_about_their_published_part_of_the_middle_and_change_along_the_thigh() -> (
    None
):
    """[Cotofana2010]: flexors 19, adductors 28, sartorius 3 %; adductors are largest at 73 % from the knee."""
    middle, upper, lower = (group_shares(site) for site in ("mid-thigh", "thigh-proximal", "thigh-distal"))
    assert middle["hamstrings"] == pytest.approx(0.19, abs=0.04)
    assert middle["adductors"] == pytest.approx(0.28, abs=0.04)
    assert middle["hip flexors"] == pytest.approx(0.03, abs=0.005)
    assert upper["adductors"] > middle["adductors"] > lower["adductors"]
    assert upper["hamstrings"] < middle["hamstrings"] < lower["hamstrings"]


def test_the_heads_of_the_calf_stand_as_their_largest_areas() -> None:
    """[Fukunaga1992]: physiological areas 230, 68, 28 cm2 are 8, 4 and 3 times the largest anatomical ones."""
    calf = girth_site("calf")
    assert calf is not None
    areas = {
        "soleus": 230.0 / 8.0,
        "gastrocnemius-medial-head": 68.0 / 4.0,
        "gastrocnemius-lateral-head": 28.0 / 3.0,
    }
    total = sum(calf.muscles[muscle].share for muscle in areas)
    for muscle, area in areas.items():
        assert calf.muscles[muscle].share / total == pytest.approx(area / sum(areas.values()), abs=0.01)


@pytest.mark.from_memory
def test_the_triceps_is_somewhat_more_than_half_of_the_upper_arm() -> None:
    """Volumes of [Holzbaur2007] as recalled: triceps 372, biceps and brachialis 144 cm3 each."""
    arm = group_shares("upper-arm-relaxed")
    assert arm["triceps"] == pytest.approx(372.0 / (372.0 + 2 * 144.0), abs=0.01)
    assert arm["elbow flexors"] == pytest.approx(288.0 / (372.0 + 2 * 144.0), abs=0.01)


def test_the_recalled_volumes_of_the_arm_agree_with_what_was_read_of_them() -> None:
    """[Holzbaur2007], abstract: deltoid 15.2 %, muscles across the elbow 31.4 % of the volume. Recalled: 381 cm3 of deltoid;
    triceps 372, biceps and brachialis 144 each, brachioradialis 65, and some 70 of the small ones across the elbow."""
    total = 381.0 / 0.152
    assert (372.0 + 2 * 144.0 + 65.0 + 70.0) / total == pytest.approx(0.314, abs=0.02)


def test_names_of_places_are_read_by_their_words() -> None:
    places = {
        "upper-arm-relaxed": "upper-arm", "upper-arm-flexed": "upper-arm", "forearm": "forearm", "thigh-mid": "thigh",
        "upper-thigh": "thigh-proximal", "calf": "calf", "chest": "chest", "shoulder": "shoulder",
    }  # fmt: skip
    for told, site in places.items():
        found = girth_site(told)
        assert found is not None
        assert found.site == site


@pytest.mark.parametrize("told", ["waist", "hips", "neck", "abdomen", "wrist", "ankle", "knee", "somewhere"])
def test_nothing_is_said_of_what_lies_under_other_places(told: str) -> None:
    assert girth_site(told) is None
