"""The solvers of linear and integer programs, each spoken to in one place: GLOP, CP-SAT, HiGHS and SCIP.

What they have in common: one thread, counted work, so that the same program ends at the same point, and a watch that is
heard meanwhile. Their numbers are floats or come with tolerances: they propose, and whole numbers decide elsewhere.
"""
