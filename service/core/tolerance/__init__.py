"""What this body tolerates today: pain, warning signs, screening, and the cautions of every answer."""

from typing import Final

#: Version of the rules behind these answers; it rises when equal inputs give other results.
MODEL_VERSION: Final = "tolerance/4"
