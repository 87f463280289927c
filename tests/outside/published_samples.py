"""One instance of each of six published classes, its numbers retyped, with its optimum.

Optima of the five classes of one length are published: BPPLIB (Delorme, Iori, Martello, Optimization Letters 12, 2018).
That of ``SEVERAL_LENGTHS`` is not: it is this project's own, and what an independent arc-flow model finds.
"""

from __future__ import annotations

from dataclasses import dataclass

from solver.cutting import CuttingProblem, Piece, Stick


@dataclass(frozen=True, slots=True)
class Sample:
    """``pieces`` are (length, how many); ``optimum`` is the total cost of the sticks."""

    name: str
    source: str
    sticks: tuple[Stick, ...]
    pieces: tuple[tuple[int, int], ...]
    optimum: int

    def problem(self) -> CuttingProblem:
        """Return the sample as the engine takes it."""
        return CuttingProblem(self.sticks, tuple(Piece(length, demand) for length, demand in self.pieces))


SAMPLES = (
    Sample(
        "N1C1W1_D",
        "Scholl, Klein, Juergens, Computers & OR 24 (1997), first set",
        (Stick(100, 1),),
        (
            (100, 1), (99, 1), (98, 1), (97, 1), (95, 1), (94, 1), (92, 2), (91, 1), (82, 1),
            (80, 1), (77, 1), (76, 1), (75, 1), (73, 3), (71, 1), (68, 1), (65, 2), (63, 3),
            (60, 1), (59, 1), (53, 1), (45, 1), (44, 1), (40, 1), (31, 1), (25, 1), (24, 3),
            (23, 1), (22, 1), (21, 2), (15, 1), (14, 2), (10, 2), (7, 2), (6, 1), (3, 1),
            (2, 2),
        ),
        28,
    ),
    Sample(
        "Falkenauer_t60_01",
        "Falkenauer, J. of Heuristics 2 (1996), triplets",
        (Stick(1000, 1),),
        (
            (475, 1), (473, 1), (468, 1), (465, 1), (462, 1), (447, 1), (444, 1), (426, 1), (423, 1),
            (412, 1), (411, 1), (409, 1), (403, 1), (402, 1), (399, 1), (396, 2), (382, 1), (376, 1),
            (369, 1), (366, 1), (361, 1), (347, 1), (340, 1), (339, 1), (334, 1), (333, 1), (319, 1),
            (314, 1), (313, 1), (308, 1), (307, 1), (305, 1), (304, 1), (302, 1), (300, 1), (297, 1),
            (289, 1), (282, 1), (280, 1), (277, 1), (275, 1), (270, 1), (269, 1), (267, 1), (265, 1),
            (264, 1), (262, 1), (261, 1), (260, 2), (258, 2), (257, 1), (256, 1), (255, 1), (254, 1),
            (252, 1), (251, 2),
        ),
        20,
    ),
    Sample(
        "Schwerin1_BPP1",
        "Schwerin and Waescher, Int. Trans. in OR 4 (1997), first set",
        (Stick(1000, 1),),
        (
            (200, 3), (199, 1), (198, 2), (197, 2), (194, 2), (193, 1), (192, 1), (191, 3), (190, 2),
            (189, 1), (188, 2), (187, 2), (186, 1), (185, 4), (184, 3), (183, 3), (182, 3), (181, 2),
            (180, 1), (179, 4), (178, 1), (177, 4), (175, 1), (174, 1), (173, 2), (172, 1), (171, 3),
            (170, 2), (169, 3), (167, 2), (165, 2), (164, 1), (163, 4), (162, 1), (161, 1), (160, 2),
            (159, 1), (158, 3), (157, 1), (156, 6), (155, 3), (154, 2), (153, 1), (152, 3), (151, 2),
            (150, 4),
        ),
        18,
    ),
    Sample(
        "Waescher_TEST0022",
        "Waescher and Gau, OR Spektrum 18 (1996)",
        (Stick(10000, 1),),
        (
            (4812, 3), (4783, 1), (4778, 1), (4769, 2), (4738, 1), (4199, 2), (4122, 2), (3959, 1), (3787, 1),
            (3534, 3), (3412, 3), (3326, 2), (3168, 4), (2649, 1), (2317, 2), (2156, 1), (2067, 2), (1912, 1),
            (1897, 1), (1762, 3), (1594, 1), (1574, 1), (1492, 2), (1308, 2), (1274, 2), (724, 1), (511, 2),
            (468, 1), (246, 2), (117, 2), (63, 2), (55, 1), (26, 1),
        ),
        15,
    ),
    Sample(
        "BPP_50_50_0.1_0.7_1",
        "Delorme, Iori, Martello, EJOR 255 (2016), random",
        (Stick(50, 1),),
        (
            (35, 2), (34, 2), (33, 2), (32, 1), (31, 2), (30, 2), (29, 1), (28, 1), (27, 1),
            (26, 3), (23, 3), (22, 4), (21, 1), (20, 2), (19, 1), (18, 3), (17, 4), (15, 2),
            (14, 1), (13, 3), (11, 1), (10, 1), (9, 2), (8, 2), (7, 1), (6, 2),
        ),
        21,
    ),
)  # fmt: skip
"""One length: a small instance of each class."""

SEVERAL_LENGTHS = Sample(
    "Crainic1_1_A_0_0",
    "Crainic, Perboli, Rei, Tadei, Computers & OR 38 (2011): three limited lengths at cost by length",
    (Stick(150, 150, 9), Stick(120, 120, 11), Stick(100, 100, 13),),
    (
        (99, 1), (95, 1), (92, 1), (83, 1), (79, 1), (77, 2), (71, 1), (66, 1), (63, 1),
        (55, 1), (54, 1), (50, 1), (40, 1), (38, 1), (36, 1), (33, 1), (32, 1), (29, 1),
        (24, 1), (19, 2), (17, 1), (14, 1), (10, 1),
    ),
    1280,
)  # fmt: skip
"""Three limited lengths at cost by length; the source prints the data alone."""
