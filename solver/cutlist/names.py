"""Which material a line names: one of those given, or one in words of its own."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from difflib import SequenceMatcher

from solver.cutlist import reasons
from solver.cutlist.words import COLOURS, COUNT, KIND_LETTERS, PLACE, TRADE

_FIRST_GLYPH = 0xE000
_MOST_NAMES = 500
_WORD = re.compile(r"[^\W_]+")
_JOINED = re.compile(r"[^\W_]+(?:[_-][^\W_]+)+")
_ALIKE = 0.5
_SLIP_FROM = 3
_GAPS = re.compile(r"[\s_-]+")
_KINDS = TRADE - frozenset(("siding", "panel", "finish", "double", "triple", "single", "solid"))
_ABBREVIATED = {"chan": "channel", "pnl": "panel", "pnls": "panel", "sof": "soffit", "cor": "corner"}
_CHANNELS = KIND_LETTERS | {"channel"}
_LETTERED = frozenset("jfh")
"""What is called by such a letter is a channel, whether its name says so or not."""
_POCKET = re.compile(r"(?<![0-9/])[1357]/(?:2|4|8|16)(?![0-9])")
_POCKET_SLASH = re.compile("(?<=[0-9])/(?=[0-9])")
_RUN_TOGETHER = re.compile(r"(?<![0-9/])([1357])[-_ ]?(2|4|8|16)(?![0-9/])")
_COUNTING = rf"\s*(?:[@×]|x\b|(?:{'|'.join(sorted(word for word in COUNT if word.isalpha()))})\b)"
_TOO_SHORT = frozenset(("in", "ft", "mm", "cm", "m", "x", "at", "a", "i"))


class Names:
    """The materials that were given, found in text by whole name or by words that only one of them has."""

    def __init__(self, materials: Sequence[str]) -> None:
        """Take the ids of the materials; they are matched without regard to case, spaces and hyphens."""
        self.given = tuple(dict.fromkeys(materials))[:_MOST_NAMES]
        self._words = {name: frozenset(_words(name)) for name in self.given}
        self._vocabulary = frozenset().union(*self._words.values())
        self._whole = frozenset(self._words.values())
        self._letters = {name: words & _LETTERED for name, words in self._words.items()}
        self._pockets = {name: _pockets(name) for name in self.given}
        self._exact = {_squeezed(name): name for name in reversed(self.given)}
        self._pattern = _pattern(self.given)

    def exactly(self, text: str) -> str | None:
        """Return the material whose name is the whole text."""
        return self._exact.get(_squeezed(text)) if self._exact else None

    def marked(self, text: str) -> str:
        """Return text with one glyph for each name in it, which ``named`` knows, so that no number of it counts."""
        return self._pattern.sub(self._glyph, text) if self._pattern else text

    def _glyph(self, match: re.Match[str]) -> str:
        name = self._exact.get(_squeezed(match.group()))
        return chr(_FIRST_GLYPH + self.given.index(name)) if name else match.group()

    def named(self, glyph: str) -> str:
        """Return the material a glyph stands for."""
        return self.given[ord(glyph) - _FIRST_GLYPH]

    def by_words(self, text: str) -> str | None:
        """Return the one material that the words of a text fit, None if none or several do."""
        said = frozenset(_words(text))
        if said.isdisjoint(self._vocabulary):
            return None
        pool = self._of_pocket(_POCKET.findall(text))
        whole = self._longest([name for name in pool if self._words[name] and self._words[name] <= said])
        marked = said if "channel" in said else frozenset(word for word in said if len(word) > 1)
        return whole or self._fitting(said, pool) or self._fitting(marked, pool)

    def _of_pocket(self, pockets: Sequence[str]) -> Sequence[str]:
        if not pockets:
            return self.given
        return [name for name in self.given if not self._pockets[name] or not self._pockets[name].isdisjoint(pockets)]

    def has_pocket(self, written: str) -> bool:
        """Return whether one of the channels that the words fit states the pocket that they say."""
        said = frozenset(_words(_POCKET.sub(" ", written)))
        pockets = _POCKET.findall(written)
        return any(not self._pockets[name].isdisjoint(pockets) and self._fits(name, said) for name in self.given)

    def check_pocket(self, written: str) -> None:
        """Raise ``Unclear`` where every channel that the words fit has another pocket than they say."""
        said = frozenset(_words(_POCKET.sub(" ", written)))
        pockets = _POCKET.findall(written)
        fit = [name for name in self.given if self._fits(name, said)] if pockets else []
        if fit and not set(fit).intersection(self._of_pocket(pockets)):
            raise reasons.unknown_material(written, fit[0])

    def check(self, text: str) -> None:
        """Raise ``Unclear`` where a text has a name that is almost one of those given: panel-tan, panel snad."""
        if not self.given:
            return
        self._check_colours(text)
        for chunk in _JOINED.findall(text):
            words = frozenset(_words(chunk))
            strange = {word for word in words - self._vocabulary if word.isalpha() and word not in TRADE | PLACE}
            if strange and not words.isdisjoint(self._vocabulary):
                raise reasons.unknown_material(chunk, self._closest(chunk))
        said = _WORD.findall(text)
        for name in self.given:
            wide = len(_WORD.findall(name))
            for at in range(len(said) - wide + 1 if wide > 1 else 0):
                written = " ".join(said[at : at + wide])
                if _almost(said[at : at + wide], name) and frozenset(_words(written)) not in self._whole:
                    raise reasons.unknown_material(written, name)

    def check_colour(self, text: str) -> None:
        """Raise ``Unclear`` where a line of pieces has no kind but a colour, which no coloured material has."""
        said = frozenset(_words(text))
        strange = said & COLOURS - self._vocabulary
        if strange and said.isdisjoint(_KINDS) and not self._vocabulary.isdisjoint(COLOURS):
            written = " ".join(sorted(strange))
            raise reasons.unknown_material(written, self._closest(written))

    def _check_colours(self, text: str) -> None:
        said = frozenset(_words(text))
        fit = [name for name in self.given if self._fits(name, said - COLOURS)]
        if said & COLOURS and fit and all(_other_colour(said, self._words[name]) for name in fit):
            telling = COLOURS | self._vocabulary
            written = " ".join(word for word in _WORD.findall(text) if not telling.isdisjoint(_words(word)))
            raise reasons.unknown_material(written, fit[0])

    def _closest(self, written: str) -> str:
        return max(self.given, key=lambda name: SequenceMatcher(None, _squeezed(written), _squeezed(name)).ratio())

    def _longest(self, names: list[str]) -> str | None:
        longest = max((len(self._words[name]) for name in names), default=0)
        return _only([name for name in names if len(self._words[name]) == longest])

    def _fitting(self, said: frozenset[str], pool: Sequence[str]) -> str | None:
        return _only([name for name in pool if self._fits(name, said)])

    def _fits(self, name: str, said: frozenset[str]) -> bool:
        telling = {word for word in said if _tells(word) and (word in self._vocabulary or word in _KINDS)}
        if (letters := self._letters[name]) and letters & said == said & _LETTERED:
            telling -= {"channel"}
        return (
            not all(map(str.isdigit, telling))
            and telling <= self._words[name]
            and not _other_colour(said, self._words[name])
        )

    def in_own_words(self, words: Sequence[str]) -> str | None:
        """Return words that name a material none of those given is: by a kind, or by a colour none of them has."""
        strange = COLOURS - self._vocabulary
        coloured = not strange.isdisjoint(part for word in words for part in _words(word))
        return in_words(words) or (_phrase(words) if coloured else None)

    def tells_no_colour(self, text: str) -> bool:
        """Return whether a text names a colour, and none of the given materials any."""
        return self._vocabulary.isdisjoint(COLOURS) and not COLOURS.isdisjoint(_words(text))

    def colours_beside(self, name: str, text: str) -> frozenset[str]:
        """Return the colours of a text, where the name of a given material says none."""
        its = self._words.get(name, COLOURS)
        return COLOURS.intersection(_words(text)) if its.isdisjoint(COLOURS) else frozenset()

    def sizes_beside(self, name: str, sizes: Iterable[str]) -> frozenset[str]:
        """Return the sizes of a line that the name of a given material does not say."""
        its = set(re.findall(r"[0-9]+", _POCKET_SLASH.sub("", name))) if name in self._words else None
        digits = {size: "".join(re.findall(r"[0-9]+", size)) for size in map(str.lower, sizes)}
        return frozenset(size for size, said in digits.items() if its is not None and said and said not in its)

    def knows(self, word: str) -> bool:
        """Return whether a word is one of a given material's name."""
        return not self._vocabulary.isdisjoint(_words(word))

    def has_word(self, name: str, word: str) -> bool:
        """Return whether a word of a line is one of a given material's name."""
        return not self._words.get(name, frozenset()).isdisjoint(_words(word))


def in_words(words: Iterable[str]) -> str | None:
    """Return the words of a kind of material with what describes it, as written; None if they name none."""
    phrase = _phrase(words)
    parts = phrase.split()
    kinds = {part for word in parts for part in _words(word) if len(part) > 1 or "/" in phrase} & _KINDS
    return phrase if kinds else None


def adds_nothing(said: str, heading: str) -> bool:
    """Return whether each word of a material is one of the heading's above it, so that it names no other."""
    return set(_words(said)) <= set(_words(heading))


def _phrase(words: Iterable[str]) -> str:
    return " ".join(word for word in words if word.lower() not in PLACE)


def is_channel(word: str) -> bool:
    """Return whether a word or a name is of a channel that is sold with several pockets."""
    return not (_LETTERED | {"channel"}).isdisjoint(_words(word))


def _only(names: list[str]) -> str | None:
    return names[0] if len(names) == 1 else None


def _other_colour(said: frozenset[str], its: frozenset[str]) -> bool:
    return not said & COLOURS <= its and not COLOURS.isdisjoint(its)


def _almost(said: Sequence[str], name: str) -> bool:
    """Whether words differ from a name in one of them, by a slip of the pen."""
    pairs = zip(map(str.lower, said), map(str.lower, _WORD.findall(name)), strict=True)
    differing = [(one, other) for one, other in pairs if _words(one) != _words(other)]
    if len(differing) != 1 or not all(map(str.isalpha, differing[0])) or min(map(len, differing[0])) < _SLIP_FROM:
        return False
    return SequenceMatcher(None, *differing[0]).ratio() > _ALIKE


def _pockets(name: str) -> frozenset[str]:
    """Return the pocket that a channel's name states: ``J 3/4``, ``j-34-white``."""
    if not _CHANNELS.intersection(_words(name)):
        return frozenset()
    return frozenset(_POCKET.findall(_RUN_TOGETHER.sub(r"\1/\2", name)))


def _tells(word: str) -> bool:
    return len(word) > 1 or word in KIND_LETTERS


def _words(text: str) -> list[str]:
    found = _WORD.findall(text.lower())
    return [_ABBREVIATED.get(word, word[:-1] if len(word) > 3 and word.endswith("s") else word) for word in found]


def _squeezed(text: str) -> str:
    return _GAPS.sub("", text).casefold()


def _pattern(names: Sequence[str]) -> re.Pattern[str] | None:
    usable = [name for name in names if name.casefold() not in _TOO_SHORT and re.search(r"[^\W\d_]", name)]
    spelled = (_spelled(name.strip()) for name in usable)
    ordered = sorted(spelled, key=len, reverse=True)
    return re.compile(rf"(?<!\w)(?:{'|'.join(ordered)})(?!\w|-[^\W\d])", re.IGNORECASE) if ordered else None


def _spelled(name: str) -> str:
    """Return a pattern of a name; a number that ends it is no part of it where it counts what follows."""
    spelled = r"[\s_-]*".join(map(re.escape, re.split(r"[\s_-]+", name)))
    return rf"{spelled}(?!{_COUNTING})" if name[-1:].isdigit() else spelled
