"""Loads the real `xlwings.udfs` on Linux, with stand-ins for the parts of Windows it imports but need not call here.

`install` changes `sys.modules` and `xlwings` for the whole process: call it only in a process of its own, as
`com_host.py` does.
"""

import atexit
import ctypes
import datetime as dt
import sys
import types
from typing import Any

# What VBA hands over for an argument that is left out, and the base of its error values.
MISSING = -2147352572
ERROR_BASE = -2146828288
RANGE_IID = "{00020846-0000-0000-C000-000000000046}"


def error(number: int) -> int:
    """Return what an error cell holds, by Excel's number of the error (2007 for #DIV/0!)."""
    return ERROR_BASE + number


class ComError(Exception):
    """Stands for `pywintypes.com_error`."""

    @property
    def hresult(self) -> Any:
        return self.args[0]


class TimeType(dt.datetime):
    """Stands for pywintypes' time type, a datetime too."""


class _Dispatch:
    """Stands for the classes of COM objects that xlwings tests instances against."""


class _IDispatch(_Dispatch):
    pass


class _CDispatch(_Dispatch):
    pass


class _CoClass(_Dispatch):
    pass


class _DispatchBase(_Dispatch):
    pass


class _Dll:
    """Stands for a Windows library: every function of it returns 0."""

    def __getattr__(self, name: str) -> "_Dll":
        if name.startswith("_"):
            raise AttributeError(name)
        return _Dll()

    def __call__(self, *_: Any) -> int:
        return 0


class _RangeType:
    """The type information by which xlwings knows a range."""

    @staticmethod
    def GetTypeInfo() -> Any:  # noqa: N802 - COM's name
        return types.SimpleNamespace(GetTypeAttr=lambda: types.SimpleNamespace(iid=RANGE_IID))


class ComRange:
    """A range as VBA hands it over: a single value, or a tuple of rows.

    Parameters
    ----------
    value
        What `Range.Value` holds.
    """

    _oleobj_ = _RangeType

    def __init__(self, value: Any) -> None:
        rows, columns = (len(value), len(value[0])) if isinstance(value, tuple) else (1, 1)
        self.Value = value
        self.Row = self.Column = 1
        self.Count = rows * columns
        self.Rows = types.SimpleNamespace(Count=rows)
        self.Columns = types.SimpleNamespace(Count=columns)
        book = types.SimpleNamespace(Name="Book1", Application=types.SimpleNamespace(Hwnd=0))
        self.Worksheet = types.SimpleNamespace(Name="Sheet1", Parent=book)


def column(*values: Any) -> ComRange:
    """Return a range of one column."""
    return ComRange(tuple((value,) for value in values))


def row(*values: Any) -> ComRange:
    """Return a range of one row."""
    return ComRange((values,))


def _module(name: str, **contents: Any) -> types.ModuleType:
    module = types.ModuleType(name)
    vars(module).update(contents)
    sys.modules[name] = module
    parent, _, leaf = name.rpartition(".")
    if parent:
        setattr(sys.modules[parent], leaf, module)
    return module


def _not_a_gateway(_: Any) -> Any:
    raise ValueError("not a gateway object")


def _stand_ins() -> None:
    """Put the modules of pywin32 that xlwings imports into place."""
    _module("pywintypes", com_error=ComError, error=Exception, TimeType=TimeType, IID=str)
    for name in ("win32api", "win32con", "win32gui", "win32event"):
        _module(name)
    _module("win32process", GetWindowThreadProcessId=lambda _: (0, 0))
    _module("win32timezone", TimeZoneInfo=types.SimpleNamespace(utc=lambda: dt.UTC))
    _module(
        "pythoncom",
        __file__="pythoncom.dll",
        CoInitialize=lambda: None,
        ole_error=ComError,
        IID_IDispatch="IDispatch",
        IID_IEnumVARIANT="IEnumVARIANT",
        TypeIIDs={"IDispatch": _IDispatch},
    )
    _module("win32com", __path__=[])
    _module(
        "win32com.client",
        CDispatch=_CDispatch,
        CoClassBaseClass=_CoClass,
        DispatchBaseClass=_DispatchBase,
        Dispatch=lambda o, **_: o,
        DispatchEx=lambda o: o,
    )
    _module("win32com.server", __path__=[])
    for name in ("dispatcher", "policy", "exception"):
        _module(f"win32com.server.{name}")
    _module("win32com.server.util", wrap=lambda o, *_, **__: o, unwrap=_not_a_gateway)


def install() -> types.ModuleType:
    """Load xlwings as it is on Windows, and return its module `udfs`."""
    if "xlwings.udfs" in sys.modules:
        return sys.modules["xlwings.udfs"]
    if sys.platform != "linux":
        raise RuntimeError("the stand-ins are for Linux, where xlwings finds neither Excel nor pywin32")
    _stand_ins()
    saved = {name: getattr(ctypes, name, None) for name in ("windll", "oledll", "PyDLL")}
    ctypes.windll = ctypes.oledll = _Dll()  # type: ignore[attr-defined]
    ctypes.PyDLL = lambda *_: _Dll()  # type: ignore[assignment,misc]
    try:
        import xlwings  # noqa: TID251 - the real one, in a process of its own
        from xlwings import _xlwindows  # noqa: TID251 - the real one, in a process of its own
    finally:
        for name, value in saved.items():
            if value is None:
                delattr(ctypes, name)
            else:
                setattr(ctypes, name, value)
    atexit.unregister(_xlwindows.cleanup)
    if "excel" not in [engine.name for engine in xlwings.engines]:
        xlwings.engines.add(xlwings.Engine(impl=_xlwindows.engine))
    from xlwings import udfs  # noqa: TID251 - the real one, in a process of its own

    xlwings.func, xlwings.arg, xlwings.ret, xlwings.script = udfs.xlfunc, udfs.xlarg, udfs.xlret, udfs.xlsub
    return udfs
