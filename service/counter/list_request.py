"""The pasted list as a request for a plan."""

from __future__ import annotations

from collections.abc import Iterator

from service.counter.list_form import ListForm
from service.counter.pasted import Pasted
from service.counter.request import Fault, Json, Refused, Request, fault_of, material_of, offcuts_of, stock_faults
from service.counter.stored import Stored
from service.problems import Problem
from service.wire import read_job
from service.wire.required import render_required
from solver.job import Job


def job_of(form: ListForm, pasted: Pasted, stored: Stored | None = None) -> tuple[Job, Json]:
    """Return the job that the form asks for, and the request it was read from. Raises ``Refused``."""
    faults = (*_list_faults(form, pasted), *stock_faults(form, _used(pasted)))
    if faults:
        raise Refused(faults)
    request = _request(form, pasted, {row.of for row in form.materials} if stored else set())
    body = stored.request(request, form.unit) if stored else request.body
    try:
        return read_job(body), body
    except Problem as problem:
        raise Refused(tuple(fault_of(request, error) for error in problem.errors)) from None


def _list_faults(form: ListForm, pasted: Pasted) -> Iterator[Fault]:
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
    request, used = Request(), _used(pasted)
    used |= {name for row, name in zip(form.materials, form.names, strict=True) if row.of and row.of in stored}
    places = [place for place, name in enumerate(form.names) if name in used]
    request.places["#/name"] = "job"
    request.body = {
        "name": form.job.strip(),
        "units": form.units,
        "materials": [material_of(request, form, f"#/materials/{n}", place) for n, place in enumerate(places)],
        "required": [render_required(item, form.unit) for item in pasted.required],
        "offcuts": list(offcuts_of(request, form, used)),
    }
    request.places |= {f"#/required/{n}": f"line-{number}" for n, number in enumerate(pasted.at)}
    return request
