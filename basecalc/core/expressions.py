"""A quantity is declared once, as a line of formula text. It works itself out, and writes itself as a sheet formula.

The text is parsed by Python's own `ast`. Allowed are names, numbers, ``+ - * /``, comparisons, ``and or not``,
``x if test else y``, and the functions of `FUNCTIONS`. Names, dimensions and functions are checked when the model is
loaded, so that a wrong declaration is found before the first job and not at a quote.
"""

import ast
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from fractions import Fraction
from typing import Any, Final, NamedTuple

from basecalc.core.errors import InputError, OutOfRangeError
from basecalc.core.numbers import cents, decimal, whole_up

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

# name: (worked out in Python, written in a sheet); all are functions of Excel 2007. Noise is rounded away before a
# number is rounded for good, or a tie would hang on it.
FUNCTIONS: Final[Mapping[str, tuple[Callable[..., Any], str]]] = {
    "max": (max, "MAX({})"),
    "min": (min, "MIN({})"),
    "up": (whole_up, "ROUNDUP(ROUND({},9),0)"),
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

    def limits(self, system: str) -> tuple[str, str, str]:
        """Return both limits in the unit of the sheet, and the sentence that says them."""
        kind, high = KINDS[self.kind], 1.0 if self.kind == "yes" else self.high
        low_text, high_text = (f"{limit / float(kind.si(system)):.6g}" for limit in (self.low, high))
        said = f"{self.label} must be from {low_text} to {high_text} {kind.unit(system)}".strip()
        return low_text, high_text, said


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity: label, kind, formula, one sentence; when it is refused and why; the price code it is sold under."""

    key: str
    label: str
    kind: str
    formula: str
    says: str
    refuse: tuple[tuple[str, str], ...] = ()
    code: str = ""

    @property
    def texts(self) -> tuple[str, ...]:
        """The formula and the tests of its refusals."""
        return (self.formula, *(test for test, _ in self.refuse))


Entry = Input | Quantity


@dataclass(frozen=True, slots=True)
class Table:
    """The entries of one table, in the order they are worked out; `carried` names values of the row above."""

    entries: tuple[Entry, ...]
    carried: Mapping[str, str] = field(default_factory=dict)

    @property
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
        self._parsed: dict[str, ast.expr] = {}
        self._code: dict[str, Any] = {}
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
                    self._check_names(one, text)
            self.kinds[one.key] = one.kind
            if isinstance(one, Quantity):
                for text in one.texts:
                    _Writer(self, one, lambda name: name, "us").whole(text)

    def _check_names(self, one: Quantity, text: str) -> None:
        try:
            parsed = ast.parse(text, mode="eval")
        except SyntaxError as error:
            raise DeclarationError(f"{one.key}: {error.msg} in {text!r}") from None
        for name in _names(parsed.body):
            if name not in self.kinds:
                near = get_close_matches(name, self.kinds, 1)
                hint = f"; is it {near[0]!r}?" if near else ""
                raise DeclarationError(f"{one.key}: {name!r} is not declared above it{hint}")
        self._parsed[text] = parsed.body
        self._code[text] = compile(parsed, one.key, "eval")

    def parsed(self, text: str) -> ast.expr:
        """Return the syntax tree of a formula of the model."""
        return self._parsed[text]

    def quantity(self, key: str) -> Quantity:
        """Return the quantity of that key."""
        return next(one for table in self.tables.values() for one in table.quantities if one.key == key)

    def work_out(self, table: str, known: Mapping[str, Any], only: Sequence[str] = ()) -> dict[str, Any]:
        """Return what is known with the quantities of a table added, in SI; money and printed amounts are Decimal.

        Parameters
        ----------
        table
            The table.
        known
            Inputs and quantities of other tables by their key; None where one is not given.
        only
            The quantities asked for; all where nothing is said.

        Raises
        ------
        OutOfRangeError
            An input outside its limits, or a quantity that is refused.
        InputError
            An input that is needed and not given.
        """
        for one in self.tables[table].entries:
            if isinstance(one, Input) and one.kind != "word" and (value := known.get(one.key)) is not None:
                _within(one, value)
        names: dict[str, Any] = {"__builtins__": {}, **{name: how for name, (how, _) in FUNCTIONS.items()}, **known}
        asked = [one for one in self.tables[table].quantities if not only or one.key in only]
        for one in asked:
            names[one.key] = self._worked_out(one, names)
        return {key: value for key, value in names.items() if key not in FUNCTIONS and key != "__builtins__"}

    def _worked_out(self, one: Quantity, names: dict[str, Any]) -> Any:
        try:
            for test, sentence in one.refuse:
                if eval(self._code[test], names):  # our own text, checked name by name when it was loaded
                    raise OutOfRangeError(sentence)
            return eval(self._code[one.formula], names)
        except (TypeError, ArithmeticError, NameError) as error:
            lacking = [n for text in one.texts for n in _names(self._parsed[text]) if names.get(n) is None]
            if not lacking:
                raise OutOfRangeError(f"{one.label} cannot be worked out: {error}") from None
            raise InputError(f"{self.labels.get(lacking[0], lacking[0])} is missing; {one.label} needs it") from None

    def formula(self, key: str, cell: Cell, system: str, rows: Cell | None = None) -> str:
        """Return the sheet formula of a quantity: #N/A where a cell it needs holds no number, or where it is refused.

        Parameters
        ----------
        key
            The quantity.
        cell
            Gives the cell of a name, or the range of a column that is summed.
        system
            'us' or 'metric': the units of the sheet.
        rows
            Gives how many numbers the column of a name must hold: a text among them would pass a sum unseen.
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


def _within(one: Input, value: float) -> None:
    high = 1.0 if one.kind == "yes" else one.high
    if not one.low <= value <= high:
        kind = KINDS[one.kind]
        shown = value / float(kind.metric_si)
        raise OutOfRangeError(f"{one.label} is {shown:.6g} {kind.metric}".rstrip() + f"; {one.limits('metric')[2]}")


def _names(node: ast.AST) -> list[str]:
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
        needed = self._always(self.model.parsed(test))
        self._sure = frozenset(needed)
        return self._guarded(f'IF({self.whole(test)},"{says}; ","")', dict.fromkeys(needed), '""')

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
