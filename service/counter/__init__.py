"""The counter page: paste a list, hand over an order and a cut sheet, in a browser, without an account.

Every page is whole as the server sends it and works without JavaScript; scripts only save the round trips.
All that the page knows is in the form's own fields and in the address: no cookies, no session.
"""

from __future__ import annotations

from service.counter import list_page, measure_page, pages, plan_page, ticking

PAGES = (list_page, measure_page, plan_page, ticking)
"""Importing a page is what gives its addresses to the blueprint."""
blueprint = pages.blueprint
