"""``/v1/company``: the caller's own settings, for orders and sheets; and what is kept of its customers.

``/v1/customers/{customer}/answers``: how a customer's lists are to be read, kept from one list to the next.
"""

from __future__ import annotations

from flask import Blueprint, Response, jsonify

from service import letterhead
from service.customers import answers_of, keep_answers
from service.http.documented import Answer, documented
from service.http.strict_json import read_body
from service.weeks import name_of
from service.wire.cut_list import CustomerAnswersSchema, read_answers
from service.wire.particulars import CompanySchema, read_company, render_company

blueprint = Blueprint("company", __name__, url_prefix="/v1/company")
of_customers = Blueprint("customers", __name__, url_prefix="/v1/customers/<customer>/answers")


@blueprint.get("")
@documented("Look at the company's settings", answers=[Answer(200, "The settings", CompanySchema)])
def look() -> Response:
    """Return the settings, those that nobody has put as they are without."""
    return _told()


@blueprint.put("")
@documented(
    "Put the company's settings",
    body=CompanySchema,
    answers=[Answer(200, "They are kept", CompanySchema)],
    problems=["not-json", "length-required", "too-large", "not-accepted", "unplannable"],
)
def put() -> Response:
    """Keep the settings, in place of all those before."""
    letterhead.put(read_company(read_body()))
    return _told()


def _told() -> Response:
    response = jsonify(render_company(letterhead.company()))
    response.headers["Cache-Control"] = "private, no-cache"
    return response


@of_customers.get("", endpoint="look")
@documented(
    "Look at a customer's answers",
    answers=[Answer(200, "The answers; none for a customer that nothing is kept of", CustomerAnswersSchema)],
    problems=["not-found"],
)
def look_at_answers(customer: str) -> Response:
    """Return what is kept."""
    return _kept(customer)


@of_customers.put("", endpoint="put")
@documented(
    "Keep a customer's answers",
    body=CustomerAnswersSchema,
    answers=[Answer(200, "They are kept in place of those before", CustomerAnswersSchema)],
    problems=["not-json", "length-required", "too-large", "not-accepted", "unplannable", "not-found"],
)
def put_answers(customer: str) -> Response:
    """Keep answers; lists that name the customer are read with them."""
    keep_answers(name_of(customer), read_answers(read_body()))
    return _kept(customer)


@of_customers.delete("")
@documented("Forget a customer's answers", answers=[Answer(204, "Nothing is kept of them")], problems=["not-found"])
def forget(customer: str) -> Response:
    """Forget them."""
    keep_answers(name_of(customer), {})
    return Response(status=204)


def _kept(customer: str) -> Response:
    response = jsonify({"answers": dict(answers_of(name_of(customer)))})
    response.headers["Cache-Control"] = "private, no-cache"
    return response
