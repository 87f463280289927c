"""What a bound rests on, in the same words wherever a plan is called proven: page, sheets, command."""

from __future__ import annotations

from solver.plan import Basis

_SENTENCES = {
    Basis.CERTIFIED: "Certified: the checker has worked this out again.",
    Basis.SEARCHED: "Searched: this rests on a search that was not repeated.",
}


def in_a_sentence(basis: Basis) -> str:
    """Return it as a sentence of its own, to follow what is claimed."""
    return _SENTENCES[basis]
