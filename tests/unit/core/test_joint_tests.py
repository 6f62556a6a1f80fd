"""Which joint test tells of which motion or region."""

import pytest

from service.core.tolerance.joint_tests import measures

pytestmark = pytest.mark.quick


@pytest.mark.parametrize(
    ("test", "what"),
    [
        ("ankle-dorsiflexion", "ankle_dorsiflexion"),
        ("ankle-dorsiflexion", "Ankle Dorsiflexion"),
        ("ankle-plantarflexion", "plantarflexion"),
        ("active-hip-flexion", "hip_flexion"),
        ("weight-bearing-lunge", "ankle_dorsiflexion"),
        ("weight-bearing-lunge", "loaded_dorsiflexion"),
        ("weight-bearing-lunge", "ankle"),
        ("modified-thomas", "hip_extension"),
    ],
)
def test_a_test_tells_of_what_its_name_or_its_angle_says(test: str, what: str) -> None:
    assert measures(test, what)


@pytest.mark.parametrize(
    ("test", "what"),
    [
        ("hip-flexion-knee-bent", "knee_flexion"),
        ("plantarflexion", "flexion"),
        ("shoulder-internal-rotation", "shoulder_external_rotation"),
        ("weight-bearing-lunge", "knee_flexion"),
        ("ankle-dorsiflexion", ""),
        ("ankle-dorsiflexion", "_"),
    ],
)
def test_a_test_tells_of_nothing_else(test: str, what: str) -> None:
    assert not measures(test, what)
