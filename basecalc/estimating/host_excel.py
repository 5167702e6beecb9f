"""The estimating workbook as Excel on Windows needs it: xlwings' own VBA project, and a sheet that names our functions.

xlwings is not imported here: the VBA project is taken, byte for byte, from the quickstart workbook inside the installed
package. It holds no code that runs by itself; it refers to the xlwings add-in, which *Import Functions* needs.
"""

from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from typing import Final, cast
from zipfile import BadZipFile, ZipFile

from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from basecalc.core.errors import Place, WorkbookError
from basecalc.workbook import style

UDF_MODULE: Final = "basecalc.worksheet"
CONF_SHEET: Final = "xlwings.conf"
VBA_PART: Final = "xl/vbaProject.bin"
# What the sheet tells xlwings. A key that is here wins over the settings of the machine even where it is blank, so
# the path of Python is left to the machine: `xlwings config create --force` writes it there.
CONF: Final[tuple[tuple[str, str | bool, str], ...]] = (
    ("UDF Modules", UDF_MODULE, "where the worksheet functions come from"),
    ("Debug UDFs", False, "no debugger"),
    ("Use UDF Server", False, "only for macros; there are none here"),
    ("Show Console", False, "no black window"),
    ("ADD_WORKBOOK_TO_PYTHONPATH", False, "no Python file beside this workbook is ever run"),
)
START_STEPS: Final[tuple[str, ...]] = (
    "Excel on Windows, once on each computer:",
    "1. Install Python 3.11 or later from python.org. In PowerShell, in the folder of basecalc: "
    "py -m venv .venv; .venv\\Scripts\\pip install .",
    "2. Close Excel, then: .venv\\Scripts\\xlwings addin install; .venv\\Scripts\\xlwings config create --force   (the "
    "second tells Excel which Python to use, also where an older set-up named another).",
    "3. In Excel: File > Options > Trust Center > Trust Center Settings > Macro Settings: tick "
    "'Trust access to the VBA project object model'.",
    "Once in each new workbook:",
    "4. Open it and press Enable Content. Where Windows has blocked it: close it, right-click the file, Properties, "
    "Unblock.",
    "5. On the xlwings tab press Import Functions, then Ctrl+Alt+F9, and save. From now on it calculates by itself.",
    "If cells show #NAME?: Alt+F11, Tools > References, tick xlwings, and do step 5 again. If another Python answers: "
    "write the path of .venv\\Scripts\\python.exe into Interpreter on the xlwings tab.",
    "After an update of basecalc do step 5 again. Excel on a Mac and in the browser cannot run functions of this kind; "
    "there Quick shows its last values, and all other sheets calculate as everywhere.",
)


def quickstart() -> bytes:
    """Return the workbook inside the installed xlwings that carries its VBA project."""
    found = find_spec("xlwings")
    folders = list(found.submodule_search_locations or ()) if found else []
    if not folders:
        raise WorkbookError(
            "xlwings is not installed; a workbook for Excel needs its VBA project (pip install xlwings)"
        )
    path = Path(folders[0], "quickstart.xlsm")
    try:
        content = path.read_bytes()
        with ZipFile(BytesIO(content)) as parts:
            parts.getinfo(VBA_PART)
    except (OSError, BadZipFile, KeyError):
        raise WorkbookError(
            "the installed xlwings has no VBA project here; install it again", where=Place(str(path))
        ) from None
    return content


def add_excel_host(book: Workbook) -> None:
    """Make a finished estimating workbook one for Excel: the VBA project, and last of all the sheet for xlwings.

    Save it with the ending .xlsm.
    """
    book.vba_archive = ZipFile(BytesIO(quickstart()))
    # The project has a module for the workbook and for two sheets; each must find the one it belongs to.
    book.code_name = "ThisWorkbook"
    book.worksheets[0].sheet_properties.codeName = "Sheet1"
    _conf_sheet(book).sheet_properties.codeName = "Sheet2"


def _conf_sheet(book: Workbook) -> Worksheet:
    """Add the sheet that xlwings reads from its first cell down to the first blank one."""
    sheet = cast(Worksheet, book.create_sheet(CONF_SHEET))
    style.widths(sheet, 34, 22, 60)
    for row, (key, value, meaning) in enumerate(CONF, 1):
        style.put(sheet, row, 1, key)
        shown = style.put(sheet, row, 2, value if isinstance(value, str) else None, across="left")
        if isinstance(value, bool):
            shown.value = value  # a real TRUE or FALSE, which xlwings reads in any language
        style.put(sheet, row, 3, meaning, "quiet")
    note = "For xlwings, the link between Excel and Python. Nothing to fill in; the list must start in the first cell."
    style.align(style.put(sheet, len(CONF) + 2, 1, note, "quiet"), wrap=False)
    style.page(sheet, f"A1:C{len(CONF) + 2}", landscape=True, foot=CONF_SHEET)
    sheet.sheet_state = "hidden"  # xlwings reads it all the same, and no page of it is printed with the workbook
    return sheet
