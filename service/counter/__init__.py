"""The counter page: paste a list, hand over an order and a cut sheet, find them again, in a browser.

Every page is whole as the server sends it and works without JavaScript; scripts only save the round trips.
What was typed is in the form's own fields and in its draft. Where there are API keys, one signs in with one.
"""

from __future__ import annotations

from service.counter import account_pages, list_page, measure_page, pages, rack_page
from service.counter.catalogue import catalogue_page
from service.counter.plan import continue_page, plan_page, plans_page, ticking
from service.counter.week import glance_page, job_page, report_page, setup_page

PAGES = (
    account_pages, catalogue_page, continue_page, list_page, measure_page, plan_page, plans_page, rack_page, ticking,
    glance_page, job_page, report_page, setup_page,
)  # fmt: skip
"""Importing a page is what gives its addresses to the blueprint."""
blueprint = pages.blueprint
