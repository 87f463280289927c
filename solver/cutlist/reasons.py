"""Why a line can't be read: one function for each reason, with what to write instead."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from solver.cutlist.findings import Item, Problem
from solver.lengths import AmbiguousLength, LengthError
from solver.required import LONGEST_MARK, LONGEST_NAME, LONGEST_STRETCH

_BRIEF = 60


def _brief(written: str) -> str:
    return written if len(written) <= _BRIEF else f"{written[:_BRIEF]}…"


class Unclear(Exception):
    """Ends the reading of a line; ``problem`` says why."""

    def __init__(self, problem: Problem) -> None:
        """Keep the problem."""
        super().__init__(problem.detail)
        self.problem = problem


ANSWERS = {
    "n-n": ("feet-inches", "quantity-length", "length-quantity"),
    "n.n": ("feet-inches", "decimal", "feet"),
    "n,nnn": ("decimal", "thousands"),
    "n,n": ("decimal", "quantity-length", "length-quantity"),
    "n' n": ("feet-inches", "length-quantity"),
    "n n": ("quantity-length", "length-quantity", "feet-inches"),
    "n x n": ("quantity-length", "length-quantity"),
    "n / n": ("quantity-length", "length-quantity"),
    "n | n": ("quantity-length", "length-quantity", "feet-inches"),
    "n | n | n": ("quantity-feet-inches", "feet-inches-quantity"),
    "n-n-n": ("quantity-feet-inches", "feet-inches-quantity", "date"),
    "n)": ("numbering", "quantity"),
    "nn/n": ("gap",),
    "n/n J": ("length",),
    "words": ("material", "remark"),
    "beside": ("material", "remark"),
    "D4": ("mark", "material"),
    "changes": ("remark",),
    "alone": ("one",),
    "quoted": ("wanted", "old"),
    "totals": ("remark",),
}
"""What may be answered for each notation that a list can be asked about."""

LASTING = {
    notation: answers
    for notation, answers in ANSWERS.items()
    if notation not in ("n)", "words", "beside", "changes", "alone", "quoted", "totals")
}
"""Those that say how somebody writes; the others are about one list."""

_WRITE = "write the quantity, then @, then the length: 4 @ 9' 7\""


def ambiguous(notation: str, written: str, readings: Sequence[str]) -> Unclear:
    """Several meanings, none of them likelier."""
    detail = f"{_brief(written)} can be read as {' or as '.join(readings)}"
    hint = "say which one is meant; the answer counts for the whole list" if notation in ANSWERS else _WRITE
    known = notation if notation in ANSWERS else None
    return Unclear(Problem("ambiguous_length", detail, hint, tuple(readings), known, ANSWERS.get(notation, ())))


def no_such_length(error: LengthError, written: str) -> Unclear:
    """What ``read_length`` refused."""
    if isinstance(error, AmbiguousLength):
        return ambiguous(error.notation, written, [reading.text for reading in error.readings])
    return Unclear(Problem(error.code, f"{_brief(written)}: {error.detail}", _WRITE))


def no_length(written: str) -> Unclear:
    """A quantity of nothing."""
    return Unclear(Problem("no_length", f"{written} is a quantity without a length", _WRITE))


def no_quantity(written: str) -> Unclear:
    """A length of which it is not clear how many are wanted."""
    return Unclear(Problem("no_quantity", f"how many of {written}?", _WRITE))


def vague(written: str) -> Unclear:
    """A word for a number that is none, or a number in words that may count something else."""
    return Unclear(Problem("no_quantity", f'"{written}": how many pieces is that?', _WRITE))


def unknown_material(written: str, closest: str) -> Unclear:
    """A name that is almost one of those given."""
    detail = f"{_brief(written)} is not one of the materials; the closest is {closest}"
    hint = f"write {closest} if that is meant, or add {_brief(written)} to the materials"
    return Unclear(Problem("unknown_material", detail, hint, (closest,)))


def unclear_words(written: str) -> Unclear:
    """Words above pieces, of which it is not clear whether they say what the pieces are of."""
    detail = f"{_brief(written)} may be the material of the pieces below, or a remark"
    hint = "say which is meant; the answer counts for every such line of the list"
    readings = ("a material", "a remark")
    return Unclear(Problem("unclear_material", detail, hint, readings, "words", ANSWERS["words"]))


def unclear_beside(written: str) -> Unclear:
    """Words beside pieces that may say what these are cut from."""
    detail = f"{_brief(written)} may be a colour, a finish or another material, or a remark"
    hint = "say which is meant; the answer counts for every such line of the list"
    readings = (f"of {_brief(written)}", "a remark")
    return Unclear(Problem("unclear_material", detail, hint, readings, "beside", ANSWERS["beside"]))


def unclear_profile(written: str) -> Unclear:
    """A mark that looks like the profile of a panel."""
    detail = f"{written} may mark the piece, or be a profile"
    readings = (f"mark {written}", f"of profile {written}")
    hint = "say which is meant; the answer counts for the whole list"
    return Unclear(Problem("unclear_material", detail, hint, readings, "D4", ANSWERS["D4"]))


def may_change(written: str) -> Unclear:
    """Words without pieces that may take back, add or change some."""
    detail = f"{_brief(written)} may change other lines"
    hint = "change those lines and delete this one, or say that it is a remark"
    return Unclear(Problem("unclear_line", detail, hint, (), "changes", ANSWERS["changes"]))


def changed(written: str) -> Unclear:
    """An arrow from one number to another."""
    detail = f"{_brief(written)}: does the arrow put the second instead of the first, or are both wanted?"
    hint = "write only what is wanted; both with a comma between them"
    return Unclear(Problem("unclear_line", detail, hint, ("the second instead of the first", "both")))


def minus(written: str, quantity: int, length: str) -> Unclear:
    """A minus before the quantity of one line among others without."""
    readings = (f"{quantity} of {length}", f"{quantity} fewer of {length}")
    detail = f"{_brief(written)}: is that a minus, or a dash before the line?"
    return Unclear(Problem("unclear_quantity", detail, _WRITE, readings))


def alone(written: str, length: str) -> Unclear:
    """A length alone on its line, in a list that says how many of the others."""
    readings = (f"1 of {length}", "a part of another line")
    hint = "write how many, or say that one piece is meant wherever a length stands alone"
    return Unclear(Problem("no_quantity", f"how many of {_brief(written)}?", hint, readings, "alone", ANSWERS["alone"]))


def quoted(written: str) -> Unclear:
    """Pieces in the quoted part of a letter that asks for others."""
    detail = f"{_brief(written)} stands in the quoted part of a letter"
    readings = ("wanted too", "an older letter's")
    hint = "say whether the quoted pieces are wanted; the answer counts for all of them"
    return Unclear(Problem("unclear_line", detail, hint, readings, "quoted", ANSWERS["quoted"]))


def total_differs(written: str, found: str) -> Unclear:
    """A stated total that the lines above do not come to."""
    detail = f"{_brief(written)}: the lines above come to {found}"
    hint = "look for the line that is missing or misread, or say that the total is a remark"
    return Unclear(Problem("total_differs", detail, hint, (), "totals", ANSWERS["totals"]))


def unclear_material(named: str, bare: str) -> Unclear:
    """A material beside some of the pieces of a line, which the others may be of too."""
    detail = f"{_brief(named)} stands beside one of the pieces; is {bare} of it too?"
    readings = (f"{bare} is of {_brief(named)} too", f"{bare} is of another material")
    return Unclear(
        Problem("unclear_material", detail, "write each piece on a line of its own, with its material", readings)
    )


def two_materials(first: str, second: str) -> Unclear:
    """Pieces with the names of two materials beside them."""
    detail = f"{_brief(first)} and {_brief(second)} stand beside the same pieces"
    hint = "write each piece on a line of its own, with its material"
    return Unclear(Problem("unclear_material", detail, hint, (f"of {_brief(first)}", f"of {_brief(second)}")))


def two_lengths(first: str, second: str) -> Unclear:
    """Lengths beside each other that nothing separates."""
    hint = "write one length per line, or a comma between pieces; leave out widths and ranges"
    return Unclear(Problem("two_lengths", f"{first} and {second}: which is the length of the piece?", hint))


def two_quantities(first: str, second: str) -> Unclear:
    """Quantities of which only one can be meant."""
    return Unclear(Problem("two_quantities", f"{first} and {second}: which is the number of pieces?", _WRITE))


def unexplained(written: str) -> Unclear:
    """A number that is neither quantity nor length nor anything known."""
    detail = f"it is not clear what the number {written} is: a quantity, a length or a mark"
    return Unclear(Problem("unexplained_number", detail, f"{_WRITE}; put a mark in brackets: [{written}]"))


def unclear_quantity(written: str, readings: Sequence[str], notation: str | None = None) -> Unclear:
    """A number that counts the pieces or names something."""
    detail = f"{written} may be the number of pieces, or a number of something else"
    return Unclear(
        Problem("unclear_quantity", detail, _WRITE, tuple(readings), notation, ANSWERS.get(notation or "", ()))
    )


def several_quantities(written: str, readings: Sequence[str]) -> Unclear:
    """A range, or a number that may be that of each side."""
    detail = f'"{_brief(written)}": how many pieces is that in all?'
    return Unclear(Problem("unclear_quantity", detail, _WRITE, tuple(readings)))


def wary(written: str) -> Unclear:
    """A word that puts the length in doubt."""
    hint = "write a piece to cut as 4 @ 9' 7\", or delete the line"
    return Unclear(
        Problem("unclear_line", f'because of "{written}" it is not clear whether this is a piece to cut', hint)
    )


def loose(written: str) -> Unclear:
    """Something to add or take off, without the length it is added to or taken from."""
    detail = f"{written} is to be added or subtracted, but it is not clear from which length"
    return Unclear(Problem("loose_allowance", detail, "write it after the length: 4 @ 9' 7\" less 1/2"))


def lost(written: str) -> Unclear:
    """Numbers beside names alone, which are neither pieces nor prose."""
    return Unclear(Problem("unexplained_number", f"{_brief(written)}: a number without a length", _WRITE))


def sold_by(written: str) -> Unclear:
    """A number of cartons, squares or running feet."""
    hint = "write how many pieces of which length; lapstock works out how many to buy"
    return Unclear(Problem("not_pieces", f"{written} is not a number of pieces", hint))


def length_out_of_range(written: str) -> Unclear:
    """Return that no piece is so long or so short."""
    return Unclear(Problem("length_out_of_range", f"{_brief(written)} is not a possible length", _WRITE))


def quantity_out_of_range(written: str) -> Unclear:
    """Return that nobody cuts so many."""
    return Unclear(Problem("quantity_out_of_range", f"{_brief(written)} is not a possible quantity", _WRITE))


def no_number(written: str) -> Unclear:
    """A cell where a length should stand, that holds none."""
    return Unclear(Problem("not_a_length", f"{_brief(written)} is no length", _WRITE))


def implausible(written: str, said: str, others: Iterable[str]) -> Unclear:
    """A bare number too large to be of the list's unit; ``others`` is what it would be in other units."""
    detail = f"{written} without a unit would be {said}, and few pieces are longer than 50 ft"
    hint = f"if another unit is meant, write it after the number ({written} mm), or set the unit of the list"
    return Unclear(Problem("implausible_length", detail, hint, (said, *others)))


def too_long(characters: int) -> Unclear:
    """A line that nobody wrote as a line."""
    return Unclear(Problem("line_too_long", f"the line has {characters} characters", "write one piece per line"))


def unsendable(item: Item) -> Unclear | None:
    """What was read, where no request takes it: its mark, its material or its length is too long."""
    if len(item.mark or "") > LONGEST_MARK:
        return _name_too_long(item.mark or "", LONGEST_MARK)
    if len(item.material or "") > LONGEST_NAME:
        return _name_too_long(item.material or "", LONGEST_NAME)
    return length_out_of_range(item.text) if max(item.length, item.room) > LONGEST_STRETCH else None


def _name_too_long(written: str, most: int) -> Unclear:
    detail = f"{_brief(written)} has {len(written)} characters; as a mark or a material's name it may have {most}"
    return Unclear(Problem("line_too_long", detail, "shorten it, or put what is no name on a line of its own"))


def in_words(written: str) -> Unclear:
    """A length spelled out."""
    return Unclear(Problem("not_a_length", f"{_brief(written)}: lengths written in words can't be read", _WRITE))


def unclear_ends() -> Unclear:
    """Ends in words beside several pieces."""
    detail = "it is not clear which of the pieces these ends belong to"
    return Unclear(
        Problem("unclear_ends", detail, "write each piece with a lapped or channel end on a line of its own")
    )


def nothing_above() -> Unclear:
    """Ditto marks without a line above, or that don't say what they repeat."""
    detail = "it is not clear what the ditto marks repeat"
    return Unclear(Problem("unclear_ditto", detail, _WRITE))
