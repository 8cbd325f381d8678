"""The dashboard's application: parts put together, pages registered, the gate before all of it."""

from collections.abc import AsyncIterator, Iterable, Sequence
from contextlib import asynccontextmanager
from importlib import import_module
from types import ModuleType

import anyio.to_thread
from fastapi import FastAPI
from fastapi.routing import APIRoute
from starlette.routing import BaseRoute
from starlette.types import ASGIApp

from collector.clock import Clock, SystemClock
from collector.notify.making import Maker
from collector.readings.follower.history import far_history
from collector.records.engine import open_records
from collector.settings import Settings
from collector.vigilance.collector_watch import CollectorWatch
from dashboard import collector_watching, errors_shown, navigation
from dashboard.api import API
from dashboard.away.evening import EveningLine
from dashboard.headers import AnswerHeaders
from dashboard.house import House
from dashboard.pages import PAGES
from dashboard.people.gate import Gate
from dashboard.people.person import Role
from dashboard.settings import DashboardSettings, cache_folder
from dashboard.static_files import Assets
from dashboard.templating import Templates
from dashboard.visit import Rule
from dashboard.weights.keeping import LOOK_EVERY_S, WeeklyKeeping

MAX_BODY = 2_000_000  # bytes; a route that takes photos raises it for itself
EVENING_LOOK_S = 60.0
THREADS = 8  # a household's pages; each thread costs memory


class Dashboard(FastAPI):
    """FastAPI with our headers outside everything, so that the answer to a broken page has them too."""

    def build_middleware_stack(self) -> ASGIApp:
        return AnswerHeaders(errors_shown.TooLarge(super().build_middleware_stack()))


def create_app(
    settings: Settings,
    dashboard_settings: DashboardSettings,
    clock: Clock | None = None,
    page_names: Sequence[str] = PAGES,
) -> Dashboard:
    """The application; the records are opened here and closed when its life ends."""
    assets = Assets(cache_folder(settings))
    engine = open_records(settings.records_at)
    house = House(
        settings, dashboard_settings, clock or SystemClock(), engine, assets, Templates(assets), older=far_history()
    )
    pages, apis = _load(page_names), _load(API)

    @asynccontextmanager
    async def life(_app: FastAPI) -> AsyncIterator[None]:
        anyio.to_thread.current_default_thread_limiter().total_tokens = THREADS
        watch = CollectorWatch(engine, Maker(settings), house.clock)
        watching = collector_watching.CollectorWatching(watch.step, collector_watching.EVERY_S)
        weights = collector_watching.CollectorWatching(WeeklyKeeping(engine, settings, house.clock).step, LOOK_EVERY_S)
        evening = collector_watching.CollectorWatching(EveningLine(engine, house.clock).step, EVENING_LOOK_S)
        watching.start()
        evening.start()
        weights.start()
        yield
        await anyio.to_thread.run_sync(watching.stop)
        await anyio.to_thread.run_sync(evening.stop)
        await anyio.to_thread.run_sync(weights.stop)
        engine.dispose()

    app = Dashboard(
        title="rindwatch", lifespan=life, docs_url=None, redoc_url=None, openapi_url=None, max_body_size=MAX_BODY,
        telemetry={"tracing": False},
    )  # fmt: skip
    app.state.house = house
    app.state.navs = navigation.entries(pages)
    for module in pages:
        app.include_router(module.router, include_in_schema=False)
    for module in apis:
        app.include_router(module.router, prefix="/api")
    errors_shown.register(app)
    app.add_middleware(Gate, house=house, public=_public(pages, "") | _public(apis, "/api"))
    return app


def _public(modules: Iterable[ModuleType], prefix: str) -> frozenset[str]:
    return frozenset(prefix + path for module in modules for path in public_paths(module.router.routes))


def _load(names: Iterable[str]) -> list[ModuleType]:
    return [import_module(name) for name in names]


def rule_of(route: BaseRoute) -> Role | None:
    """The role that a route asks for, None when nobody thought of it."""
    if not isinstance(route, APIRoute):
        return None
    roles = [d.call.role for d in route.dependant.dependencies if isinstance(d.call, Rule)]
    return roles[0] if len(roles) == 1 else None


def public_paths(routes: Iterable[BaseRoute]) -> frozenset[str]:
    """The paths that need no sign-in; one with a parameter opens all below its fixed part.

    Raises:
        ValueError: a public path that begins with a parameter would open every page.
    """
    paths = [route.path for route in routes if isinstance(route, APIRoute) and rule_of(route) == "anyone"]
    for path in paths:
        if path.startswith("/{"):
            raise ValueError(f"the public path {path} would open every page")
    return frozenset(path.partition("{")[0] for path in paths)
