"""Making the parts of a build beside one another, on as many processors as there are."""

from __future__ import annotations

import os
import pickle
import sys
from collections.abc import Callable, Sequence

from jackstay.outputs.build import Job, Made, joined, pieces_of

MOST = 4  # more do not pay: the slowest piece alone takes as long as a quarter of all
TURN = 2  # bytes of a number; a pipe hands out so few of them whole
MOST_TURNS = 4096 // TURN  # what any pipe holds at once

Pieces = Sequence[Callable[[], Made]]


def make(job: Job, parts: Sequence[str]) -> dict[str, bytes]:
    """The files of these parts, whoever makes them: this process, and copies of it that take the next part in turn."""
    pieces = pieces_of(job, parts)
    helpers = min(_processors(), MOST, len(pieces)) - 1
    if helpers < 1 or len(pieces) > MOST_TURNS or not hasattr(os, "fork"):
        return joined(piece() for piece in pieces)
    turns, taken = os.pipe()  # a number for each piece: whoever reads it makes the piece
    os.write(taken, b"".join(number.to_bytes(TURN, "big") for number in range(len(pieces))))
    os.close(taken)
    sys.stdout.flush()
    sys.stderr.flush()
    copies = [_copy(pieces, turns) for _ in range(helpers)]
    made: dict[str, bytes] = {}
    try:
        made |= _take(pieces, turns)
    finally:
        os.close(turns)
        answers = [_answer(pid, pipe) for pid, pipe in copies]
    for answer in answers:
        if isinstance(answer, BaseException):
            raise answer
        made |= answer
    return dict(sorted(made.items()))


def _processors() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _take(pieces: Pieces, turns: int) -> dict[str, bytes]:
    made: dict[str, bytes] = {}
    while turn := os.read(turns, TURN):
        made |= joined([pieces[int.from_bytes(turn, "big")]()])
    return made


def _copy(pieces: Pieces, turns: int) -> tuple[int, int]:
    """Starts a copy of this process; gives its number, and where its answer can be read."""
    read, write = os.pipe()
    pid = os.fork()
    if pid:
        os.close(write)
        return pid, read
    code = 1
    try:
        os.close(read)
        try:
            answer: object = _take(pieces, turns)
        except Exception as problem:
            answer = problem
        with os.fdopen(write, "wb") as stream:
            pickle.dump(answer, stream, pickle.HIGHEST_PROTOCOL)
        code = 0
    finally:
        os._exit(code)  # nothing of what this process would do at its end is the copy's to do


def _answer(pid: int, pipe: int) -> dict[str, bytes] | BaseException:
    with os.fdopen(pipe, "rb") as stream:
        data = stream.read()
    _, status = os.waitpid(pid, 0)
    if status or not data:
        return RuntimeError("a process that made outputs ended before it was through")
    answer: dict[str, bytes] | BaseException = pickle.loads(data)
    return answer
