"""The composition root: joins the web shell, the store and the reference data."""

import logging
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime

from fastapi import FastAPI

from service import __version__
from service.catalogue import load_catalogue
from service.catalogue.texts import load_texts
from service.settings import Settings
from service.store.database import Database
from service.store.unit_of_work import PostgresStore
from service.usecases.folding.engine import warm_up
from service.usecases.ports import Clock
from service.web import problems
from service.web.contract import build
from service.web.middleware import BodyLimit
from service.web.routes import all_routers
from service.web.services import Services

_LOG = logging.getLogger("steelyard")


def system_clock() -> datetime:
    """Return the present instant."""
    return datetime.now(UTC)


def create_app(settings: Settings, clock: Clock = system_clock) -> FastAPI:
    """Return the application for these settings; it owns its connections and gives them back at its end."""
    database = Database(settings.database_url, pool_size=settings.pool_size)
    store = PostgresStore(database, clock)

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        warm_up()
        yield
        store.close()

    app = FastAPI(
        title="Steelyard",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        lifespan=lifespan,
        redirect_slashes=False,
    )
    app.state.services = Services(store, load_catalogue(), load_texts(), clock)
    for router, prefix in all_routers():
        app.include_router(router, prefix=prefix)
    problems.install(app)
    app.add_middleware(BodyLimit)
    app.openapi = lambda: _document(app)  # type: ignore[method-assign]
    return app


def _document(app: FastAPI) -> dict[str, object]:
    if app.openapi_schema is None:
        app.openapi_schema = build(app)
    return app.openapi_schema
