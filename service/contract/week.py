"""JSON Schemas of what a crew's week answers."""

from __future__ import annotations

from service.contract.components import COUNT, FLAG, MONEY, NUMBER, PROOF, TEXT, TIME, Json, listed, maybe, record, ref
from solver.lengths import Unit
from solver.materials import FactoryEnd
from workers.week_record import Outcome, Why

_DATE: Json = {"type": "string", "format": "date"}
_LENGTH: Json = {"type": ["number", "string"]}
_END: Json = {"enum": [*FactoryEnd]}
_OBJECT: Json = {"type": "object"}
_OFFCUT = record(id=TEXT, material=TEXT, length=_LENGTH, quantity=COUNT, factory_end=_END)
_KEEP = record(
    label=TEXT, material=TEXT, stick=TEXT, length=NUMBER, text=TEXT, factory_end=_END, wanted=maybe(_DATE)
)  # fmt: skip
_FIGURES = record(sticks=COUNT, cost=NUMBER)
_BOUND = (
    "What no plan of the week can cost less than, as if all were cut on one day and the van had room for everything. "
    "Of a material with runs longer than a stick, which each job lays alone, the length alone is counted."
)
_LEAST = (
    "What the new sticks of no plan of the week cost less than in the van that there is, without spares and full "
    "cartons; null where it is not known, as with stock that has no price."
)
_STICKS = record(material=TEXT, stock=TEXT, count=COUNT)
_REPORT = record(
    date=_DATE, done=listed(record(job=TEXT, item=COUNT, quantity=COUNT)), sticks=listed(_STICKS), used=listed(TEXT),
    kept=listed(_OFFCUT),
)  # fmt: skip

WEEK: Json = {
    "WeekJob": record({"walls": listed(_OBJECT)}, id=TEXT, name=TEXT, date=_DATE, required=listed(_OBJECT)),
    "WeekRun": record(
        at=TIME, why={"enum": [*Why]}, night=maybe(_DATE), outcome={"enum": [*Outcome]}, changes=COUNT,
        bill_before=maybe(MONEY), bill_after=maybe(MONEY), seconds=NUMBER, details=listed(TEXT),
    ),
    "WeekRuns": record(runs=listed(ref("WeekRun"))),
    "WeekDay": record(
        date=_DATE, frozen=FLAG, items=listed(record(job=TEXT, item=COUNT)), bring=listed(_OFFCUT),
        keep=listed(_KEEP), result=ref("Result"),
    ),
    "WeekPlan": record(
        days=listed(ref("WeekDay")),
        orders=listed(record(
            date=_DATE, closed=FLAG, lines=listed(ref("OrderLine")), total=maybe(MONEY), unpriced=listed(TEXT)
        )),
        bill=maybe(MONEY), unpriced=listed(TEXT),
        bound=maybe(MONEY) | {"description": _LEAST}, proven=FLAG, proof=PROOF,
        nights=listed(COUNT), carried=COUNT, changes=COUNT, notes=listed(TEXT),
        compared=listed(record(material=TEXT, cost_unit={"enum": ["money", "length"]}, alone=_FIGURES,
                               pooled=_FIGURES, bound=maybe(_FIGURES) | {"description": _BOUND})),
        missing=listed(record(job=TEXT, item=COUNT, mark=TEXT, quantity=COUNT, detail=TEXT)),
    ),
    "Week": record(
        crew=TEXT, week=TEXT, monday=_DATE, version=COUNT, planned_version=COUNT, up_to_date=FLAG, planning=FLAG,
        units={"enum": [*Unit]}, materials=listed(_OBJECT), jobs=listed(ref("WeekJob")),
        deliveries=listed(record(date=_DATE, received=maybe(listed(_STICKS)))), rack=listed(_OFFCUT), limits=_OBJECT,
        reports=listed(_REPORT), plan=maybe(ref("WeekPlan")),
    ),
}  # fmt: skip
"""Components of a week, by their names in the contract."""
