"""A process of its own that plays Excel: what VBA would send goes through the real xlwings and comes back.

Run as a script it answers pickled requests, one per line, until its input ends.
"""

import base64
import pickle
import subprocess
import sys
import timeit
from pathlib import Path
from types import SimpleNamespace
from typing import Any

MODULE = "basecalc.worksheet"


class ExcelHost:
    """The test's end of the process; a context manager."""

    def __enter__(self) -> "ExcelHost":
        if sys.platform != "linux":
            import pytest  # not needed at the other end

            pytest.skip("the stand-ins for Windows' COM are for Linux; here xlwings brings its own")
        self._process = subprocess.Popen(
            [sys.executable, "-W", "error", str(Path(__file__).resolve())],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        return self

    def __exit__(self, *_: object) -> None:
        self._process.communicate(timeout=30)

    def _ask(self, *request: Any) -> Any:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(base64.b64encode(pickle.dumps(request)).decode() + "\n")
        self._process.stdin.flush()
        line = self._process.stdout.readline()
        assert line, f"the host ended with {self._process.wait(10)}"
        failure, result = pickle.loads(base64.b64decode(line))
        assert not failure, f"an exception reached the cell: {failure}"
        return result

    def call(self, function: str, *arguments: Any) -> Any:
        """Return what the cell gets for a formula: the arguments as VBA sends them, the optional ones may be fewer."""
        return self._ask("call", function, arguments)

    def microseconds(self, function: str, arguments: tuple[Any, ...]) -> float:
        """Return how long one call takes inside the process: conversion, function, back."""
        return float(self._ask("time", function, arguments))

    def microseconds_alone(self, function: str, arguments: tuple[Any, ...]) -> float:
        """Return how long the conversions of such a call take, there and back, around a function that does nothing."""
        return float(self._ask("alone", function, arguments))

    def module(self) -> str:
        """Return the VBA module that xlwings writes into the workbook."""
        return str(self._ask("module"))

    def described(self) -> dict[str, Any]:
        """Return what xlwings tells Excel of each function: its help, category and arguments."""
        return dict(self._ask("described"))


def _answer(udfs: Any, request: tuple[Any, ...]) -> Any:
    import importlib
    import io

    from com_stubs import MISSING
    from xlwings.com_server import XLPython  # noqa: TID251 - the real one, in a process of its own

    module = importlib.import_module(MODULE)
    if request[0] in ("call", "time", "alone"):
        what, name, arguments = request
        takes = len(getattr(module, name).__xlfunc__["args"])
        filled = (*arguments, *[MISSING] * (takes - len(arguments)))
        host = XLPython()
        if what == "alone":
            answer = getattr(module, name)(*(None,) * takes)

            def nothing(*_: Any) -> Any:
                return answer

            nothing.__xlfunc__ = getattr(module, name).__xlfunc__  # type: ignore[attr-defined]
            setattr(module, name := f"{name}_ALONE", nothing)
        if what == "call":
            return host.CallUDF(MODULE, name, filled)
        # Short turns, many of them: one that another process interrupts is not the best one.
        return min(timeit.repeat(lambda: host.CallUDF(MODULE, name, filled), number=10, repeat=200)) / 10 * 1e6
    if request[0] == "module":
        text = io.StringIO()
        udfs.generate_vba_wrapper(MODULE, module, text, SimpleNamespace(Name="quotes.xlsm"))
        return text.getvalue()
    told = [value.__xlfunc__ for value in vars(module).values() if hasattr(value, "__xlfunc__")]
    return {
        f["name"]: {
            "help": f["ret"]["doc"],
            "category": f["category"],
            "volatile": f["volatile"],
            "arguments": [(a["name"], a["doc"], "optional" in a, a["options"]) for a in f["args"]],
        }
        for f in told
    }


def main() -> None:
    """Answer requests until the input ends."""
    from com_stubs import install

    replies, sys.stdout = sys.stdout, sys.stderr
    udfs = install()
    for line in sys.stdin:
        try:
            reply = ("", _answer(udfs, pickle.loads(base64.b64decode(line))))
        except Exception as failure:  # noqa: BLE001 - the test is told, whatever it is
            reply = (f"{type(failure).__name__}: {failure}", None)
        replies.write(base64.b64encode(pickle.dumps(reply)).decode() + "\n")
        replies.flush()


if __name__ == "__main__":
    main()
