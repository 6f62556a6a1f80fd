"""Which told warning signs stand, and where: a silent check-in does not answer one."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from service.core.tolerance.flags import stops_everything
from service.usecases.answers.regions import is_of_trunk, plain_region
from service.usecases.records.base import BodySide
from service.usecases.records.log import Checkin, Pain


@dataclass(frozen=True, slots=True)
class StandingSign:
    """A warning sign, when it was told, and of which region and side; None where nobody said."""

    code: str
    at: datetime
    region: str | None = None
    side: BodySide | None = None

    def may_concern(self, region: str, side: BodySide | None) -> bool:
        """Whether the sign was told of a region, and of a side that may be this one; the trunk has none."""
        return self.region == region and (is_of_trunk(region) or {self.side, side} != {"left", "right"})


def standing_signs(
    checkins: Sequence[Checkin], since: datetime, cleared: Callable[[Checkin], bool]
) -> list[StandingSign]:
    """Return the signs told since an instant that nothing has answered, by place, oldest first.

    A clearance answers all of them. A sign of a region is answered by a later check-in about that region without the sign;
    one whose region nobody told by the same sign told with its region, which then stands there. Signs of the whole
    body stand.
    """
    recent = [one for one in checkins if one.at > since and not cleared(one)]
    return [
        sign
        for index, checkin in enumerate(recent)
        for sign in _signs_of(checkin)
        if stops_everything(sign.code) or not any(_answers(later, sign) for later in recent[index + 1 :])
    ]


def _signs_of(checkin: Checkin) -> Iterator[StandingSign]:
    places: dict[tuple[str | None, BodySide | None], None] = dict.fromkeys(
        (plain_region(pain.region), pain.side) for pain in checkin.pain
    )
    for code in checkin.flags:
        for region, side in places or {(None, None): None}:
            yield StandingSign(code, checkin.at, region, side)


def _answers(later: Checkin, sign: StandingSign) -> bool:
    if sign.region is None:
        return sign.code in later.flags and bool(later.pain)
    return sign.code not in later.flags and any(_is_about(pain, sign) for pain in later.pain)


def _is_about(pain: Pain, sign: StandingSign) -> bool:
    """A check-in is about the place of a sign where it tells how much it hurts there, on its side or on both."""
    return (
        pain.worst is not None
        and plain_region(pain.region) == sign.region
        and pain.side in {sign.side, "both"}
    )
