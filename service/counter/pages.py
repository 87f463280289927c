"""What all pages of the counter share: their blueprint, how a plan is begun, and who may send forms."""

from __future__ import annotations

import re
import secrets
from collections.abc import Mapping
from dataclasses import replace
from http import HTTPStatus
from typing import Any
from urllib.parse import urlencode, urlsplit

from flask import Blueprint, Response, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service import plans
from service.counter import drafted, labels
from service.counter.catalogue import picking
from service.counter.form import StockForm, now_of, written_of
from service.counter.particulars import particulars_of
from service.counter.request import doubtful_lengths
from service.http import access
from service.http.problems import CONTENT_TYPE, Problem
from service.http.strict_json import fingerprint
from service.plans import accept, wait_for
from solver.job import Job
from workers import queues
from workers.orders.particulars import written as particulars_written
from workers.plans.record import Record, State
from workers.plans.store import Ask

PATIENCE = 1.5
"""Seconds that the browser is kept waiting for a plan before it is shown how the work goes on."""
_FRACTION = re.compile(r"(?<=[0-9]) (?=[0-9]+/[0-9]+)")
blueprint = Blueprint(
    "counter", __name__, template_folder="templates", static_folder="static", static_url_path="/counter"
)


def begin(
    form: StockForm,
    job: Job,
    body: Mapping[str, Any],
    measured: Mapping[str, Any] | None = None,
    written: Mapping[str, Any] | None = None,
) -> AnyResponse:
    """Have a job planned and lead to its plan; the same form sent twice leads to the same plan.

    ``measured`` is the request for the take-off that it was made of, ``written`` the list as it came. Raises
    ``Refused`` where the particulars of the order can't be read.
    """
    particulars = particulars_of(form)
    mark = fingerprint({**body, "particulars": particulars_written(particulars), "written": written})
    before = plans.own(form.plan) if form.plan else None
    record = once(
        Ask(
            client=access.client(), queue=queues.INTERACTIVE, job=plans.with_charges(job),
            key=f"{form.token}-{mark}"[:255], fingerprint=mark, measured=measured, written=written,
            particulars=particulars, by=access.person() or particulars.taken_by,
            made_from=before.number if before else "", replaces=plans.replaced_by_another(before) if before else "",
        )
    )  # fmt: skip
    drafted.keep(request.path, request.form, planned=True)
    return redirect(url_for("counter.plan", plan_id=record.id), 303)


def once(ask: Ask) -> Record:
    """Keep a plan under its key and wait a moment for it; one that was cancelled or failed is begun anew."""
    record = accept(ask)
    if record.state in (State.CANCELLED, State.FAILED):
        record = accept(replace(ask, key=secrets.token_hex(16)))
    return wait_for(record, PATIENCE)


def page_of(template: str, status: int = 200, **told: Any) -> Response:  # noqa: ANN401 - what a template is told
    """Return a page that no cache keeps, for it may hold what a customer wrote."""
    doubtful = doubtful_lengths(told["form"]) if isinstance(told.get("form"), StockForm) else {}
    made = render_template(f"counter/{template}.html", labels=labels, doubtful=doubtful, picking=picking, **told)
    response = make_response(made, status)
    response.headers["Cache-Control"] = "private, no-store"
    return response


blueprint.add_app_template_filter(now_of)
blueprint.add_app_template_filter(written_of)


@blueprint.app_template_filter()
def unbroken(text: str) -> str:
    """Return words in which no line ends between a number and its fraction: 4'-2 1/4" over two lines misreads."""
    return _FRACTION.sub("\N{NO-BREAK SPACE}", text)


def new_token() -> str:
    """Return what tells one opening of a page from another."""
    return secrets.token_urlsafe(12)


@blueprint.before_request
def refuse_strangers() -> None:
    """Take forms from our own pages alone (Fetch Metadata, W3C; else Origin, RFC 6454)."""
    if request.method != "POST":
        return
    site, origin = request.headers.get("Sec-Fetch-Site"), request.headers.get("Origin")
    own_site = site in ("same-origin", "none") if site else origin is None or urlsplit(origin).netloc == request.host
    if not own_site:
        raise Problem("not-found", "This form was sent from another site.")


@blueprint.before_request
def keep_what_is_typed() -> None:
    """Keep a form as a draft whenever a button sends it; scripts that read as one types keep it by themselves."""
    if request.method == "POST" and request.path in drafted.WAYS and "part" not in request.form:
        drafted.keep(request.path, request.form)


@blueprint.post("/drafts")
def drafts() -> AnyResponse:
    """Keep what is typed in a form, or throw a draft away."""
    if token := request.form.get("drop"):
        drafted.drop(token)
        return redirect(url_for("counter.page"), 303)
    drafted.keep(request.form.get("way", ""), request.form)
    return Response(status=HTTPStatus.NO_CONTENT)


@blueprint.after_request
def tell_people(response: Response) -> Response:
    """Answer people with a page where programs get a problem document."""
    response.headers.setdefault("Referrer-Policy", "same-origin")
    if response.mimetype != CONTENT_TYPE:
        return response
    if response.status_code == HTTPStatus.UNAUTHORIZED:
        return _sign_in_first(response)
    told = response.get_json()
    response.set_data(render_template("counter/problem.html", problem=told))
    response.mimetype = "text/html"
    return response


@blueprint.after_app_request
def tell_who_is_lost(response: Response) -> Response:
    """Answer a browser with a page where no address of ours was asked for; programs ask for JSON, or under ``/v1``."""
    lost = request.endpoint is None and response.mimetype == CONTENT_TYPE and not request.path.startswith("/v1/")
    if lost and "text/html" in request.accept_mimetypes.values():
        response.set_data(render_template("counter/problem.html", problem=response.get_json()))
        response.mimetype = "text/html"
    return response


def _sign_in_first(response: Response) -> Response:
    """Ask somebody to sign in who may not see a page yet; what they were sending comes along."""
    to = request.full_path.rstrip("?") if request.method == "GET" else request.path
    # a form with a file comes in parts, of which those that were typed are carried
    carried = urlencode([*request.form.items(multi=True)]) if request.method == "POST" else ""
    response.set_data(render_template("counter/sign_in.html", to=to, carried=carried, wrong=False, name=""))
    response.mimetype = "text/html"
    response.headers["Cache-Control"] = "private, no-store"
    return response
