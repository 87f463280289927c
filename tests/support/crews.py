"""A crew's week as it is put over the API, and what an answer finds wrong."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from tests.support.stack import Stack

MONDAY = date.fromisocalendar(2100, 10, 1)
"""Far off, so that nothing is frozen however late it is."""
PANEL = {
    "id": "panel-sand", "description": "double 4 in panel, sand", "category": "siding",
    "stock": [{"id": "12-6", "length": "12' 6\"", "price": "9.80"}],
}  # fmt: skip


def day(number: int) -> str:
    """Return a date of the week, Monday being 0."""
    return (MONDAY + timedelta(days=number)).isoformat()


def setup(**changes: Any) -> dict[str, Any]:  # noqa: ANN401
    """Return what a week is begun with."""
    return {"units": "in", "materials": [PANEL], "deliveries": [{"date": day(0)}], **changes}


def job(on: int, length: str, quantity: int) -> dict[str, Any]:
    """Return a job of one line."""
    return {"date": day(on), "required": [{"material": "panel-sand", "length": length, "quantity": quantity}]}


class Crew:
    """One crew's week at its address."""

    def __init__(self, stack: Stack, name: str, week: str = "2100-W10") -> None:
        self._client, self._base = stack.client, f"/v1/crews/{name}/weeks/{week}"

    def put(self, path: str, body: object) -> Any:  # noqa: ANN401
        """Put a part of the week."""
        return self._client.put(self._base + path, json=body)

    def get(self, path: str = "") -> Any:  # noqa: ANN401
        """Look at a part of the week."""
        return self._client.get(self._base + path)

    def post(self, path: str) -> Any:  # noqa: ANN401
        """Ask for something to be done with the week."""
        return self._client.post(self._base + path)

    def delete(self, path: str) -> Any:  # noqa: ANN401
        """Take a part of the week away."""
        return self._client.delete(self._base + path)

    def plan(self) -> Any:  # noqa: ANN401
        """Have it planned and return the week."""
        answer = self._client.post(f"{self._base}/plan", headers={"Prefer": "wait=30"})
        assert answer.status_code == 200, answer.text
        return answer.json


def faults(answer: Any) -> list[tuple[str, str]]:  # noqa: ANN401
    """Return code and pointer of every fault in a problem."""
    assert answer.status_code == 422, answer.text
    return [(error["code"], error["pointer"]) for error in answer.json["errors"]]
