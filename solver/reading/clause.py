"""A line in the course of being understood."""

from __future__ import annotations

from dataclasses import dataclass, field

from solver.lengths import Length
from solver.reading.tokens import Token


@dataclass(frozen=True, slots=True)
class Piece:
    """So many of one length, and the tokens (first, last) of the line that said so."""

    quantity: int
    length: Length
    first: int
    last: int


@dataclass(slots=True)
class Clause:
    """The tokens of a line, a letter for each (rules write over them), and what has been measured and counted."""

    tokens: list[Token]
    letters: str
    lengths: dict[int, Length] = field(default_factory=dict)
    counts: dict[int, int] = field(default_factory=dict)

    @classmethod
    def of(cls, tokens: list[Token]) -> Clause:
        """Return a clause of which nothing is understood yet."""
        return cls(tokens, "".join(token.letter for token in tokens))

    def put(self, at: int, letters: str) -> None:
        """Write letters over those from ``at`` on."""
        self.letters = self.letters[:at] + letters + self.letters[at + len(letters) :]

    def text(self, at: int) -> str:
        """Return what was written at a token."""
        return self.tokens[at].text.strip()

    def written(self, first: int, last: int) -> str:
        """Return what was written from one token to another."""
        return " ".join(token.text.strip() for token in self.tokens[first : last + 1])

    def has(self, letters: str) -> bool:
        """Return whether any of the letters stand somewhere."""
        return any(letter in self.letters for letter in letters)

    def all_at(self, letters: str) -> list[int]:
        """Return where any of the letters stand."""
        return [at for at, letter in enumerate(self.letters) if letter in letters]
