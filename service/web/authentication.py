"""Who asks: the bearer of an API key, with what it may do and whom it may reach."""

from fastapi import Request

from service.usecases import api_keys
from service.usecases.errors import MissingScope, Unauthenticated
from service.usecases.ports import Caller
from service.web.services import services_of


def authenticate(request: Request, scope: str) -> Caller:
    """Return the caller of a request; raises ``Unauthenticated`` or ``MissingScope``.

    The key is looked up on each request, so that a revoked key ends at once.
    """
    kind, _, text = request.headers.get("authorization", "").partition(" ")
    key = api_keys.parse(text.strip()) if kind.lower() == "bearer" else None
    if key is None:
        raise Unauthenticated
    caller = services_of(request).store.authenticate(key.tenant_id, key.key_id, key.secret_hash)
    if caller is None:
        raise Unauthenticated
    if scope not in caller.scopes:
        raise MissingScope(f"This operation needs the scope `{scope}`.")
    return caller
