"""Worked examples from books, manuals and the trade, retyped as numbers, each with where its data were printed.

``optimum`` is the total cost of the sticks. Where ``stated`` is False the source states no optimum, or only a cost
that it does not prove: the optimum is then this project's own, found by an independent model too.
Unless an example says otherwise sticks are unlimited, and a stick costs 1, so that cost counts sticks.
"""

from __future__ import annotations

from dataclasses import dataclass

from solver.cutting import CuttingProblem, Piece, Stick


@dataclass(frozen=True, slots=True)
class Example:
    """``sticks`` are (length, cost), ``pieces`` are (length, how many); ``stated``: by the source, as the best."""

    name: str
    source: str
    sticks: tuple[tuple[int, int], ...]
    pieces: tuple[tuple[int, int], ...]
    optimum: int
    stated: bool = True

    def problem(self) -> CuttingProblem:
        """Return the example as the engine takes it."""
        sticks = tuple(Stick(length, cost) for length, cost in self.sticks)
        return CuttingProblem(sticks, tuple(Piece(length, demand) for length, demand in self.pieces))


_NON_IRUP = "CaPaD collection nIRUP (optimum above the rounded linear bound)"
_ARMY = "US Army engineer correspondence course EN0069 (armyengineer.tpub.com), page {}; inches, cost by length"

BOOKS = (
    Example(
        "paper of width 100",
        "V. Chvatal, Linear Programming (1983), ch. 13: linear bound 452.25",
        ((100, 1),),
        ((45, 97), (36, 610), (31, 395), (14, 211)),
        453,
    ),
    Example(
        "paper of width 5600",
        "Wikipedia, Cutting stock problem; also the OR-Tools MathOpt cutting stock sample, best known 73",
        ((5600, 1),),
        (
            (2200, 20), (2150, 18), (2140, 16), (2100, 14), (2050, 12), (2000, 10), (1930, 20),
            (1880, 18), (1820, 18), (1710, 14), (1560, 12), (1520, 25), (1380, 22),
        ),
        73,
    ),
    Example(
        "five widths from 94",
        "FICO Xpress Mosel manual, cutting stock results table: linear bound 160.95, found 161; tenfold lengths",
        ((940, 1),),
        ((295, 227), (240, 108), (225, 48), (210, 96), (170, 150)),
        161,
    ),
    Example(
        "cut.dat",
        "R. Fourer, D. Gay, B. Kernighan, AMPL, 2nd ed., ch. 15: linear bound 46.25",
        ((110, 1),),
        ((75, 8), (55, 10), (50, 24), (45, 35), (20, 48)),
        47,
    ),
    Example(
        "twenty pieces from 100",
        "JuMP.jl documentation, tutorial Column generation: 334 found, optimality not claimed; tenfold lengths",
        ((1000, 1),),
        (
            (750, 189), (538, 33), (530, 36), (510, 41), (502, 35), (322, 37), (308, 44), (298, 49),
            (201, 37), (162, 36), (145, 42), (110, 33), (86, 47), (82, 35), (66, 49), (51, 42),
        ),
        334,
        stated=False,
    ),
    Example(
        "small constraint benchmark",
        "MiniZinc benchmark cutstock.mzn and pycsp3 Cutstock_small: data",
        ((10, 1),),
        ((7, 2), (5, 2), (3, 4)),
        4,
        stated=False,
    ),
    Example(
        "eleven items from 100",
        "OR-Tools guide to bin packing: 4 bins",
        ((100, 1),),
        ((48, 1), (42, 2), (36, 3), (30, 2), (27, 1), (24, 1), (19, 1)),
        4,
    ),
    Example(
        "six items from 9",
        "Delorme, Iori, Martello, EJOR 255 (2016), Example 1",
        ((9, 1),),
        ((4, 2), (3, 2), (2, 2)),
        2,
    ),
    Example(
        "Woodco",
        "W. Winston, Operations Research, ch. on column generation: data",
        ((17, 1),),
        ((9, 15), (5, 20), (3, 25)),
        19,
        stated=False,
    ),
    Example(
        "logs of 40",
        "MathWorks documentation, Cutting Stock Problem: Solver-Based: data",
        ((40, 1),),
        ((20, 30), (16, 55), (12, 111), (8, 90)),
        89,
        stated=False,
    ),
    Example(
        "lumber of 25 ft, large demand",
        "C. Ragsdale, Spreadsheet Modeling, lumber yard exercise: data",
        ((25, 1),),
        ((11, 300), (9, 1200), (7, 5000)),
        2167,
        stated=False,
    ),
    Example(
        "lumber of 25 ft",
        "B. Taylor, Introduction to Management Science, lumber exercise: data",
        ((25, 1),),
        ((10, 300), (9, 1200), (7, 700)),
        775,
        stated=False,
    ),
)  # fmt: skip
"""Single stock length, from books, manuals and tutorials."""

HARD = (
    Example("Fieldhouse", _NON_IRUP, ((30, 1),), ((15, 3), (10, 5), (6, 9)), 6, stated=False),
    Example(
        "Gau and Waescher",
        _NON_IRUP,
        ((10000, 1),),
        ((5000, 1), (3750, 1), (3250, 1), (3001, 1), (2000, 2)),
        3,
        stated=False,
    ),
    Example(
        "Gau and Waescher, small numbers",
        _NON_IRUP,
        ((60, 1),),
        ((30, 1), (22, 1), (20, 1), (19, 1), (12, 2)),
        3,
        stated=False,
    ),
    Example(
        "Rietz, five lengths",
        _NON_IRUP + "; with demand-bounded patterns it is an ordinary one",
        ((45, 1),),
        ((27, 3), (23, 3), (15, 6), (11, 6), (9, 10)),
        9,
        stated=False,
    ),
    Example(
        "Rietz, ten lengths",
        _NON_IRUP + "; with demand-bounded patterns it is an ordinary one",
        ((387, 1),),
        (
            (177, 3), (145, 2), (133, 2), (130, 1), (129, 5),
            (127, 2), (121, 1), (113, 1), (105, 1), (97, 1),
        ),
        7,
        stated=False,
    ),
    Example(
        "Rietz, gap 6/5",
        _NON_IRUP + ": named after its gap of 6/5, which from the linear bound of 23.8 is 25",
        ((1500, 1),),
        (
            (1214, 2), (1210, 2), (1208, 2), (910, 2), (906, 2), (904, 2), (774, 2), (770, 2),
            (768, 2), (504, 2), (503, 3), (500, 5), (498, 3), (494, 2), (368, 1), (366, 3),
            (365, 3), (364, 1), (363, 3), (362, 1), (300, 5), (298, 3), (297, 3), (296, 1),
            (295, 3), (294, 1), (148, 1), (146, 3), (145, 3), (144, 1), (143, 3), (142, 1),
        ),
        25,
    ),
)  # fmt: skip
"""Single stock length where the rounded linear bound is not enough, or nearly so."""

SEVERAL_LENGTHS = (
    Example(
        "five stock lengths at cost by length",
        "OR-Tools examples, arc_flow_cutting_stock_sat.py: data",
        ((4000, 4000), (5000, 5000), (6000, 6000), (7000, 7000), (8000, 8000)),
        (
            (3980, 14), (3690, 2), (3656, 2), (3290, 2), (3256, 2), (3018, 26), (2890, 2), (2856, 2),
            (2790, 4), (2756, 4), (2490, 4), (2456, 4), (2391, 21), (943, 13), (938, 14), (596, 21),
        ),
        305_000,
        stated=False,
    ),
    Example(
        "two stock lengths at cost by length",
        "OR-Tools examples, arc_flow_cutting_stock_sat.py, toy data: 12 + 8, 12 + 8, 8",
        ((10, 10), (20, 20)),
        ((12, 2), (8, 3)),
        50,
        stated=False,
    ),
    Example(
        "timbers of 8, 10 and 12 ft",
        "T. Booher, Practical Cutting Stock Problem: about $58 (8 ft and 12 ft), not proven; 1/8 in, cents",
        ((768, 2057), (960, 2997), (1152, 3727)),
        ((391, 1), (356, 3), (345, 1)),
        5784,
        stated=False,
    ),
)  # fmt: skip
"""Several priced stock lengths."""

TRADE = (
    Example("2 @ 4'-6\": 10 ft, not 12 ft", _ARMY.format(95), ((120, 120), (144, 144)), ((54, 2),), 120),
    Example(
        "2 @ 3'-0\": 8 ft, for 10 ft gives a third nobody needs",
        _ARMY.format(96),
        ((96, 96), (120, 120)),
        ((36, 2),),
        96,
    ),
    Example("4 @ 2'-4\": 10 ft, not 12 ft", _ARMY.format(133), ((120, 120), (144, 144)), ((28, 4),), 120),
    Example("2 @ 9'-2\": two of 10 ft or one of 20 ft", _ARMY.format(132), ((120, 120), (240, 240)), ((110, 2),), 240),
    Example("9 @ 3'-0\": three of 10 ft, not five of 8 ft", _ARMY.format(133), ((96, 96), (120, 120)), ((36, 9),), 360),
    Example(
        "4 @ 5'-1\" and 2 @ 3'-7\": four of 10 ft",
        "US Army engineer course EN01136 (armyengineer.tpub.com), page 206: the 4'-11\" drops supply the 3'-7\"",
        ((120, 1),),
        ((61, 4), (43, 2)),
        4,
    ),
)
"""From lumber estimating in the building trade, no kerf: the course says which stock to take, and the cost follows."""

ALL = (*BOOKS, *HARD, *SEVERAL_LENGTHS, *TRADE)
