"""The app: routes, guard and answers put together."""

from __future__ import annotations

from collections.abc import Collection

from fastapi import FastAPI
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import Response

from drainwright.operations.stores import OpenStore
from drainwright.operations.watch_cure import Logger
from drainwright.records.project import Project
from drainwright.web import (
    acceptance_page,
    api,
    api_work,
    calculators_page,
    field_page,
    field_paper_page,
    lateral_page,
    papers_page,
    payment_page,
    project_page,
    proof_page,
    read_page,
    schedule_page,
    specification_page,
)
from drainwright.web.answers import add_answers, broken_answer
from drainwright.web.desk import Clock, Desk, assets
from drainwright.web.guard import Guard
from drainwright.web.paper_jobs import PaperJobs

_FOR_GOOD = "public, max-age=31536000, immutable"


def make_app(
    store: OpenStore,
    project: Project,
    *,
    now: Clock,
    hosts: Collection[str] = (),
    logger: Logger | None = None,
) -> FastAPI:
    """The pages and the API of one project of an open store.

    `now` is the clock; `hosts` are the names the program answers to, none for any;
    `logger` gives what the truck's temperature logger has written so far.
    """
    desk = Desk(store, project, now)
    app = FastAPI(
        title="drainwright",
        description="The laterals of one project and the calculators. Numbers are not rounded.",
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
    )
    jobs = PaperJobs()
    for router in (
        project_page.routes(desk),
        acceptance_page.routes(desk),
        lateral_page.routes(desk),
        read_page.routes(desk),
        specification_page.routes(desk),
        papers_page.routes(desk, jobs),
        payment_page.routes(desk),
        proof_page.routes(desk),
        schedule_page.routes(desk),
        schedule_page.api_routes(desk),
        calculators_page.routes(desk),
        api.routes(desk),
        field_paper_page.routes(desk),
        field_page.routes(desk, logger),
        api_work.routes(desk, jobs),
    ):
        app.include_router(router)
    app.get("/static/{mark}/{name}", include_in_schema=False)(_static)
    add_answers(app, desk)
    app.add_middleware(GZipMiddleware, minimum_size=800, compresslevel=5)
    app.add_middleware(Guard, hosts=hosts, broken=broken_answer(desk))
    return app


def _static(mark: str, name: str) -> Response:
    asset = assets().get(name)
    if asset is None or asset.mark != mark:
        raise HTTPException(404)
    return Response(asset.content, media_type=asset.media, headers={"Cache-Control": _FOR_GOOD})
