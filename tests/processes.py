"""Work in a process of its own, forked from the test, so that it may hang, be killed or run out of something."""

import multiprocessing
import os
import resource
import sys
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryFile
from typing import Any

SECONDS = 60  # of work; by the clock a busy machine may take much longer
PATIENCE = 1800
BYTES = 1_200_000_000  # of addresses beside those there are, of which a third is only set aside


class Process:
    """Some work that runs already; what it prints goes into files."""

    def __init__(self, work: Callable[..., Any], *given: Any) -> None:
        self._files = [TemporaryFile("w+") for _ in range(2)]  # noqa: SIM115  # closed when read
        self._process = multiprocessing.get_context("fork").Process(target=self._begin, args=(work, *given))
        self._process.start()
        self.pid = int(self._process.pid or 0)

    def _begin(self, work: Callable[..., Any], *given: Any) -> None:
        os.setsid()
        sys.stdout, sys.stderr = self._files
        work(*given)

    def working(self) -> bool:
        return self._process.is_alive()

    def ended(self) -> tuple[Any, ...]:
        """Wait for its end; return its exit code and what it printed as output and as errors."""
        self._process.join(PATIENCE)
        printed = []
        for file in self._files:
            with file:
                file.seek(0)
                printed.append(file.read())
        return self._process.exitcode, *printed


def limited(work: Callable[..., Any], *given: Any) -> tuple[Any, ...]:
    """Return how some work ended that had a minute of processor time and a gigabyte of memory."""

    def within() -> None:
        there = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
        resource.setrlimit(resource.RLIMIT_AS, (there + BYTES,) * 2)
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
        work(*given)

    return Process(within).ended()
