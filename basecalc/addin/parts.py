"""The parts of the add-in that tell LibreOffice what is in it, made from the functions' own descriptions."""

from collections.abc import Sequence
from importlib.resources import files
from typing import Final
from xml.sax.saxutils import escape

from basecalc.formulas.functions import FUNCTIONS
from basecalc.formulas.spec import Function

SERVICE: Final = "BASECALC"  # stands before the name in a formula: =BASECALC.BASE_DEPTH(..)
IDENTIFIER: Final = "basecalc.worksheetfunctions"
COMPONENT: Final = "component.py"
ADVICE: Final = "install LibreOffice 25.8 or later"  # its own Python on Windows and Mac is 3.11; 25.2 still had 3.10
_HEAD: Final = '<?xml version="1.0" encoding="UTF-8"?>\n'


def parts(version: str, libraries: Sequence[str], python: tuple[int, int]) -> dict[str, bytes]:
    """Return the add-in's own files by their place in it."""
    made = {
        "META-INF/manifest.xml": _MANIFEST,
        "description.xml": _description(version),
        "description.txt": _told(libraries, python),
        "Functions.idl": interface(),
        "CalcAddIns.xcu": names_and_help(),
        COMPONENT: component(python),
    }
    return {place: text.encode() for place, text in made.items()}


def component(python: tuple[int, int]) -> str:
    """Return the code that LibreOffice loads."""
    text = (files("basecalc.addin") / f"{COMPONENT}.txt").read_text("utf-8")
    names = "".join(f'    "{function.name}",\n' for function in FUNCTIONS)
    said = {"@SERVICE@": SERVICE, "@NAMES@": f"(\n{names})", "@PYTHON@": repr(python), "@ADVICE@": ADVICE}
    for mark, value in said.items():
        text = text.replace(mark, value)
    return text


def interface() -> str:
    """Return the types of the functions: any cell or range in, any value out, so that what is left out is seen."""
    methods = ""
    for function in FUNCTIONS:
        arguments = ", ".join(f"[in] any {_identifier(argument.name)}" for argument in function.arguments)
        methods += f"  any {function.name}( {arguments} );\n"
    return f"module drivewaybase {{ interface XWorksheetFunctions {{\n{methods}}}; }};\n"


def _identifier(name: str) -> str:
    """Return the name of an argument as an interface allows it: no underscores among small letters."""
    first, *more = name.split("_")
    return first + "".join(word.title() for word in more)


def names_and_help() -> str:
    """Return what the function wizard shows."""
    functions = "".join(_function(function) for function in FUNCTIONS)
    return (
        f'{_HEAD}<oor:component-data xmlns:oor="http://openoffice.org/2001/registry"'
        ' xmlns:xs="http://www.w3.org/2001/XMLSchema" oor:name="CalcAddIns" oor:package="org.openoffice.Office">\n'
        f'<node oor:name="AddInInfo"><node oor:name="{SERVICE}" oor:op="replace"><node oor:name="AddInFunctions">\n'
        f"{functions}</node></node></node>\n</oor:component-data>\n"
    )


def _function(function: Function) -> str:
    arguments = "".join(
        f' <node oor:name="{_identifier(argument.name)}" oor:op="replace">'
        + _property("DisplayName", argument.name)
        + _property("Description", argument.help if argument.optional else f"Needed. {argument.help}")
        + "</node>\n"
        for argument in function.arguments
    )
    return (
        f'<node oor:name="{function.name}" oor:op="replace">'
        + _property("DisplayName", function.name)
        + _property("Description", function.help)
        + _property("Category", "Add-In", "")
        + _property("CompatibilityName", function.name, ' xml:lang="en-US"')
        + f'<node oor:name="Parameters">\n{arguments}</node></node>\n'
    )


def _property(name: str, value: str, language: str = ' xml:lang="en"') -> str:
    return f'<prop oor:name="{name}"><value{language}>{escape(value)}</value></prop>'


def _description(version: str) -> str:
    return (
        f'{_HEAD}<description xmlns="http://openoffice.org/extensions/description/2006"'
        ' xmlns:xlink="http://www.w3.org/1999/xlink">\n'
        f'<identifier value="{IDENTIFIER}"/>\n<version value="{escape(version)}"/>\n<platform value="all"/>\n'
        '<display-name><name lang="en">basecalc: ground, base and take-off of driveways</name></display-name>\n'
        '<extension-description><src xlink:href="description.txt" lang="en"/></extension-description>\n'
        "</description>\n"
    )


def _told(libraries: Sequence[str], python: tuple[int, int]) -> str:
    return (
        f"{len(FUNCTIONS)} worksheet functions for paved driveways, written =BASECALC.BASE_DEPTH(..): ground strength, "
        "depth of the aggregate base, digging, stone, loads, rolls.\n"
        "They inform; they do not replace a soils engineer or the local code.\n"
        f"Needs a LibreOffice that runs Python {python[0]}.{python[1]} or later: on Windows and Mac {ADVICE}; on Linux "
        "it is the system's Python.\n"
        f"MIT license; with {', '.join(libraries)} under theirs (folder licenses).\n"
    )


_ENTRY: Final = ' <manifest:file-entry manifest:full-path="{}" manifest:media-type="application/vnd.sun.star.{}"/>\n'
_MANIFEST: Final = (
    f'{_HEAD}<manifest:manifest xmlns:manifest="http://openoffice.org/2001/manifest">\n'
    + _ENTRY.format("Functions.idl", "uno-typelibrary;type=RDB")
    + _ENTRY.format(COMPONENT, "uno-component;type=Python")
    + _ENTRY.format("CalcAddIns.xcu", "configuration-data")
    + "</manifest:manifest>\n"
)
