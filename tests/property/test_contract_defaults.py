"""A default that the contract states is what leaving the field out means."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from typing import Any

import pytest

from service.wire import read_job
from service.wire.contract import EXAMPLES
from service.wire.cut_list import read_pasted
from service.wire.takeoffs.takeoff import read_take_off
from tests.support.contract import contract
from tests.support.shed import WALL

TAKE_OFF = {
    **next(body for body in EXAMPLES.values() if "uses" in body),
    "coverage": 12,
    "settings": {},
    "ceilings": [{"id": "lean-to", "length": "21'", "width": "7' 10\""}],
    "eaves": [{"id": "west", "length": "22'", "overhang": 12}],
}
JOB = {**WALL, "limits": {}, "offcuts": [{"id": "R-17", "material": "panel-sand", "length": "61 1/2"}]}
CUT_LIST = next(body for body in EXAMPLES.values() if "text" in body)
Json = dict[str, Any]
Place = tuple[str | int, ...]


def defaults(component: str, body: Any, place: Place = ()) -> list[tuple[Place, object]]:  # noqa: ANN401
    """Return each field that a body leaves out and the contract has a default for, with that default."""
    schema = contract().document["components"]["schemas"][component]
    found = []
    for name, described in schema["properties"].items():
        if name not in body:
            found += [((*place, name), described["default"])] if "default" in described else []
            continue
        of = described.get("items", described).get("$ref", "").rpartition("/")[2]
        for index, entry in enumerate(body[name] if isinstance(body[name], list) else [body[name]]):
            if of and isinstance(entry, dict):
                step = (name, index) if isinstance(body[name], list) else (name,)
                found += defaults(of, entry, (*place, *step))
    return found


def with_value(body: Json, place: Place, value: object) -> Json:
    """Return a body with one field set."""
    changed: Any = deepcopy(body)
    below = changed
    for step in place[:-1]:
        below = below[step]
    below[place[-1]] = value
    return dict(changed)


@pytest.mark.parametrize(("component", "body", "read", "least"), [
    ("JobRequest", JOB, read_job, 10), ("TakeOffRequest", TAKE_OFF, read_take_off, 35),
    ("CutListRequest", CUT_LIST, lambda body: read_pasted(body, lambda _: {}), 1),
])  # fmt: skip
def test_a_default_said_is_a_default_left_out(
    component: str, body: Json, read: Callable[[Json], object], least: int
) -> None:
    """Said in the request, it gives the very same job, take-off or list."""
    said = defaults(component, body)
    assert len(said) >= least
    assert [place for place, value in said if read(with_value(body, place, value)) != read(body)] == []
