"""JSON Schemas of what reading a pasted list answers."""

from __future__ import annotations

from service.contract.components import COUNT, FLAG, NUMBER, TEXT, Json, listed, maybe, record, ref
from solver.cutlist import LineKind
from solver.required import Meets

_OBJECT: Json = {"type": "object"}
_END: Json = {"enum": [*Meets]}

CUT_LIST: Json = {
    "ReadItem": record(
        {"left_end": _END, "right_end": _END, "room": NUMBER},
        item=COUNT, quantity=COUNT, length=NUMBER, text=TEXT, exact=FLAG, material=maybe(TEXT), mark=maybe(TEXT),
    ),
    "LineProblem": record(code=TEXT, detail=TEXT, hint=TEXT, readings=listed(TEXT), notation=maybe(TEXT)),
    "Line": record(
        line=COUNT, kind={"enum": [*LineKind]}, text=TEXT, read=maybe(ref("ReadItem")), also=listed(ref("ReadItem")),
        problem=maybe(ref("LineProblem")),
    ),
    "Question": record(
        notation=TEXT, detail=TEXT, answers=listed(TEXT), lines=listed(COUNT), examples=listed(TEXT)
    ),
    "CutList": record(lines=listed(ref("Line")), questions=listed(ref("Question")), required=listed(_OBJECT)),
}  # fmt: skip
"""Components of a read list, by their names in the contract."""
