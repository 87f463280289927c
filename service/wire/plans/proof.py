"""What a bound rests on, on the wire: written with a plan, and read when somebody wants one checked."""

from __future__ import annotations

from enum import StrEnum

from service.wire import limits
from service.wire.fields import Choice, DateField, Flag, Id, Many, Text
from service.wire.numbers import STICK, Count, LengthField
from service.wire.plans.cutting import PlanPartSchema
from solver.cutting.problem import MOST_SETS
from solver.proof import Basis
from solver.required import Side as At

_MOST_VALUE = 10**30
_MOST_CELLS = 2**13


class ProofKind(StrEnum):
    """What a proof is made of."""

    DUALS = "duals"
    SEARCH = "search"


class ValueSchema(PlanPartSchema):
    """What a piece is worth in a proof."""

    length = LengthField("What it takes of the stick: cut length and room.", least=1, most=STICK, required=True)
    needs_left = Flag("Whether it needs a stick's left factory end.", required=True)
    needs_right = Flag("Whether it needs a stick's right factory end.", required=True)
    value = Count(
        "What it is worth, in `scale` parts of the smallest step that costs are counted in.",
        -_MOST_VALUE, _MOST_VALUE, required=True,
    )  # fmt: skip


class DatedValueSchema(ValueSchema):
    """What a piece that is cut on a day is worth in the proof of a week's bound."""

    material = Id("Which material, by id.")
    date = DateField("The day.")


class DatedValuesSchema(PlanPartSchema):
    """Values of a week's pieces by their days, and of places in its van."""

    scale = Count("Parts of money that values were reckoned in; they prove as much on any scale.", 1, _MOST_VALUE)
    values = Many("What each kind of piece is worth; one that is not here, nothing.", DatedValueSchema)
    nights = Many("What a place in the van is worth in the night after each day, from Monday.", Count())


class EndValuesSchema(PlanPartSchema):
    """What a piece of a run is worth in a proof, out of some sticks."""

    side = Choice("At which end of its stick it lies; null is anywhere in it.", At, allow_none=True, required=True)
    stock = Many("Stock lengths that it may be cut from, by id.", Text(""), 0, limits.STOCK_ROWS)
    offcuts = Many("Offcuts that it may be cut from, by id.", Text(""), 0, limits.OFFCUTS)
    worth = Many(
        "Pairs of a number of cells of the `grid`, ascending, and what a piece that takes so many whole ones, its saw "
        "cut included, is worth. Between two pairs the straight line says, rounded down; below the first, nothing.",
        Many("", Count("", -_MOST_VALUE, _MOST_VALUE), 2, 2), 0, _MOST_CELLS, required=True,
    )  # fmt: skip


class StickValueSchema(PlanPartSchema):
    """What an uncut stick counts for in a proof: no less than the best cut of it is worth."""

    stock = Text("Which stock length, by id; null is an offcut.", allow_none=True)
    offcut = Text("Which offcut, by id; null is a stock length.", allow_none=True)
    value = Count("What it counts for.", 0, _MOST_VALUE, required=True)


class RunValuesSchema(PlanPartSchema):
    """One set of values of what runs are made of."""

    ends = Many("What pieces of runs are worth.", EndValuesSchema, 0, limits.OFFCUTS, required=True)
    sticks = Many(
        "What uncut sticks count for; none where factory ends don't matter: there they are pieces as any other.",
        StickValueSchema, 0, limits.STOCK_ROWS + limits.OFFCUTS, required=True,
    )  # fmt: skip


class ProofSchema(PlanPartSchema):
    """Why no plan costs less than the bound."""

    basis = Choice(
        "`certified`: the checker has worked the bound out again from what is here, from length alone or, of a week, "
        "with each day's plan; `searched`: it rests on a search that was not repeated.",
        Basis,
    )
    kind = Choice(
        "`duals`: each piece has a worth, and no stick holds pieces worth more than it costs, so that what all pieces "
        "are worth is a bound, lifted to what whole sticks can cost, or values by which the sticks of every cheaper "
        "purchase are worth less than all pieces; `runs` says the same of runs. `search`: a search "
        "found none cheaper; `text` says of what.",
        ProofKind, required=True,
    )  # fmt: skip
    text = Text("What was searched.", 0, 2_000, of=lambda proof: proof.text or None, sparse=True)
    scale = Count("Parts of a step of cost that `values` count.", 1, _MOST_VALUE, sparse=True,
                  of=lambda proof: proof.scale if proof.values or proof.runs else None)  # fmt: skip
    values = Many("What each kind of piece is worth.", ValueSchema, 0, limits.LINES, sparse=True)
    further = Many(
        "More lists of what each kind is worth, in the order of `values`: all of them together prove the bound.",
        Many("", Count("", -_MOST_VALUE, _MOST_VALUE), 0, limits.LINES), 0, MOST_SETS, sparse=True,
    )  # fmt: skip
    grid = LengthField("Length of a cell, in which `runs` counts.", least=1, most=STICK, sparse=True, allow_none=True)
    runs = Many(
        "What runs are made of is worth, one entry for `values` and one for each of `further`. However a run is made "
        "up, its pieces and uncut sticks are worth as much as in its cheapest way or more; so sticks that cost less "
        "than the bound are, by one set or another, worth less than all runs and pieces, or shorter than they are.",
        RunValuesSchema, 0, MOST_SETS, sparse=True,
    )  # fmt: skip
