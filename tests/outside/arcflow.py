"""The arc-flow model solved by HiGHS through highspy: an optimum found without the engine."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import highspy
import numpy as np

from solver.cutting.problem import CuttingProblem
from tests.outside.network import Arc, Network, network


@dataclass(frozen=True, slots=True)
class Optimum:
    """Least total length left uncut, and the least cost among plans that leave no more."""

    uncut: int
    cost: int


def optimum(problem: CuttingProblem) -> Optimum:
    """Solve to a proven optimum: first the length uncut, then, that held, the cost."""
    model = _Model(network(problem))
    uncut = model.minimise(model.uncut_costs())
    model.hold(model.uncut_costs(), uncut)
    return Optimum(uncut, model.minimise(model.stick_costs()))


class _Model:
    """One integer variable per arc, then one per piece for copies left uncut."""

    def __init__(self, net: Network) -> None:
        self.net, self.pieces = net, net.problem.pieces
        self.highs = highspy.Highs()  # type: ignore[no-untyped-call]
        self.highs.silent()
        self.highs.setOptionValue("mip_rel_gap", 0.0)
        self.highs.setOptionValue("mip_abs_gap", 0.5)
        self.count = len(net.arcs) + len(self.pieces)
        for j in range(self.count):
            most = highspy.kHighsInf if j < len(net.arcs) else self.pieces[j - len(net.arcs)].demand
            self.highs.addVar(0.0, float(most))
            self.highs.changeColIntegrality(j, highspy.HighsVarType.kInteger)
        self._keep_flow()
        self._meet_demand()
        self._keep_limits()

    def _row(self, low: float, high: float, terms: dict[int, float]) -> None:
        places = np.array(list(terms), dtype=np.int32)
        self.highs.addRow(low, high, len(terms), places, np.array(list(terms.values()), dtype=np.float64))

    def _arcs(self, wanted: Callable[[Arc], bool]) -> list[int]:
        return [j for j, arc in enumerate(self.net.arcs) if wanted(arc)]

    def _keep_flow(self) -> None:
        flows: dict[object, dict[int, float]] = {node: {} for node in self.net.nodes}
        for j, arc in enumerate(self.net.arcs):
            if arc.head in flows:
                flows[arc.head][j] = 1.0
            if arc.tail in flows:
                flows[arc.tail][j] = -1.0
        for terms in flows.values():
            self._row(0.0, 0.0, terms)

    def _meet_demand(self) -> None:
        for i, piece in enumerate(self.pieces):
            terms = dict.fromkeys(self._arcs(lambda arc, i=i: arc.piece == i), 1.0)  # type: ignore[misc]
            self._row(piece.demand, piece.demand, {**terms, len(self.net.arcs) + i: 1.0})

    def _keep_limits(self) -> None:
        for k, stick in enumerate(self.net.problem.sticks):
            if stick.limit is not None:
                closing = self._arcs(lambda arc, k=k: arc.stick == k)  # type: ignore[misc]
                self._row(0.0, float(stick.limit), dict.fromkeys(closing, 1.0))

    def uncut_costs(self) -> dict[int, float]:
        """What each variable adds to the length uncut."""
        return {len(self.net.arcs) + i: float(piece.length) for i, piece in enumerate(self.pieces)}

    def stick_costs(self) -> dict[int, float]:
        """What each variable adds to the cost."""
        sticks = self.net.problem.sticks
        return {j: float(sticks[arc.stick].cost) for j, arc in enumerate(self.net.arcs) if arc.stick is not None}

    def hold(self, costs: dict[int, float], value: int) -> None:
        """Keep a total at ``value``."""
        self._row(float(value), float(value), costs)

    def minimise(self, costs: dict[int, float]) -> int:
        """Return the least total; all coefficients are whole, so a gap under 1 is none."""
        dense = np.array([costs.get(j, 0.0) for j in range(self.count)])
        self.highs.changeColsCost(self.count, np.arange(self.count, dtype=np.int32), dense)
        self.highs.run()
        assert self.highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
        return round(self.highs.getInfo().objective_function_value)
