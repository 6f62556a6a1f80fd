"""What the contract says about each kind of resource; all people and places in the examples are invented."""

from service.web.routes.specs.log import LOG_SPECS
from service.web.routes.specs.people import ATHLETE_SPECS
from service.web.routes.specs.places import PLACE_SPECS
from service.web.routes.specs.plans import PLAN_SPECS
from service.web.routes.specs.wants import WANT_SPECS

__all__ = ["ATHLETE_SPECS", "LOG_SPECS", "PLACE_SPECS", "PLAN_SPECS", "WANT_SPECS"]
