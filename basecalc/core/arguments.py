"""The public doors check what is handed to them, so that a wrong kind of argument ends in one sentence."""

import types
from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import date
from decimal import Decimal
from functools import cache, wraps
from inspect import signature
from numbers import Integral, Real
from pathlib import Path
from typing import Any, Final, Literal, Union, get_args, get_origin

from basecalc.core.errors import InputError
from basecalc.core.numbers import quoted

_WIDER: Final[Mapping[Any, tuple[type, ...]]] = {float: (Real, Decimal), int: (Integral,)}
_WORDS: Final[Mapping[Any, str]] = {
    str: "text", float: "a number", int: "a whole number", bool: "True or False", Path: "a path", date: "a date",
    type(None): "left out",
}  # fmt: skip
# Where a record comes from, for whoever has none yet.
_FROM: Final[Mapping[str, str]] = {
    "Job": "basecalc.load_job", "PriceBook": "basecalc.load_prices", "Quote": "basecalc.quote",
    "Estimate": "basecalc.estimate", "Takeoff": "basecalc.take_off", "AreaStrength": "basecalc.area_strength",
    "SpotStrength": "basecalc.spot_strength", "Strength": "basecalc.strength", "BaseDepth": "basecalc.base_depth",
    "ChangeOrder": "basecalc.change_order", "Season": "basecalc.load_season", "Traffic": "basecalc.traffic",
    "Reinforcement": "basecalc.reinforcement", "Reading": "basecalc.Reading", "Company": "basecalc.load_prices",
    "DesignSettings": "basecalc.DesignSettings",
}  # fmt: skip


def checked(function: Callable[..., Any]) -> Callable[..., Any]:
    """Return a function that refuses an argument of the wrong kind, by its own annotations, before it runs."""

    @wraps(function)
    def door(*arguments: Any, **named: Any) -> Any:
        parameters, hints = _expected(function)
        try:
            given = parameters.bind(*arguments, **named).arguments
        except TypeError:  # an argument too few or too many: Python says which
            return function(*arguments, **named)
        for name, value in given.items():
            if name in hints and not _fits(value, hints[name]):
                told = f"{_seen(value, hints[name])}; it must be {_words(hints[name])}"
                raise InputError(told, about=name.replace("_", " "), field=name)
        return function(*arguments, **named)

    door.__module__ = "basecalc"  # where it is found again, by a process that is handed it
    return door


@cache
def _expected(function: Callable[..., Any]) -> tuple[Any, dict[str, Any]]:
    shown = signature(function)  # what it returns may be a type of a library that is not installed
    return shown, {name: parameter.annotation for name, parameter in shown.parameters.items()}


def _fits(value: Any, hint: Any) -> bool:
    """Return whether a value is of the kind that an annotation names, and everything in it too."""
    origin, inside = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return any(_fits(value, one) for one in inside)
    if origin is Literal:
        return value in inside if isinstance(value, str) else False
    if origin is not None and isinstance(origin, type):
        if not isinstance(value, origin) or (isinstance(value, str) and issubclass(origin, Iterable)):
            return False
        if isinstance(value, Mapping):
            return all(_fits(key, inside[0]) and _fits(one, inside[1]) for key, one in value.items())
        if isinstance(value, Collection) and inside:
            return all(_fits(one, inside[0]) for one in value)
        return True
    if hint is Any or not isinstance(hint, type):
        return True
    if isinstance(value, bool):
        return hint in (bool, object)
    return isinstance(value, _WIDER.get(hint, (hint,)))


def _seen(value: Any, hint: Any) -> str:
    """Return what was handed over; of a list the first thing in it that does not belong there."""
    inside = get_args(hint)
    if isinstance(value, list | tuple) and inside:
        odd = next((one for one in value if not _fits(one, inside[0])), None)
        return f"holds {_quoted(odd)}" if odd is not None else f"is {_quoted(value)}"
    return f"is {_quoted(value)}"


def _quoted(value: Any) -> str:
    plain = value is None or isinstance(value, str | int | float | Decimal | list | tuple | dict)
    return quoted(value) if plain else _article(type(value).__name__)


def _article(name: str) -> str:
    return f"{'an' if name[:1] in 'AEIOU' else 'a'} {name}"


def _words(hint: Any) -> str:
    """Return an annotation as a person reads it."""
    origin, inside = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return " or ".join(dict.fromkeys(_words(one) for one in inside))
    if origin is Literal:
        return f"one of: {', '.join(inside)}"
    if isinstance(origin, type):
        if issubclass(origin, Mapping):
            return f"a mapping, for each key {_words(inside[1])}" if inside[1] is not Any else "a mapping"
        return f"a list, each {_words(inside[0])}" if inside and inside[0] is not Any else "a list"
    name = getattr(hint, "__name__", "something else")
    if hint in _WORDS:
        return _WORDS[hint]
    return _article(name) + (f" ({_FROM[name]} gives one)" if name in _FROM else "")
