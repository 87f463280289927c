"""JSON Schemas of what a take-off answers."""

from __future__ import annotations

from service.contract.components import COUNT, FLAG, NUMBER, TEXT, Json, listed, maybe, record, ref
from solver.lengths import Unit
from solver.required import Edge
from solver.takeoff.measured import Finish, Role

_OBJECT: Json = {"type": "object"}
_LENGTH = {"length": NUMBER, "text": TEXT}
_FIGURE = record(name=TEXT, value=NUMBER, arithmetic=TEXT, source=maybe(TEXT))
_END = record(meets=TEXT, measured=NUMBER, takes_up=NUMBER, gap=NUMBER)
_STRIP = record(wall=TEXT, place=TEXT, height=TEXT)
_STRETCH: Json = {"from": NUMBER, "to": NUMBER}
_CUT_OUT = record(
    **_STRETCH, opening=TEXT, from_left=TEXT, from_right=TEXT, edge={"enum": [*Edge]}, height_left=TEXT,
    height_right=TEXT, upper_edge=maybe(TEXT), notes=listed(TEXT),
)  # fmt: skip
_RIP = record(left=TEXT, right=TEXT, keeps={"enum": ["lip", "hem"]}, arithmetic=TEXT)
_RUN = record(
    start=NUMBER, **_LENGTH, cut=record(**_LENGTH), arithmetic=TEXT, left=_END, right=_END, pattern=FLAG,
    cut_outs=listed(_CUT_OUT), rips=listed(_RIP),
)  # fmt: skip
_COURSE = record(
    course=COUNT, bottom=NUMBER, top=NUMBER, text=TEXT, runs=listed(_RUN), keep_clear=listed(record(**_STRETCH))
)
_FINISH = record(finish={"enum": [*Finish]}, left=TEXT, right=TEXT, consequence=TEXT, source=TEXT)
_WALL = record(
    id=TEXT,
    courses=listed(_COURSE),
    figures=listed(ref("Figure")),
    finishes=listed(_FINISH),
    net_square_feet=NUMBER,
    elevation=TEXT,
    story_pole=TEXT,
)

TAKE_OFF: Json = {
    "Figure": _FIGURE,
    "TakenOff": record(
        walls=listed(_WALL),
        soffits=listed(record(place=TEXT, quantity=COUNT, **_LENGTH, parts=COUNT, figures=listed(ref("Figure")))),
        trim=listed(
            record(
                use={"enum": [*Role]}, place=TEXT, quantity=COUNT, **_LENGTH, arithmetic=TEXT, source=maybe(TEXT)
            )
        ),
        starter_heights=listed(record(shift=TEXT, strips=listed(_STRIP), slivers=listed(_STRIP))),
        figures=listed(ref("Figure")),
        warnings=listed(ref("Notice")),
        rules=listed(record(rule=TEXT, value=TEXT, source=TEXT, conflicts=maybe(TEXT))),
        ends_here=TEXT,
    ),
    "TakeOff": record(
        name=TEXT, units={"enum": [*Unit]}, materials=listed(_OBJECT), walls=listed(_OBJECT), required=listed(_OBJECT),
        takeoff=ref("TakenOff"),
    ),
    "PlannedTakeOff": {"allOf": [ref("CutPlan"), record(takeoff=ref("TakenOff"))]},
}  # fmt: skip
"""Components of a take-off's answer, by their names in the contract."""
