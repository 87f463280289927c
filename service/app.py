"""The app factory: the one place where the parts of the service are put together."""

from __future__ import annotations

import logging
from http import HTTPStatus

from flask import Flask, Response
from werkzeug.middleware.proxy_fix import ProxyFix

from service import counter, documentation
from service.http import access, documented, faults, preferences, rates, tracing, waiting
from service.routes import (
    company,
    cut_plans,
    found_plans,
    health,
    materials,
    openapi,
    plan_checks,
    plan_parts,
    rack,
    readings,
    sheets,
    weeks,
)
from service.state import Config, Service
from workers.connection import impatient
from workers.plans.store import Store

BLUEPRINTS = (
    company.blueprint, company.of_customers, counter.blueprint, cut_plans.batches, cut_plans.blueprint,
    documentation.blueprint, found_plans.blueprint, health.blueprint, health.metrics, materials.blueprint,
    materials.price_list, openapi.blueprint, plan_checks.blueprint, plan_parts.of_alternatives, plan_parts.of_pieces,
    plan_parts.of_rest, rack.blueprint, readings.of_houses, readings.of_lists, sheets.of_plans, sheets.of_take_offs,
    sheets.of_weeks, weeks.blueprint, weeks.parts,
)  # fmt: skip
"""What this app answers for. An operation's id in the contract is made of its blueprint's name, so that stays."""
HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Frame-Options": "DENY",
    "Content-Security-Policy": "default-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'",
}
"""What tells browsers to take nothing here for what it is not."""


_WITHOUT_BODY = (HTTPStatus.NO_CONTENT, HTTPStatus.NOT_MODIFIED)


def create_app(config: Config | None = None) -> Flask:
    """Return the app, with settings from the environment unless they are given."""
    config = config or Config.from_environment()
    app = Flask("service")
    app.json.sort_keys = False  # type: ignore[attr-defined]
    app.config["MAX_CONTENT_LENGTH"] = config.most_bytes
    app.config["TRUSTED_HOSTS"] = list(config.hosts) or None
    app.logger.setLevel(logging.INFO)
    kept = Store(impatient(config.redis_url), config.result_days, config.most_waiting)
    app.extensions["lapstock"] = Service(config, kept)
    waiting.install(app)
    tracing.install(app)
    documented.install(app)
    faults.install(app)
    access.install(app)
    rates.install(app)
    preferences.install(app)
    for blueprint in BLUEPRINTS:
        app.register_blueprint(blueprint)
    app.after_request(_harden)
    app.after_request(faults.confirm)
    if config.proxies:
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=0, x_proto=config.proxies)  # type: ignore[method-assign]
    return app


def _harden(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if response.status_code in _WITHOUT_BODY:
        response.headers.pop("Content-Type", None)
    return response
