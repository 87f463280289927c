"""What every document of a client has at its head: whose it is, and of which order."""

from __future__ import annotations

import logging

from service.documents.blocks import TitleBlock
from service.http import access
from service.state import store
from workers.codec import Unreadable
from workers.orders.company import NOBODY, Companies, Company
from workers.plans.record import Record

log = logging.getLogger(__name__)


def company() -> Company:
    """Return the caller's own settings; none where they can't be read, for an order is worth more than its head."""
    try:
        return Companies(store().redis).fetch(access.client())
    except Unreadable:
        log.exception("the settings of %s can't be read", access.client())
        return NOBODY


def put(settings: Company) -> None:
    """Keep the caller's settings."""
    Companies(store().redis).put(access.client(), settings)


def title_block(record: Record) -> TitleBlock:
    """Return the head of a plan's documents; an order is dated where the server stands."""
    return TitleBlock.of(record, company())
