"""The reference of all public names and worksheet functions, written from their own docstrings.

Run it:  python examples/make_reference.py [FILE]  (examples/reference.md where no file is named, which it renews)
"""

import inspect
import re
import sys
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import basecalc
from basecalc.formulas.functions import FUNCTIONS
from basecalc.formulas.spec import Function

PAGE = Path(__file__).parent / "reference.md"
# The steps of the trade, and the rooms of the house that a public name of the step may come from.
STEPS = {
    "The job": ("job", "estimating.read_job"),
    "Ground": ("ground",),
    "Base": ("design",),
    "Take-off": ("takeoff",),
    "Price": (
        "pricing.prices", "pricing.price_changes", "pricing.estimate", "pricing.quote", "pricing.records",
        "pricing.value_of_testing", "schedule", "price_runs", "runs",
    ),
    "Tables for pandas": ("frames",),
    "Workbooks": ("render.save", "workbook.template", "estimating.template", "estimating.carry_over"),
    "After the quote": ("pricing.archive", "pricing.changes", "season"),
    "Refusals": ("core.errors",),
}  # fmt: skip
INTRODUCTION = """# Reference

Every public name of `basecalc` and every worksheet function, by the steps of the work. Written by
`python examples/make_reference.py` from the docstrings; change those, not this page. A unit is in brackets: [m].
Names import from the package: `from basecalc import load_job`. Functions come before the records they return."""


def step_of(value: Any) -> str:
    """Return the step of the trade that a public name belongs to; a room without a step stops the page."""
    room = inspect.unwrap(value).__module__.removeprefix("basecalc.")
    for step, rooms in STEPS.items():
        if any(room == one or room.startswith(f"{one}.") for one in rooms):
            return step
    raise SystemExit(f"{value.__name__} comes from the room {room}, which is in no step of {Path(__file__).name}")


def sections(docstring: str) -> dict[str, str]:
    """Return a numpydoc docstring by its headings; what comes before the first has no name."""
    heads = [
        ("", 0, 0),
        *((m[1], m.start(), m.end()) for m in re.finditer(r"^(\w+)\n-{3,}\n", docstring, re.MULTILINE)),
    ]
    ends = [
        *((name, end, start) for (name, _, end), (_, start, _) in pairwise(heads)),
        (*heads[-1][::2], len(docstring)),
    ]
    return {name: docstring[start:end].strip("\n") for name, start, end in ends}


def entries(section: str) -> Iterator[tuple[str, str]]:
    """Return each entry of a section of a docstring: its heading, and its text on one line."""
    for found in re.finditer(r"^(\S[^\n]*)((?:\n[ ]+[^\n]+)*)", section, re.MULTILINE):
        yield found[1], " ".join(found[2].split())


def plain(text: str) -> str:
    """Return text for a cell of a table."""
    return re.sub(r"``([^`]+)``", r"`\1`", " ".join(text.split())).replace("|", "\\|").replace("<", "&lt;")


def kind(annotation: Any) -> str:
    """Return a type as its source writes it, without the rooms it comes from."""
    short = re.sub(r"(?:\w+\.)+(\w+)", r"\1", inspect.formatannotation(annotation)).replace("NoneType", "None")
    return re.sub(r"ndarray\[.*\]", "ndarray", short)  # whose inner types differ from release to release


def call(name: str, value: Any) -> str:
    """Return a function with its parameters, as a script calls it; one parameter a line where one line is too short."""
    signature = inspect.signature(value)
    parts, by_name = [], False
    for parameter in signature.parameters.values():
        if parameter.name == "self":
            continue
        if parameter.kind is parameter.KEYWORD_ONLY and not by_name:
            parts.append("*")
            by_name = True
        text = f"{parameter.name}: {kind(parameter.annotation)}"
        if parameter.default is not parameter.empty:
            short = isinstance(parameter.default, str | int | float | tuple | None)
            text += f" = {parameter.default!r}" if short else " = ..."
        parts.append(text)
    line = f"{name}({', '.join(parts)}) -> {kind(signature.return_annotation)}"
    if len(line) <= 100:
        return line
    return "\n".join([f"{name}(", *(f"    {part}," for part in parts), f") -> {kind(signature.return_annotation)}"])


def table(heading: str, rows: list[tuple[str, str]]) -> list[str]:
    """Return a table of names and what they are, or nothing where there are none."""
    if not rows:
        return []
    return [f"| {heading} | |", "|---|---|", *(f"| {name} | {plain(text)} |" for name, text in rows), ""]


def described(name: str, value: Any) -> list[str]:
    """Return the passage of a public name."""
    texts = sections(inspect.getdoc(value) or "")
    summary, _, more = texts[""].partition("\n\n")
    lines = [f"### {name}", "", plain(summary), ""]
    if inspect.isfunction(value):
        lines += ["```python", call(name, value), "```", ""]
    if more:
        lines += [plain(more), ""]
    rows = [
        (", ".join(f"`{one.strip()}`" for one in names.split(",")), text)
        for names, text in entries(texts.get("Parameters", ""))
    ]
    lines += table("parameter" if inspect.isfunction(value) else "holds", rows)
    if inspect.isclass(value):
        lines += table("also gives", list(members(value)))
    for heading, label in (("Returns", "Returns"), ("Raises", "Raises")):
        lines += [f"{label} {names}: {plain(text)}\n" for names, text in entries(texts.get(heading, ""))]
    if "References" in texts:
        lines += [f"Source: {plain(texts['References'])}", ""]
    return lines


def members(value: type) -> Iterator[tuple[str, str]]:
    """Return what a record works out from what it holds: its name, and the first line of its docstring."""
    for name, member in vars(value).items():
        if name.startswith("_") or not (isinstance(member, property) or inspect.isfunction(member)):
            continue
        shown = f"`{name}`" if isinstance(member, property) else f"`{name}({', '.join(parameters(member))})`"
        yield shown, (inspect.getdoc(member) or "").partition("\n\n")[0]


def parameters(member: Any) -> list[str]:
    """Return the names of a method's parameters."""
    return [name for name in inspect.signature(member).parameters if name != "self"]


def formula(function: Function) -> list[str]:
    """Return the passage of a worksheet function."""
    names = ", ".join(f"[{one.name}]" if one.optional else one.name for one in function.arguments)
    rows = [(f"`{one.name}`", one.help) for one in function.arguments]
    return [
        f"### {function.name}",
        "",
        f"`{function.name}({names})`",
        "",
        plain(function.help),
        "",
        *table("argument", rows),
    ]


def anchors(titles: list[str]) -> dict[str, str]:
    """Return the address of each heading on the page; of headings that differ only in case the second is numbered."""
    taken: dict[str, int] = {}
    made = {}
    for title in titles:
        plain_title = re.sub(r"[^\w -]", "", title.lower()).replace(" ", "-")
        number = taken[plain_title] = taken.get(plain_title, -1) + 1
        made[title] = f"{plain_title}-{number}" if number else plain_title
    return made


def groups() -> dict[str, dict[str, list[str]]]:
    """Return the passages of the page: by group, then by name, functions before records."""
    public = {name: getattr(basecalc, name) for name in basecalc.__all__}
    made: dict[str, dict[str, list[str]]] = {}
    for step in STEPS:
        here = [name for name, value in public.items() if step_of(value) == step]
        made[step] = {name: described(name, public[name]) for name in sorted(here, key=lambda n: (n[0].isupper(), n))}
    made["Worksheet functions"] = {one.name: formula(one) for one in FUNCTIONS}
    return made


def page() -> str:
    """Return the whole reference."""
    at = anchors([heading for title, passages in groups().items() for heading in (title, *passages)])
    lines = [INTRODUCTION, ""]
    for title, passages in groups().items():
        lines += [f"- [{title}](#{at[title]}): " + ", ".join(f"[{name}](#{at[name]})" for name in passages)]
    for title, passages in groups().items():
        lines += ["", f"## {title}", ""]
        for passage in passages.values():
            lines += passage
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)).strip() + "\n"


def main(file: Path) -> None:
    file.write_text(page(), "utf-8")
    for title, passages in groups().items():
        print(f"{title}: {len(passages)}")
    print(f"Written to {file}")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else PAGE)
