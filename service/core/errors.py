"""Why a computation could not be done: one class per cause, no status codes.

The message is the class's docstring; facts are keyword attributes, so that a caller can render them in its own words.
"""


class CoreError(Exception):
    """The computation could not be done."""

    def __init__(self, **facts: object) -> None:
        self.facts = facts
        super().__init__(type(self).__doc__)

    def __str__(self) -> str:
        rendered = ", ".join(f"{name}={value!r}" for name, value in self.facts.items())
        return f"{type(self).__doc__} ({rendered})" if rendered else str(type(self).__doc__)


class OutsideValidity(CoreError):
    """An input lies outside the range in which the formula or model is valid."""


class TooFewObservations(CoreError):
    """There are not enough observations to compute this."""


class NothingLoadable(CoreError):
    """The site has no implement that can make a load for this exercise."""


class MixedInputs(CoreError):
    """The inputs were measured in ways that must not be compared."""


class Infeasible(CoreError):
    """No plan satisfies every constraint."""
