"""The pages of the counter, put together: the list, what was measured, and finished plans."""

from __future__ import annotations

from service.counter import common, list_pages, measure_pages, plan_pages

PAGES = (list_pages, measure_pages, plan_pages)
"""Importing a page is what gives its addresses to the blueprint."""
blueprint = common.blueprint
