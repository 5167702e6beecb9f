"""A quantity is declared once, as a line of formula text. It works itself out, and writes itself as a sheet formula.

The text is parsed by Python's own `ast`. Allowed are names, numbers, ``+ - * /``, comparisons, ``and or not``,
``x if test else y``, and the functions of `FUNCTIONS`. Names, dimensions and functions are checked when the model is
loaded, so that a wrong declaration is found before the first job and not at a quote.
"""

import ast
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from fractions import Fraction
from functools import cached_property
from typing import Any, Final, NamedTuple

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import cents, decimal, fixed, number, round_up

_FT: Final = Fraction("0.3048")
_LB: Final = Fraction("0.45359237")
_YD3: Final = (3 * _FT) ** 3
_TON: Final = 2000 * _LB
_ONE: Final = Fraction(1)


class Kind(NamedTuple):
    """What is measured: powers of length and mass, and the unit of a US and of a metric sheet with its SI value."""

    dimension: tuple[int, int] | None
    us: str
    us_si: Fraction
    metric: str
    metric_si: Fraction

    def unit(self, system: str) -> str:
        """Return the unit's name in a 'us' or 'metric' sheet."""
        return self.metric if system == "metric" else self.us

    def si(self, system: str) -> Fraction:
        """Return the SI value of one unit of the sheet."""
        return self.metric_si if system == "metric" else self.us_si


_PLAIN: Final = Kind((0, 0), "", _ONE, "", _ONE)
KINDS: Final[Mapping[str, Kind]] = {
    "depth": Kind((1, 0), "in", _FT / 12, "mm", Fraction(1, 1000)),
    "length": Kind((1, 0), "ft", _FT, "m", _ONE),
    "area": Kind((2, 0), "ft2", _FT**2, "m2", _ONE),
    "volume": Kind((3, 0), "yd3", _YD3, "m3", _ONE),
    "mass": Kind((0, 1), "ton", _TON, "t", Fraction(1000)),
    "bag": Kind((0, 1), "lb", _LB, "kg", _ONE),
    "density": Kind((-3, 1), "ton/yd3", _TON / _YD3, "t/m3", Fraction(1000)),
    "cover": Kind((-2, 1), "lb/ft2", _LB / _FT**2, "kg/m2", _ONE),
    "any": Kind(None, "", _ONE, "", _ONE),  # the amount of a priced line: in the unit of its own quantity
    **dict.fromkeys(("number", "share", "count", "yes", "money", "word"), _PLAIN),
}


# What one printed unit is in the SI unit of its dimension: m, m2, m3, kg. Counts are themselves.
SI: Final[Mapping[str, float]] = {
    "load": 1.0, "roll": 1.0, "bag": 1.0,
    **{kind.unit(system): float(kind.si(system)) for kind in KINDS.values() for system in ("us", "metric") if kind.us},
}  # fmt: skip


def in_unit(amount: float, unit: str) -> float:
    """Return an SI amount in a printed unit."""
    return amount / SI[unit]


def written(value: Any, kind: str, system: str) -> str:
    """Return an SI value as a person reads it, with its unit in a 'us' or 'metric' job.

    Examples
    --------
    >>> written(0.2032, "depth", "us"), written(12.5, "volume", "metric"), written(0.05, "share", "us")
    ('8 in', '12.5 m3', '5 %')
    """
    if kind in ("word", "money"):
        return str(value)
    unit, amount = KINDS[kind].unit(system), float(value) / float(KINDS[kind].si(system))
    if kind == "share":
        return f"{amount * 100:.6g} %"
    if kind in ("density", "cover") or not unit:
        return f"{amount:.6g} {unit}".rstrip() if not unit else f"{amount:.3g} {unit}"
    text = fixed(amount, 0 if unit == "mm" else 2)
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {unit}"


# name: (worked out in Python, written in a sheet); all are functions of Excel 2007. Noise is rounded away before a
# number is rounded for good, or a tie would hang on it.
FUNCTIONS: Final[Mapping[str, tuple[Callable[..., Any], str]]] = {
    "max": (max, "MAX({})"),
    "min": (min, "MIN({})"),
    "up": (round_up, "ROUNDUP(ROUND({},9),0)"),
    "printed": (lambda value: decimal(value, 2), "ROUND(ROUND({},8),2)"),
    "cents": (lambda value: cents(decimal(value, 9)), "ROUND(ROUND({},9),2)"),
    "total": (sum, "SUM({})"),
    "total_where": (
        lambda values, keys, key: sum(value for value, one in zip(values, keys, strict=True) if one == key),
        "SUMIF({1},{2},{0})",
    ),
    "last": (lambda values: values[-1] if values else 0, "MAX({})"),  # of a running count
}
_OPERATORS: Final[Mapping[type[ast.operator], str]] = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/"}
_COMPARISONS: Final[Mapping[type[ast.cmpop], str]] = {
    ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "=", ast.NotEq: "<>",
}  # fmt: skip

_GLOBALS: Final[dict[str, Any]] = {"__builtins__": {}, **{name: how for name, (how, _) in FUNCTIONS.items()}}
# The same, with nothing rounded: for what a price adds up to exactly.
_EXACT: Final = {**_GLOBALS, "cents": lambda value: value, "printed": lambda value: value}
NOTHING: Final[Mapping[str, Any]] = {}
_NAMED: Final = re.compile(r"\{(\w+)\}")

Cell = Callable[[str], str]


class DeclarationError(Exception):
    """The model itself is wrong: found when it is loaded, never at a quote."""


@dataclass(frozen=True, slots=True)
class Input:
    """A number that is given, with its limits in SI; one that is not given (None) hurts only where it is needed."""

    key: str
    label: str
    kind: str
    low: float = 0.0
    high: float = 1e7

    def check(self, value: Any, system: str) -> None:
        """Refuse a value in SI outside the limits."""
        high = 1.0 if self.kind == "yes" else self.high
        if not self.low <= value <= high:
            kind = KINDS[self.kind]
            si = float(kind.si(system))
            number(self.label, float(value) / si, kind.unit(system), self.low / si, high / si)

    def limits(self, system: str) -> tuple[str, str, str]:
        """Return both limits in the unit of the sheet, and the sentence that says them."""
        kind, high = KINDS[self.kind], 1.0 if self.kind == "yes" else self.high
        low_text, high_text = (f"{limit / float(kind.si(system)):.6g}" for limit in (self.low, high))
        said = f"{self.label} must be from {low_text} to {high_text} {kind.unit(system)}".strip()
        return low_text, high_text, said


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity: label, kind, formula, one sentence; when it is refused and why; its price code; its source.

    A refusal may name quantities in braces: ``{layers}`` becomes their value with its unit. `also` names the quantities
    that it may be sold by instead.
    """

    key: str
    label: str
    kind: str
    formula: str
    says: str
    refuse: tuple[tuple[str, str], ...] = ()
    code: str = ""
    source: str = ""
    also: tuple[str, ...] = ()

    @property
    def texts(self) -> tuple[str, ...]:
        """The formula and the tests of its refusals."""
        return (self.formula, *(test for test, _ in self.refuse))


Entry = Input | Quantity


@dataclass(frozen=True)
class Table:
    """The entries of one table, in the order they are worked out; `carried` names values of the row above."""

    entries: tuple[Entry, ...]
    carried: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def quantities(self) -> tuple[Quantity, ...]:
        """Those that are worked out."""
        return tuple(one for one in self.entries if isinstance(one, Quantity))


class _Piece(NamedTuple):
    """A part of a sheet formula: its text, how tightly it binds, dimension (None: any), SI value of its unit."""

    text: str
    rank: int
    dimension: tuple[int, int] | None
    scale: Fraction

    def inside(self, rank: int) -> str:
        return self.text if self.rank >= rank else f"({self.text})"

    def to(self, scale: Fraction) -> "_Piece":
        """Return it in another unit of its dimension, by the factor that a person would write: 12, 27, 324."""
        ratio = self.scale / scale
        if ratio == 1 or self.dimension is None:
            return self
        factor = f"*{ratio.numerator}" if ratio.denominator == 1 else f"*{float(ratio)!r}"
        factor = f"/{ratio.denominator}" if ratio.numerator == 1 else factor
        return _Piece(self.inside(3) + factor, 3, self.dimension, scale)


class Model:
    """Every input and quantity, table by table, checked as a whole when it is loaded."""

    def __init__(self, **tables: Table) -> None:
        self.tables: Mapping[str, Table] = tables
        self.kinds: dict[str, str] = {}
        self.labels = {one.key: one.label for table in tables.values() for one in table.entries}
        self._quantities = {one.key: one for table in tables.values() for one in table.quantities}
        self._limited = {
            name: [one for one in table.entries if isinstance(one, Input) and one.kind != "word"]
            for name, table in tables.items()
        }
        self._parsed: dict[str, ast.expr] = {}
        self._code: dict[str, Any] = {}
        self._parts: dict[ast.expr, Any] = {}
        for table in tables.values():
            self._load(table)

    def _load(self, table: Table) -> None:
        for later, of in table.carried.items():
            self.kinds[later] = next(one.kind for one in table.entries if one.key == of)
        for one in table.entries:
            if one.key in self.kinds:
                raise DeclarationError(f"{one.key} is declared twice")
            if one.kind not in KINDS:
                raise DeclarationError(f"{one.key}: there is no kind {one.kind!r}; kinds are {', '.join(KINDS)}")
            if isinstance(one, Quantity):
                for text in one.texts:
                    self._checknames_in(one, text)
            self.kinds[one.key] = one.kind
            if isinstance(one, Quantity):
                for text in one.texts:
                    _Writer(self, one, lambda name: name, "us").whole(text)

    def _checknames_in(self, one: Quantity, text: str) -> None:
        try:
            parsed = ast.parse(text, mode="eval")
        except SyntaxError as error:
            raise DeclarationError(f"{one.key}: {error.msg} in {text!r}") from None
        for name in names_in(parsed.body):
            if name not in self.kinds:
                near = get_close_matches(name, self.kinds, 1)
                hint = f"; is it {near[0]!r}?" if near else ""
                raise DeclarationError(f"{one.key}: {name!r} is not declared above it{hint}")
        self._parsed[text] = parsed.body
        self._code[text] = compile(parsed, one.key, "eval")

    def part(self, node: ast.expr) -> Any:
        """Return a part of a formula of the model, compiled once."""
        if node not in self._parts:
            self._parts[node] = compile(ast.Expression(node), "part", "eval")
        return self._parts[node]

    def parsed(self, text: str) -> ast.expr:
        """Return the syntax tree of a formula of the model."""
        return self._parsed[text]

    def quantity(self, key: str) -> Quantity:
        """Return the quantity of that key."""
        return self._quantities[key]

    def inside(self, key: str, function: str) -> list[str]:
        """Return the names that a quantity hands to a function: the columns it totals, or what it rounds up."""
        calls = (one for one in ast.walk(self._parsed[self._quantities[key].formula]) if isinstance(one, ast.Call))
        return [name for call in calls if ast.unparse(call.func) == function for name in names_in(call)]

    def work_out(
        self, table: str, known: Mapping[str, Any], only: Sequence[str] = (), *, system: str = "metric"
    ) -> dict[str, Any]:
        """Return what is known with the quantities of a table added, in SI; money and printed amounts are Decimal.

        `known` holds inputs and quantities of other tables by their key, a sequence for each column that is summed,
        None where one is not given; `system` is 'us' or 'metric', the units of what is refused. Refused are an input
        outside its limits, a quantity that says so, and an input that is needed and not given.
        """
        for one in self._limited[table]:
            if (value := known.get(one.key)) is not None:
                one.check(value, system)
        values = _Values(self, known, system)
        for quantity in self.tables[table].quantities:
            if not only or quantity.key in only:
                values[quantity.key] = self.worked_out(quantity, values)
        return dict(values)

    def value(
        self, key: str, known: Mapping[str, Any] = NOTHING, *, system: str = "metric", exact: bool = False, **more: Any
    ) -> Any:
        """Return one quantity in SI from what it takes; what is not given of that is worked out, as far as it can be.

        With `exact` no money is rounded: fractions stay fractions. The loose volume of 20 m3 in the ground:
        ``MODEL.value("loose", bank=20.0, trimmed=0.0, keep=0, swell=1.25)``.
        """
        known = {**known, **more}
        for table in self._limited.values():
            for one in table:
                if (value := known.get(one.key)) is not None and not isinstance(value, list):
                    one.check(value, system)
        values = _Values(self, known, system, _EXACT if exact else _GLOBALS)
        return values[key]

    def worked_out(self, one: Quantity, values: "_Values") -> Any:
        """Return one quantity from the values of its row."""
        try:
            for test, sentence in one.refuse:
                # Our own text, checked name by name when it was loaded.
                if eval(self._code[test], values.functions, values):
                    raise OutOfRangeError(self._said(sentence, values))
            return eval(self._code[one.formula], values.functions, values)
        except (TypeError, ArithmeticError, NameError) as error:
            lacking = [n for text in one.texts for n in names_in(self._parsed[text]) if values.get(n) is None]
            if not lacking:
                raise OutOfRangeError(f"{one.label} cannot be worked out: {error}") from None
            raise InputError(f"{self.labels.get(lacking[0], lacking[0])} is missing; {one.label} needs it") from None

    def _said(self, sentence: str, values: "_Values") -> str:
        return _NAMED.sub(lambda at: written(values[at[1]], self.kinds[at[1]], values.system), sentence)

    def working(self, key: str, values: Mapping[str, Any], system: str) -> str:
        """Return how a quantity was worked out: its formula with the values of its row, rounding left out.

        Only the branch that was taken is written, without terms that are 0 and factors that are 1.
        """
        return _Words(self, _Values(self, values, system)).text(self._parsed[self._quantities[key].formula])[0]

    def formula(self, key: str, cell: Cell, system: str, rows: Cell | None = None) -> str:
        """Return the sheet formula of a quantity: #N/A where a cell it needs holds no number, or where it is refused.

        `cell` gives the cell of a name, or the range of a column that is summed; `rows` how many numbers the column of
        a name must hold: a text among them would pass a sum unseen.
        """
        one = self.quantity(key)
        return "=" + _Writer(self, one, cell, system, rows).guarded_whole()

    def problem(self, table: str, cell: Cell, system: str) -> str:
        """Return the sheet formula that says what is wrong in a row: a limit, a text for a number, a refusal."""
        parts = []
        for one in self.tables[table].entries:
            if isinstance(one, Quantity):
                parts += [_Writer(self, one, cell, system).refusal(test, says) for test, says in one.refuse]
            elif one.kind != "word":
                at, (low, high, says) = cell(one.key), one.limits(system)
                parts.append(
                    f'IF(COUNT({at})=1,IF(OR({at}<{low},{at}>{high}),"{says}; ",""),'
                    f'IF({at}="","","{one.label} is not a number; "))'
                )
        return "=" + ("&".join(parts) or '""')


class _Values(dict[str, Any]):
    """The values of a row; a quantity that is asked for and not among them is worked out."""

    def __init__(
        self, model: Model, known: Mapping[str, Any], system: str, functions: dict[str, Any] = _GLOBALS
    ) -> None:
        super().__init__(known)
        self.model, self.system, self.functions = model, system, functions

    def __missing__(self, key: str) -> Any:
        self[key] = value = self.model.worked_out(self.model.quantity(key), self)
        return value


class _Words:
    """Writes a formula with the values of its row, and how tightly each part binds."""

    def __init__(self, model: Model, values: _Values) -> None:
        self.model, self.values = model, values

    def text(self, node: ast.expr) -> tuple[str, int]:
        match node:
            case ast.Name(id=name):
                return written(self.values[name], self.model.kinds[name], self.values.system), 9
            case ast.IfExp(test=test, body=body, orelse=otherwise):
                return self.text(body if self._value(test) else otherwise)
            case ast.BinOp(left=left, op=ast.Add() | ast.Sub(), right=right) if not self._value(right):
                return self.text(left)
            case ast.BinOp(left=left, op=ast.Add(), right=right) if not self._value(left):
                return self.text(right)
            case ast.BinOp(left=left, op=ast.Mult() | ast.Div(), right=right) if self._value(right) == 1:
                return self.text(left)
            case ast.BinOp(left=left, op=operator, right=right):
                rank = 2 if isinstance(operator, ast.Add | ast.Sub) else 3
                sign = {ast.Add: "+", ast.Sub: "-", ast.Mult: "x", ast.Div: "/"}[type(operator)]
                return f"{self._inside(left, rank)} {sign} {self._inside(right, rank + 1)}", rank
            case ast.Call(func=ast.Name(id="total"), args=[ast.Name(id=name)]):
                return written(self._value(node), self.model.kinds[name], self.values.system), 9
            case ast.Call(func=ast.Name(id="up" | "printed" | "cents"), args=[inner]):
                return self.text(inner)
            case ast.Call(func=ast.Name(id="max" | "min" as name), args=arguments):
                which = "greatest" if name == "max" else "least"
                return f"{which} of {', '.join(self.text(one)[0] for one in arguments)}", 1
        return f"{float(self._value(node)):.6g}", 9

    def _inside(self, node: ast.expr, rank: int) -> str:
        text, own = self.text(node)
        return text if own >= rank else f"({text})"

    def _value(self, node: ast.expr) -> Any:
        return eval(self.model.part(node), _GLOBALS, self.values)


def names_in(node: ast.AST) -> list[str]:
    """Return the names a formula asks for, functions apart, in order."""
    called = {id(one.func) for one in ast.walk(node) if isinstance(one, ast.Call)}
    found = [one.id for one in ast.walk(node) if isinstance(one, ast.Name) and id(one) not in called]
    return list(dict.fromkeys(found))


class _Writer:
    """Writes one formula for a sheet; names of one branch only are asked for in that branch."""

    def __init__(self, model: Model, one: Quantity, cell: Cell, system: str, rows: Cell | None = None) -> None:
        self.model, self.one, self.cell, self.system = model, one, cell, system
        self.rows: Cell = rows or (lambda name: f"ROWS({name})")
        self._sure: frozenset[str] = frozenset()

    def guarded_whole(self) -> str:
        needed = [name for text in self.one.texts for name in self._always(self.model.parsed(text))]
        self._sure = frozenset(needed)
        text = self.whole(self.one.formula)
        body = f"IF({text},1,0)" if self.one.kind == "yes" else text
        for test, _ in reversed(self.one.refuse):
            body = f"IF({self.whole(test)},NA(),{body})"
        return self._guarded(body, dict.fromkeys(needed), "NA()")

    def refusal(self, test: str, says: str) -> str:
        needed = [*self._always(self.model.parsed(test)), *_NAMED.findall(says)]
        self._sure = frozenset(needed)
        return self._guarded(f'IF({self.whole(test)},{self._said(says)},"")', dict.fromkeys(needed), '""')

    def _said(self, says: str) -> str:
        """Write a sentence; a name in braces becomes its cell, rounded, and the unit."""

        def cell(at: re.Match[str]) -> str:
            kind = self.model.kinds[at[1]]
            unit = KINDS[kind].unit(self.system)
            return f'"&ROUND({self.cell(at[1])},{0 if unit == "mm" else 2})&"{f" {unit}" if unit else ""}'

        return f'"{_NAMED.sub(cell, says)}; "'

    def whole(self, text: str) -> str:
        """Write a formula, or the test of a refusal, in the unit of the quantity; refuse unlike dimensions."""
        piece, kind = self._write(self.model.parsed(text)), KINDS[self.one.kind]
        if text != self.one.formula or self.one.kind == "yes":
            return piece.text
        if None not in (piece.dimension, kind.dimension) and piece.dimension != kind.dimension:
            raise DeclarationError(
                f"{self.one.key} is a {self.one.kind}, but {text!r} has the dimension {piece.dimension}"
            )
        return piece.to(kind.si(self.system)).text

    def _guarded(self, body: str, names: Mapping[str, None], otherwise: str) -> str:
        """Guard a formula: a blank, a text or an error among its cells must not give a number, as a sum alone would."""
        single = [self.cell(name) for name in names if ":" not in self.cell(name)]
        sound = [f"COUNT({','.join(single)})={len(single)}"] if single else []
        sound += [f"COUNT({self.cell(name)})={self.rows(name)}" for name in names if ":" in self.cell(name)]
        if not sound:
            return body
        return f"IF({sound[0] if len(sound) == 1 else 'AND(' + ','.join(sound) + ')'},{body},{otherwise})"

    def _always(self, node: ast.AST) -> list[str]:
        """Return the names that are needed whatever the tests say."""
        if isinstance(node, ast.IfExp):
            return self._always(node.test)
        if isinstance(node, ast.Name):
            return [node.id] if self.model.kinds.get(node.id, "word") != "word" else []
        return list(dict.fromkeys(name for child in ast.iter_child_nodes(node) for name in self._always(child)))

    def _write(self, node: ast.expr) -> _Piece:
        match node:
            case ast.Constant(value=int() | float() as value):
                text = f"{value:.15g}" if value > 1e-4 or not value else f"{value:.12f}".rstrip("0")
                return _Piece(text, 9, None if value == 0 else (0, 0), _ONE)
            case ast.Name(id=name):
                kind = KINDS[self.model.kinds[name]]
                return _Piece(self.cell(name), 9, kind.dimension, kind.si(self.system))
            case ast.BinOp(left=left, op=ast.Add() | ast.Sub() as operator, right=right):
                a, b = self._alike(node, self._write(left), self._write(right))
                text = a.inside(2) + _OPERATORS[type(operator)] + b.inside(3)
                return _Piece(text, 2, a.dimension or b.dimension, a.scale)
            case ast.BinOp(left=left, op=ast.Mult() | ast.Div() as operator, right=right):
                return self._product(self._write(left), self._write(right), operator)
            case ast.UnaryOp(op=ast.USub(), operand=inner):
                piece = self._write(inner)
                return _Piece("-" + piece.inside(4), 3, piece.dimension, piece.scale)
            case ast.Compare(left=left, ops=[comparison], comparators=[right]):
                a, b = self._alike(node, self._write(left), self._write(right))
                return _Piece(a.inside(2) + _COMPARISONS[type(comparison)] + b.inside(2), 1, (0, 0), _ONE)
            case ast.UnaryOp(op=ast.Not(), operand=inner):
                return _Piece(f"NOT({self._test(inner)})", 9, (0, 0), _ONE)
            case ast.BoolOp(op=joint, values=values):
                word = "AND" if isinstance(joint, ast.And) else "OR"
                return _Piece(f"{word}({','.join(self._test(value) for value in values)})", 9, (0, 0), _ONE)
            case ast.IfExp():
                return self._choice(node)
            case ast.Call(func=ast.Name(id=name), args=arguments, keywords=[]) if name in FUNCTIONS:
                return self._call(node, name, [self._write(argument) for argument in arguments])
        raise self._wrong(node, f"is not allowed in a formula; functions are {', '.join(FUNCTIONS)}")

    @staticmethod
    def _product(a: _Piece, b: _Piece, operator: ast.operator) -> _Piece:
        sign = 1 if isinstance(operator, ast.Mult) else -1
        dimension = None
        if a.dimension is not None and b.dimension is not None:
            dimension = (a.dimension[0] + sign * b.dimension[0], a.dimension[1] + sign * b.dimension[1])
        scale = a.scale * b.scale if sign == 1 else a.scale / b.scale
        return _Piece(a.inside(3) + _OPERATORS[type(operator)] + b.inside(4), 3, dimension, scale)

    def _alike(self, node: ast.expr, a: _Piece, b: _Piece) -> tuple[_Piece, _Piece]:
        """Return two pieces of one dimension in one unit."""
        if a.dimension is not None and b.dimension is not None and a.dimension != b.dimension:
            raise self._wrong(node, "puts together unlike dimensions")
        return (a, b.to(a.scale)) if a.dimension is not None else (a.to(b.scale)._replace(scale=b.scale), b)

    def _test(self, node: ast.expr) -> str:
        piece = self._write(node)
        is_test = isinstance(node, ast.Compare | ast.BoolOp | ast.IfExp) or (
            isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not)
        )
        if isinstance(node, ast.Name) and self.model.kinds[node.id] == "yes":
            return f"{piece.text}=1"
        if not is_test:
            raise self._wrong(node, "is neither yes nor no; write a comparison")
        return piece.text

    def _choice(self, node: ast.IfExp) -> _Piece:
        def branch(inner: ast.expr) -> tuple[_Piece, list[str]]:
            own, before = [name for name in self._always(inner) if name not in self._sure], self._sure
            self._sure = before | frozenset(own)
            made, self._sure = self._write(inner), before
            return made, own

        (a, needs_a), (b, needs_b) = branch(node.body), branch(node.orelse)
        a, b = self._alike(node, a, b)
        texts = [
            self._guarded(piece.text, dict.fromkeys(needs), "NA()") for piece, needs in ((a, needs_a), (b, needs_b))
        ]
        return _Piece(f"IF({self._test(node.test)},{texts[0]},{texts[1]})", 9, a.dimension or b.dimension, a.scale)

    def _call(self, node: ast.expr, name: str, pieces: list[_Piece]) -> _Piece:
        first = next((piece for piece in pieces if piece.dimension is not None), pieces[0])
        if name in ("max", "min"):
            pieces = [self._alike(node, first, piece)[1] for piece in pieces]
        elif name in ("up", "printed", "cents"):
            if first.dimension not in (None, (0, 0)):
                raise self._wrong(node, "rounds what has a unit")
            pieces, first = [first.to(_ONE)], first._replace(scale=_ONE)
        template, texts = FUNCTIONS[name][1], [piece.text for piece in pieces]
        text = template.format(*texts) if "{1}" in template else template.format(",".join(texts))
        return _Piece(text, 9, first.dimension, first.scale)

    def _wrong(self, node: ast.expr, what: str) -> DeclarationError:
        return DeclarationError(f"{self.one.key}: {ast.unparse(node)!r} {what}")
