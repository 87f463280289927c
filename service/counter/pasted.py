"""The pasted list: its lines as read, what must be asked, and the request for a plan made of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from service.counter.catalogue.picking import behind
from service.counter.form import WITHIN_DAYS, ListForm, written_of
from service.counter.request import Fault, Json, Refused, Request, fault_of, material_of, offcuts_of, stock_faults
from service.counter.stored import Stored
from service.http.problems import Problem
from service.racks import with_rack
from service.wire import read_job
from service.wire.required import pitch, render_required
from service.wire.typed import asked
from solver.cutlist import ANSWERS, LASTING, Account, Item, Line, LineKind, Question, read_cut_list
from solver.job import Job
from solver.lengths import Unit, say
from solver.required import Required

MOST_CHARACTERS = 400_000
MOST_LINES = 10_000
_SHOWN = 400
_PROBLEMS_SHOWN = 60

WORDS = {
    "feet-inches": "feet and inches",
    "quantity-length": "how many, then the length",
    "length-quantity": "the length, then how many",
    "decimal": "one number with decimals",
    "thousands": "thousands",
    "quantity-feet-inches": "how many, then feet and inches",
    "feet-inches-quantity": "feet and inches, then how many",
    "date": "a date, not a piece",
    "numbering": "line numbers",
    "quantity": "how many",
    "material": "materials",
    "remark": "remarks",
    "mark": "marks",
    "feet": "feet with decimals",
    "gap": "a whole number and a fraction",
    "length": "the fraction belongs to the length",
    "one": "one piece each",
    "wanted": "wanted too",
    "old": "an older letter's, not wanted",
}
"""What an answer means, in words."""


_OF_WORDS = {"material": "these words name a material", "remark": "these words are a remark"}
_WORDS_FOR = {"beside": _OF_WORDS, "D4": {"mark": "marks of pieces", "material": "profiles of panels"}}
"""What an answer means where it is about words beside pieces."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer to a question: its name, its meaning in words, and how it reads the first example."""

    answer: str
    words: str
    reading: str


@dataclass(frozen=True, slots=True)
class Asked:
    """A notation to ask about, with the answer given so far, and in words the one that is kept for the customer."""

    notation: str
    examples: tuple[str, ...]
    lines: int
    choices: tuple[Choice, ...]
    answer: str
    kept: str
    lasting: bool


@dataclass(frozen=True, slots=True)
class Pasted:
    """The list as read.

    ``required`` has every item with its material, "" where that is not known; ``at`` is the line of each.
    ``strange`` counts pieces by the names of materials that are not on the page, ``nameless`` those without one.
    """

    lines: tuple[Line, ...]
    asked: tuple[Asked, ...]
    required: tuple[Required, ...]
    at: tuple[int, ...]
    strange: Mapping[str, int]
    nameless: int
    account: Account | None = None
    refusal: str = ""

    @property
    def problems(self) -> int:
        """How many lines can't be read as they stand."""
        return sum(line.problem is not None for line in self.lines)

    @property
    def pieces(self) -> int:
        """How many pieces were read."""
        return sum(item.pieces for item in self.required)

    @property
    def shown(self) -> tuple[Line, ...]:
        """The lines to show: all of an ordinary list, of a monstrous one as many as a page can hold."""
        return tuple(_few(self.lines))

    @property
    def settled(self) -> bool:
        """Whether every line is read and every piece has its material."""
        return bool(self.required) and not (self.problems or self.strange or self.nameless)


def read_list(form: ListForm, stored: Stored | None, kept: Mapping[str, str]) -> Pasted:
    """Return the form's list as read; a text beyond all measure is refused as a whole.

    Where the form has no answer, the one ``kept`` for the customer holds. Lines that are those of a
    ``stored`` request keep what it says of them beyond the list.
    """
    if refusal := _too_much(form.text):
        return Pasted((), (), (), (), {}, 0, refusal=refusal)
    text, typed = form.said, form.text.split("\n")
    read = read_cut_list(text, form.unit, form.looked_for, {**kept, **dict(form.assume)})
    lines = tuple(map(replace_text, read.lines, typed))
    items = [item for line in read.lines for item in line.read]
    as_written = replace(read, lines=tuple(map(replace_text, read.lines, map(written_of, typed))))
    required = tuple(
        replace(required, material=form.material_of(item.material))
        for item, required in zip(items, as_written.worded, strict=True)
    )
    if stored:
        required = tuple(stored.kept(form, list(zip(items, required, strict=True))))
    at = tuple(line.number for line in read.lines for _ in line.read)
    unsettled = _unsettled(required, items)
    return Pasted(lines, _asked(form, text, read.questions, kept), required, at, *unsettled, read.account)


def replace_text(line: Line, written: str) -> Line:
    """Return a line with its text as written."""
    return line if line.text == written else replace(line, text=written)


def _too_much(text: str) -> str:
    lines = text.count("\n") + 1
    if len(text) > MOST_CHARACTERS or lines > MOST_LINES:
        return f"This is too much for one list: {lines:,} lines. Paste at most {MOST_LINES:,} lines at a time."
    return ""


def _unsettled(required: Sequence[Required], items: Sequence[Item]) -> tuple[dict[str, int], int]:
    strange: dict[str, int] = {}
    nameless = 0
    for wanted, item in zip(required, items, strict=True):
        if wanted.material:
            continue
        if item.material:
            strange[item.material] = strange.get(item.material, 0) + wanted.pieces
        else:
            nameless += wanted.pieces
    return strange, nameless


def _asked(form: ListForm, text: str, open_: tuple[Question, ...], kept: Mapping[str, str]) -> tuple[Asked, ...]:
    """Return what is asked; questions that were answered stay, so that the answer can be changed."""
    answers = dict(form.assume)
    before = read_cut_list(text, form.unit, form.looked_for).questions if answers or kept else ()
    every = {question.notation: question for question in (*before, *open_)}
    for name in answers.keys() - every.keys():
        # some are asked only once others are answered, as is what a total is
        others = {notation: said for notation, said in {**kept, **answers}.items() if notation != name}
        behind_others = read_cut_list(text, form.unit, form.looked_for, others).questions
        every |= {question.notation: question for question in behind_others if question.notation == name}
    return tuple(
        Asked(
            question.notation,
            question.examples,
            len(question.lines),
            tuple(_choices(form, question)),
            answers.get(name, ""),
            "" if name in answers else WORDS.get(kept.get(name, ""), ""),
            name in LASTING,
        )
        for name in ANSWERS
        if (question := every.get(name))
    )


def _choices(form: ListForm, question: Question) -> Iterator[Choice]:
    for answer in question.answers or ANSWERS[question.notation]:
        found = read_cut_list(question.examples[0], form.unit, (), {question.notation: answer}).lines[0]
        reading = ", ".join(f"{item.quantity} × {item.text}" for item in found.read)
        yield Choice(answer, _WORDS_FOR.get(question.notation, WORDS)[answer], reading)


def _few(lines: tuple[Line, ...]) -> Iterator[Line]:
    problems = others = 0
    for line in lines:
        if line.problem:
            problems += 1
        elif line.kind is not LineKind.BLANK or line.text.strip():
            others += 1
        else:
            continue
        if problems <= _PROBLEMS_SHOWN if line.problem else others <= _SHOWN:
            yield line


def written(form: ListForm, kept: Mapping[str, str]) -> Json:
    """Return the list as it came with the answers by which it was read, to be opened again."""
    answers = {**kept, **dict(form.assume)}
    return {"text": form.text, "assume": answers, "same": dict(form.same), "rest": form.rest}


def job_of(form: ListForm, pasted: Pasted, stored: Stored | None = None) -> tuple[Job, Json]:
    """Return the job that the form asks for, and the request it was read from. Raises ``Refused``."""
    faults = (*list_faults(form, pasted), *stock_faults(form, _used(pasted)))
    if faults:
        raise Refused(faults)
    request = _request(form, pasted, {row.of for row in form.materials} if stored else set())
    body = stored.request(request, form.unit) if stored else request.body
    try:
        return read_job(body, with_rack), body
    except Problem as problem:
        raise Refused(tuple(fault_of(request, form, error) for error in problem.errors)) from None


def list_faults(form: ListForm, pasted: Pasted) -> Iterator[Fault]:
    """Yield what keeps a list from being planned as it stands."""
    if pasted.refusal:
        yield Fault("text", pasted.refusal)
    elif not form.text.strip():
        yield Fault("text", "Paste or type the list first.")
    elif pasted.problems:
        first = next(line.number for line in pasted.lines if line.problem)
        count = "One line needs a look" if pasted.problems == 1 else f"{pasted.problems} lines need a look"
        yield Fault(f"line-{first}", f"{count}: line {first} is the first.")
    elif not pasted.required:
        yield Fault("text", "No piece was found in this list: write how many, then @, then the length.")
    for name in pasted.strange:
        yield Fault("strange", f"The list names {name}: say below the list what it is.")
    if pasted.nameless:
        yield Fault("nameless", "Some lines name no material: say which they are of.")


def _used(pasted: Pasted) -> set[str]:
    return {item.material for item in pasted.required}


def _request(form: ListForm, pasted: Pasted, stored: set[str]) -> Request:
    """Return the request for what the page says: of materials that nothing is cut from, those that are stored."""
    request, used = Request(behind=behind(form)), _used(pasted)
    used |= {name for row, name in zip(form.materials, form.names, strict=True) if row.of and row.of in stored}
    places = [place for place, name in enumerate(form.names) if name in used]
    request.places |= {"#/name": "job", "#/rack": "rack", "#/within_days": "within_days"}
    request.body = {
        "name": form.job.strip(),
        "units": form.units,
        "materials": [material_of(request, form, f"#/materials/{n}", place) for n, place in enumerate(places)],
        "walls": [{"id": wall} for wall in dict.fromkeys(item.wall for item in pasted.required if item.wall)],
        "required": [render_required(item, form.unit) for item in pasted.required],
        "offcuts": list(offcuts_of(request, form, used)),
        "rack": form.rack,
        "within_days": asked(wait, WITHIN_DAYS) if (wait := form.within_days.strip()) else None,
    }
    request.places |= {f"#/required/{n}": f"line-{number}" for n, number in enumerate(pasted.at)}
    return request


def beyond_list(pasted: Pasted, unit: Unit) -> Mapping[int, Sequence[str]]:
    """Return by line what is known of its pieces, in their order, and can't be said in a list."""
    told: dict[int, list[str]] = {}
    for item, number in zip(pasted.required, pasted.at, strict=True):
        told.setdefault(number, []).append("; ".join(_beyond(item, unit)))
    return told


def _beyond(item: Required, unit: Unit) -> Iterator[str]:
    if item.wall:
        yield f"on wall {item.wall}" + (f", {say(item.start, unit)} from its zero" if item.start else "")
    first, count = item.first_course, item.courses
    if first or count > 1:
        last = (first or 1) + count - 1
        yield f"course {last}" if count == 1 else f"courses {first or 1} to {last}: {item.pieces} pieces"
    for side, end in (("left", item.left_end), ("right", item.right_end)):
        if end.slope:
            upright = f", upright for {say(end.slope.upright, unit)}" if end.slope.upright else ""
            yield f"{side} end sloped {pitch(end.slope.pitch)}{upright}"
    for name, marks in (("cut-out", item.cut_outs), ("stretch kept clear", item.keep_clear)):
        if marks:
            yield f"{len(marks)} {name if len(marks) == 1 else _several(name)}"
    if item.ref:
        yield f"ref {item.ref}"


def _several(name: str) -> str:
    return {"cut-out": "cut-outs"}.get(name, "stretches kept clear")
