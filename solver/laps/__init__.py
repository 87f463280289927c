"""Runs longer than a stick: where their laps fall, decided together with the cutting.

What is where, each on the ones above it:

- ``problem``: what is asked and answered; ``templates``: how a run can be made up, and what its pieces add up to;
  ``model``: every candidate of every run, and which runs bear on each other
- ``bounds``, in a folder of its own: ``columns``, how a run is split and a stick is cut; ``dual_values``, what they are
  worth, and what that says of the numbers of sticks; ``pricing``, the best columns at given values; ``free_bound``, the
  same where ends don't matter; ``numbers``, the cheapest numbers of sticks that nothing rules out; ``master``, the
  linear program over columns; ``bound``, column generation, which supplies the values, and what a bound rests on
- ``state``: a plan in the making; ``choices``: what a run may be laid in next; ``construct``: laying runs one after
  another; ``free_ends``: runs of cut pieces alone; ``improve``: first plans, ruin and recreate, and recuts
- ``chains``, in a folder: ``pricing``, sticks that hang together through the runs they share; ``placing``, on which
  courses those may still be lapped; ``diving``, whole plans made of them
- ``assign``: plans from columns, laps assigned to the courses; ``crowding``: how many laps one place may have;
  ``restricted``: the master in whole numbers
- ``violations``: how few rules a wall must break; ``programs``, in a folder: ``factory_program``, ``free_program``, all
  plans with sticks of given numbers at once; ``exact``, whether a small job has one
- ``fewer``: how many laps rules ask for, and taking laps out, where that costs no more than their price
- ``rearranging``, in a folder: ``rearrangement``, laps and pieces moved within a plan's sticks; ``trading``, pieces of
  two sticks exchanged; ``mending``, so that fewer rules are broken; ``polish``, how laps look, and moving them for that
- ``presolve``: what is impossible, set aside; ``solve``: the way through all of them; ``answer``: the plan written out

Plain integers come in and go out; nothing here touches a job, a material or the checker.

The model. With factory ends a run is a first piece (it carries its stick's right factory end), uncut sticks, and a
last piece (left factory end), and for each row of uncut sticks the two cut pieces add up to a constant. A stick gives
at most one first piece and one last piece, and plain pieces between. So there are two families of columns: splits of
the runs of a class, and cuts of a stick; slots (a set of sticks, a side, a length) link them, and a longer slot may
serve a shorter piece. Of rules between courses the linear program knows only how many laps they ask of a wall at the
least (``fewer``), which lowers the bound: they are kept when the splits are assigned to the courses and by the search
that follows. Rules of one run alone (shortest piece,
stretches to be kept clear) are part of it: a split that breaks more of them than must be broken is no column.

The grid. For the bound positions on multiples of the common divisor suffice with factory ends. Fix the template of
every run, which stick gives which pieces, and on which side of an open stretch each lap lies. What is left to choose
is the length a of every run's first piece, its last one being rest - a. A stick holds at most one first and one last
piece, so what it can hold reads (rest_i - a_i) + a_j <= constant; everything else bounds one a. These are difference
constraints: their matrix is totally unimodular (rows have one 1 and one -1 at most), so every corner has all a at sums
and differences of the data, which are multiples of their common divisor, and a best plan is found at a corner. (Where
a rule must be broken the bounds are open and a best plan may not exist; closing them only lowers the bound.) The
divisor is that of sticks, pieces, kerf, what cut pieces add up to, and the edges of what a run's own rules forbid.
What rules between courses ask for is not in it: a plan that keeps them may lie off the grid (three courses of 1000 out
of sticks of 600, no two laps within 40, have but 400 and 600 on the grid of 200), and plans made of columns can miss
it.

Where ends don't matter every piece of a run may be cut, those between two laps as well, and the bound goes by what the
pieces add up to (``FreeSum``). With rules between courses positions on the grid no longer suffice there: a stick may
hold two first pieces, and a_1 + a_2 <= 9 with a_1 - a_2 >= 2 has its corner at 5 1/2 and 3 1/2. But the bound knows of
no such rules. Fix how many pieces each run has and which stick gives each. Then every length is in one row that says
what a run's pieces add up to, and in one that says what a stick holds: the matrix is that of a bipartite graph, which
is totally unimodular (Hoffman and Kruskal 1956), and lengths on the grid suffice, in any number a stick. Only where
the divisor is too fine for the grid are pieces rounded down to cells for the bound. Plans never are on a grid at all:
their lengths are ticks.
"""

from solver.laps.problem import WORST
from solver.laps.solve import plan_laps

__all__ = ["WORST", "plan_laps"]
