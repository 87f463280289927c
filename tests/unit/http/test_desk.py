"""Answers made in processes beside the server, tried in a process of its own, which has no threads."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

TRIED = """
import os, signal, time
from pathlib import Path
from flask import Flask, request
from werkzeug.test import EnvironBuilder
from service.cli.desk import Desk

app = Flask("tried")
app.get("/ok", endpoint="ok")(
    lambda: (f"{os.getpid() != parent} {request.args['of']} {request.headers.get('If-None-Match')}", 203)
)
app.get("/dies", endpoint="dies")(lambda: os._exit(7))
app.post("/told", endpoint="told")(lambda: f"{request.mimetype} {request.get_data()} {request.headers['Origin']}")
parent = os.getpid()
desk = Desk(app, 2)

def asked(path, method="GET", body=b""):
    assert desk.take()
    builder = EnvironBuilder(path, method=method, headers={"If-None-Match": "x", "Origin": "http://here"})
    builder.content_type, builder.content_length = "text/plain", len(body)
    try:
        answer = desk.answer(builder.get_environ(), body)
    except RuntimeError as error:
        return error
    return answer and (answer.status_code, answer.get_data(as_text=True), answer.content_type)

print(asked("/ok?of=pieces"))
print(asked("/ok?of=pieces", "HEAD"))
print(asked("/told", "POST", b"two\\nlines"))
print(asked("/dies"))
print(asked("/ok?of=all"))
print([desk.take() for _ in range(3)])
desk._busy = 0
def working():
    return Path(f"/proc/{desk.pid}/task/{desk.pid}/children").read_text().split()

first = working()
os.kill(int(first[0]), signal.SIGKILL)
while working() in (first, []):
    time.sleep(0.02)
print(asked("/ok?of=it"))
(second,) = working()
os.kill(desk.pid, signal.SIGKILL)
os.waitpid(desk.pid, 0)
dead = Path(f"/proc/{second}/stat")
while dead.exists() and ") Z " not in dead.read_text():
    time.sleep(0.02)
print(asked("/ok?of=pieces"))
desk.close()
"""


def test_an_errand_is_done_elsewhere_and_harms_nobody_else() -> None:
    """The request is answered as it is, with its body, but for its conditions.

    One that dies is a fault; without a desk there is none.

    One that dies is followed by another; whoever sees to that has nothing else to do, and where it is gone all is.

    So many are done at a time as there are places. Who asks for the head alone has all of it made, for it is kept for
    whoever asks for the rest.
    """
    root = Path(__file__).parents[3]
    done = subprocess.run([sys.executable, "-c", TRIED], cwd=root, capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == [
        "(203, 'True pieces None', 'text/html; charset=utf-8')",
        "(203, 'True pieces None', 'text/html; charset=utf-8')",
        "(200, \"text/plain b'two\\\\nlines' http://here\", 'text/html; charset=utf-8')",
        "an errand came back with nothing",
        "(203, 'True all None', 'text/html; charset=utf-8')",
        "[True, True, False]",
        "(203, 'True it None', 'text/html; charset=utf-8')",
        "None",
    ]
