"""A client for other programs: requests in, plans, sheets and orders out.

    from service.client import Client

    client = Client("http://127.0.0.1:8080")
    plan = client.plan(request)
    plan["result"]["order_total"], client.sheet(plan["id"], "cut-sheet.pdf")

It needs ``requests`` and nothing else of this distribution. Bodies and answers are as ``/openapi.json`` has them.
"""

from service.client.client import OVER, Client
from service.client.transport import Json, Refused, Resource, Unreachable

__all__ = ["OVER", "Client", "Json", "Refused", "Resource", "Unreachable"]
