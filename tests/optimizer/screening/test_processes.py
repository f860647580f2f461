"""Workers that end in the middle of what they do, or of what they say."""

import os
import signal
from concurrent.futures import wait
from contextlib import closing
from multiprocessing.connection import Connection

import pytest

from optimizer.screening.processes import Processes, WorkerLost

SOON_S = 60.0


def ended_while_answering(_: None) -> str:
    """Ends its process when a part of the answer is in the pipe."""

    def part_sent(pipe: Connection, answer: bytes) -> None:
        os.write(pipe.fileno(), bytes(answer[:6]))
        os.kill(os.getpid(), signal.SIGKILL)

    Connection._send = part_sent
    return "an answer that nobody reads"


@pytest.mark.skipif(os.name != "posix", reason="writes to a pipe as POSIX systems do")
def test_a_process_that_ends_while_it_answers_holds_up_nothing():
    with closing(Processes(2)) as crew:
        lost = crew.submit(ended_while_answering, None)
        others = [crew.submit(abs, -k) for k in range(6)]
        assert not wait([lost, *others], timeout=SOON_S).not_done
        assert isinstance(lost.exception(), WorkerLost)
        assert [other.result() for other in others] == list(range(6))
