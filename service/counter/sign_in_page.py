"""``/sign-in`` and ``/sign-out``: with an API key one is let in at a browser, and with nothing else."""

from __future__ import annotations

from urllib.parse import parse_qsl

from flask import redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service.counter import drafted
from service.counter.pages import blueprint, page_of
from service.http import sessions
from service.wire import limits

_START = "/"


@blueprint.route("/sign-in", methods=["GET", "POST"])
def sign_in() -> AnyResponse:
    """Ask for a key, and lead on where one wanted to go; what was being typed meanwhile is kept."""
    if not sessions.key_of("")[0]:
        return redirect(_START, 303)
    if request.method == "GET":
        return page_of("sign_in", to=_local(request.args.get("to", "")), carried="", wrong=False, name="")
    key, name = request.form.get("key", ""), " ".join(request.form.get("name", "").split())[: limits.TEXT]
    to, carried = _local(request.form.get("to", "")), request.form.get("carried", "")
    _, known = sessions.key_of(key)
    if known is None:
        return page_of("sign_in", 422, to=to, carried=carried, wrong=True, name=name)
    if carried:
        fields = dict(parse_qsl(carried, keep_blank_values=True))
        token = drafted.keep(to, fields, client=known.client)
        to = url_for(drafted.WAYS[to], draft=token) if token else to
    answer = redirect(to, 303)
    sessions.begin(answer, known, name)
    return answer


@blueprint.post("/sign-out")
def sign_out() -> AnyResponse:
    """Sign out."""
    answer = redirect(url_for("counter.sign_in"), 303)
    sessions.end(answer)
    return answer


def _local(address: str) -> str:
    """Return an address if it is one of our own, else where one begins."""
    own = address.startswith("/") and not address.startswith("//") and "\\" not in address
    return address if own and address.isprintable() else _START
