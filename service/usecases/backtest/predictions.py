"""What was expected of one set before it was seen."""

from dataclasses import dataclass

from service.core.units import Repetitions


@dataclass(frozen=True, slots=True)
class Prediction:
    """Continuous repetitions to failure that were expected of one set before it was seen. [repetitions]"""

    mean: Repetitions
    sd: Repetitions
    q025: Repetitions
    q10: Repetitions
    q50: Repetitions
    q90: Repetitions
    q975: Repetitions
