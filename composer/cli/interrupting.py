"""Searches that can be interrupted at once, even while a compiled library is busy.

The search runs in a thread of its own and writes nothing, so it can simply be left behind: ``composer.cli.main``
ends the process when a thread is still at work.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TypeVar

Result = TypeVar("Result")


def interruptible(work: Callable[[], Result]) -> Result:
    """What ``work`` gives; what it raises is raised here.

    Raises
    ------
    KeyboardInterrupt
        When interrupted meanwhile.
    """
    done: list[Result] = []
    failed: list[BaseException] = []

    def body() -> None:
        try:
            done.append(work())
        except BaseException as problem:  # handed on to the thread that waits
            failed.append(problem)

    worker = threading.Thread(target=body, daemon=True)
    worker.start()
    while worker.is_alive():
        worker.join(0.1)
    if failed:
        raise failed[0]
    return done[0]
