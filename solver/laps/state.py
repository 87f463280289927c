"""A plan in the making: the sticks as they are filled, the runs as they are laid, and what is left to cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import KW_ONLY, dataclass, field, replace

from solver.laps.model import LapModel, Laps, RunCandidate, broken_beside, broken_between, with_end
from solver.laps.templates import Kinds


@dataclass(frozen=True, slots=True)
class HeldPiece:
    """A piece at one end of a stick: its length, the run it is for, and the sticks it may come from.

    ``part`` is its number in the run, from 0 at the left. A piece of the problem that needs a factory end is held
    for the "run" ``-1 - index``.
    """

    length: int
    run: int
    kinds: Kinds
    part: int = 0


def held_first(candidate: RunCandidate, a: int) -> HeldPiece:
    """Return the first piece of a run laid so."""
    return HeldPiece(a, candidate.run, candidate.template.first)


def held_last(candidate: RunCandidate, a: int) -> HeldPiece:
    """Return the last piece of a run laid so."""
    return HeldPiece(candidate.last(a), candidate.run, candidate.template.last, candidate.template.parts - 1)


def held_between(candidate: RunCandidate) -> list[HeldPiece]:
    """Return the cut pieces between a run's first and last; they come from any sticks that its first may come from."""
    return [
        HeldPiece(length, candidate.run, candidate.template.first, part)
        for part, length in enumerate(candidate.template.cut, 1)
    ]


@dataclass(frozen=True, slots=True)
class OpenStick:
    """One stick: a run's last piece at its left end, plain pieces, and a run's first piece at its right end.

    Where ends don't matter any pieces of runs may lie there, and still more of them ``between``. ``whole_for`` is
    the run that takes the stick uncut (``-1 - index`` for a piece that needs both ends). ``room`` is what is left
    beyond the pieces and the cuts between them; the partial plan fills it in.
    """

    kind: int
    _: KW_ONLY
    left: HeldPiece | None = None
    plain: tuple[int, ...] = ()
    right: HeldPiece | None = None
    whole_for: int | None = None
    room: int = 0
    between: tuple[HeldPiece, ...] = ()

    @property
    def held(self) -> tuple[HeldPiece, ...]:
        """The pieces of runs that are cut from the stick."""
        return tuple(held for held in (self.left, *self.between, self.right) if held)

    def runs(self) -> set[int]:
        """Return the runs that have a piece in the stick."""
        found = {held.run for held in self.held}
        return {r for r in (*found, self.whole_for) if r is not None and r >= 0}


def pieces_of(candidate: RunCandidate, a: int) -> list[HeldPiece]:
    """Return the cut pieces of a run laid so, from left to right."""
    first = [held_first(candidate, a)] if candidate.template.first else []
    return [*first, *held_between(candidate), *([held_last(candidate, a)] if candidate.template.last else [])]


def stick_of(kind: int, held: Sequence[HeldPiece], plain: Iterable[int]) -> OpenStick:
    """Return a stick with these pieces, where ends don't matter."""
    right = held[1] if len(held) > 1 else None
    return OpenStick(
        kind, left=next(iter(held), None), plain=tuple(sorted(plain)), right=right, between=tuple(held[2:])
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """A partial plan as it stood."""

    sticks: tuple[OpenStick, ...]
    placed: tuple[tuple[RunCandidate, int] | None, ...]
    left: tuple[int, ...]
    ends: tuple[HeldPiece, ...]
    starts: tuple[HeldPiece, ...]
    cut_off: frozenset[int]


@dataclass(slots=True)
class PartialPlan:
    """The state of a search.

    ``placed[i]`` is run ``i``'s candidate and the length of its first cut piece. ``left[p]`` counts plain pieces (by
    place in ``model.plain``) still to cut. ``ends`` are pieces that wait for a stick's left end, ``starts`` for a
    right end. ``cut_off`` are runs for which there are no sticks. ``most`` are how many sticks of each kind may be cut,
    where that is fewer than there are.
    """

    model: LapModel
    _: KW_ONLY
    sticks: list[OpenStick] = field(default_factory=list)
    most: tuple[int, ...] | None = None
    placed: list[tuple[RunCandidate, int] | None] = field(default_factory=list)
    laps: Laps = field(default_factory=list)
    left: list[int] = field(default_factory=list)
    used: Counter[int] = field(default_factory=Counter)
    ends: list[HeldPiece] = field(default_factory=list)
    starts: list[HeldPiece] = field(default_factory=list)
    cut_off: set[int] = field(default_factory=set)
    changed: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        """Begin with nothing cut."""
        runs = len(self.model.problem.runs)
        self.placed, self.laps = [None] * runs, [None] * runs
        self.left = [self.model.problem.pieces[i].demand for i in self.model.plain]

    def may_use(self, kind: int) -> bool:
        """Whether there is another stick of the kind."""
        limit = self.limit(kind)
        return limit is None or self.used[kind] < limit

    def limit(self, kind: int) -> int | None:
        """Return how many sticks of a kind may be cut; None where there is no end."""
        return self.model.problem.sticks[kind].limit if self.most is None else self.most[kind]

    def add(self, stick: OpenStick) -> None:
        """Cut one more stick; its plain pieces are no longer left to cut."""
        self.sticks.append(replace(stick, room=self._room(stick)))
        self.used[stick.kind] += 1
        for piece in stick.plain:
            self.left[piece] -= 1

    def cut_more(self, number: int, piece: HeldPiece) -> None:
        """Cut one more piece of a run from the stick of this number; only where ends don't matter."""
        stick = self.sticks[number]
        more = stick_of(stick.kind, (*stick.held, piece), stick.plain)
        self.sticks[number] = replace(more, room=self._room(more))

    def shrink(self, since: int) -> None:
        """Cut each stick from number ``since`` on from the cheapest kind that holds its pieces."""
        for number in range(since, len(self.sticks)):
            stick = self.sticks[number]
            if stick.room and (kind := self._cheaper(stick)) is not None:
                self.used[stick.kind] -= 1
                self.used[kind] += 1
                smaller = replace(stick, kind=kind)
                self.sticks[number] = replace(smaller, room=self._room(smaller))

    def _cheaper(self, stick: OpenStick) -> int | None:
        sticks = self.model.problem.sticks
        needed, best = sticks[stick.kind].length - stick.room, stick.kind
        for kind, other in enumerate(sticks):
            cheaper = other.length >= needed and other.cost < sticks[best].cost and self.may_use(kind)
            if cheaper and all(kind in held.kinds for held in stick.held):
                best = kind
        return best if best != stick.kind else None

    def place(self, candidate: RunCandidate, a: int) -> None:
        """Lay a run, taking its whole sticks; its cut pieces are the caller's to hold."""
        self.placed[candidate.run], self.laps[candidate.run] = (candidate, a), candidate.laps(a)
        self.changed.update(j for j, _ in self.model.near[candidate.run])
        for kind in candidate.template.wholes:
            self.add(OpenStick(kind, whole_for=candidate.run))

    def place_held(self, candidate: RunCandidate, a: int) -> None:
        """Lay a run; its cut pieces wait for sticks."""
        self.place(candidate, a)
        if candidate.template.first:
            self.starts.append(held_first(candidate, a))
        if candidate.template.last:
            self.ends.append(held_last(candidate, a))
        self.ends += held_between(candidate)

    def lift(self, runs: Iterable[int], others: Iterable[int]) -> None:
        """Take runs off their walls, dissolve every stick they have a piece in, and the sticks numbered ``others``."""
        gone, broken = set(runs), set(others)
        kept = []
        for number, stick in enumerate(self.sticks):
            if number in broken or stick.runs() & gone:
                self._dissolve(stick, gone)
            else:
                kept.append(stick)
        self.sticks = kept
        self._unlay(gone)

    def _unlay(self, gone: set[int]) -> None:
        self.ends = [held for held in self.ends if held.run not in gone]
        self.starts = [held for held in self.starts if held.run not in gone]
        for run in gone:
            self.placed[run] = self.laps[run] = None
            self.cut_off.discard(run)
            self.changed.add(run)
            self.changed.update(j for j, _ in self.model.near[run])

    def _dissolve(self, stick: OpenStick, gone: set[int]) -> None:
        self.used[stick.kind] -= 1
        for piece in stick.plain:
            self.left[piece] += 1
        self.ends += [held for held in (stick.left, *stick.between) if held and held.run not in gone]
        self.starts += [held for held in (stick.right,) if held and held.run not in gone]

    def give_up(self, run: int) -> None:
        """Leave a run uncovered for want of sticks."""
        self.lift([run], [])
        self.cut_off.add(run)

    def snapshot(self) -> Snapshot:
        """Return the state as it stands."""
        return Snapshot(
            sticks=tuple(self.sticks),
            placed=tuple(self.placed),
            left=tuple(self.left),
            ends=tuple(self.ends),
            starts=tuple(self.starts),
            cut_off=frozenset(self.cut_off),
        )

    def restore(self, shot: Snapshot) -> None:
        """Go back to a state."""
        self.sticks, self.placed, self.left = list(shot.sticks), list(shot.placed), list(shot.left)
        self.ends, self.starts, self.cut_off = list(shot.ends), list(shot.starts), set(shot.cut_off)
        self.laps = [None if at is None else at[0].laps(at[1]) for at in self.placed]
        self.used = Counter(stick.kind for stick in self.sticks)
        self.changed = set(range(len(self.placed)))

    def _room(self, stick: OpenStick) -> int:
        problem = self.model.problem
        if stick.whole_for is not None:
            return 0
        taken = sum(problem.taken(held.length) for held in stick.held)
        taken += sum(problem.taken(problem.pieces[self.model.plain[p]].length) for p in stick.plain)
        return problem.taken(problem.sticks[stick.kind].length) - taken

    @property
    def cost(self) -> int:
        """What the sticks cost."""
        return self.model.problem.cost(self.used)

    @property
    def lap_count(self) -> int:
        """How many laps the runs laid have."""
        return sum(len(laps) for laps in self.laps if laps)

    @property
    def objective(self) -> int:
        """What is kept least: the cost of the sticks and the price of the laps."""
        return self.cost + self.model.problem.rules.lap_price * self.lap_count

    @property
    def standing(self) -> tuple[int, int, int, int]:
        """What plans are compared by: least uncut, fewest rules broken, least objective, fewest laps."""
        return self.uncut, self.broken, self.objective, self.lap_count

    @property
    def uncut(self) -> int:
        """Total length of what is not cut, in ticks."""
        problem = self.model.problem
        plain = sum(problem.pieces[i].length * n for i, n in zip(self.model.plain, self.left, strict=True))
        held = sum(h.length for h in (*self.ends, *self.starts))
        return plain + held + sum(problem.runs[run].length for run in self.cut_off)

    @property
    def broken(self) -> int:
        """How many rules the plan breaks."""
        return self.broken_about(set(range(len(self.placed))))

    def broken_about(self, runs: set[int]) -> int:
        """Return how many rules these runs have a part in breaking."""
        rules, near = self.model.problem.rules, self.model.near
        broken = sum(self.own_broken(run) for run in runs)
        for run in runs:
            own = self.laps[run]
            for other, courses in near[run] if own else ():
                if (theirs := self.laps[other]) and not (other in runs and other < run):
                    broken += broken_between(rules, own or (), theirs, courses)
        return broken

    def own_broken(self, run: int) -> int:
        """Return how many rules of this run alone are broken."""
        at = self.placed[run]
        return 0 if at is None else at[0].breaks(at[1])

    def beside_broken(self, run: int) -> int:
        """Return how many rules between courses a run has a part in breaking."""
        own = self.laps[run]
        return 0 if own is None else broken_beside(self.model, run, own, self.laps)


def empty_plan(model: LapModel, most: tuple[int, ...] | None = None) -> PartialPlan:
    """Return a plan with nothing laid; pieces that need a factory end wait, those that need both are cut at once."""
    partial = PartialPlan(model, most=most)
    for index, piece in enumerate(model.problem.pieces):
        for _ in range(piece.demand):
            if piece.left and piece.right:
                _cut_whole(partial, index)
            elif piece.left or piece.right:
                held = HeldPiece(piece.length, -1 - index, with_end(model.problem, right=piece.right))
                (partial.ends if piece.left else partial.starts).append(held)
    return partial


def _cut_whole(partial: PartialPlan, index: int) -> None:
    piece, sticks = partial.model.problem.pieces[index], partial.model.problem.sticks
    both = with_end(partial.model.problem, right=True) & with_end(partial.model.problem, right=False)
    exact = [k for k in sorted(both) if sticks[k].length == piece.length and partial.may_use(k)]
    if exact:
        partial.add(OpenStick(min(exact, key=lambda k: sticks[k].cost), whole_for=-1 - index))
    else:
        partial.ends.append(HeldPiece(piece.length, -1 - index, frozenset()))
