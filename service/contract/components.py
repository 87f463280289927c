"""JSON Schemas of answers. Objects may gain fields within v1, so nothing here forbids more."""

from __future__ import annotations

from typing import Any

from solver.materials import FactoryEnd, LapEnds
from solver.plan import Basis, CutEnd, StoppedBy
from solver.required import Edge, Side
from workers.record import State

Json = dict[str, Any]

TEXT: Json = {"type": "string"}
NUMBER: Json = {"type": "number"}
COUNT: Json = {"type": "integer", "minimum": 0}
FLAG: Json = {"type": "boolean"}
MONEY: Json = {"type": "string", "pattern": r"^\d+\.\d{2,}$"}
TIME: Json = {"type": "string", "format": "date-time"}


def maybe(schema: Json) -> Json:
    """Return a schema that also takes null."""
    return {"anyOf": [schema, {"type": "null"}]}


def listed(schema: Json) -> Json:
    """Return the schema of a list of these."""
    return {"type": "array", "items": schema}


def record(optional: Json | None = None, **required: Json) -> Json:
    """Return the schema of an object with these fields; ``optional`` ones may be missing."""
    return {"type": "object", "properties": required | (optional or {}), "required": list(required)}


def ref(name: str) -> Json:
    """Return a reference to a component."""
    return {"$ref": f"#/components/schemas/{name}"}


_ERROR = record({"code": TEXT, "readings": listed(TEXT)}, pointer=TEXT, detail=TEXT)
_SETTINGS = record(
    lap=maybe(NUMBER), end_gap=NUMBER, kerf=NUMBER, lap_ends={"enum": [*LapEnds]}, shortest_piece=maybe(NUMBER),
    lap_spacing=maybe(NUMBER), lap_repeat=maybe(COUNT), in_line_within=maybe(NUMBER), extra_laps=COUNT,
    keep_offcuts_from=NUMBER, spare_percent=NUMBER,
)  # fmt: skip
_CUT = record({"room": NUMBER}, length=NUMBER, text=TEXT, left={"enum": [*CutEnd]}, right={"enum": [*CutEnd]})
_PIECE = record({"ref": TEXT}, item=COUNT, mark=TEXT, course=maybe(COUNT), piece=COUNT)
_OFFCUT = record(length=NUMBER, text=TEXT, keep=FLAG, factory_end={"enum": [*FactoryEnd]}, after=COUNT)
_FROM = record(stock=maybe(TEXT), length=NUMBER, text=TEXT, factory_end={"enum": [*FactoryEnd]})
_STICK = {"stick": TEXT, "offcut_id": maybe(TEXT), "pieces": listed(ref("Piece"))}
_WORTH = record(length=NUMBER, needs_left=FLAG, needs_right=FLAG, value=COUNT)
PROOF = record(
    {"text": TEXT, "scale": COUNT, "values": listed(_WORTH), "further": listed(listed(COUNT))},
    basis={"enum": [*Basis]},
    kind={"enum": ["duals", "search"]},
)
_WORD = record(pointer=TEXT, detail=TEXT)
_CUT_OUT = record(
    cut_out=COUNT, piece=COUNT, from_left=NUMBER, from_right=NUMBER, edge={"enum": [*Edge]}, height=NUMBER
)  # fmt: skip

COMPONENTS: Json = {
    "Problem": record(
        {"detail": TEXT, "instance": TEXT, "errors": listed(_ERROR)}, type=TEXT, title=TEXT, status=COUNT
    ),
    "Health": record({"checks": {"type": "object", "additionalProperties": FLAG}}, status=TEXT),
    "Piece": _PIECE,
    "Cut": _CUT,
    "Offcut": _OFFCUT,
    "Pattern": record(
        {"sticks": listed(record(**_STICK))},
        **{"count": COUNT, "from": _FROM, "cuts": listed(ref("Cut")), "offcut": ref("Offcut")},
    ),
    "Run": record(
        item=COUNT, mark=TEXT, wall=maybe(TEXT), course=maybe(COUNT),
        pieces=listed(record(length=NUMBER, stick=TEXT, cut=COUNT)), laps_at=listed(NUMBER), lap=NUMBER,
        end_gap=NUMBER, starts_at=NUMBER,
        first=maybe({"enum": [*Side]}), on_top={"anyOf": [{"enum": [*Side]}, listed({"enum": [*Side]})]},
        cut_outs=listed(_CUT_OUT),
    ),
    "MaterialPlan": record(
        material=TEXT, settings=_SETTINGS, sticks=COUNT, cost=NUMBER, cost_unit={"enum": ["money", "length"]},
        bound=NUMBER, proven=FLAG, proof=PROOF, bought_length=NUMBER, offcut_length=NUMBER, used_length=NUMBER,
        lap_length=NUMBER, kept_length=NUMBER, scrap_length=NUMBER, waste_percent=NUMBER,
        patterns=listed(ref("Pattern")), runs=listed(ref("Run")),
    ),
    "OrderLine": record(
        material=TEXT, stock=TEXT, text=TEXT, code=maybe(TEXT), sticks=COUNT, spares=COUNT, cartons=COUNT,
        loose=COUNT, unit_price=maybe(MONEY), amount=maybe(MONEY),
    ),
    "Notice": record(
        {"pointer": TEXT, "material": TEXT, "wall": TEXT, "course": COUNT, "place": NUMBER, "needed": NUMBER,
         "got": NUMBER},
        code=TEXT, detail=TEXT,
    ),
    "Result": record(
        status={"enum": ["optimal", "feasible", "partial"]}, stopped_by={"enum": [*StoppedBy]}, waste_percent=NUMBER,
        materials=listed(ref("MaterialPlan")), order=listed(ref("OrderLine")), order_total=maybe(MONEY),
        unpriced=listed(TEXT),
        not_cut=listed(record({"ref": TEXT}, item=COUNT, mark=TEXT, quantity=COUNT, code=TEXT, detail=TEXT)),
        warnings=listed(ref("Notice")), cautions=listed(TEXT),
    ),
    "CutPlan": record(
        {"problem": record(code=TEXT, detail=TEXT)},
        id=TEXT, name=TEXT, state={"enum": [*State]}, created_at=TIME, started_at=maybe(TIME), finished_at=maybe(TIME),
        expires_at=maybe(TIME), queue_ms=maybe(COUNT), solve_ms=maybe(COUNT),
        progress=record(
            cost=maybe(NUMBER), bound=maybe(NUMBER), cost_unit={"enum": ["money", "length"]}, left_out=listed(TEXT)
        ), result=maybe(ref("Result")),
    ),
    "Sticks": record(
        count=COUNT,
        sticks=listed(record(**{"material": TEXT, **_STICK, "from": _FROM, "cuts": listed(ref("Cut")),
                                "offcut": ref("Offcut")})),
    ),
    "Checked": record(
        right=maybe(FLAG), waste_percent=NUMBER, faults=listed(record(code=TEXT, pointer=TEXT, detail=TEXT)),
        verified=listed(_WORD), unverified=listed(_WORD),
    ),
}  # fmt: skip
"""Every component of an answer, by its name in the contract."""
