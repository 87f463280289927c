"""What the pages say of what is wrong: in their own words, never in those of the API."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

import pytest

from service.counter.form import ListForm
from service.counter.labels import FIELDS, in_page_words
from service.counter.list_page import reckoned
from service.counter.pasted import read_list
from service.counter.request import Request, fault_of
from service.http.problems import FieldError, Problem
from service.wire import read_job
from service.wire.codes import ERRORS
from service.wire.job import JobSchema
from service.wire.materials.material import MaterialSchema, OffcutSchema, StockSchema
from service.wire.required import CutOutSchema, KeepClearSchema, RequiredSchema
from solver.cutlist import Account
from solver.lengths import Unit
from tests.integration.test_bad_requests import FOLDER, body_of
from tests.scenario import A, N

OF_THE_API = re.compile(r"[a-z]_[a-z]|#/|`|\\bJSON\\b")


def errors() -> Iterator[FieldError]:
    """Yield every error of the requests that are kept for being wrong."""
    for path in sorted(FOLDER.glob("*.json")):
        try:
            body = json.loads(body_of(json.loads(path.read_text())))
            read_job(body if isinstance(body, dict) else {})
        except Problem as problem:
            yield from problem.errors
        except (ValueError, RecursionError):
            continue


def test_no_error_says_the_name_of_a_field_of_the_api() -> None:
    """Nor a place in JSON. The requests that are wrong bring three dozen codes."""
    found = list(errors())
    said = [fault_of(Request(), ListForm(), error).text for error in found]
    assert [text for text in said if OF_THE_API.search(text)] == []
    assert len({error.code for error in found if error.code in ERRORS}) >= 20


SCHEMAS = (JobSchema, MaterialSchema, StockSchema, OffcutSchema, RequiredSchema, KeepClearSchema, CutOutSchema)


@pytest.mark.parametrize("place", ["#/required/0", "#/materials/0", "#/offcuts/0/length", "#/walls/0", "#"])
def test_whatever_field_an_error_names_it_is_called_as_on_the_page(place: str) -> None:
    """The name of every field that a request has, in the place and in the words."""
    for name in (name for schema in SCHEMAS for name in schema().fields):
        fault = fault_of(Request(), ListForm(), FieldError(f"{place}/{name}", f"needs {name}: lower {name}", "missing"))
        assert not OF_THE_API.search(fault.text)


def test_a_setting_is_called_by_its_label() -> None:
    """As it stands beside the field."""
    assert in_page_words("lower shortest_piece") == f"lower “{FIELDS['m']['shortest_piece']}”"


def test_the_sum_of_a_list_counts_the_courses_that_are_kept_of_its_lines() -> None:
    """Three courses of 27'-4", of which the line says one, and four of 9'-6": 120'-0"."""
    account = Account(3, 2, 0, 0, 1, 0, 0, 2, 5, N.length + 4 * A.length, ())
    assert reckoned(account, (N, A), Unit.IN) == "3 lines: 2 read, 1 heading. 7 pieces, 120'-0\" in all."


@pytest.mark.parametrize("kept", [{}, {"n.n": "feet-inches"}])
def test_an_answer_stays_to_what_is_asked_behind_another(kept: dict[str, str]) -> None:
    """What a total is is asked once every line above it is read; answered, it is still there to be sent again."""
    given = {"n.n": "feet-inches", "totals": "remark"}
    said = tuple((name, answer) for name, answer in given.items() if name not in kept)
    pasted = read_list(ListForm(text="8 off 10.6\n6 @ 5'\nTotal 60 pcs", assume=said), None, kept)
    assert pasted.problems == 0
    assert tuple((asked.notation, asked.answer) for asked in pasted.asked if asked.answer) == said
