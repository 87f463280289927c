"""What is kept of the caller's customers: how their lists are to be read."""

from __future__ import annotations

from collections.abc import Mapping

from service.http import access
from service.state import store
from solver.cutlist import LASTING
from workers.orders.company import CustomerAnswers


def answers_of(customer: str) -> Mapping[str, str]:
    """Return the answers kept for a customer, by notation; those that are no longer answers are passed over."""
    kept = _answers().fetch(access.client(), customer) if customer.strip() else {}
    return {notation: answer for notation, answer in kept.items() if answer in LASTING.get(notation, ())}


def keep_answers(customer: str, answers: Mapping[str, str]) -> None:
    """Keep a customer's answers in place of those before; answers that are about one list alone are left out."""
    lasting = {notation: answer for notation, answer in answers.items() if notation in LASTING}
    _answers().put(access.client(), customer, lasting)


def _answers() -> CustomerAnswers:
    return CustomerAnswers(store().redis)
